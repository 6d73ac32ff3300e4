"""Whether the cases cover the whole range, each point once: logic, interval arithmetic, points.

Three ways, the strongest that decides: the signs of the differences compared (logic alone), bounds
of these differences over boxes that are halved until none is open (R. E. Moore, R. B. Kearfott and
M. J. Cloud, Introduction to Interval Analysis, 2009, from memory), and points: the corners and
edges of the range and a large sample. Only points ever accuse; the others acquit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from qbank.checking.enclosure import Enclosure
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Name, Node, names_in, walk
from qbank.family.model import Case, Family, Sampled
from qbank.generation import Generator
from qbank.instances import Floats
from qbank.sampling.kinds import scalar_kind
from qbank.sampling.streams import Key, below
from qbank.solving.rewriting import substitute
from qbank.solving.variants import ordered_lets
from qbank.vetting.evidence import Draws, Mask
from qbank.vetting.signs import MOST_DIFFERENCES, Signs, SignTable

CORNERS = 2**12  # at most so many corners, and as many points on edges
MOST_BOXES = 2**15  # open at one time
ROUNDS = 40  # of halving
LARGEST = 5000  # nodes of all formulas, once intermediate quantities are put in


@dataclass(frozen=True, slots=True)
class Coverage:
    """What was found about the cases over the whole range; arrays are (n,), n points looked at.

    holding   how many cases hold
    pairs     (cases, n): which
    boundary  where two compared sides are equal
    ruled_out where a rule on the data turns the point away
    looked    how many points were looked at, for people
    way       how far logic or interval arithmetic carried, for people
    proved    whether no point of the range can have two cases or none, save on a boundary
    """

    values: Mapping[str, Floats]
    holding: np.ndarray[tuple[int, ...], np.dtype[np.int64]]
    pairs: Mask
    boundary: Mask
    ruled_out: Mask
    looked: str
    way: str
    proved: bool


def coverage(generator: Generator, draws: Draws, seed: int) -> Coverage:
    """Looks at the cases of a family over the whole range of its givens."""
    family = generator.family
    values, extremes = _points(generator, draws, seed)
    n = len(next(iter(values.values())))
    conditions = [case.when for case in family.cases if case.when is not None]
    rules = [r.need for r in family.rules if not r.uses_solution and not r.only]
    table = SignTable(conditions)
    signs = table.signs(values, n)
    masks = compile_nodes([*conditions, *rules])(values, n)
    held = np.array(masks[: len(conditions)])
    if len(conditions) < len(family.cases):  # otherwise: holds where no other does
        held = _with_otherwise(held, family.cases)
    met = np.logical_and.reduce([np.ones(n, dtype=np.bool_), *masks[len(conditions) :]])
    way, proved = _proof(family, table, rules)
    looked = f"{n:,} points ({extremes:,} at corners and edges)" if extremes else f"{n:,} points"
    return Coverage(
        values,
        held.sum(axis=0),
        held,
        np.any(signs == 0, axis=0),
        ~met,
        looked,
        way,
        proved,
    )


def _with_otherwise(held: Mask, cases: Sequence[Case]) -> Mask:
    at = next(i for i, case in enumerate(cases) if case.when is None)
    return np.insert(held, at, ~held.any(axis=0), axis=0)


# ---------------------------------------------------------------------------- points


def _points(generator: Generator, draws: Draws, seed: int) -> tuple[dict[str, Floats], int]:
    """Givens and lets at the draws, and at corners and edges where all givens are numbers."""
    family = generator.family
    known = [*family.given, *family.let]
    values = {name: np.asarray(draws.values[name]) for name in known}
    if any(isinstance(given.source, Sampled) for given in family.given.values()):
        return values, 0
    kinds = {name: scalar_kind(given) for name, given in family.given.items()}
    counts = np.array([kind.count if kind else 1 for kind in kinds.values()])
    digits = _extremes(counts, Key.of(family.draw_key, f"corners {seed}"))
    more = {
        name: kind.values(column)
        for (name, kind), column in zip(kinds.items(), digits.T, strict=True)
        if kind is not None
    }
    with np.errstate(all="ignore"):
        more = generator.solver.lets(more, len(digits))
    return {name: np.concatenate([values[name], more[name]]) for name in known}, len(digits)


def _extremes(
    counts: np.ndarray[tuple[int, ...], np.dtype[np.int64]], key: Key
) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Digits (n, givens) of corners, all of them where there are few, and of points on edges."""
    width = len(counts)
    free = np.flatnonzero(counts > 1)
    if 2 ** len(free) <= CORNERS:
        ends = np.array(list(product((0, 1), repeat=len(free))), dtype=np.int64)
    else:
        ends = below(key.words(0, 0, CORNERS * len(free)), 2).reshape(CORNERS, len(free))
    corners = np.zeros((len(ends), width), dtype=np.int64)
    corners[:, free] = ends.reshape(len(ends), len(free)) * (counts[free] - 1)
    if not len(free):
        return corners
    edges = corners[below(key.words(1, 0, CORNERS), len(corners))]
    along = free[below(key.words(2, 0, CORNERS), len(free))]
    steps = key.words(3, 0, CORNERS) >> np.uint64(33)
    edges[np.arange(CORNERS), along] = steps.astype(np.int64) % counts[along]
    return np.concatenate([corners, edges])


# ---------------------------------------------------------------------------- proofs


def _proof(family: Family, table: SignTable, rules: Sequence[Node]) -> tuple[str, bool]:
    """How far logic and interval arithmetic carry, in words, and whether they decide."""
    if not table.differences:
        return "nothing is left to decide", True
    if len(table.differences) > MOST_DIFFERENCES:
        return "the cases compare too much for a proof, so the points decide", False
    faulty = []
    has_rest = any(case.when is None for case in family.cases)
    for signs in table.combinations():
        count = sum(table.holding(signs))
        if all(signs) and (count > 1 or (count == 0 and not has_rest)):
            faulty.append(signs)
    if not faulty:
        return "the signs of what is compared leave no other possibility (logic)", True
    boxes = _Boxes.of(family, table, rules)
    if boxes is None:
        return "what they compare has no simple bounds, so the points decide", False
    if boxes.exclude(faulty):
        return f"interval arithmetic on {boxes.looked:,} boxes leaves no other possibility", True
    return "interval arithmetic does not decide, so the points do", False


class _Boxes:
    """Boxes of givens, halved until the differences have signs over each that accuse nobody."""

    def __init__(self, family: Family, table: SignTable, rules: Sequence[Node]) -> None:
        self._family = family
        lets: dict[str, Node] = {}
        for name in ordered_lets(family):
            lets[name] = substitute(family.let[name].expression, lets)
        self._sides = [
            substitute(side, lets) for d in table.differences for side in (d.left, d.right)
        ]
        self._rules = SignTable(rules)
        self._rule_sides = [
            substitute(side, lets) for d in self._rules.differences for side in (d.left, d.right)
        ]
        whole = [*self._sides, *self._rule_sides]
        used = frozenset[str]().union(*map(names_in, whole))
        self.names = [name for name in family.given if name in used]
        self._bounds = Enclosure(whole, frozenset(self.names))
        self.looked = 0

    @classmethod
    def of(cls, family: Family, table: SignTable, rules: Sequence[Node]) -> _Boxes | None:
        """None where what the cases compare depends on data lists, or is too large to bound."""
        if _size_with_lets(family) > LARGEST:
            return None
        lists = {n for n, given in family.given.items() if isinstance(given.source, Sampled)}
        usable = [rule for rule in rules if len(SignTable([rule]).differences) <= 2]
        boxes = cls(family, table, usable)
        return boxes if boxes.names and not lists & set(boxes.names) else None

    def exclude(self, faulty: Sequence[Signs]) -> bool:
        """Whether no point of the range has one of the `faulty` combinations of signs."""
        low, high = self._range()
        for turn in range(ROUNDS):
            if not low.shape[1]:
                return True
            if low.shape[1] > MOST_BOXES:
                return False
            self.looked += low.shape[1]
            open_ = self._open(low, high, faulty)
            low, high = self._halved(low[:, open_], high[:, open_], turn)
        return not low.shape[1]

    def _range(self) -> tuple[Floats, Floats]:
        """One box: the least and the greatest value of each given, each (givens, 1)."""
        ends = []
        for name in self.names:
            kind = scalar_kind(self._family.given[name])
            if kind is None:
                raise TypeError(name)
            values = kind.values(np.array([0, kind.count - 1]))
            if hasattr(kind.source, "mantissas"):  # a list need not stand in order
                values = kind.values(np.arange(kind.count))
            ends.append((values.min(), values.max()))
        return np.array([[e[0]] for e in ends]), np.array([[e[1]] for e in ends])

    def _open(self, low: Floats, high: Floats, faulty: Sequence[Signs]) -> Mask:
        """Which boxes may hold a point with a faulty combination that the rules let through."""
        n = low.shape[1]
        box = {name: (low[i], high[i]) for i, name in enumerate(self.names)}
        bounds = self._bounds({}, box, n)
        may = _possible_signs(bounds[: len(self._sides)], n)
        allowed = _possible_signs(bounds[len(self._sides) :], n)
        found = np.zeros(n, dtype=np.bool_)
        for signs in faulty:
            found |= np.logical_and.reduce([may[i][sign] for i, sign in enumerate(signs)])
        return found & self._rules_possible(allowed, n)

    def _rules_possible(self, allowed: list[dict[int, Mask]], n: int) -> Mask:
        """Where every rule holds for some combination of the signs that are possible."""
        if len(allowed) > MOST_DIFFERENCES:
            return np.ones(n, dtype=np.bool_)
        met = np.zeros(n, dtype=np.bool_)
        for signs in self._rules.combinations():
            if all(self._rules.holding(signs)):
                met |= np.logical_and.reduce(
                    [np.ones(n, dtype=np.bool_), *(allowed[i][s] for i, s in enumerate(signs))]
                )
        return met

    def _halved(self, low: Floats, high: Floats, turn: int) -> tuple[Floats, Floats]:
        axis = turn % len(self.names)
        middle = (low[axis] + high[axis]) / 2
        left, right = high.copy(), low.copy()
        left[axis], right[axis] = middle, middle
        return np.hstack([low, right]), np.hstack([left, high])


def _possible_signs(bounds: Sequence[tuple[Floats, Floats]], n: int) -> list[dict[int, Mask]]:
    """Which signs each difference can have over each box; what has no bounds can have any."""
    found = []
    for (a_low, a_high), (b_low, b_high) in zip(bounds[::2], bounds[1::2], strict=True):
        with np.errstate(invalid="ignore"):
            least = np.broadcast_to(a_low - b_high, (n,))
            most = np.broadcast_to(a_high - b_low, (n,))
            found.append({-1: ~(least >= 0), 0: ~((least > 0) | (most < 0)), 1: ~(most <= 0)})
    return found


def _size_with_lets(family: Family) -> int:
    """Nodes of all conditions once every intermediate quantity is written out in them."""
    sizes: dict[str, int] = {}
    for name in ordered_lets(family):
        sizes[name] = _size(family.let[name].expression, sizes)
    conditions = [case.when for case in family.cases if case.when is not None]
    conditions += [rule.need for rule in family.rules]
    return sum(_size(condition, sizes) for condition in conditions) + sum(sizes.values())


def _size(node: Node, sizes: Mapping[str, int]) -> int:
    return sum(sizes.get(part.id, 1) if isinstance(part, Name) else 1 for part in walk(node))
