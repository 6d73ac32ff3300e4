"""Expression trees <-> SymPy, node by node; no text is ever handed to SymPy.

Only `solving` uses this. Names become the symbols they are given, so `E`, `I`, `S`, `N`, `C`, `O`
and `Q` are quantities like any other. What stands without any quantity is kept exact where
that is cheap (arithmetic, square roots) and is otherwise worked out as a number first, because
exact evaluation of, say, floor(exp(1000000)) has no bound.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import sympy

from qbank.errors import ExpressionError
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.functions import FUNCTIONS
from qbank.expressions.tree import (
    Binary,
    Call,
    Measure,
    Name,
    Negate,
    Node,
    Number,
    names_in,
)

_CONSTANTS = {"pi"}
_MAX_BITS = 4096  # of an integer that a literal power is worked out to
_EXACT_INTEGER = 2**53  # integers up to here are floats; larger ones are joined to one fraction
_FROM_SYMPY = {
    "sin": "sin", "cos": "cos", "tan": "tan", "asin": "asin", "acos": "acos", "atan": "atan",
    "atan2": "atan2", "sinh": "sinh", "cosh": "cosh", "tanh": "tanh", "exp": "exp", "log": "ln",
    "Abs": "abs", "sign": "sign", "floor": "floor", "ceiling": "ceil", "Min": "min", "Max": "max",
}  # fmt: skip
_RECIPROCALS = {
    "cot": "tan", "sec": "cos", "csc": "sin", "coth": "tanh", "sech": "cosh", "csch": "sinh"
}  # fmt: skip


def to_sympy(node: Node, symbols: dict[str, sympy.Symbol]) -> sympy.Expr:
    """The SymPy expression of a value; numbers are exact rationals, measures in coherent SI.

    A name missing in `symbols` is added to it as a real symbol of that name.
    Raises `ExpressionError` for conditions, for functions without a closed form, and for a
    constant part that is no finite number.
    """
    match node:
        case Number(value=value):
            return _rational(value)
        case Measure():
            return _measure(node)
        case Name(id="pi"):
            return sympy.pi
        case Name(id=name):
            if name not in symbols:
                symbols[name] = sympy.Symbol(name, real=True)
            return symbols[name]
        case Negate(operand=operand):
            return -to_sympy(operand, symbols)
        case Binary(operator=operator, left=left, right=right):
            return _arithmetic(node, operator, to_sympy(left, symbols), to_sympy(right, symbols))
        case Call():
            return _call(node, symbols)
        case _:
            raise ExpressionError("expected a value, found a condition", span=node.span)


def _arithmetic(node: Node, operator: str, left: sympy.Expr, right: sympy.Expr) -> sympy.Expr:
    if operator == "+":
        return left + right
    if operator == "-":
        return left - right
    if operator == "*":
        return left * right
    if operator == "/":
        if right.is_zero:
            raise ExpressionError("a division by zero", span=node.span)
        return left / right
    constant = not (left.free_symbols or right.free_symbols)
    if constant and not (left.is_Rational and right.is_Integer and _stays_small(left, right)):
        return _evaluated(node)
    if left.is_zero and right.is_negative:
        raise ExpressionError("a division by zero", span=node.span)
    return left**right


def _stays_small(base: sympy.Rational, power: sympy.Integer) -> bool:
    return max(int(base.p).bit_length(), int(base.q).bit_length()) * abs(int(power)) <= _MAX_BITS


def _call(node: Call, symbols: dict[str, sympy.Symbol]) -> sympy.Expr:
    function = FUNCTIONS[node.function]
    if function.sympy is None:
        raise ExpressionError(
            f"{node.function} has no place in a law",
            span=node.span,
            hint="Give it a name as an intermediate quantity and use that.",
        )
    arguments = [to_sympy(argument, symbols) for argument in node.arguments]
    if not names_in(node) - _CONSTANTS:
        root = node.function == "sqrt" and arguments[0].is_Rational
        small = root and max(map(abs, arguments[0].as_numer_denom())) < 10**12
        return sympy.sqrt(arguments[0]) if small and arguments[0] >= 0 else _evaluated(node)
    if not any(argument.free_symbols for argument in arguments):
        return _evaluated(node)
    match node.function:
        case "log10":
            return sympy.log(arguments[0]) / sympy.log(10)
        case "cbrt":
            inner = arguments[0]
            return sympy.sign(inner) * sympy.Abs(inner) ** sympy.Rational(1, 3)
        case "min" | "max":
            # unevaluated, because SymPy would compare each argument with each other
            return getattr(sympy, function.sympy)(*arguments, evaluate=False)
    return getattr(sympy, function.sympy)(*arguments)


def _measure(node: Measure) -> sympy.Expr:
    """A measure in coherent SI, exact where the unit is a rational multiple of its SI unit."""
    if node.unit.exact is None:
        return _rational(Fraction(node.unit.si_value(node.value)))
    return _rational(node.value * node.unit.exact + Fraction(str(node.unit.offset)))


def _evaluated(node: Node) -> sympy.Expr:
    """A part without quantities, as the float NumPy gives for it.

    Raises `ExpressionError` where quantities stand in it that SymPy saw cancel: `(x - x)^0.5`.
    """
    if names_in(node) - _CONSTANTS:
        raise ExpressionError("a part whose quantities cancel", span=node.span)
    (value,) = compile_nodes([node])({}, 1)
    number = float(np.asarray(value)[0])
    if not math.isfinite(number):
        raise ExpressionError("a part that is no finite number", span=node.span)
    return _rational(Fraction(number))


def _rational(value: Fraction) -> sympy.Rational:
    return sympy.Rational(value.numerator, value.denominator)


# ---------------------------------------------------------------------------- and back


def from_sympy(expression: sympy.Expr) -> Node:
    """The tree of a closed form: fractions are gathered, signs come first.

    Raises `ExpressionError` for what the language has no word for, such as imaginary numbers,
    infinities and piecewise functions.
    """
    if isinstance(expression, int):
        expression = sympy.Integer(expression)
    if not isinstance(expression, sympy.Basic):
        raise TypeError(f"expected a SymPy expression, found {type(expression).__name__}")
    if isinstance(expression, sympy.Rational):
        return _rational_node(Fraction(int(expression.p), int(expression.q)))
    if isinstance(expression, sympy.Float):
        return _float_node(float(expression))
    if isinstance(expression, sympy.Symbol):
        return Name(expression.name)
    if expression is sympy.pi:
        return Name("pi")
    if expression is sympy.E:
        return Call("exp", (_whole(1),))
    if isinstance(expression, sympy.Add):
        return _sum_node(expression)
    if isinstance(expression, sympy.Mul):
        return _product_node(expression)
    if isinstance(expression, sympy.Pow):
        return _power_node(*expression.as_base_exp())
    name = type(expression).__name__
    arguments = tuple(from_sympy(part) for part in expression.args)
    if name in _FROM_SYMPY:
        return Call(_FROM_SYMPY[name], arguments)
    if name in _RECIPROCALS:
        return Binary("/", _whole(1), Call(_RECIPROCALS[name], arguments))
    raise ExpressionError(f"{name} has no place in a closed form: {str(expression)[:80]}")


def _whole(value: int) -> Node:
    return _rational_node(Fraction(value))


def _rational_node(value: Fraction) -> Node:
    if value < 0:
        return Negate(_rational_node(-value))
    if max(value.numerator, value.denominator) > _EXACT_INTEGER:
        return _long_number(value)
    if value.denominator == 1:
        return Number(value, str(value.numerator))
    return Binary("/", _whole(value.numerator), _whole(value.denominator))


def _long_number(value: Fraction) -> Node:
    try:
        return Number(value, repr(float(value)))
    except OverflowError:
        raise ExpressionError("a number beyond 1e308 in a closed form") from None


def _float_node(value: float) -> Node:
    if not math.isfinite(value):
        raise ExpressionError(f"{value} has no place in a closed form")
    node = Number(Fraction(abs(value)), repr(abs(value)))
    return Negate(node) if value < 0 else node


def _sum_node(expression: sympy.Add) -> Node:
    """Terms with a plus first, those with a minus subtracted from them."""
    terms = list(sympy.Add.make_args(expression))
    added = [term for term in terms if not term.could_extract_minus_sign()]
    taken = [term for term in terms if term.could_extract_minus_sign()]
    node = from_sympy(added[0]) if added else Negate(from_sympy(-taken.pop(0)))
    for term in added[1:]:
        node = Binary("+", node, from_sympy(term))
    for term in taken:
        node = Binary("-", node, from_sympy(-term))
    return node


def _product_node(expression: sympy.Mul) -> Node:
    """Factors over divisors; a minus comes before the whole."""
    coefficient, rest = expression.as_coeff_Mul()
    top, bottom = _coefficient(abs(coefficient))
    for factor in sympy.Mul.make_args(rest):
        base, exponent = factor.as_base_exp()
        if exponent.is_number and exponent.is_negative and base is not sympy.E:
            bottom.append(_power_node(base, -exponent))
        elif factor is not sympy.S.One:
            top.append(from_sympy(factor))
    node = _multiplied(top)
    if bottom:
        node = Binary("/", node, _multiplied(bottom))
    return Negate(node) if coefficient.is_negative else node


def _coefficient(value: sympy.Number) -> tuple[list[Node], list[Node]]:
    """A positive number as factors above and below a fraction line; 1 is left out."""
    if isinstance(value, sympy.Float):
        return [_float_node(float(value))], []
    top, bottom = int(value.p), int(value.q)
    if max(top, bottom) > _EXACT_INTEGER:
        return [_long_number(Fraction(top, bottom))], []
    return [_whole(part) for part in [top] if part != 1], [_whole(p) for p in [bottom] if p != 1]


def _multiplied(factors: list[Node]) -> Node:
    if not factors:
        return _whole(1)
    node = factors[0]
    for factor in factors[1:]:
        node = Binary("*", node, factor)
    return node


def _power_node(base: sympy.Expr, exponent: sympy.Expr) -> Node:
    if exponent == 1:
        return from_sympy(base)
    if base is sympy.E:
        return Call("exp", (from_sympy(exponent),))
    if exponent.is_number and exponent.is_negative:
        return Binary("/", _whole(1), _power_node(base, -exponent))
    if exponent == sympy.Rational(1, 2):
        return Call("sqrt", (from_sympy(base),))
    return Binary("^", from_sympy(base), from_sympy(exponent))
