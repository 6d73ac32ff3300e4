"""The symbolic part of solving, of bounded size: linear systems, linear and polynomial equations.

SymPy never sees a whole family and is never asked to "solve": it collects coefficients of
equations whose known parts are set apart first (`Opaque`), so its work grows with the number
of unknowns alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy
from sympy.polys.polyerrors import BasePolynomialError
from sympy.solvers.solveset import NonlinearError

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.symbolic import from_sympy, to_sympy
from qbank.expressions.tree import Node, names_in
from qbank.solving.rewriting import Opaque, size

MAX_CLOSED_UNKNOWNS = 8  # larger linear blocks are left to LAPACK
MAX_CLOSED_NODES = 500  # so are those whose closed form would be longer than this
MAX_DEGREE = 12
_MAX_SYMBOLIC_NODES = 250  # what is handed to SymPy for one equation
_MAX_TERMS = 300  # terms one equation may have once its fractions are cleared

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


class Workspace:
    """Between expression trees and SymPy, for equations in some unknowns.

    `signs` are constants that are +1 or -1 in every case, so that their square is 1.
    """

    def __init__(self, unknowns: Sequence[str], signs: frozenset[str] = frozenset()) -> None:
        self._opaque = Opaque(unknowns)
        self._symbols: dict[str, Any] = {}
        self._signs = frozenset(sympy.Symbol(name, real=True) for name in signs)

    def symbol(self, name: str) -> Any:
        """The real SymPy symbol of a name."""
        return self._symbols.setdefault(name, sympy.Symbol(name, real=True))

    def to_sympy(self, node: Node) -> Any:
        """The expression for SymPy, its parts free of unknowns set apart."""
        hidden = self._opaque.hide(node)
        for name in names_in(hidden):
            self.symbol(name)
        return self.reduced(to_sympy(hidden, self._symbols))

    def to_node(self, expression: Any) -> Node:
        """A SymPy expression as a tree, with what was set apart put back."""
        return self._opaque.show(from_sympy(self.reduced(expression)))

    def reduced(self, expression: Any) -> Any:
        """The expression with `s^2 = 1` used for each sign."""
        if not self._signs or not self._signs & expression.free_symbols:
            return expression
        return expression.replace(
            lambda part: part.is_Pow and part.base in self._signs and part.exp.is_Integer,
            lambda part: part.base if part.exp % 2 else sympy.Integer(1),
        )

    def is_sign(self, expression: Any) -> bool:
        """Whether the expression is one of the constants that are +1 or -1."""
        return expression in self._signs

    def vanishes(self, expression: Any) -> bool:
        """Whether an expression is zero whatever the data.

        SymPy's own cancelling settles most; a sum that is left is evaluated at eight points and
        counts as zero where rounding explains all that remains (Schwartz's identity test).
        """
        if expression == 0:
            return True
        if not expression.is_Add:
            return False
        terms = [self.to_node(term) for term in expression.args]
        names = sorted(set().union(*(names_in(term) for term in terms)) - {"pi"})
        points = np.random.Generator(np.random.Philox(7)).uniform(0.5, 1.5, (len(names), 8))
        values = np.stack(compile_nodes(terms)(dict(zip(names, points, strict=True)), 8))
        with np.errstate(all="ignore"):
            return bool((np.abs(values.sum(axis=0)) <= 1e-12 * np.abs(values).max(axis=0)).all())


# ---------------------------------------------------------------------------- linear systems


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
    except NonlinearError:
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


# ---------------------------------------------------------------------------- one equation


@dataclass(frozen=True, slots=True)
class Polynomial:
    """`sum(coefficients[k] * kernel^(degree - k)) = 0`; `kernel` is the unknown or one function
    of it, such as `exp(-t/@)`."""

    coefficients: tuple[Node, ...]
    kernel: Node

    @property
    def degree(self) -> int:
        """The highest power."""
        return len(self.coefficients) - 1


def polynomial_in(
    residual: Node, unknown: str, others: Sequence[str] = (), signs: frozenset[str] = frozenset()
) -> Polynomial | None:
    """`residual = 0` as a polynomial in the unknown or in one function of it.

    Fractions are cleared and reduced first. `others` are further unknowns, which may stand in
    the coefficients. None where the equation is no such polynomial or is too long.
    """
    work = Workspace([unknown, *others], signs)
    x = work.symbol(unknown)
    if size(residual) > _MAX_SYMBOLIC_NODES:
        return None
    expression = work.to_sympy(residual)
    if not expression.has(x) or max(_cleared_terms(expression)) > _MAX_TERMS:
        return None
    try:
        if x in _denominator_symbols(expression):
            expression, _ = sympy.fraction(sympy.cancel(sympy.together(expression)))
        kernel, polynomial = _in_one_kernel(sympy.expand(expression), x)
    except (BasePolynomialError, NotImplementedError):
        return None
    if polynomial is None or not 1 <= polynomial.degree() <= MAX_DEGREE:
        return None
    coefficients = tuple(work.to_node(c) for c in polynomial.all_coeffs())
    return Polynomial(coefficients, work.to_node(kernel))


def _cleared_terms(expression: Any) -> tuple[int, int]:
    """At most how many terms numerator and denominator have over one common denominator."""
    if expression.is_Add:
        parts = [_cleared_terms(part) for part in expression.args]
        below = math.prod(bottom for _, bottom in parts)
        return sum(top * (below // bottom) for top, bottom in parts), below
    if expression.is_Mul:
        parts = [_cleared_terms(part) for part in expression.args]
        return math.prod(top for top, _ in parts), math.prod(bottom for _, bottom in parts)
    if expression.is_Pow and expression.exp.is_Integer:
        n = abs(int(expression.exp))
        # a sum of t terms to the power n has as many terms as there are ways to pick n of t
        top, bottom = (math.comb(t + n - 1, n) for t in _cleared_terms(expression.base))
        return (top, bottom) if expression.exp > 0 else (bottom, top)
    return 1, 1


def _denominator_symbols(expression: Any) -> set[Any]:
    """The symbols below a fraction bar anywhere outside functions."""
    found: set[Any] = set()
    for part in sympy.preorder_traversal(expression):
        if part.is_Pow and part.exp.could_extract_minus_sign():
            found |= part.base.free_symbols
    return found


def _in_one_kernel(expression: Any, x: Any) -> tuple[Any, Any]:
    """The kernel and the polynomial in it, or (x, None)."""
    kernels = [g for g in sympy.Poly(expression).gens if g.has(x)]
    if kernels == [x]:
        return x, sympy.Poly(expression, x)
    roots = [g for g in kernels if g == x or (g.is_Pow and g.base == x and g.exp.is_Rational)]
    if len(roots) == len(kernels):  # x and its roots: all are powers of one root
        q = sympy.ilcm(*(g.exp.q if g.is_Pow else 1 for g in roots))
        kernel = x ** sympy.Rational(1, q)
        t = sympy.Dummy(positive=True)
        lowered = sympy.expand(expression.subs(x, t**q))
        return kernel, sympy.Poly(lowered, t)
    if len(kernels) == 1:
        return kernels[0], sympy.Poly(expression, kernels[0])
    return x, None


def linear_in(
    residual: Node, unknown: str, others: Sequence[str], signs: frozenset[str] = frozenset()
) -> tuple[Node, Node] | None:
    """`(coefficient, rest)` with `coefficient * unknown = rest`, or None if it is not so."""
    found = polynomial_in(residual, unknown, others, signs)
    if found is None or found.degree != 1 or names_in(found.kernel) != {unknown}:
        return None
    if size(found.kernel) != 1:
        return None
    work = Workspace([unknown, *others], signs)
    coefficient, rest = found.coefficients
    return coefficient, work.to_node(-work.to_sympy(rest))
