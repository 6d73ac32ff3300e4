"""Many small linear systems at once, by elimination over whole arrays.

`numpy.linalg.solve` on a batch calls LAPACK once a system, which for three unknowns costs over
ten times the arithmetic. Here an entry of all n systems is one array, so a step of the
elimination is one array operation, and entries that are zero in every system cost nothing.
The order of pivots is chosen once for the batch (Markowitz' rule against scaled size, on a
sample of the systems); systems for which it is a poor order come out inaccurate, so callers
verify the answers and take `solve_carefully` for the rows in doubt.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from qbank.instances import Floats

Entry = Floats | float  # an array (n,), or one number for all systems; 0.0 is a structural zero
PILOT = 64  # systems looked at to choose the order of pivots
SMALL_PIVOT = 1e-3  # of the largest entry in its scaled row: below it sparsity does not count


def solve_batch(
    matrix: Sequence[Sequence[Entry]], sides: Sequence[Sequence[Entry]]
) -> list[list[Entry]]:
    """Solve `matrix @ x = side` for n systems of k equations.

    `matrix` is k rows of k entries, `sides` any number of right-hand sides of k entries, each
    entry (n,) or one float. Gives the k unknowns of each side; NaN or infinity where a pivot
    vanishes. Gaussian elimination without exchanges within the batch.
    """
    k = len(matrix)
    rows = [list(row) for row in matrix]
    rights = [list(side) for side in sides]
    left_rows, left_columns = list(range(k)), list(range(k))
    steps: list[tuple[int, int, list[int]]] = []
    with np.errstate(all="ignore"):
        while left_rows:
            pivot_row, pivot_column = _pivot(rows, left_rows, left_columns)
            left_rows.remove(pivot_row)
            left_columns.remove(pivot_column)
            steps.append((pivot_row, pivot_column, list(left_columns)))
            top = rows[pivot_row]
            for row in left_rows:
                if _is_zero(rows[row][pivot_column]):
                    continue
                factor = rows[row][pivot_column] / _or_nan(top[pivot_column])
                for column in left_columns:
                    rows[row][column] = _less(rows[row][column], factor, top[column])
                for right in rights:
                    right[row] = _less(right[row], factor, right[pivot_row])
        return [_back(rows, right, steps) for right in rights]


def _back(
    rows: list[list[Entry]], right: list[Entry], steps: list[tuple[int, int, list[int]]]
) -> list[Entry]:
    solved: list[Entry] = [0.0] * len(rows)
    for row, column, later in reversed(steps):
        rest = right[row]
        for other in later:
            rest = _less(rest, rows[row][other], solved[other])
        pivot = rows[row][column]
        solved[column] = rest / _or_nan(pivot)
    return solved


def _less(value: Entry, factor: Entry, times: Entry) -> Entry:
    """`value - factor * times`, skipping structural zeros."""
    if _is_zero(factor) or _is_zero(times):
        return value
    product = factor * times
    return -product if _is_zero(value) else value - product


def _is_zero(entry: Entry) -> bool:
    return isinstance(entry, float) and entry == 0.0


def _or_nan(pivot: Entry) -> Entry:
    return float("nan") if _is_zero(pivot) else pivot


def _pivot(
    rows: list[list[Entry]], left_rows: list[int], left_columns: list[int]
) -> tuple[int, int]:
    """The next pivot: large in its row for every system of the sample, and in a sparse place."""
    best, choice = (-1.0, 0.0), (left_rows[0], left_columns[0])
    filled = {
        row: [column for column in left_columns if not _is_zero(rows[row][column])]
        for row in left_rows
    }
    for row in left_rows:
        sizes = {column: np.abs(_sample(rows[row][column])) for column in filled[row]}
        if not sizes:
            continue
        largest = np.maximum.reduce(np.broadcast_arrays(*sizes.values()))
        for column, size in sizes.items():
            share = float(np.min(np.nan_to_num(size / largest, posinf=0.0)))
            in_column = sum(column in columns for columns in filled.values())
            growth = (len(sizes) - 1) * (in_column - 1)  # Markowitz' count of new entries
            score = (1.0 / (1 + growth) if share >= SMALL_PIVOT else 0.0, share)
            if score > best:
                best, choice = score, (row, column)
    return choice


def _sample(entry: Entry) -> Floats:
    array = np.atleast_1d(np.asarray(entry))
    return array[:: max(1, len(array) // PILOT)]


def solve_carefully(matrix: Floats, sides: Floats) -> Floats:
    """`matrix` (n, k, k) and `sides` (n, k, m) -> (n, k, m), by LAPACK after equilibration.

    Rows and columns are scaled to a largest entry of 1, and one step of refinement follows
    (Golub and Van Loan, Matrix Computations, section 3.5, from memory). NaN for a singular
    system.
    """
    with np.errstate(all="ignore"):
        row_scale = np.abs(matrix).max(axis=2, keepdims=True)
        scaled = matrix / row_scale
        column_scale = np.abs(scaled).max(axis=1, keepdims=True)
        scaled = scaled / column_scale
        right = sides / row_scale
    fine = np.isfinite(scaled).all(axis=(1, 2)) & np.isfinite(right).all(axis=(1, 2))
    fine[fine] = np.linalg.matrix_rank(scaled[fine]) == matrix.shape[1]
    result = np.full(sides.shape, np.nan)
    if fine.any():
        core = scaled[fine]
        first = np.linalg.solve(core, right[fine])
        refined = first + np.linalg.solve(core, right[fine] - core @ first)
        result[fine] = refined / column_scale[fine].transpose(0, 2, 1)
    return result
