"""Rounding slack: how far honest work can land from the exact answer.

An honest solver follows the worked path, rounds what is written down or carries it on exactly,
and goes on from there. Each number written down may thus be off by half a unit in the last place
kept, up or down. Which place that is:

- a quantity in `let`: the last place shown, but not beyond the working figures;
- a number the solution prints in passing: the last of the working figures;
- an answer that is needed later: its last place as asked for, since it has been given so, or the
  last of the working figures where the family states them;
- any answer: half a unit in the last of the working figures for what is not written down.

The working figures are one more than the answers have (common practice, no source), or what the
family states in `working`. A fixed given with `accept` may also have one of the values there.

Each number is moved up and down alone, everything after it is worked out again from the moved
number, and the effects on an answer are added up. To first order this is the worst combination
of all roundings, at the cost of two evaluations a number instead of 2**k; `INTERPLAY` covers what
roundings do to each other's effect. Interval arithmetic along the path would be certain as well,
but it takes a number that occurs twice for two, so that its slack grows several times too wide
where terms cancel.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.numbers import NumberFormat, last_place, round_values
from qbank.expressions.tree import Name, Node
from qbank.expressions.units import Unit
from qbank.family.model import Family, Fixed
from qbank.instances import Floats, Integers
from qbank.solving.execution import Execution
from qbank.solving.rewriting import substitute
from qbank.solving.solver import Solver
from qbank.solving.variants import VariantGroup
from qbank.solving.worked_path import Stage, WorkedPath, worked_path

INTERPLAY = 0.05  # share of the summed effects added for what two roundings do together
NEAR_POWER = 2.0**-10  # a value this close below a power of ten may be rounded as one above it
ON_PLACE = 1e-9  # units of the last place: a number this near to a decimal needs no rounding

Env = dict[str, Floats]
Label = tuple[str, int]  # a number written down, and which way it is moved: 1, -1, ...


@dataclass(frozen=True, slots=True)
class Kept:
    """With how many figures a number is carried on: the coarsest of `formats`, in `unit`."""

    unit: Unit
    formats: tuple[NumberFormat, ...]

    def half(self, values: Floats, *, moved: bool) -> Floats:
        """Half a unit in the last place kept (n,), SI, of SI values.

        Zero for values that are whole numbers of that place, unless they may have `moved`.
        """
        shown = self.unit.from_si(values)
        raised = shown * (1.0 + NEAR_POWER)
        place = last_place(raised, self.formats[0])
        for fmt in self.formats[1:]:
            place = np.maximum(place, last_place(raised, fmt))
        half = place * (0.5 * self.unit.factor)
        if moved:
            return half
        counts = shown / place
        return np.where(np.abs(counts - np.rint(counts)) <= ON_PLACE, 0.0, half)


def working_figures(family: Family) -> int | None:
    """Figures kept on the way; None where no answer has figures and the family states none."""
    if family.working is not None:
        return family.working
    asked = [unknown.shown.figures for unknown in family.find.values() if unknown.shown.figures]
    return max(asked) + 1 if asked else None


class HonestSolver:
    """The rounding slack of one family's answers, compiled once; see the module."""

    def __init__(self, family: Family, solver: Solver) -> None:
        self.family = family
        self._groups = [_Group(family, group) for group, _ in solver.plans]

    @property
    def paths(self) -> list[tuple[NDArray[np.bool_], WorkedPath]]:
        """Each path, and which cases (positions in `family.cases`) share it."""
        return [(group.member, group.path) for group in self._groups]

    def deviations(
        self, values: Mapping[str, Floats], case: Integers, n: int
    ) -> dict[str, tuple[Floats, Floats]]:
        """Unknown -> how far above and below the exact answer honest work lands before the answer
        is rounded, each (n,), SI, not negative; infinite where moved numbers have no solution.

        `values` are givens, lets and unknowns, SI, (n,); `case` (n,) as for `Solver.solve`.
        """
        if len(self._groups) == 1:
            return self._groups[0].deviations(values, case, n)
        out = {name: (np.full(n, np.inf), np.full(n, np.inf)) for name in self.family.find}
        for group in self._groups:
            rows = np.flatnonzero(group.member[case])
            if not len(rows):
                continue
            part = {name: array[rows] for name, array in values.items()}
            for name, sides in group.deviations(part, case[rows], len(rows)).items():
                for whole, side in zip(out[name], sides, strict=True):
                    whole[rows] = side
        return out


class _Group:
    """The path of the cases that share one model."""

    def __init__(self, family: Family, group: VariantGroup) -> None:
        self.family = family
        cases = [variant.case for variant in group.variants]
        self.member = np.isin(np.arange(len(family.cases)), cases)
        self._constants: dict[str, Floats] = {}
        for variant in group.variants:
            for name, value in variant.constants.items():
                table = self._constants.setdefault(name, np.full(len(family.cases), np.nan))
                table[variant.case] = value
        self.path: WorkedPath = worked_path(family, group)
        self.kept = self._all_kept()
        # of what an answer is rounded to when it is carried on: the last of the working figures
        self._own_share = 0.1 if family.working is None else 1.0
        self.alternatives = {
            name: [_si(other, given.unit) for other in given.accept]
            for name, given in family.given.items()
            if given.accept
        }
        self._stages: list[_CompiledStage] = []
        moved_by: dict[str, tuple[Label, ...]] = {
            name: tuple((name, i) for i in range(len(others)))
            for name, others in self.alternatives.items()
        }
        for stage in self.path.stages:
            labels = tuple(
                dict.fromkeys(
                    label for name in sorted(stage.inputs) for label in moved_by.get(name, ())
                )
            )
            self._stages.append(_CompiledStage(stage, labels, moved_by))
            for name in stage.finds:
                moved_by[name] = (*labels, (name, 1), (name, -1))

    def _all_kept(self) -> dict[str, Kept]:
        figures = working_figures(self.family)
        working = () if figures is None else (NumberFormat(figures=figures),)
        kept: dict[str, Kept] = {}
        for name, written in self.path.written.items():
            formats = (written.shown, *working)
            if written.shown.figures is not None and figures is not None and name[0] == "=":
                formats = (NumberFormat(figures=max(written.shown.figures, figures)),)
            kept[name] = Kept(written.unit, tuple(dict.fromkeys(formats)))
        for name, unknown in self.family.find.items():
            stated = self.family.working is not None
            kept[name] = Kept(unknown.unit, working if stated else (unknown.shown,))
        return kept

    def deviations(
        self, values: Mapping[str, Floats], case: Integers, n: int
    ) -> dict[str, tuple[Floats, Floats]]:
        base: Env = dict(values)
        for name, table in self._constants.items():
            base[name] = table[case]
        moved: dict[tuple[str, Label], Floats] = {
            (name, (name, i)): np.full(n, other)
            for name, others in self.alternatives.items()
            for i, other in enumerate(others)
        }
        found: dict[str, tuple[Floats, Floats]] = {}
        with np.errstate(all="ignore"):
            for stage in self._stages:
                stage.run(base, moved, n)
                for name in stage.finds:
                    exact = base[name]
                    half = self.kept[name].half(exact, moved=bool(stage.labels))
                    if name in self.family.find:
                        own = half * self._own_share
                        found[name] = self._summed(name, stage.labels, base, moved, own)
                        half = half + own
                    moved[name, (name, 1)] = exact + half
                    moved[name, (name, -1)] = exact - half
        return found

    def _summed(
        self,
        name: str,
        labels: Sequence[Label],
        base: Env,
        moved: Mapping[tuple[str, Label], Floats],
        own: Floats,
    ) -> tuple[Floats, Floats]:
        """The effects of all sources on an answer, added up for each direction."""
        sides = []
        for sign in (1.0, -1.0):
            total = own
            for source in dict.fromkeys(source for source, _ in labels):
                ways = [
                    sign * (moved[name, label] - base[name])
                    for label in labels
                    if label[0] == source
                ]
                total = total + np.maximum.reduce([*ways, np.zeros_like(own)])
            total = total * (1.0 + INTERPLAY)
            sides.append(np.where(np.isnan(total), np.inf, total))
        return sides[0], sides[1]


class _CompiledStage:
    """A stage worked out for every number moved before it that matters to it."""

    def __init__(
        self, stage: Stage, labels: tuple[Label, ...], moved_by: Mapping[str, tuple[Label, ...]]
    ) -> None:
        self.finds = stage.finds
        self.labels = labels
        self._moved_inputs = {
            label: [name for name in sorted(stage.inputs) if label in moved_by.get(name, ())]
            for label in labels
        }
        self._inputs = stage.inputs
        formulas = stage.plan.formulas
        self._execution: Execution | None = None
        self._program: Program | None = None
        if formulas is None or any(stage.plan.conditions):
            self._execution = Execution(stage.plan)
            return
        whole: dict[str, Node] = {}
        for name, node in formulas:
            whole[name] = substitute(node, whole)
        nodes = [whole[name] for name in self.finds if name[0] == "="]
        for label in labels:
            renamed: dict[str, Node] = {
                name: Name(_moved_name(name, label)) for name in self._moved_inputs[label]
            }
            nodes += [substitute(whole[name], renamed) for name in self.finds]
        self._program = compile_nodes(nodes)

    def run(self, base: Env, moved: dict[tuple[str, Label], Floats], n: int) -> None:
        """Adds to `moved` what this stage finds under each label, and to `base` numbers that are
        not among the values."""
        if self._execution is not None:
            for label in self.labels:
                env = {name: base[name] for name in self._inputs}
                for name in self._moved_inputs[label]:
                    env[name] = moved[name, label]
                answers, _ = self._execution.run(env, n)
                for name in self.finds:
                    moved[name, label] = answers[name]
            return
        assert self._program is not None  # noqa: S101  # one of the two is set
        env = {name: base[name] for name in self._program.names if name in base}
        for label in self.labels:
            for name in self._moved_inputs[label]:
                env[_moved_name(name, label)] = moved[name, label]
        results = iter(self._program(env, n))
        for name in self.finds:
            if name[0] == "=":
                base[name] = next(results)
        for label in self.labels:
            for name in self.finds:
                moved[name, label] = next(results)


def _moved_name(name: str, label: Label) -> str:
    return f"{name}|{label[0]}|{label[1]}"


def honest_range(
    shown: Floats, place: Floats, above: Floats, below: Floats, fmt: NumberFormat
) -> tuple[Floats, Floats]:
    """The least and greatest response (n,) of honest work, in the shown unit.

    `shown` (n,) are exact answers in the shown unit, `place` (n,) one unit in the last place they
    are shown with; `above` and `below` how far work may be off before it is rounded for `fmt`.
    The response may be given as it is or rounded; rounding keeps the order of numbers, so the
    ends of the range are the rounded ends.
    """
    low, high = shown - below, shown + above
    least = np.minimum(low, np.ceil(low / place - 0.5 - ON_PLACE) * place)
    most = np.maximum(high, np.floor(high / place + 0.5 + ON_PLACE) * place)
    if fmt.figures is not None:  # another power of ten has another last place
        top = place * 10.0**fmt.figures
        outside = np.maximum(np.abs(low), np.abs(high)) >= top * (1 - NEAR_POWER)
        outside |= np.minimum(np.abs(low), np.abs(high)) < top * (0.1 + NEAR_POWER)
        rows = np.flatnonzero(outside)
        if len(rows):
            least[rows] = np.minimum(low[rows], round_values(low[rows], fmt))
            most[rows] = np.maximum(high[rows], round_values(high[rows], fmt))
    return least, most


def _si(value: Fixed, unit: Unit) -> float:
    decimal = float(f"{value.mantissa}e{value.exponent}")
    return float(unit.to_si(np.array([decimal]))[0])
