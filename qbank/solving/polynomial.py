"""One equation as a polynomial in an unknown, or in one function of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sympy
from sympy.polys.polyerrors import BasePolynomialError

from qbank.errors import ExpressionError
from qbank.expressions.tree import Name, Node
from qbank.solving.algebra import Workspace
from qbank.solving.rewriting import size

MAX_DEGREE = 12
_MAX_NODES = 250  # of an equation handed to SymPy
_MAX_TERMS = 300  # terms it may have once its fractions are cleared


@dataclass(frozen=True, slots=True)
class Polynomial:
    """`sum(coefficients[k] * kernel^(degree - k)) = 0`; `kernel` is the unknown or one function
    of it, such as `exp(-t/tau)`. `denominator` is what the equation was multiplied by, None if it
    does not hold the unknown; where it is zero a root of the polynomial is none of the equation.
    """

    coefficients: tuple[Node, ...]
    kernel: Node
    denominator: Node | None

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
    if size(residual) > _MAX_NODES:
        return None
    work = Workspace([unknown, *others], signs)
    x = work.symbol(unknown)
    try:
        expression = work.to_sympy(residual)
        kernels = _Kernels(expression, [work.symbol(name) for name in (unknown, *others)])
        rational = kernels.hide(expression)
        gens = [g for g in rational.free_symbols if g == x or kernels.holds(g, x)]
        rational, variable = _in_one_variable(rational, x, gens, kernels)
        if variable is None:
            return None
        apart: dict[Any, Any] = {}
        rational = _set_apart(rational, variable, apart)
        if max(_cleared_terms(rational)) > _MAX_TERMS:
            return None
        below = sympy.Integer(1)
        if variable in _below_bars(rational):
            rational, below = sympy.fraction(sympy.cancel(sympy.together(rational)))
        polynomial = sympy.Poly(rational, variable)
        if not 1 <= polynomial.degree() <= MAX_DEGREE:
            return None
        meaning = {symbol: part for part, symbol in apart.items()}

        def show(part: Any) -> Any:
            return kernels.show(part.xreplace(meaning))

        shown = [show(coefficient) for coefficient in polynomial.all_coeffs()]
        while shown and work.vanishes(shown[0]):  # zero, though no two of its terms look alike
            del shown[0]
        if len(shown) < 2:
            return None
        coefficients = tuple(work.to_node(coefficient) for coefficient in shown)
        denominator = work.to_node(show(below)) if below.has(variable) else None
        return Polynomial(coefficients, work.to_node(kernels.show(variable)), denominator)
    except (BasePolynomialError, ExpressionError):
        return None  # a function without a closed form, or a part the language has no word for


def linear_in(
    residual: Node, unknown: str, others: Sequence[str], signs: frozenset[str] = frozenset()
) -> tuple[Node, Node] | None:
    """`(coefficient, rest)` with `coefficient * unknown = rest`, or None if it is not so."""
    found = polynomial_in(residual, unknown, others, signs)
    if found is None or found.degree != 1 or found.kernel != Name(unknown):
        return None
    work = Workspace([unknown, *others], signs)
    coefficient, rest = found.coefficients
    return coefficient, work.to_node(-work.to_sympy(rest))


class _Kernels:
    """Functions and roots of unknowns, replaced by symbols so that a rational function is left.

    Powers of one exponential, or of one root, share a symbol: `exp(-2*t)` is the square of
    `exp(-t)`.
    """

    def __init__(self, expression: Any, unknowns: Sequence[Any]) -> None:
        self._unknowns = frozenset(unknowns)
        self._symbol: dict[Any, Any] = {}
        self._meaning: dict[Any, Any] = {}
        self._root_of: dict[Any, int] = {}  # base -> common denominator of its exponents
        self._exponents: list[Any] = []  # what the exponentials are powers of
        self._survey(expression)

    def _survey(self, expression: Any) -> None:
        """Finds the common root of each base and the common measure of each exponent."""
        for part in sympy.preorder_traversal(expression):
            if not part.free_symbols & self._unknowns:
                continue
            if part.is_Pow and part.exp.is_Rational and not part.exp.is_Integer:
                q = self._root_of.get(part.base, 1)
                self._root_of[part.base] = math.lcm(q, int(part.exp.q))
            elif isinstance(part, sympy.exp):
                self._note_exponent(part.args[0])

    def _note_exponent(self, exponent: Any) -> None:
        for i, known in enumerate(self._exponents):
            ratio = exponent / known
            if ratio.is_Rational:
                common = sympy.Rational(1, ratio.q)
                self._exponents[i] = known * common
                return
        self._exponents.append(exponent)

    def hide(self, expression: Any) -> Any:
        """The expression with symbols for kernels."""
        if not expression.free_symbols & self._unknowns or expression.is_Symbol:
            return expression
        if expression.is_Add or expression.is_Mul:
            return expression.func(*map(self.hide, expression.args))
        if expression.is_Pow and expression.exp.is_Integer:
            return self.hide(expression.base) ** expression.exp
        if expression.is_Pow and expression.exp.is_Rational:
            q = self._root_of[expression.base]
            root = self._kernel(expression.base ** sympy.Rational(1, q))
            return root ** (expression.exp * q)
        if isinstance(expression, sympy.exp):
            exponent = expression.args[0]
            for known in self._exponents:
                ratio = exponent / known
                if ratio.is_Integer:
                    return self._kernel(sympy.exp(known)) ** ratio
        return self._kernel(expression)

    def _kernel(self, expression: Any) -> Any:
        symbol = self._symbol.setdefault(expression, sympy.Dummy(real=True))
        self._meaning[symbol] = expression
        return symbol

    def holds(self, symbol: Any, x: Any) -> bool:
        """Whether a symbol stands for a kernel that holds `x`."""
        return symbol in self._meaning and self._meaning[symbol].has(x)

    def root_of(self, symbol: Any, x: Any) -> int | None:
        """q where the symbol stands for the q-th root of `x` itself."""
        meaning = self._meaning.get(symbol)
        if meaning is not None and meaning.is_Pow and meaning.base == x:
            return int(meaning.exp.q) if meaning.exp.is_Rational else None
        return None

    def show(self, expression: Any) -> Any:
        """The expression with kernels put back."""
        return expression.xreplace(self._meaning)


def _in_one_variable(rational: Any, x: Any, gens: list[Any], kernels: _Kernels) -> tuple[Any, Any]:
    """The rational function over one variable, and that variable; None if there are more."""
    if len(gens) == 1:
        return rational, gens[0]
    if len(gens) == 2 and x in gens:
        (root,) = [g for g in gens if g != x]
        q = kernels.root_of(root, x)
        if q is not None:  # x beside its root
            return rational.xreplace({x: root**q}), root
    return rational, None


def _set_apart(expression: Any, variable: Any, apart: dict[Any, Any]) -> Any:
    """The expression with symbols for its largest parts that are free of the variable."""
    if not expression.has(variable):
        if expression.is_Symbol or expression.is_Rational:
            return expression
        coefficient, rest = expression.as_coeff_Mul()
        return coefficient * apart.setdefault(rest, sympy.Dummy(real=True))
    if expression.is_Add or expression.is_Mul:
        free, bound = expression.as_independent(variable, as_Add=expression.is_Add)
        parts = [_set_apart(part, variable, apart) for part in expression.func.make_args(bound)]
        return expression.func(_set_apart(free, variable, apart), *parts)
    if expression.is_Pow:
        return _set_apart(expression.base, variable, apart) ** expression.exp
    return expression


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


def _below_bars(expression: Any) -> set[Any]:
    """The symbols below a fraction bar."""
    found: set[Any] = set()
    for part in sympy.preorder_traversal(expression):
        if part.is_Pow and part.exp.could_extract_minus_sign():
            found |= part.base.free_symbols
    return found
