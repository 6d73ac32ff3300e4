"""How one unknown is worked out step by step, with numbers on the way rounded or exact.

The worked path of a family says what is written down on the way. Each such number, and each
number that appears within a formula (a sine, a logarithm, a reciprocal, a product), may be
rounded, or cut, before it is carried on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.audit.causes.work import Floats
from qbank.audit.resolving import Resolver
from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.functions import FUNCTIONS
from qbank.expressions.tree import (
    Binary,
    Call,
    Measure,
    Name,
    Negate,
    Node,
    Number,
    names_in,
    walk,
)
from qbank.expressions.units import Unit, parse_unit
from qbank.family.model import Sampled
from qbank.solving.execution import SOLVED, Execution
from qbank.solving.steps import Candidates, closed_form
from qbank.solving.worked_path import Stage

_LARGEST_FORMULA = 60  # nodes; nobody works through a longer one number by number
_MOST_PLACES = 24  # numbers within formulas that are rounded alone
_DEGREE = parse_unit("°")
_ANGLES = ("asin", "acos", "atan", "atan2")
_OPERATIONS: Mapping[str, Callable[..., Floats]] = {
    "+": np.add, "-": np.subtract, "*": np.multiply, "/": np.divide, "^": np.power
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Way:
    """How numbers are rounded: to `figures` or to `decimals`, cut or to the nearest."""

    figures: int | None
    decimals: int | None
    cut: bool

    def __call__(self, values: Floats, least: Floats) -> Floats:
        """The values rounded; NaN where fewer than `least` figures would be left."""
        with np.errstate(all="ignore"):
            size = np.abs(values)
            top = np.floor(np.log10(np.where(size > 0, size, 1.0)) + 1e-12)
            if self.figures is not None:
                places = self.figures - 1 - top
                kept = np.full_like(top, self.figures)
            else:
                places = np.full_like(top, self.decimals or 0)
                kept = top + 1 + places
            counts = size * np.power(10.0, places)
            rounded = np.floor(counts * (1 + 1e-11) + (0.0 if self.cut else 0.5))
            result = np.copysign(rounded / np.power(10.0, places), values)
            return np.where((kept >= least) | (values == 0), result, np.nan)

    def __str__(self) -> str:
        verb = "cut" if self.cut else "rounded"
        if self.figures is not None:
            return f"{verb} to {self.figures} significant figures"
        if not self.decimals:
            return f"{verb} to whole numbers"
        return f"{verb} to {self.decimals} decimal{'s' if self.decimals > 1 else ''}"


@dataclass(frozen=True, slots=True, eq=False)
class _Formula:
    """A number found on the way: `nodes` are its possible values, of which the true one counts."""

    name: str
    nodes: tuple[Node, ...]
    unit: Unit | None


class Path:
    """How one unknown is reached in the cases that share a path."""

    def __init__(self, resolver: Resolver, unknown: str, stages: Sequence[Stage]) -> None:
        family = resolver.family
        self.unknown = unknown
        self.family = family
        self.lists = {n for n, g in family.given.items() if isinstance(g.source, Sampled)}
        self.steps: list[_Formula | tuple[tuple[str, ...], Execution]] = []
        self._programs: dict[Node, Program] = {}
        needed = _needed(stages, unknown)
        for stage in stages:
            if not needed & set(stage.finds):
                continue
            formulas = self._formulas(stage)
            if formulas is None:
                self.steps.append((stage.finds, Execution(stage.plan)))
            else:
                self.steps += formulas
        self.intermediates = [
            name
            for step in self.steps
            for name in ((step.name,) if isinstance(step, _Formula) else step[0])
            if name != unknown
        ]
        self.places = self._places()
        self.carried = list(self._carried())

    def _carried(self) -> Iterator[tuple[int, tuple[str, ...]]]:
        """Positions in `steps`, the last first, before which two or more numbers are found that
        are used from there on, with the names of these; none that is used up before."""
        seen: set[tuple[str, ...]] = set()
        last = max(at for at, step in enumerate(self.steps) if self.unknown in _finds(step))
        used: set[str] = set()
        for at in range(last, 0, -1):
            used |= _uses(self.steps[at])
            before = {name for step in self.steps[:at] for name in _finds(step)}
            names = tuple(n for n in self.intermediates if n in used & before)
            if len(names) > 1 and names not in seen:
                seen.add(names)
                yield at, names

    def _unit(self, name: str) -> Unit | None:
        quantity = self.family.find.get(name) or self.family.let.get(name)
        return quantity.unit if quantity is not None else None

    def _formulas(self, stage: Stage) -> list[_Formula] | None:
        found: list[_Formula] = []
        for step in stage.plan.steps:
            closed = closed_form(step)
            if closed is not None:
                found += [_Formula(name, (node,), self._unit(name)) for name, node in closed]
            elif isinstance(step, Candidates):
                nodes = tuple(branch.value for branch in step.branches)
                found.append(_Formula(step.unknown, nodes, self._unit(step.unknown)))
            else:
                return None
        return found

    def _places(self) -> list[Node]:
        """The numbers within formulas that may be rounded alone, functions first."""
        found: dict[Node, None] = {}
        for step in self.steps:
            if isinstance(step, _Formula):
                for whole in step.nodes:
                    if sum(1 for _ in walk(whole)) <= _LARGEST_FORMULA:
                        found |= dict.fromkeys(p for p in walk(whole) if self._appears(p, whole))
        order = sorted(found, key=lambda node: not isinstance(node, Call))
        return order[:_MOST_PLACES]

    def _appears(self, node: Node, whole: Node) -> bool:
        return (
            node is not whole
            and isinstance(node, Call | Binary)
            and any(isinstance(part, Name) and part.id != "pi" for part in walk(node))
            and (isinstance(node, Call) or not names_in(node) & self.lists)
        )

    def run(
        self,
        truth: Mapping[str, Floats],
        n: int,
        way: Way | None = None,
        least: Floats | None = None,
        *,
        stages: frozenset[str] = frozenset(),
        places: frozenset[Node] = frozenset(),
        last: int | None = None,
        pi: float = np.pi,
    ) -> Floats:
        """The unknown (n,), SI, with the numbers named rounded in a `way` before use.

        `truth` are true values of all that is given and found, by which roots are told apart.
        With `last`, a position in `steps`, the numbers before it are worked out in full, and only
        from there on those written down, rounded, are used.
        """
        env: dict[str, Floats] = dict(truth)
        env["pi"] = np.full(n, pi)
        need = np.zeros(n) if least is None else least
        written: dict[str, Floats] = {}
        for position, step in enumerate(self.steps):
            if position == last:
                env |= written
            if isinstance(step, _Formula):
                values = [self._value(node, env, n, way, need, places) for node in step.nodes]
                made = {step.name: _nearest(values, truth.get(step.name))}
            else:
                names, execution = step
                if any(not np.isfinite(env[name]).all() for name in execution.plan.inputs):
                    env.update(dict.fromkeys(names, np.full(n, np.nan)))
                found, status = execution.run({k: env[k] for k in execution.plan.inputs}, n)
                made = {k: np.where(status == SOLVED, v, np.nan) for k, v in found.items()}
            for name, array in made.items():
                if way is not None and name in stages and name != self.unknown:
                    unit = self._unit(name)
                    own = array if unit is None else unit.from_si(array)
                    own = way(own, need)
                    kept = own if unit is None else unit.to_si(own)
                    if last is not None:
                        if position < last:
                            written[name] = kept
                    else:
                        array = kept  # noqa: PLW2901
                env[name] = array
        return env[self.unknown]

    def _value(
        self,
        node: Node,
        env: Mapping[str, Floats],
        n: int,
        way: Way | None,
        least: Floats,
        places: frozenset[Node],
    ) -> Floats:
        def go(part: Node) -> Floats:
            match part:
                case Number(value=value):
                    return np.full(n, float(value))
                case Measure(value=value, unit=unit):
                    return np.full(n, unit.si_value(value))
                case Name(id=name):
                    return np.asarray(env[name])
                case Negate(operand=operand):
                    return -go(operand)
                case Binary(operator=operator, left=left, right=right):
                    result = _OPERATIONS[operator](go(left), go(right))
                case Call(function=function, arguments=arguments) if (
                    FUNCTIONS[function].kind == "scalar" and not names_in(part) & self.lists
                ):
                    values = [go(argument) for argument in arguments]
                    evaluate = FUNCTIONS[function].evaluate
                    result = evaluate(values[0]) if len(values) == 1 else values[0]
                    for other in values[1:]:
                        result = evaluate(result, other)
                case _:
                    program = self._programs.get(part)
                    if program is None:
                        program = self._programs[part] = compile_nodes([part])
                    result = program(env, n)[0]
            if way is not None and part in places:
                if isinstance(part, Call) and part.function in _ANGLES:
                    return np.asarray(_DEGREE.to_si(way(_DEGREE.from_si(result), least)))
                return way(result, least)
            return np.asarray(result)

        with np.errstate(all="ignore"):
            return go(node)


def _finds(step: _Formula | tuple[tuple[str, ...], Execution]) -> tuple[str, ...]:
    return (step.name,) if isinstance(step, _Formula) else step[0]


def _uses(step: _Formula | tuple[tuple[str, ...], Execution]) -> frozenset[str]:
    if isinstance(step, _Formula):
        return frozenset().union(*map(names_in, step.nodes))
    return frozenset(step[1].plan.inputs)


def _nearest(values: Sequence[Floats], truth: Floats | None) -> Floats:
    """Of several roots the one nearest to the true value, row by row."""
    if len(values) == 1 or truth is None:
        return values[0]
    table = np.stack(values)
    with np.errstate(invalid="ignore"):
        far = np.where(np.isfinite(table), np.abs(table - truth), np.inf)
    return np.asarray(np.take_along_axis(table, far.argmin(axis=0)[None], axis=0)[0])


def _needed(stages: Sequence[Stage], unknown: str) -> set[str]:
    needed = {unknown}
    for stage in reversed(stages):
        if needed & set(stage.finds):
            needed |= stage.inputs
    return needed
