"""Draws in, solutions out: the laws of each case planned once, then solved on arrays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from qbank.family.model import Family
from qbank.solving.execution import (
    NO_CASE,
    NO_ROOT,
    NOT_FINITE,
    SEVERAL_ROOTS,
    SOLVED,
    Execution,
    compile_formulas,
)
from qbank.solving.memory import keep_freed_memory
from qbank.solving.plan import Plan, make_plan
from qbank.solving.steps import PlanError
from qbank.solving.variants import (
    Variant,
    VariantGroup,
    family_error,
    group_variants,
    ordered_lets,
    sign_constants,
)

__all__ = [
    "NOT_FINITE",
    "NO_CASE",
    "NO_ROOT",
    "SEVERAL_ROOTS",
    "SOLVED",
    "STATUS_WORDS",
    "Solved",
    "Solver",
]

Floats = NDArray[np.float64]
Values = Mapping[str, Floats]

STATUS_WORDS = {
    SOLVED: "solved",
    NO_ROOT: "no root",
    SEVERAL_ROOTS: "several roots",
    NOT_FINITE: "not finite",
    NO_CASE: "no case",
}


@dataclass(frozen=True, slots=True)
class Solved:
    """What `Solver.solve` gives.

    values  unknown -> (n,) float64, SI; NaN where `status` is not SOLVED
    status  (n,) int8: SOLVED; NO_ROOT, no value meets the laws and what picks a root;
            SEVERAL_ROOTS, more than one does; NOT_FINITE, a division by zero, an overflow or data
            that were not finite; NO_CASE, the draw has no case
    """

    values: dict[str, Floats]
    status: NDArray[np.int8]


class Solver:
    """The laws of a family, planned and compiled.

    Raises FamilyError, at the place of the law or the unknown, where the laws of a case do not
    determine the unknowns or cannot be solved.
    """

    def __init__(self, family: Family) -> None:
        keep_freed_memory()
        self.family = family
        order = ordered_lets(family)
        self._lets = compile_formulas([(name, family.let[name].expression) for name in order])
        self._unknowns = tuple(family.find)
        signs = sign_constants(family)
        variants = [
            Variant(
                position,
                tuple((law.name, law.equation) for law in family.laws_in(case.name)),
                case.constants,
            )
            for position, case in enumerate(family.cases)
        ]
        self.plans = [
            (group, _plan(family, group)) for group in group_variants(family, variants, signs)
        ]
        self._groups = [_Group(family, group, plan) for group, plan in self.plans]

    def lets(self, values: Values, n: int) -> dict[str, Floats]:
        """`values` (givens, SI, (n,) or for data lists (n, m)) with the intermediate quantities."""
        return {**values, **self._lets(values, n)}

    def solve(self, values: Values, case: NDArray[np.int64], n: int) -> Solved:
        """The unknowns of `n` draws.

        `values` are givens and lets, SI, each (n,) or a single number; `case` (n,) the position
        of each draw's case in `family.cases`, -1 for none. An element that cannot be solved gets
        its status and NaN and leaves the others alone.
        """
        out = {name: np.full(n, np.nan) for name in self._unknowns}
        status = np.full(n, NO_CASE, dtype=np.int8)
        for group in self._groups:
            rows = group.rows(case)
            if rows is None:
                out, status = group.solve(values, case, n)
                outside = case < 0
                if outside.any():
                    status[outside] = NO_CASE
                    out = {name: np.where(outside, np.nan, array) for name, array in out.items()}
            elif len(rows):
                part = {name: taken(values[name], rows) for name in group.needs}
                found, status[rows] = group.solve(part, case[rows], len(rows))
                for name, array in found.items():
                    out[name][rows] = array
        return Solved(out, status)


class _Group:
    """A compiled plan for the draws of some cases."""

    def __init__(self, family: Family, group: VariantGroup, plan: Plan) -> None:
        self.plan = plan
        self._execution = Execution(plan)
        cases = [variant.case for variant in group.variants]
        self._all = set(cases) == set(range(len(family.cases)))
        # tables over the cases; the last entry is what -1 (no case) finds
        self._member = np.isin(np.arange(len(family.cases) + 1), cases)
        names = {name for variant in group.variants for name in variant.constants}
        self._constants: dict[str, Floats] = {}
        for name in sorted(names & plan.inputs):
            table = np.full(len(family.cases) + 1, np.nan)
            for variant in group.variants:
                table[variant.case] = variant.constants[name]
            self._constants[name] = table
        self.needs = plan.inputs - self._constants.keys()

    def rows(self, case: NDArray[np.int64]) -> NDArray[np.intp] | None:
        """The draws of the group's cases; None where those are all that have a case."""
        if self._all:
            return None
        return np.flatnonzero(self._member[case])

    def solve(
        self, values: Values, case: NDArray[np.int64], n: int
    ) -> tuple[dict[str, Floats], NDArray[np.int8]]:
        """Values and status of `n` draws that all belong to the group or have no case."""
        env = {name: full(values[name], n) for name in self.needs}
        for name, table in self._constants.items():
            env[name] = table[case]
        return self._execution.run(env, n)


def taken(value: Any, rows: NDArray[np.intp]) -> Any:
    """Some rows of a quantity, or a single number as it is."""
    return value if np.ndim(value) == 0 else value[rows]


def full(value: Any, n: int) -> Floats:
    """A quantity as (n,) float64."""
    array = np.asarray(value, dtype=np.float64)
    return array if array.ndim else np.full(n, float(array))


def _plan(family: Family, group: VariantGroup) -> Plan:
    """The plan of a group; FamilyError says where the laws fall short."""
    try:
        return make_plan(group.model, family.find)
    except PlanError as error:
        cases = [family.cases[variant.case].name for variant in group.variants]
        raise family_error(family, error, cases[0] if len(family.cases) > 1 else None) from None
