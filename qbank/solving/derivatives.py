"""Exact partial derivatives and term sizes of expression trees, without a computer algebra system.

The second route and the rounding check rest on these rules, so that they share nothing with the
symbolic solution they judge. The rules are those of any calculus text.
"""

from __future__ import annotations

from fractions import Fraction

from qbank.expressions.tree import Binary, Call, Measure, Name, Negate, Node, Number, names_in, walk
from qbank.solving.rewriting import (
    ONE,
    PI,
    TWO,
    ZERO,
    binary,
    call,
    negate,
    number,
    substitute,
)


class NoDerivativeError(Exception):
    """The function has steps, or its derivative no rule here; probe it with differences."""


# ---------------------------------------------------------------------------- derivatives


def derivative(node: Node, name: str) -> Node:
    """The partial derivative of `node` with respect to `name`, with zeros and ones folded.

    Raises NoDerivativeError for a function of `name` that has no rule.
    """
    if isinstance(node, Name):
        return ONE if node.id == name else ZERO
    if isinstance(node, Number | Measure) or name not in names_in(node):
        return ZERO
    match node:
        case Negate(operand=operand):
            return _negative(derivative(operand, name))
        case Binary(operator="+" | "-" as sign, left=left, right=right):
            return _sum(derivative(left, name), sign, derivative(right, name))
        case Binary(operator="*", left=left, right=right):
            return _sum(
                _product(derivative(left, name), right),
                "+",
                _product(left, derivative(right, name)),
            )
        case Binary(operator="/", left=left, right=right):
            below = _product(node, derivative(right, name))
            return _quotient(_sum(derivative(left, name), "-", below), right)
        case Binary(operator="^", left=left, right=right):
            return _power_rule(node, derivative(left, name), derivative(right, name), left, right)
        case Call(function=function, arguments=arguments):
            total: Node = ZERO
            inner = [derivative(argument, name) for argument in arguments]
            if any(part != ZERO for part in inner):
                for slope, part in zip(slopes(function, arguments), inner, strict=True):
                    total = _sum(total, "+", _product(slope, part))
            return total
        case _:
            raise NoDerivativeError


def _power_rule(node: Node, base_slope: Node, power_slope: Node, base: Node, power: Node) -> Node:
    if isinstance(power, Number):
        lower: Node = ONE if power.value == 1 else base
        if power.value not in (1, 2):
            lower = Binary("^", base, number(power.value - 1))
        return _product(_product(power, lower), base_slope)
    by_base = _quotient(_product(_product(node, power), base_slope), base)
    return _sum(by_base, "+", _product(_product(node, call("ln", base)), power_slope))


def slopes(function: str, arguments: tuple[Node, ...]) -> list[Node]:
    """The partial derivatives of a function call with respect to each argument.

    Raises NoDerivativeError for step functions, quantiles and distributions that have no rule.
    """
    whole = Call(function, arguments)
    u = arguments[0]
    match function:
        case "sin":
            return [call("cos", u)]
        case "cos":
            return [negate(call("sin", u))]
        case "tan":
            return [_sum(ONE, "+", _square(whole))]
        case "asin":
            return [_quotient(ONE, call("sqrt", _sum(ONE, "-", _square(u))))]
        case "acos":
            return [negate(_quotient(ONE, call("sqrt", _sum(ONE, "-", _square(u)))))]
        case "atan":
            return [_quotient(ONE, _sum(ONE, "+", _square(u)))]
        case "atan2":
            v = arguments[1]
            radius = _sum(_square(u), "+", _square(v))
            return [_quotient(v, radius), negate(_quotient(u, radius))]
        case "sinh":
            return [call("cosh", u)]
        case "cosh":
            return [call("sinh", u)]
        case "tanh":
            return [_sum(ONE, "-", _square(whole))]
        case "exp":
            return [whole]
        case "ln":
            return [_quotient(ONE, u)]
        case "log10":
            return [_quotient(ONE, _product(u, call("ln", number(10))))]
        case "sqrt":
            return [_quotient(ONE, _product(TWO, whole))]
        case "cbrt":
            return [_quotient(ONE, _product(number(3), _square(whole)))]
        case "abs":
            return [call("sign", u)]
        case "normal_quantile":
            density = call("exp", negate(_quotient(_square(whole), TWO)))
            return [_quotient(call("sqrt", _product(TWO, PI)), density)]
        case "normal_cdf":
            density = call("exp", negate(_quotient(_square(u), TWO)))
            return [_quotient(density, call("sqrt", _product(TWO, PI)))]
        case "min" | "max":
            return _extreme_slopes(function, arguments)
        case _:
            raise NoDerivativeError


def _extreme_slopes(function: str, arguments: tuple[Node, ...]) -> list[Node]:
    """1 for the argument that is least or greatest, 0 for the others, 1/2 at a tie of two."""
    sign = "-" if function == "min" else "+"
    total: Node = arguments[0]
    weights: list[Node] = [ONE]
    half = number(Fraction(1, 2))
    for argument in arguments[1:]:
        ahead = call("sign", Binary("-", total, argument))
        first = _product(half, _sum(ONE, sign, ahead))  # the share of those so far
        weights = [_product(weight, first) for weight in weights]
        weights.append(_product(half, _sum(ONE, "+" if sign == "-" else "-", ahead)))
        total = call(function, total, argument)
    return weights


# ---------------------------------------------------------------------------- sizes


def term_size(node: Node) -> Node:
    """What the terms of an expression come to when none of them cancel.

    An upper estimate of how much a relative change of each term could move the value; a residual
    is small or large only against this.
    """
    match node:
        case Number():
            return number(abs(node.value))
        case Name() | Measure():
            return call("abs", node)
        case Negate(operand=operand):
            return term_size(operand)
        case Binary(operator="+" | "-", left=left, right=right):
            return _sum(term_size(left), "+", term_size(right))
        case Binary(operator="*", left=left, right=right):
            return _product(term_size(left), term_size(right))
        case Binary(operator="/", left=left, right=right):
            size = _quotient(term_size(left), call("abs", right))
            return _product(size, _loss(right)) if _cancels(right) else size
        case Binary(operator="^", left=left, right=Number(value=power)) if _cancels(left):
            if power > 0:
                return Binary("^", term_size(left), number(power))
            return _product(call("abs", node), Binary("^", _loss(left), number(-power)))
        case Call(function=function, arguments=arguments):
            return _call_size(function, arguments)
        case _:
            return call("abs", node)


def _call_size(function: str, arguments: tuple[Node, ...]) -> Node:
    size: Node = call("abs", Call(function, arguments))
    try:
        partial = slopes(function, arguments)
    except NoDerivativeError:
        return size
    for slope, argument in zip(partial, arguments, strict=True):
        size = _sum(size, "+", _product(call("abs", slope), term_size(argument)))
    return size


def _loss(node: Node) -> Node:
    return _quotient(term_size(node), call("abs", node))


def _cancels(node: Node) -> bool:
    """Whether the value may be much smaller than its terms."""
    return any(
        isinstance(part, Call) or (isinstance(part, Binary) and part.operator in "+-")
        for part in walk(node)
    )


# ---------------------------------------------------------------------------- folding


def _sum(left: Node, sign: str, right: Node) -> Node:
    if isinstance(left, Number) and isinstance(right, Number):
        return number(left.value + right.value if sign == "+" else left.value - right.value)
    return binary(left, "+" if sign == "+" else "-", right)


def _product(left: Node, right: Node) -> Node:
    if ZERO in (left, right):
        return ZERO
    if isinstance(left, Number) and isinstance(right, Number):
        return number(left.value * right.value)
    if isinstance(left, Negate):
        return _negative(_product(left.operand, right))
    if isinstance(right, Negate):
        return _negative(_product(left, right.operand))
    return binary(left, "*", right)


def _quotient(left: Node, right: Node) -> Node:
    if left == ZERO:
        return ZERO
    return binary(left, "/", right)


def _negative(node: Node) -> Node:
    return ZERO if node == ZERO else negate(node)


def _square(node: Node) -> Node:
    return Binary("^", node, TWO)


def at_zero(node: Node, names: frozenset[str]) -> Node:
    """The expression with every name in `names` put to zero, folded."""
    match node:
        case Name(id=name):
            return ZERO if name in names else node
        case Negate(operand=operand):
            return _negative(at_zero(operand, names))
        case Binary(operator="+" | "-" as sign, left=left, right=right):
            return _sum(at_zero(left, names), sign, at_zero(right, names))
        case Binary(operator="*", left=left, right=right):
            return _product(at_zero(left, names), at_zero(right, names))
        case Binary(operator="/", left=left, right=right):
            return _quotient(at_zero(left, names), at_zero(right, names))
        case _:
            return substitute(node, dict.fromkeys(names, ZERO))
