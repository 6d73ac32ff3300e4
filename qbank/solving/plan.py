"""How the laws of one case are solved: once per family, in symbols, before any number is seen.

The laws are ordered into blocks (`structure`), each block is planned (`blocks`), and what picks
among roots is placed after the step that makes it decidable.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from qbank.expressions.tree import Compare, Equation, Name, Node, names_in
from qbank.family.model import Unknown
from qbank.solving.blocks import plan_block
from qbank.solving.linear import Assignment, SingularError
from qbank.solving.steps import PlanError, Step, closed_form, listing, made_by, nodes_of
from qbank.solving.structure import Block, Structure, structure


@dataclass(frozen=True, slots=True)
class Model:
    """The laws that hold together, and what is to be found from them.

    Constants of the case are put in already, except `signs`: names that are +1 or -1.
    """

    laws: tuple[tuple[str, Equation], ...]
    unknowns: tuple[str, ...]
    signs: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Plan:
    """Steps in order, and the conditions that pick among roots, each after the step that makes
    it decidable. `found` are the unknowns that get a value; `inputs` what must be given."""

    steps: tuple[Step, ...]
    conditions: tuple[tuple[Node, ...], ...]
    found: tuple[str, ...]
    inputs: frozenset[str]

    @property
    def formulas(self) -> tuple[Assignment, ...] | None:
        """The whole plan as formulas, or None if it has roots to pick or systems to solve."""
        parts = [closed_form(step) for step in self.steps]
        if any(part is None for part in parts):
            return None
        return tuple(assignment for part in parts for assignment in part or ())


def make_plan(model: Model, find: Mapping[str, Unknown], *, partial: bool = False) -> Plan:
    """The plan for a model; `find` gives what picks a root (`choose`, `between`).

    With `partial`, unknowns the laws do not determine, or determine in more ways than one, are
    left out; otherwise they raise PlanError, as do laws no method here can solve.
    """
    equations = dict(model.laws)
    mentions = {law: names_in(equation) & frozenset(model.unknowns) for law, equation in model.laws}
    order = structure(mentions, model.unknowns)
    if not partial:
        _ensure_square(order, mentions)
    steps: list[Step] = []
    conditions: list[Node] = []
    lost: set[str] = set()
    for block in order.blocks:
        needs = {u for law in block.laws for u in mentions[law]}
        if needs & lost:
            lost |= set(block.unknowns)
            continue
        try:
            laws = {law: equations[law] for law in block.laws}
            way = plan_block(laws, block.unknowns, find, model.signs)
            steps.extend(way.steps)
            conditions.extend(way.conditions)
        except SingularError as error:
            if not partial:
                raise _singular(block, error) from None
            lost |= set(block.unknowns)
    return _finish(steps, conditions, model, find)


def _finish(
    steps: Sequence[Step],
    waiting: Sequence[Node],
    model: Model,
    find: Mapping[str, Unknown],
) -> Plan:
    """Places each condition after the step that makes it decidable."""
    made = [made_by(step) for step in steps]
    found = set().union(*made) & set(model.unknowns) if made else set()
    picks = [c for u in model.unknowns if u in found for c in _picks(find[u])]
    waiting = [*waiting, *picks]
    waiting = [c for c in waiting if names_in(c) & set(model.unknowns) <= found]
    conditions: list[tuple[Node, ...]] = []
    known: set[str] = set()
    for names in made:
        known |= names
        ready = [c for c in waiting if names_in(c) & set(model.unknowns) <= known]
        waiting = [c for c in waiting if c not in ready]
        conditions.append(tuple(ready))
    used = set().union(
        *(names_in(node) for step in steps for node in nodes_of(step)),
        *(names_in(node) for group in conditions for node in group),
    )
    inputs = frozenset(used - set().union(*made) - {"pi"}) if made else frozenset()
    return Plan(
        tuple(steps), tuple(conditions), tuple(u for u in model.unknowns if u in found), inputs
    )


def _picks(unknown: Unknown) -> Iterator[Node]:
    if unknown.choose is not None:
        yield unknown.choose
    if unknown.between is not None:
        low, high = unknown.between
        yield Compare((low, Name(unknown.name), high), ("<=", "<="))


# ---------------------------------------------------------------------------- sentences


def _ensure_square(order: Structure, mentions: Mapping[str, frozenset[str]]) -> None:
    if order.excess:
        laws = listing(order.excess)
        contested = [u for u in order.contested if any(u in mentions[law] for law in order.excess)]
        if not contested:
            raise PlanError(
                f"law {laws} holds no unknown",
                law=order.excess[0],
                mend="mention an unknown in it, or make it a rule or a confirmation",
            )
        raise PlanError(
            f"laws {laws} are more than their unknowns, {listing(contested)}",
            law=order.excess[-1],
            mend="drop a law, or add the unknown that is missing",
        )
    if order.loose:
        unknowns = listing(order.loose)
        if not order.loose_laws:
            raise PlanError(
                f"no law holds {unknowns}",
                unknown=order.loose[0],
                mend="add a law for it",
            )
        raise PlanError(
            f"the laws do not determine {unknowns}: only {listing(order.loose_laws)} hold them",
            unknown=order.loose[0],
            law=order.loose_laws[0],
            mend="add a law",
        )


def _singular(block: Block, error: SingularError) -> PlanError:
    laws, unknowns = listing(block.laws), listing(block.unknowns)
    if error.contradictory:
        return PlanError(
            f"laws {laws} contradict each other whatever the data",
            law=block.laws[-1],
            mend="compare their signs and factors",
        )
    return PlanError(
        f"laws {laws} do not determine {unknowns}: one of the laws follows from the others",
        law=block.laws[-1],
        mend="replace it by a law that says something new",
    )
