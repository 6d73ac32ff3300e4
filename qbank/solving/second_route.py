"""The answers once more, by another way than the solver's: the check that finds its mistakes.

No algebra system, no plan, no order of solving: the laws' trees are taken as they stand in the
family, all at once. Linear laws are a matrix, filled in by differentiating the trees, and one
elimination. Other laws are solved by Newton's method on the whole system (Dennis and Schnabel,
Numerical Methods for Unconstrained Optimization and Nonlinear Equations, 1983, chapter 5, from
memory), from starts that lie beside the answer to be judged on opposite sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Node, Number, names_in
from qbank.family.model import Family, Law
from qbank.instances import Floats, Integers
from qbank.solving.derivatives import NoDerivativeError, at_zero, derivative, term_size
from qbank.solving.elimination import Entry, solve_batch, solve_carefully
from qbank.solving.rewriting import ZERO

Env = Mapping[str, Floats]
Answers = dict[str, Floats]
Matrix = list[list[Entry]]
Mask = NDArray[np.bool_]

START_OFFSET = 2.0**-7  # relative, of a Newton start from the answer it judges
MOST_STEPS = 20
CONVERGED = 1e-8  # relative size of the last Newton step; the error left is about its square
PROBE_STEP = 2.0**-20  # relative step of a central difference
MOST_RETREATS = 5  # halvings of a step or an offset that leaves the laws' domain


class LawSystem:
    """As many laws as unknowns, compiled: residuals, term sizes and the Jacobian on arrays.

    `linear` says that no entry of the Jacobian depends on an unknown.
    """

    def __init__(self, laws: Sequence[Law], unknowns: Sequence[str]) -> None:
        self.laws = tuple(laws)
        self.unknowns = tuple(unknowns)
        self._residuals = [law.equation.residual for law in laws]
        self.entries = [[_slope(node, name) for name in unknowns] for node in self._residuals]
        names = frozenset(unknowns)
        self.linear = all(
            entry is not None and not names_in(entry) & names
            for row in self.entries
            for entry in row
        )
        self._residual_program = compile_nodes(self._residuals)
        self._jacobian_program = compile_nodes(
            [entry for row in self.entries for entry in row if not _fixed(entry)]  # type: ignore[misc]  # None is fixed
        )
        self._origin_program = (
            compile_nodes([at_zero(node, names) for node in self._residuals])
            if self.linear
            else None
        )
        lefts = [_larger_side(law) for law in laws]
        self._sides_program = compile_nodes([*self._residuals, *lefts])
        self._size_program = compile_nodes([term_size(node) for node in self._residuals])

    def residuals(self, env: Env, n: int) -> list[Floats]:
        """Left side minus right side of each law, (n,) each, in SI."""
        return self._residual_program(env, n)

    def residuals_and_sides(self, env: Env, n: int) -> tuple[list[Floats], list[Floats]]:
        """The residuals, and one side of each law: a lower estimate of its term size."""
        found = self._sides_program(env, n)
        return found[: len(self.laws)], found[len(self.laws) :]

    def sizes(self, env: Env, n: int) -> list[Floats]:
        """What the terms of each law come to when none cancel, (n,) each, in SI."""
        return self._size_program(env, n)

    def jacobian(self, env: Env, n: int) -> Matrix:
        """The partial derivative of each residual by each unknown, at the unknowns in `env`.

        An entry is (n,), or a float where it is the same number for all instances. Functions
        without a rule for their derivative are probed by central differences.
        """
        computed = iter(self._jacobian_program(env, n))
        matrix: Matrix = []
        for row in self.entries:
            matrix.append(
                [
                    float(entry.value)
                    if isinstance(entry, Number)
                    else 0.0
                    if entry is None
                    else next(computed)
                    for entry in row
                ]
            )
        for j, name in enumerate(self.unknowns):
            if any(row[j] is None for row in self.entries):
                step = PROBE_STEP * np.where(env[name] == 0, 1.0, np.abs(env[name]))
                above = self.residuals({**env, name: env[name] + step}, n)
                below = self.residuals({**env, name: env[name] - step}, n)
                for i, row in enumerate(self.entries):
                    if row[j] is None:
                        matrix[i][j] = (above[i] - below[i]) / (2 * step)
        return matrix

    # ------------------------------------------------------------------------ solving

    def solve(
        self, env: Env, n: int, floors: Env | None = None, side: int = 1
    ) -> tuple[Answers, Matrix]:
        """The unknowns (n,) and the Jacobian there.

        Linear laws need no start and use no answer in `env`. Others start beside the answers in
        `env`, on the side given by the sign of `side`. `floors` is the size of each unknown (n,)
        below which a change does not matter. NaN where Newton's method finds no root.
        """
        with np.errstate(all="ignore"):
            if self._origin_program is not None:
                found, matrix, _ = self._solve_linear(env, n, [])
                return found, matrix
            found = self._newton(env, self._start(env, n, floors or {}, side), n, floors or {})
            return found, self.jacobian({**env, **found}, n)

    def answers_and_moves(
        self, env: Env, n: int, floors: Env, disturbed: Sequence[Floats]
    ) -> tuple[list[Answers], Matrix, Answers]:
        """The unknowns from every start, the Jacobian, and a first-order change of the unknowns:
        the one that takes the residuals `disturbed` to zero."""
        with np.errstate(all="ignore"):
            if self._origin_program is not None:
                found, matrix, moves = self._solve_linear(env, n, [disturbed])
                return [found], matrix, moves[0]
            above, matrix = self.solve(env, n, floors, side=1)
            below, _ = self.solve(env, n, floors, side=-1)
            return [above, below], matrix, self._change(matrix, disturbed, n)

    def _solve_linear(
        self, env: Env, n: int, others: Sequence[Sequence[Entry]]
    ) -> tuple[Answers, Matrix, list[Answers]]:
        """The one step from the origin that solves linear laws, and those from other residuals."""
        assert self._origin_program is not None  # noqa: S101  # callers look
        matrix = self.jacobian(env, n)
        steps = solve_batch(matrix, [self._origin_program(env, n), *others])
        found, *moves = [self._named([-part for part in step], n) for step in steps]
        return found, matrix, moves

    def solve_carefully(self, env: Env, n: int) -> Answers:
        """As `solve` for linear laws, with pivots chosen for each instance."""
        if self._origin_program is None:
            raise ValueError("only linear laws are solved in one step")
        at_origin = np.stack(self._origin_program(env, n), axis=1)[:, :, None]
        found = solve_carefully(dense(self.jacobian(env, n), n), -at_origin)[:, :, 0]
        return {name: found[:, j] for j, name in enumerate(self.unknowns)}

    def _named(self, solved: Sequence[Entry], n: int) -> Answers:
        return {
            name: np.broadcast_to(np.asarray(value, dtype=np.float64), (n,))
            for name, value in zip(self.unknowns, solved, strict=True)
        }

    def _start(self, env: Env, n: int, floors: Env, side: int) -> dict[str, Floats]:
        """A start beside the answers, drawn nearer for instances where a law has no value."""
        offsets = {}
        for j, name in enumerate(self.unknowns):
            offset = (1 if side > 0 else -1) * (-1) ** j * START_OFFSET / (1 + 0.3 * j)
            size = np.maximum(np.abs(env[name]), floors.get(name, 0.0))
            offsets[name] = offset * np.where(size == 0, 1.0, size)
        for _ in range(MOST_RETREATS):
            start = {name: env[name] + offset for name, offset in offsets.items()}
            outside = ~_finite(self.residuals({**env, **start}, n))
            if not outside.any():
                break
            offsets = {
                name: np.where(outside, offset / 4, offset) for name, offset in offsets.items()
            }
        return start

    def _newton(self, env: Env, start: dict[str, Floats], n: int, floors: Env) -> dict[str, Floats]:
        found = start
        pending = np.arange(n)
        for _ in range(MOST_STEPS):
            part = {name: _rows(array, pending, n) for name, array in env.items()}
            here = {name: array[pending] for name, array in found.items()}
            moved, settled = self._step(
                part, here, len(pending), {k: _rows(v, pending, n) for k, v in floors.items()}
            )
            found = {name: _put(found[name], pending, moved[name]) for name in found}
            pending = pending[~settled]
            if not len(pending):
                return found
        return {
            name: _put(array, pending, np.full(len(pending), np.nan))
            for name, array in found.items()
        }

    def _step(self, env: Env, here: dict[str, Floats], n: int, floors: Env) -> tuple[Answers, Mask]:
        """One Newton step, halved where it leaves the domain; and where it was negligible."""
        full = {**env, **here}
        change = self._change(self.jacobian(full, n), self.residuals(full, n), n)
        for _ in range(MOST_RETREATS):
            moved = {name: here[name] + change[name] for name in here}
            outside = ~_finite(self.residuals({**env, **moved}, n))
            if not outside.any():
                break
            change = {name: np.where(outside, delta / 2, delta) for name, delta in change.items()}
        settled = np.ones(n, dtype=bool)
        for name, delta in change.items():
            size = np.maximum(np.abs(moved[name]), floors.get(name, 0.0))
            settled &= np.abs(delta) <= CONVERGED * size
        return moved, settled

    def _change(self, matrix: Matrix, residuals: Sequence[Floats], n: int) -> Answers:
        quick = self._named([-part for part in solve_batch(matrix, [residuals])[0]], n)
        doubtful = np.flatnonzero(~_finite(list(quick.values())))
        if len(doubtful):
            sides = np.stack(residuals, axis=1)[doubtful, :, None]
            careful = -solve_carefully(dense(matrix, n)[doubtful], sides)[:, :, 0]
            quick = {
                name: _put(array, doubtful, careful[:, j])
                for j, (name, array) in enumerate(quick.items())
            }
        return quick


@dataclass(frozen=True, slots=True)
class SecondAnswers:
    """`values`: unknown -> (n,), SI, NaN where no root was found; `jacobian` (n, k, k), residuals
    by unknowns; `residual_scale` law -> (n,), what the terms of the law come to there."""

    values: dict[str, Floats]
    jacobian: Floats
    residual_scale: dict[str, Floats]


class SecondRoute:
    """The law systems of a family, one for each set of laws that some case uses."""

    def __init__(self, family: Family) -> None:
        self.family = family
        unknowns = tuple(family.find)
        sets = [family.laws_in(case.name) for case in family.cases]
        distinct = list(dict.fromkeys(tuple(map(id, laws)) for laws in sets))
        of_key = {key: position for position, key in enumerate(distinct)}
        self.system_of_case = np.array([of_key[tuple(map(id, laws))] for laws in sets])
        self.systems = [
            LawSystem(sets[int(np.flatnonzero(self.system_of_case == position)[0])], unknowns)
            for position in range(len(distinct))
        ]
        names = dict.fromkeys(name for case in family.cases for name in case.constants)
        self._constants = {
            name: np.array([case.constants.get(name, np.nan) for case in family.cases])
            for name in names
        }

    def constants(self, case: Integers) -> dict[str, Floats]:
        """The numbers the cases set, (n,) each, for cases (n,)."""
        return {name: table[case] for name, table in self._constants.items()}

    def groups(self, case: Integers) -> Iterator[tuple[LawSystem, Integers | None]]:
        """Each system in use with its rows; None for all of them."""
        if len(self.systems) == 1:
            yield self.systems[0], None
            return
        of_row = self.system_of_case[case]
        for position, system in enumerate(self.systems):
            rows = np.flatnonzero(of_row == position)
            if len(rows):
                yield system, (None if len(rows) == len(case) else rows)

    def solve(self, values: Env, case: Integers, n: int) -> SecondAnswers:
        """The answers by the second route, for data (and, for laws that are not linear, answers
        to judge) in `values`, SI, and cases (n,)."""
        k = len(self.family.find)
        answers = {name: np.full(n, np.nan) for name in self.family.find}
        jacobian = np.full((n, k, k), np.nan)
        scale: dict[str, Floats] = {}
        for system, rows in self.groups(case):
            chosen = np.arange(n) if rows is None else rows
            env = {name: _rows(array, chosen, n) for name, array in values.items()}
            env |= self.constants(case[chosen])
            found, matrix = system.solve(env, len(chosen))
            jacobian[chosen] = dense(matrix, len(chosen))
            sizes = system.sizes({**env, **found}, len(chosen))
            for name, array in found.items():
                answers[name][chosen] = array
            for law, size in zip(system.laws, sizes, strict=True):
                scale.setdefault(law.name, np.full(n, np.nan))[chosen] = size
        return SecondAnswers(answers, jacobian, scale)


def dense(matrix: Sequence[Sequence[Entry]], n: int) -> Floats:
    """A matrix of entries as one array (n, k, k)."""
    k = len(matrix)
    result = np.empty((n, k, k))
    for i, row in enumerate(matrix):
        for j, entry in enumerate(row):
            result[:, i, j] = entry
    return result


def _slope(node: Node, name: str) -> Node | None:
    try:
        return derivative(node, name)
    except NoDerivativeError:
        return None


def _fixed(entry: Node | None) -> bool:
    return entry is None or isinstance(entry, Number)


def _larger_side(law: Law) -> Node:
    """A side of the law that is not plainly zero."""
    return law.equation.right if law.equation.left == ZERO else law.equation.left


def _finite(arrays: Sequence[Floats]) -> Mask:
    finite: Mask = np.logical_and.reduce([np.isfinite(array) for array in arrays])
    return finite


def _rows(array: Floats, rows: Integers, n: int) -> Floats:
    """The rows of an array, which may also be one number for all or hold all rows anyway."""
    array = np.asarray(array)
    return array if array.ndim == 0 or len(rows) == n else array[rows]


def _put(array: Floats, rows: Integers, values: Floats) -> Floats:
    if len(rows) == len(array):
        return values
    result = array.copy()
    result[rows] = values
    return result
