"""A family solved for data read from a bank: many rows at once, none of which stops the others."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from qbank.checking.slack import HonestSolver
from qbank.expressions.tree import names_in
from qbank.expressions.units import Unit
from qbank.family.model import Family, Fixed, Given, Sampled
from qbank.generation import Generator
from qbank.sampling.kinds import scalar_kind
from qbank.solving.cases import decide_cases
from qbank.solving.execution import NO_CASE, NOT_FINITE, SOLVED, Execution
from qbank.solving.plan import Model, make_plan
from qbank.solving.slips import SlipSolver
from qbank.solving.solver import Solver, full
from qbank.solving.steps import made_by, nodes_of
from qbank.solving.variants import ordered_lets

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_KEPT = 512  # resolvers kept by `resolver_of`; more than a library has families


@dataclass(frozen=True, slots=True)
class Datum:
    """A given that a stem can state. `fixed` is its value in SI where the family fixes it, so
    that a stem need not state it; `listed` where it is a data list."""

    name: str
    meaning: str
    symbol: str
    unit: Unit
    fixed: float | None
    listed: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Resolved:
    """What `Resolver.solve` gives for n rows; arrays (n,), SI.

    status   as in `Solved`: 0 where the row is solved; see `STATUS_WORDS`
    case     position in `family.cases`; -1 where none holds, or more than one
    values   givens and lets, (n,) or, for data lists, (n, m)
    answers  unknown -> NaN where it could not be found
    wrong    slip -> unknown -> what the slip leads to; empty unless asked for
    slack    unknown -> how far from the answer work with rounded intermediate values can land,
             before it is rounded itself; infinite where that has no bound. Empty unless asked for
    """

    status: NDArray[np.int8]
    case: Integers
    values: dict[str, Floats]
    answers: dict[str, Floats]
    wrong: dict[str, dict[str, Floats]] = field(default_factory=dict)
    slack: dict[str, Floats] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.status)

    @property
    def solved(self) -> NDArray[np.bool_]:
        """Which rows are solved, (n,)."""
        return np.asarray(self.status == SOLVED)


class Resolver:
    """One family, compiled once, or as its generator `compiled` it. Raises FamilyError for laws
    that cannot be solved.

    scalars  the data a stem can state, save lists: name -> Datum
    lists    data lists: name -> Datum
    needs    unknown -> the givens it depends on, those that decide the case included
    """

    def __init__(self, family: Family, compiled: Generator | None = None) -> None:
        self.family = family
        self.solver = Solver(family) if compiled is None else compiled.solver
        self._compiled_slips = None if compiled is None else compiled.slips
        self._decide = decide_cases(family)
        data = {name: _datum(g) for name, g in family.given.items() if not g.hidden}
        self.scalars = {name: datum for name, datum in data.items() if not datum.listed}
        self.lists = {name: datum for name, datum in data.items() if datum.listed}
        self._fixed = {
            name: value
            for name, given in family.given.items()
            if (value := _datum(given).fixed) is not None
        }
        self._behind = _behind(family)
        self._inputs = self._used_givens()
        self._partial: dict[frozenset[str], list[tuple[NDArray[np.bool_], Execution]]] = {}

    @cached_property
    def slips(self) -> SlipSolver:
        return self._compiled_slips or SlipSolver(self.family, self.solver)

    @cached_property
    def honest(self) -> HonestSolver:
        return HonestSolver(self.family, self.solver)

    @cached_property
    def needs(self) -> dict[str, frozenset[str]]:
        out: dict[str, frozenset[str]] = dict.fromkeys(self.family.find, frozenset())
        deciding = [case.when for case in self.family.cases if case.when is not None]
        always = frozenset().union(*map(names_in, deciding))
        for _, plan in self.solver.plans:
            behind: dict[str, frozenset[str]] = {}
            for step, conditions in zip(plan.steps, plan.conditions, strict=True):
                made = made_by(step)
                used = frozenset().union(*map(names_in, [*nodes_of(step), *conditions])) - made
                whole = frozenset().union(*(behind.get(name, {name}) for name in used))
                behind.update(dict.fromkeys(made, whole))
            for name in out:
                out[name] |= self._givens(behind.get(name, frozenset()) | always)
        return out

    def solve(
        self,
        values: Mapping[str, ArrayLike],
        n: int,
        *,
        with_slips: bool = False,
        with_slack: bool = False,
    ) -> Resolved:
        """Solve n rows of data; rules of the family need not hold, nor lie numbers on its grid.

        `values` are givens in SI, each (n,) or one number for all rows; data lists (n, m), padded
        with NaN. Givens that are fixed take the family's value unless they are passed. Where
        others are lacking, the unknowns that do not hang on them are still found, and the status
        is that of these.

        Never raises for data: a row without a case, a root or a finite value gets its status.
        Raises ValueError for a value of another shape.
        """
        env: dict[str, Floats] = dict(self._fixed)  # type: ignore[arg-type]  # single numbers
        for name, value in values.items():
            array = np.asarray(value, dtype=np.float64)
            if array.ndim and array.shape[0] != n:
                raise ValueError(f"{name}: expected {n} rows, found shape {array.shape}")
            env[name] = array
        missing = self._inputs.difference(env)
        if missing:
            return self._solve_partly(env, n, missing, with_slips, with_slack)
        env = self.solver.lets(env, n)
        case = self._case(env, n)
        solved = self.solver.solve(env, case, n)
        return self._finish(env, case, solved.values, solved.status, n, with_slips, with_slack)

    # ------------------------------------------------------------------------ inside

    def _case(self, env: Mapping[str, Floats], n: int) -> Integers:
        case, holding = self._decide(env, n)
        if len(self.family.cases) > 1:
            case[holding != 1] = -1
        return case

    def _finish(
        self,
        env: dict[str, Floats],
        case: Integers,
        answers: dict[str, Floats],
        status: NDArray[np.int8],
        n: int,
        with_slips: bool,
        with_slack: bool,
    ) -> Resolved:
        values = {name: full(value, n) for name, value in env.items()}
        wrong: dict[str, dict[str, Floats]] = {}
        slack: dict[str, Floats] = {}
        if with_slips:
            wrong = self.slips.solve(values, case, n)
        if with_slack:
            sides = self.honest.deviations({**values, **answers}, np.maximum(case, 0), n)
            slack = {name: np.maximum(above, below) for name, (above, below) in sides.items()}
        return Resolved(status, case, values, answers, wrong, slack)

    def _solve_partly(
        self,
        env: dict[str, Floats],
        n: int,
        missing: frozenset[str],
        with_slips: bool,
        with_slack: bool,
    ) -> Resolved:
        for name in missing:
            lacking = (n, 1) if isinstance(self.family.given[name].source, Sampled) else n
            env[name] = np.full(lacking, np.nan)
        env = self.solver.lets(env, n)
        case = self._case(env, n)
        if missing not in self._partial:
            self._partial[missing] = self._partial_plans(missing)
        answers = {name: np.full(n, np.nan) for name in self.family.find}
        status = np.full(n, NO_CASE, dtype=np.int8)
        for member, execution in self._partial[missing]:
            rows = np.flatnonzero(member[case])
            if not len(rows):
                continue
            part = {name: full(env[name], n)[rows] for name in execution.plan.inputs & env.keys()}
            for name in execution.plan.inputs - env.keys():  # constants of the case
                table = np.array([c.constants.get(name, np.nan) for c in self.family.cases])
                part[name] = table[case[rows]]
            found, status[rows] = execution.run(part, len(rows))
            for name, array in found.items():
                answers[name][rows] = array
            if not found:
                status[rows] = NOT_FINITE
        return self._finish(env, case, answers, status, n, with_slips, with_slack)

    def _partial_plans(self, missing: frozenset[str]) -> list[tuple[NDArray[np.bool_], Execution]]:
        """For the cases of each group: the plan of the laws that hold nothing missing."""
        lacking = {name for name, givens in self._behind.items() if givens & missing} | missing
        plans = []
        for group, _ in self.solver.plans:
            laws = tuple((law, eq) for law, eq in group.model.laws if not names_in(eq) & lacking)
            model = Model(laws, group.model.unknowns, group.model.signs)
            member = np.zeros(len(self.family.cases) + 1, dtype=np.bool_)
            member[[variant.case for variant in group.variants]] = True
            plans.append((member, Execution(make_plan(model, self.family.find, partial=True))))
        return plans

    def _givens(self, names: frozenset[str]) -> frozenset[str]:
        """The givens behind some names of givens and lets."""
        own = frozenset(names & self.family.given.keys())
        return own.union(*(self._behind[name] for name in names & self._behind.keys()))

    def _used_givens(self) -> frozenset[str]:
        """Givens without which not all lets, cases and unknowns can be computed."""
        nodes = [case.when for case in self.family.cases if case.when is not None]
        names = frozenset().union(*map(names_in, nodes))
        names = names.union(*(names_in(law.equation) for law in self.family.laws))
        for unknown in self.family.find.values():
            picking = [unknown.choose, *(unknown.between or ())]
            names = names.union(*(names_in(node) for node in picking if node is not None))
        return self._givens(names) | self._givens(frozenset(self.family.let))


def _datum(given: Given) -> Datum:
    kind = scalar_kind(given)
    fixed = None
    if kind is not None and isinstance(given.source, Fixed):
        fixed = float(kind.values(np.zeros(1, dtype=np.int64))[0])
    return Datum(given.name, given.meaning, given.symbol, given.unit, fixed, kind is None)


def _behind(family: Family) -> dict[str, frozenset[str]]:
    """Let -> the givens it hangs on."""
    out: dict[str, frozenset[str]] = {}
    for name in ordered_lets(family):
        used = names_in(family.let[name].expression)
        own = frozenset(used & family.given.keys())
        out[name] = own.union(*(out[other] for other in used & out.keys()))
    return out


_resolvers: OrderedDict[str, Resolver] = OrderedDict()


def resolver_of(family: Family, compiled: Generator | None = None) -> Resolver:
    """The resolver of a family; made once for a content, the last used ones are kept.

    `compiled` is the family's generator where there is one: what it has compiled is used.
    """
    found = _resolvers.get(family.digest)
    if found is None:
        found = _resolvers[family.digest] = Resolver(family, compiled)
        while len(_resolvers) > _KEPT:
            _resolvers.popitem(last=False)
    _resolvers.move_to_end(family.digest)
    return found
