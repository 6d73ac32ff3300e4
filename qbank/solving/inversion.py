"""Undoing a law step by step around an unknown that stands in it once.

`V_1 = V_0*exp(-t/(R*C))` becomes `t = -(R*C)*ln(V_1/V_0)`. An even power, a sine or an absolute
value branches: every candidate is kept, with the conditions under which it is a root.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Equation,
    Name,
    Negate,
    Node,
    Number,
    names_in,
)
from qbank.solving.rewriting import ONE, PI, TWO, at_least, binary, call, negate, number


@dataclass(frozen=True, slots=True)
class Branch:
    """A candidate for the unknown, and what must hold for it to be a root."""

    value: Node
    conditions: tuple[Node, ...] = ()

    def then(self, value: Node, *conditions: Node) -> Branch:
        """The candidate one step further in."""
        return Branch(value, (*self.conditions, *conditions))


@dataclass(frozen=True, slots=True)
class Inversion:
    """All candidates; `periodic` if there are endlessly many more, a period apart."""

    branches: tuple[Branch, ...]
    periodic: bool


def invert(equation: Equation, unknown: str) -> Inversion | None:
    """The candidates for an unknown that occurs once; None where a step can't be undone."""
    here, there = equation.left, equation.right
    if unknown not in names_in(here):
        here, there = there, here
    branches = [Branch(there)]
    periodic = False
    while here != Name(unknown):
        step = _step(here, unknown)
        if step is None:
            return None
        here, undo, repeats = step
        periodic = periodic or repeats
        branches = [further for branch in branches for further in undo(branch)]
    return Inversion(tuple(branches), periodic)


_Undo = Callable[[Branch], list[Branch]]


def _step(node: Node, unknown: str) -> tuple[Node, _Undo, bool] | None:
    """The part that holds the unknown, how to undo what is done to it, and whether that repeats."""
    match node:
        case Negate(operand=inner):
            return inner, lambda b: [b.then(negate(b.value))], False
        case Binary(operator=operator, left=left, right=right):
            if unknown in names_in(left):
                undo = _undo_left(operator, right)
                return (left, undo, False) if undo else None
            undo = _undo_right(operator, left)
            return (right, undo, False) if undo else None
        case Call(function=function, arguments=(inner,)) if function in _INVERSES:
            return inner, _INVERSES[function], function in _PERIODIC
        case _:
            return None


def _undo_left(operator: str, right: Node) -> _Undo | None:
    """Solve `x operator right = y` for x."""
    match operator:
        case "+":
            return lambda b: [b.then(binary(b.value, "-", right))]
        case "-":
            return lambda b: [b.then(binary(b.value, "+", right))]
        case "*":
            return lambda b: [b.then(binary(b.value, "/", right), *_not_zero(right))]
        case "/":
            return lambda b: [b.then(binary(b.value, "*", right))]
        case _:
            return _undo_power(right)


def _undo_right(operator: str, left: Node) -> _Undo | None:
    """Solve `left operator x = y` for x."""
    match operator:
        case "+":
            return lambda b: [b.then(binary(b.value, "-", left))]
        case "-":
            return lambda b: [b.then(binary(left, "-", b.value))]
        case "*":
            return lambda b: [b.then(binary(b.value, "/", left), *_not_zero(left))]
        case "/":
            # 0/x has no value at x = 0, the only x that left/y could give
            return lambda b: [b.then(binary(left, "/", b.value), *_not_zero(left))]
        case _:
            return lambda b: [b.then(binary(call("ln", b.value), "/", call("ln", left)))]


def _not_zero(node: Node) -> tuple[Node, ...]:
    return () if literal_value(node) else (Compare((node, number(0)), ("!=",)),)


def _undo_power(exponent: Node) -> _Undo:
    """Solve `x^exponent = y` for x. An exponent that is no literal asks for a base above zero."""
    literal = literal_value(exponent)
    if literal is None:
        return lambda b: [
            b.then(Binary("^", b.value, binary(ONE, "/", exponent)), at_least(b.value, number(0)))
        ]
    if literal == 0:
        return lambda _: []
    if literal < 0:
        positive = _undo_power(number(-literal))
        return lambda b: positive(b.then(binary(ONE, "/", b.value)))
    if literal.denominator != 1:
        return lambda b: [
            b.then(Binary("^", b.value, number(1 / literal)), at_least(b.value, number(0)))
        ]
    return _undo_whole_power(int(literal))


def _undo_whole_power(n: int) -> _Undo:
    if n == 1:
        return lambda b: [b]
    if n % 2:
        if n == 3:
            return lambda b: [b.then(call("cbrt", b.value))]
        return lambda b: [
            b.then(binary(call("sign", b.value), "*", _root(call("abs", b.value), n)))
        ]
    return lambda b: [b.then(_root(b.value, n)), b.then(negate(_root(b.value, n)))]


def _root(node: Node, n: int) -> Node:
    if n == 2:
        return call("sqrt", node)
    return Binary("^", node, number(Fraction(1, n)))


def literal_value(node: Node) -> Fraction | None:
    """The value of a number written out, such as `-3/2`; None for anything else."""
    match node:
        case Number(value=value):
            return value
        case Negate(operand=inner):
            positive = literal_value(inner)
            return None if positive is None else -positive
        case Binary(operator="/", left=left, right=right):
            above, below = literal_value(left), literal_value(right)
            return None if above is None or not below else above / below
        case _:
            return None


# ---------------------------------------------------------------------------- functions

_TURN = binary(TWO, "*", PI)


def _sine(b: Branch) -> list[Branch]:
    # every angle from -180 to 360 degrees, so that both habits of naming angles find theirs
    angle = call("asin", b.value)
    return [
        b.then(angle),
        b.then(binary(PI, "-", angle)),
        b.then(binary(negate(PI), "-", angle)),
        b.then(binary(_TURN, "+", angle)),
    ]


def _cosine(b: Branch) -> list[Branch]:
    angle = call("acos", b.value)
    return [b.then(angle), b.then(negate(angle)), b.then(binary(_TURN, "-", angle))]


def _tangent(b: Branch) -> list[Branch]:
    angle = call("atan", b.value)
    return [
        b.then(angle),
        b.then(binary(angle, "+", PI)),
        b.then(binary(angle, "-", PI)),
        b.then(binary(angle, "+", _TURN)),
    ]


def _hyperbolic_sine(b: Branch) -> list[Branch]:
    size = call("abs", b.value)
    inside = binary(size, "+", call("sqrt", binary(binary(size, "*", size), "+", ONE)))
    return [b.then(binary(call("sign", b.value), "*", call("ln", inside)))]


def _hyperbolic_cosine(b: Branch) -> list[Branch]:
    y = b.value
    angle = call("ln", binary(y, "+", call("sqrt", binary(binary(y, "*", y), "-", ONE))))
    return [b.then(angle, at_least(y, ONE)), b.then(negate(angle), at_least(y, ONE))]


def _hyperbolic_tangent(b: Branch) -> list[Branch]:
    y = b.value
    ratio = binary(binary(ONE, "+", y), "/", binary(ONE, "-", y))
    return [b.then(binary(call("ln", ratio), "/", TWO))]


def _inside(b: Branch, low: Node, high: Node, value: Node) -> list[Branch]:
    return [b.then(value, at_least(b.value, low), at_least(high, b.value))]


_QUARTER = binary(PI, "/", TWO)

_INVERSES: dict[str, _Undo] = {
    "sin": _sine,
    "cos": _cosine,
    "tan": _tangent,
    "asin": lambda b: _inside(b, negate(_QUARTER), _QUARTER, call("sin", b.value)),
    "acos": lambda b: _inside(b, number(0), PI, call("cos", b.value)),
    "atan": lambda b: _inside(b, negate(_QUARTER), _QUARTER, call("tan", b.value)),
    "sinh": _hyperbolic_sine,
    "cosh": _hyperbolic_cosine,
    "tanh": _hyperbolic_tangent,
    "exp": lambda b: [b.then(call("ln", b.value))],
    "ln": lambda b: [b.then(call("exp", b.value))],
    "log10": lambda b: [b.then(Binary("^", number(10), b.value))],
    "sqrt": lambda b: [b.then(binary(b.value, "*", b.value), at_least(b.value, number(0)))],
    "cbrt": lambda b: [b.then(Binary("^", b.value, number(3)))],
    "abs": lambda b: [
        b.then(b.value, at_least(b.value, number(0))),
        b.then(negate(b.value), at_least(b.value, number(0))),
    ],
}
_PERIODIC = frozenset({"sin", "cos", "tan"})
