"""Which laws determine which unknowns, read from which law mentions which unknown.

The coarse part is the Dulmage-Mendelsohn decomposition (A. L. Dulmage, N. S. Mendelsohn,
Canadian J. Math. 10 (1958) 517-534, from memory): unknowns that no law pins down, laws with
no unknown left for them, and the square rest. The fine part orders the rest into blocks that
can be solved one after the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sympy.utilities.iterables import strongly_connected_components


@dataclass(frozen=True, slots=True)
class Block:
    """Laws that are solved together for as many unknowns."""

    laws: tuple[str, ...]
    unknowns: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Structure:
    """Blocks in solving order, and what does not fit.

    `loose` unknowns are not determined, though the laws in `loose_laws` mention them; of
    the laws in `excess` there are more than of the unknowns they have, `contested`.
    """

    blocks: tuple[Block, ...]
    loose: tuple[str, ...]
    loose_laws: tuple[str, ...]
    excess: tuple[str, ...]
    contested: tuple[str, ...]


def structure(mentions: Mapping[str, frozenset[str]], unknowns: Sequence[str]) -> Structure:
    """The order of solving; `mentions` gives the unknowns that stand in each law."""
    holds = {law: [u for u in unknowns if u in names] for law, names in mentions.items()}
    law_of = _matching(holds)
    unknown_of = {law: unknown for unknown, law in law_of.items()}
    holders = {u: [law for law, names in holds.items() if u in names] for u in unknowns}

    # everything an unmatched unknown can reach is loose
    loose_laws: set[str] = set()
    queue = [u for u in unknowns if u not in law_of]
    loose = set(queue)
    while queue:
        for law in holders[queue.pop()]:
            if law not in loose_laws:
                loose_laws.add(law)
                partner = unknown_of[law]
                if partner not in loose:
                    loose.add(partner)
                    queue.append(partner)

    # everything an unmatched law can reach is contested
    excess = {law for law in holds if law not in unknown_of}
    contested: set[str] = set()
    pending = list(excess)
    while pending:
        for unknown in holds[pending.pop()]:
            if unknown not in contested:
                contested.add(unknown)
                partner_law = law_of[unknown]
                if partner_law not in excess:
                    excess.add(partner_law)
                    pending.append(partner_law)

    square = [law for law in holds if law not in excess and law not in loose_laws]
    edges = [(law, law_of[u]) for law in square for u in holds[law] if law_of[u] != law]
    edges = [(law, needed) for law, needed in edges if needed in square]
    blocks: list[Block] = []
    spoiled = set(contested)
    for component in strongly_connected_components((square, edges)):
        ordered = [law for law in square if law in component]
        needs = {u for law in ordered for u in holds[law]}
        found = {unknown_of[law] for law in ordered}
        if needs & spoiled:  # hangs on something that has no value
            spoiled |= found
            continue
        blocks.append(Block(tuple(ordered), tuple(u for u in unknowns if u in found)))
    return Structure(
        tuple(blocks),
        tuple(u for u in unknowns if u in loose),
        tuple(law for law in holds if law in loose_laws),
        tuple(law for law in holds if law in excess),
        tuple(u for u in unknowns if u in spoiled),
    )


def _matching(holds: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """As many pairs unknown -> law as possible (augmenting paths)."""
    law_of: dict[str, str] = {}

    def place(law: str, tried: set[str]) -> bool:
        for unknown in holds[law]:
            if unknown in tried:
                continue
            tried.add(unknown)
            if unknown not in law_of or place(law_of[unknown], tried):
                law_of[unknown] = law
                return True
        return False

    for law in sorted(holds, key=lambda law: len(holds[law])):
        place(law, set())
    return law_of
