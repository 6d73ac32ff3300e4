"""The way through a family's laws that its worked solution shows, step by step.

Whoever works by hand writes down what is found on the way, rounds it, and goes on from there.
What is written down are the quantities in `let`, the numbers that the author's steps print, and
the answers themselves; each step finds one of them, or several together, from those before.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from qbank.expressions.numbers import NumberFormat
from qbank.expressions.tree import Call, Equation, Name, Negate, Node, children, names_in
from qbank.expressions.units import Unit
from qbank.family.model import ComputedField, Family, Sampled, ValueField
from qbank.solving.plan import Model, Plan, make_plan
from qbank.solving.rewriting import rebuilt
from qbank.solving.steps import (
    BracketedRoots,
    Candidates,
    Formulas,
    Linear,
    PlanError,
    PolynomialRoots,
    Step,
)
from qbank.solving.structure import structure
from qbank.solving.variants import VariantGroup, ordered_lets

_MAX_COMBINED = 8  # laws of a block among which those for the later unknowns are looked for


@dataclass(frozen=True, slots=True)
class Written:
    """A number written down on the way: what it is, its unit, and how the solution prints it."""

    name: str
    expression: Node
    unit: Unit
    shown: NumberFormat


@dataclass(frozen=True, slots=True)
class Stage:
    """What is found together, by `plan`, from numbers that are known by then."""

    finds: tuple[str, ...]
    plan: Plan

    @property
    def inputs(self) -> frozenset[str]:
        return self.plan.inputs


@dataclass(frozen=True, slots=True)
class WorkedPath:
    """The stages in order, and the numbers written down that are neither given nor asked for."""

    stages: tuple[Stage, ...]
    written: Mapping[str, Written]


def worked_path(family: Family, group: VariantGroup) -> WorkedPath:
    """The path of the cases of a group.

    Laws are taken in solving order. A number the solution prints counts as used wherever a law,
    or a law solved for its unknown, writes its expression out. Unknowns that depend on each other
    are found in the order in which the solution prints them: those of its first paragraph from
    all the laws, the others from these and the laws that hold fewest unknowns.
    """
    return _Builder(family, group).path()


class _Builder:
    def __init__(self, family: Family, group: VariantGroup) -> None:
        self.family = family
        self.model = group.model
        self.cases = {family.cases[variant.case].name for variant in group.variants}
        self.unknowns = set(family.find)
        self.written = {written.name: written for written in self._all_written()}
        self.known = {
            written.expression: Name(written.name)
            for written in self.written.values()
            if children(written.expression) and names_in(written.expression) - {"pi"}
        }  # a plain number or name stands in too many places to mean the quantity
        self.paragraph = self._paragraphs()

    def path(self) -> WorkedPath:
        unknown_stages = list(self._stages())
        order = list(self.written)
        used: set[str] = set()
        pending = [name for stage in unknown_stages for name in stage.inputs]
        while pending:
            name = pending.pop()
            if name in self.written and name not in used:
                used.add(name)
                pending += names_in(self.written[name].expression)
        waiting = [name for name in order if name in used]
        stages: list[Stage] = []
        found: set[str] = set()
        for stage in [None, *unknown_stages]:
            if stage is not None:
                stages.append(stage)
                found |= set(stage.finds)
            for name in list(waiting):  # in order, so one pass finds what hangs on another
                expression = self.written[name].expression
                if names_in(expression) & (self.unknowns | set(waiting)) <= found:
                    waiting.remove(name)
                    found.add(name)
                    stages.append(Stage((name,), _formula(name, expression)))
        return WorkedPath(tuple(stages), {name: self.written[name] for name in order})

    # ------------------------------------------------------------------------ what is printed

    def _all_written(self) -> Iterator[Written]:
        """Lets in order, then the author's computed numbers that more than repeat a quantity."""
        seen: set[Node] = set()
        for name in ordered_lets(self.family):
            let = self.family.let[name]
            seen.add(let.expression)
            yield Written(name, let.expression, let.unit, let.shown)
        for paragraph in self._solution():
            for piece in paragraph:
                if isinstance(piece, ComputedField):
                    core = _core(piece.expression)
                    if core in seen or not children(core) or self._uses_lists(core):
                        continue
                    seen.add(core)
                    yield Written(f"={len(seen)}", core, piece.unit, piece.shown)

    def _uses_lists(self, node: Node) -> bool:
        given = self.family.given
        return any(
            name in given and isinstance(given[name].source, Sampled) for name in names_in(node)
        )

    def _solution(self) -> Iterator[Sequence[object]]:
        texts = self.family.texts
        for step in texts.solution:
            if not step.only or self.cases & set(step.only):
                yield from step.text

    def _paragraphs(self) -> dict[str, int]:
        """In which paragraph an unknown is first printed."""
        first: dict[str, int] = {}
        for number, paragraph in enumerate(self._solution()):
            for piece in paragraph:
                if (
                    isinstance(piece, ValueField)
                    and piece.name in self.unknowns
                    and piece.form in {"value", "number", "equation"}
                ):
                    first.setdefault(piece.name, number)
        return first

    # ------------------------------------------------------------------------ stages

    def _stages(self) -> Iterator[Stage]:
        laws = dict(self.model.laws)
        before = {  # what a law may take as written down before any unknown is found
            expression: name
            for expression, name in self.known.items()
            if not names_in(expression) & self.unknowns
        }
        short = {name: _put_in(equation, before) for name, equation in laws.items()}
        found: set[str] = set()
        for block in self._blocks(short, self.model.unknowns):
            yield from self._block(block, {law: short[law] for law in block[0]}, found)
            found |= set(block[1])

    def _blocks(
        self, laws: Mapping[str, Equation], unknowns: Sequence[str]
    ) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
        mentions = {law: names_in(equation) & set(unknowns) for law, equation in laws.items()}
        order = structure(mentions, unknowns)
        return [(block.laws, block.unknowns) for block in order.blocks]

    def _block(
        self,
        block: tuple[tuple[str, ...], tuple[str, ...]],
        laws: Mapping[str, Equation],
        found: set[str],
    ) -> list[Stage]:
        """The stages of one block; all at once where no order can be followed."""
        unknowns = block[1]
        whole = self._plan(laws, unknowns)
        last = max((self.paragraph.get(u, -1) for u in unknowns), default=-1)
        first = min(self.paragraph.get(u, last) for u in unknowns)
        lead = tuple(u for u in unknowns if self.paragraph.get(u, last) == first)
        rest = tuple(u for u in unknowns if u not in lead)
        if rest and len(laws) <= _MAX_COMBINED:
            later = self._later(laws, rest, found | set(lead))
            if later is not None:
                return [Stage(lead, whole), *later]
        return [Stage(unknowns, whole)]

    def _later(
        self, laws: Mapping[str, Equation], rest: tuple[str, ...], found: set[str]
    ) -> list[Stage] | None:
        """The unknowns left, from the laws that hold fewest of them; None if that fails."""
        held = {law: len(names_in(equation) & set(rest)) for law, equation in laws.items()}
        choices = combinations([law for law in laws if held[law]], len(rest))
        for chosen in sorted(choices, key=lambda some: sum(held[law] for law in some)):
            some = {law: laws[law] for law in chosen}
            blocks = self._blocks(some, rest)
            if {u for _, names in blocks for u in names} != set(rest):
                continue
            try:
                stages = [Stage(u, self._plan({law: laws[law] for law in ls}, u))
                          for ls, u in blocks]  # fmt: skip
            except PlanError:
                continue
            done = set(found)
            for stage in stages:
                if stage.inputs & self.unknowns <= done:
                    done |= set(stage.finds)
            if set(rest) <= done:
                return stages
        return None

    def _plan(self, laws: Mapping[str, Equation], unknowns: Sequence[str]) -> Plan:
        model = Model(tuple(laws.items()), tuple(unknowns), self.model.signs)
        plan = make_plan(model, self.family.find)
        steps = tuple(_rewritten_step(step, self.known) for step in plan.steps)
        names = frozenset().union(
            *(names_in(node) for step in steps for node in _nodes(step)),
            *(names_in(node) for group in plan.conditions for node in group),
        )
        made = {name for step in steps for name in _makes(step)}
        return replace(plan, steps=steps, inputs=names - made - {"pi"})


def _formula(name: str, expression: Node) -> Plan:
    return Plan((Formulas(((name, expression),)),), ((),), (name,), names_in(expression) - {"pi"})


def _core(node: Node) -> Node:
    """The expression without a sign or the bars around it."""
    match node:
        case Negate(operand=inner) | Call(function="abs", arguments=(inner,)):
            return _core(inner)
        case _:
            return node


def _put_in(equation: Equation, known: Mapping[Node, Node]) -> Equation:
    return Equation(_short(equation.left, known), _short(equation.right, known), equation.span)


def _short(node: Node, known: Mapping[Node, Node]) -> Node:
    """The node with every expression in `known` written as its name, the largest first."""
    if node in known:
        return known[node]
    return rebuilt(node, tuple(_short(part, known) for part in children(node)))


def _rewritten_step(step: Step, known: Mapping[Node, Node]) -> Step:
    match step:
        case Formulas(assignments=assignments):
            return Formulas(tuple((name, _short(node, known)) for name, node in assignments))
        case Linear(system=system) if system.closed is not None:
            return Formulas(tuple((name, _short(node, known)) for name, node in system.closed))
        case Candidates(branches=branches):
            return replace(
                step,
                branches=tuple(
                    replace(branch, value=_short(branch.value, known)) for branch in branches
                ),
            )
        case PolynomialRoots(coefficients=coefficients):
            return replace(step, coefficients=tuple(_short(c, known) for c in coefficients))
        case _:
            return step


def _makes(step: Step) -> Iterable[str]:
    match step:
        case Formulas(assignments=assignments):
            return [name for name, _ in assignments]
        case Linear(system=system):
            return system.unknowns
        case _:
            return [step.unknown]


def _nodes(step: Step) -> Iterator[Node]:
    match step:
        case Formulas(assignments=assignments):
            yield from (node for _, node in assignments)
        case Linear(system=system):
            yield from (node for row in system.matrix for node in row)
            yield from system.right
        case Candidates(branches=branches):
            for branch in branches:
                yield branch.value
                yield from branch.conditions
        case PolynomialRoots(coefficients=coefficients):
            yield from coefficients
        case BracketedRoots():
            yield from (step.residual, step.low, step.high)
