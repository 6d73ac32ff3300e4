"""Bounds that keep an expression from a stranger cheap in everything that is done with it.

Powers are what makes small text large: exact arithmetic on (2^64)^64 has thousands of digits and
on a tower never ends. So literal exponents are small, literal powers do not stand on each other,
and the degree of the whole, counted as for a polynomial, is bounded.
"""

from __future__ import annotations

from fractions import Fraction

from qbank.errors import ExpressionError
from qbank.expressions.tree import Binary, Call, Measure, Negate, Node, Number, children, walk

MAX_NODES = 1000
MAX_DEPTH = 64
MAX_POWER = 64
MAX_DEGREE = 256


def ensure_bounded(node: Node, text: str) -> Node:
    """The same node, if it keeps the bounds; else `ExpressionError` at the part that does not."""
    deepest = _too_deep(node)
    if deepest is not None:
        raise ExpressionError(
            f"parts nested more than {MAX_DEPTH} deep",
            excerpt=text,
            span=deepest.span,
            hint="Name inner parts as intermediate quantities.",
        )
    _degree(node, text)
    return node


def literal_value(node: Node) -> Fraction | None:
    """The exact value of arithmetic on plain numbers; None for anything else or a division by 0.

    Only small powers are worked out, so the result is bounded by the size of the text.
    """
    match node:
        case Number(value=value):
            return value
        case Negate(operand=operand):
            inner = literal_value(operand)
            return None if inner is None else -inner
        case Binary(operator=operator, left=left, right=right):
            a, b = literal_value(left), literal_value(right)
            if a is None or b is None:
                return None
            return _arithmetic(operator, a, b)
        case _:
            return None


def _arithmetic(operator: str, a: Fraction, b: Fraction) -> Fraction | None:
    if operator == "+":
        return a + b
    if operator == "-":
        return a - b
    if operator == "*":
        return a * b
    if operator == "/":
        return a / b if b else None
    whole = b.denominator == 1 and abs(b) <= MAX_POWER
    return a ** int(b) if whole and (a or b >= 0) else None


def _too_deep(node: Node) -> Node | None:
    """A part deeper than the bound; found without recursion, since the tree may be a long chain."""
    level = [node]
    for _ in range(MAX_DEPTH):
        level = [child for parent in level for child in children(parent)]
        if not level:
            return None
    return level[0]


def _is_literal(node: Node) -> bool:
    return all(isinstance(part, Number | Measure | Negate | Binary) for part in walk(node))


def _degree(node: Node, text: str) -> int:
    """The degree of an expression if every name and number counts as 1."""
    degrees = [_degree(child, text) for child in children(node)]
    match node:
        case Binary(operator="^", left=base, right=exponent):
            degree = degrees[0] * _power(base, exponent, text)
        case Binary(operator="*" | "/"):
            degree = sum(degrees)
        case Call():
            degree = max(degrees)
        case _:
            degree = max(degrees, default=1)
    if degree > MAX_DEGREE:
        raise ExpressionError(
            f"powers and products of degree {degree}; at most {MAX_DEGREE} is read",
            excerpt=text,
            span=node.span,
        )
    return degree


def _power(base: Node, exponent: Node, text: str) -> int:
    """How much a power multiplies the degree: the size of its literal exponent."""
    if not _is_literal(exponent):
        return 1
    if any(isinstance(part, Binary) and part.operator == "^" for part in walk(exponent)):
        raise ExpressionError(
            "a literal power as the exponent of a power",
            excerpt=text,
            span=exponent.span,
            hint="Write the exponent as a number.",
        )
    value = literal_value(exponent)
    if value is not None and abs(value) > MAX_POWER:
        raise ExpressionError(
            f"the exponent {float(value):g}; at most {MAX_POWER} is read",
            excerpt=text,
            span=exponent.span,
        )
    tower = isinstance(base, Binary) and base.operator == "^"
    if tower and _is_literal(base):
        raise ExpressionError(
            "a literal power as the base of a power",
            excerpt=text,
            span=base.span,
            hint="Write it as one power.",
        )
    return 1 if value is None else max(1, -(-abs(value.numerator) // value.denominator))
