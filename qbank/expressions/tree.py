"""What an expression is once read: a tree that keeps the author's own order and spelling.

Equality and hashing ignore `span`, so two spellings of the same formula at different places
are the same node; that is what lets the array compiler share common subexpressions.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from qbank.expressions.units import Unit

Span = tuple[int, int]  # half-open range of character positions in the text that was read
NO_SPAN: Span = (0, 0)

ArithmeticOperator = Literal["+", "-", "*", "/", "^"]
ComparisonOperator = Literal["<", "<=", ">", ">=", "==", "!="]


@dataclass(frozen=True, slots=True)
class Number:
    """A literal number, kept exactly; `text` is how the author wrote it."""

    value: Fraction
    text: str = field(compare=False)
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Measure:
    """A literal number with a unit, such as `0.3 rad/s^2`."""

    value: Fraction
    unit: Unit
    text: str = field(compare=False)
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Name:
    """A quantity of the family, a constant set by a case, or `pi`."""

    id: str
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Negate:
    operand: Node
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Binary:
    operator: ArithmeticOperator
    left: Node
    right: Node
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Call:
    function: str
    arguments: tuple[Node, ...]
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Compare:
    """A chain such as `0 < h < c`: one operator fewer than operands."""

    operands: tuple[Node, ...]
    operators: tuple[ComparisonOperator, ...]
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Logic:
    operator: Literal["and", "or"]
    operands: tuple[Node, ...]
    span: Span = field(default=NO_SPAN, compare=False)


@dataclass(frozen=True, slots=True)
class Not:
    operand: Node
    span: Span = field(default=NO_SPAN, compare=False)


Node = Number | Measure | Name | Negate | Binary | Call | Compare | Logic | Not


@dataclass(frozen=True, slots=True)
class Equation:
    """A law: `left = right`."""

    left: Node
    right: Node
    span: Span = field(default=NO_SPAN, compare=False)

    @property
    def residual(self) -> Node:
        """`left - right`, zero where the law holds."""
        return Binary("-", self.left, self.right, self.span)


def children(node: Node) -> tuple[Node, ...]:
    """The direct parts of a node, in reading order."""
    match node:
        case Negate(operand=operand) | Not(operand=operand):
            return (operand,)
        case Binary(left=left, right=right):
            return (left, right)
        case Call(arguments=parts) | Compare(operands=parts) | Logic(operands=parts):
            return parts
        case _:
            return ()


def walk(node: Node) -> Iterator[Node]:
    """The node and everything below it, in reading order."""
    yield node
    for child in children(node):
        yield from walk(child)


def names_in(node: Node | Equation) -> frozenset[str]:
    """The identifiers an expression or equation mentions."""
    if isinstance(node, Equation):
        return names_in(node.left) | names_in(node.right)
    return frozenset(part.id for part in walk(node) if isinstance(part, Name))
