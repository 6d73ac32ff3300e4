"""Linear laws: their coefficients collected, and solved in symbols where that stays short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sympy
from sympy.solvers.solveset import NonlinearError

from qbank.errors import ExpressionError
from qbank.expressions.tree import Node
from qbank.solving.algebra import Workspace
from qbank.solving.rewriting import size

MAX_CLOSED_UNKNOWNS = 8  # larger linear blocks are left to LAPACK
MAX_CLOSED_NODES = 500  # so are those whose closed form would be longer than this

Assignment = tuple[str, Node]


@dataclass(frozen=True, slots=True)
class LinearSystem:
    """`matrix x = right`, row by row; entries are expressions free of the unknowns."""

    unknowns: tuple[str, ...]
    matrix: tuple[tuple[Node, ...], ...]
    right: tuple[Node, ...]
    closed: tuple[Assignment, ...] | None  # in order of evaluation; None where it grows too long


class SingularError(Exception):
    """Equations that never determine their unknowns; `contradictory` if none can hold."""

    def __init__(self, contradictory: bool) -> None:
        super().__init__()
        self.contradictory = contradictory


def linear_system(
    residuals: Sequence[Node], unknowns: Sequence[str], signs: frozenset[str] = frozenset()
) -> LinearSystem | None:
    """The laws `residual = 0` as a linear system in the unknowns, solved in symbols if short.

    None where the laws are not linear. Raises SingularError where no data determine the unknowns.
    """
    work = Workspace(unknowns, signs)
    symbols = [work.symbol(name) for name in unknowns]
    try:
        matrix, right = sympy.linear_eq_to_matrix(
            [work.to_sympy(residual) for residual in residuals], symbols
        )
    except (NonlinearError, ExpressionError):  # not linear, or a function without a closed form
        return None
    rows = [
        {symbol: entry for symbol, entry in zip(symbols, row, strict=True) if entry != 0}
        for row in matrix.tolist()
    ]
    for row in rows:
        for symbol in row:
            row[symbol] = work.reduced(row[symbol])
    rights = [work.reduced(entry) for entry in right]
    return LinearSystem(
        unknowns=tuple(unknowns),
        matrix=tuple(tuple(work.to_node(entry) for entry in row) for row in matrix.tolist()),
        right=tuple(work.to_node(entry) for entry in rights),
        closed=_eliminate(work, rows, rights),
    )


def _eliminate(
    work: Workspace, rows: list[dict[Any, Any]], rights: list[Any]
) -> tuple[Assignment, ...] | None:
    """Gaussian elimination in symbols, simplest pivots first (Markowitz's rule)."""
    if len(rows) > MAX_CLOSED_UNKNOWNS:
        return None
    done: list[tuple[Any, Any]] = []
    active = list(range(len(rows)))
    while active:
        i, column = _pivot(work, rows, active, rights)
        active.remove(i)
        pivot = rows[i].pop(column)
        if pivot.could_extract_minus_sign():  # spares the formula a minus below the bar
            pivot, rights[i] = -pivot, -rights[i]
            rows[i] = {symbol: -entry for symbol, entry in rows[i].items()}
        inverse = pivot if work.is_sign(pivot) else 1 / pivot
        rest = rights[i] - sympy.Add(*(entry * symbol for symbol, entry in rows[i].items()))
        done.append((column, sympy.factor_terms(work.reduced(rest)) * inverse))
        for k in active:
            factor = rows[k].pop(column, None)
            if factor is None:
                continue
            factor = work.reduced(factor * inverse)
            for symbol, entry in rows[i].items():
                changed = work.reduced(rows[k].get(symbol, 0) - factor * entry)
                if work.vanishes(changed):
                    rows[k].pop(symbol, None)
                else:
                    rows[k][symbol] = changed
            rights[k] = work.reduced(rights[k] - factor * rights[i])
        entries = [entry for k in active for entry in rows[k].values()]
        if sum(map(sympy.count_ops, [*entries, *(rest for _, rest in done)])) > MAX_CLOSED_NODES:
            return None
    closed = tuple((column.name, work.to_node(rest)) for column, rest in reversed(done))
    return closed if sum(size(node) for _, node in closed) <= MAX_CLOSED_NODES else None


def _pivot(
    work: Workspace, rows: list[dict[Any, Any]], active: list[int], rights: list[Any]
) -> tuple[int, Any]:
    """The next equation to solve and the unknown to solve it for.

    Numbers and plain names come first, since they are hardly ever zero; a sum may be zero for
    some data, so it waits. Among equals, what fills in least.
    """
    best: tuple[tuple[int, int, int], int, Any] | None = None
    filled = {symbol: sum(symbol in rows[k] for k in active) for k in active for symbol in rows[k]}
    for i in active:
        for symbol, entry in rows[i].items():
            if entry.is_Number or work.is_sign(entry):
                rank = 0
            else:
                rank = 1 if not entry.has(sympy.Add) else 2
            fill = (len(rows[i]) - 1) * (filled[symbol] - 1)
            key = (rank, fill, int(sympy.count_ops(entry)))
            if best is None or key < best[0]:
                best = (key, i, symbol)
        if not rows[i]:
            raise SingularError(contradictory=not work.vanishes(rights[i]))
    assert best is not None  # noqa: S101 - an empty row was refused just above
    return best[1], best[2]
