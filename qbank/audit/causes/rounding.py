"""Keys that come of rounding on the way, as an author with a pocket calculator does.

The worked path of a family says what is written down on the way. Each such number, and each
number that appears within a formula (a sine, a logarithm, a reciprocal, a product), may have been
rounded, or cut, before it was carried on: the same way at all steps, or at one step alone. What
is tried is kept small, and a key must be met to every digit written, because a search that is
free enough reaches any number. Whoever cuts digits off keeps one more than the key has; whoever
rounds may keep fewer, but three where the key has three or more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from qbank.audit.causes.work import Floats, Mask, Work
from qbank.audit.resolving import Resolver
from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.functions import FUNCTIONS
from qbank.expressions.spelling import spell
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

FIGURES = (6, 5, 4, 3, 2)
DECIMALS = (5, 4, 3, 2, 1, 0)
FARTHEST = 0.05  # of the answer; beyond it a key is wrong, however it came about
FARTHEST_UNITS = 1.25  # last digits, for a key of two figures, which any search would meet
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
        pi: float = np.pi,
    ) -> Floats:
        """The unknown (n,), SI, with the numbers named rounded in a `way` before use.

        `truth` are true values of all that is given and found, by which roots are told apart.
        """
        env: dict[str, Floats] = dict(truth)
        env["pi"] = np.full(n, pi)
        need = np.zeros(n) if least is None else least
        for step in self.steps:
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
                    array = own if unit is None else unit.to_si(own)  # noqa: PLW2901
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


# ---------------------------------------------------------------------------- trials

_paths: WeakKeyDictionary[Resolver, dict[str, list[tuple[Mask, Path]]]] = WeakKeyDictionary()


def paths_of(resolver: Resolver, unknown: str) -> list[tuple[Mask, Path]]:
    """The paths to an unknown, and which cases (positions in `family.cases`) share each."""
    kept = _paths.setdefault(resolver, {})
    if unknown not in kept:
        kept[unknown] = [
            (member, Path(resolver, unknown, path.stages)) for member, path in resolver.honest.paths
        ]
    return kept[unknown]


def truth_of(work: Work) -> dict[str, Floats]:
    """All true values of the rows, constants of their cases included."""
    cases = work.resolver.family.cases
    at = np.maximum(work.resolved.case, 0)
    env = {**work.resolved.values, **work.resolved.answers}
    for name in {name for case in cases for name in case.constants}:
        env[name] = np.array([case.constants.get(name, np.nan) for case in cases])[at]
    return env


def rounded_on_the_way(work: Work) -> list[str]:
    """For each row how rounding leads to its key; empty where no plausible rounding does."""
    out = [""] * len(work)
    for member, path in paths_of(work.resolver, work.unknown):
        rows = np.flatnonzero(member[np.maximum(work.resolved.case, 0)])
        if len(rows):
            for row, says in zip(rows.tolist(), _explained(work.take(rows), path), strict=True):
                out[row] = says
    return out


def _explained(work: Work, path: Path) -> list[str]:
    keys, n = work.keys, len(work)
    figures = keys.figures
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.abs(keys.value - work.answer)
        near = off <= FARTHEST * np.abs(work.answer)
        near &= (figures > 2) | (off <= FARTHEST_UNITS * np.power(10.0, keys.loose))
    near &= figures >= 2
    least = np.where(figures <= 2, 2, np.maximum(3, figures - 2)).astype(np.float64)
    says = [""] * n
    open_rows = near.copy()
    truth = truth_of(work)
    for way, stages, places, where in _trials(path):
        if not open_rows.any():
            break
        need = np.maximum(least, figures + 1.0) if way.cut else least
        values = work.shown(path.run(truth, n, way, need, stages=stages, places=places))
        met = open_rows & keys.matches(values)
        for row in np.flatnonzero(met).tolist():
            says[row] = f"{where} {way}"
        open_rows &= ~met
    return says


def _trials(path: Path) -> Iterator[tuple[Way, frozenset[str], frozenset[Node], str]]:
    """What is tried, the most plausible first."""
    everything = frozenset(path.intermediates)
    functions = frozenset(p for p in path.places if isinstance(p, Call))
    inner = frozenset(path.places)
    none: frozenset[Node] = frozenset()
    for cut in (False, True):
        by_figures = [Way(f, None, cut) for f in FIGURES]
        for way in [*by_figures, *(Way(None, d, cut) for d in DECIMALS)]:
            if everything:
                yield way, everything, none, "all intermediate values are"
        for way in by_figures:
            if functions:
                yield way, everything, functions, "values of functions on the way are"
            if inner:
                yield way, everything, inner, "the result of every operation is"
        for name in path.intermediates:
            named = path.family.let.get(name) or path.family.find.get(name)
            called = f"{name} is" if named else "a number written on the way is"
            for way in by_figures:
                if len(everything) > 1:
                    yield way, frozenset([name]), none, called
    for way in [Way(f, None, cut=False) for f in FIGURES]:
        for place in path.places:
            yield way, frozenset(), frozenset([place]), f"{spell(place)} is"
