"""As many laws as unknowns, compiled for arrays: what the second route and the checks evaluate.

The laws' trees are taken as they stand in the family, all at once: no algebra system, no plan of
solving.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Measure, Node, Number, names_in
from qbank.family.model import Law
from qbank.instances import Floats
from qbank.solving.derivatives import NoDerivativeError, at_zero, derivative, term_size
from qbank.solving.elimination import Entry, solve_batch, solve_carefully

Env = Mapping[str, Floats]
Answers = dict[str, Floats]
Matrix = list[list[Entry]]
Mask = NDArray[np.bool_]

PROBE_STEP = 2.0**-20  # relative step of a central difference


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
            [e for row in self.entries for e in row if e is not None and not _fixed(e)]
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
            known = [float(e.value) if isinstance(e, Number) else 0.0 for e in row]
            matrix.append(
                [k if _fixed(e) else next(computed) for k, e in zip(known, row, strict=True)]
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

    def solve_linear(
        self, env: Env, n: int, others: Sequence[Sequence[Entry]]
    ) -> tuple[Answers, Matrix, list[Answers]]:
        """The answers to linear laws, in one step from the origin, using no answer in `env`.

        Also the Jacobian, and for each of the residuals in `others` the step that takes them to
        zero. Raises ValueError for laws that are not linear.
        """
        if self._origin_program is None:
            raise ValueError("only linear laws are solved in one step")
        matrix = self.jacobian(env, n)
        steps = solve_batch(matrix, [self._origin_program(env, n), *others])
        found, *moves = [self._step(step, n) for step in steps]
        return found, matrix, moves

    def solve_linear_carefully(self, env: Env, n: int) -> Answers:
        """The answers to linear laws, with pivots chosen for each instance."""
        if self._origin_program is None:
            raise ValueError("only linear laws are solved in one step")
        at_origin = np.stack(self._origin_program(env, n), axis=1)[:, :, None]
        found = solve_carefully(dense(self.jacobian(env, n), n), -at_origin)[:, :, 0]
        return {name: found[:, j] for j, name in enumerate(self.unknowns)}

    def step(self, matrix: Matrix, residuals: Sequence[Floats], n: int) -> Answers:
        """The change of the unknowns that takes `residuals` to zero, to first order.

        NaN where the matrix is singular.
        """
        quick = self._step(solve_batch(matrix, [residuals])[0], n)
        doubtful = np.flatnonzero(~finite(quick.values()))
        if len(doubtful):
            sides = np.stack(residuals, axis=1)[doubtful, :, None]
            careful = -solve_carefully(dense(matrix, n)[doubtful], sides)[:, :, 0]
            for j, name in enumerate(self.unknowns):
                quick[name] = np.array(quick[name])
                quick[name][doubtful] = careful[:, j]
        return quick

    def _step(self, solved: Sequence[Entry], n: int) -> Answers:
        return {
            name: np.broadcast_to(np.asarray(-value, dtype=np.float64), (n,))
            for name, value in zip(self.unknowns, solved, strict=True)
        }


def finite(arrays: Iterable[Floats]) -> Mask:
    """Where all of the arrays (n,) are finite."""
    found: Mask = np.logical_and.reduce([np.isfinite(array) for array in arrays])
    return found


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
    left = law.equation.left
    zero = isinstance(left, Number | Measure) and left.value == 0
    return law.equation.right if zero else left
