"""Expressions of a figure, read and turned into units of the drawing."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from fractions import Fraction

from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Logic,
    Name,
    Negate,
    Node,
    Not,
    Number,
    names_in,
)
from qbank.expressions.units import DIMENSIONLESS, Dimension, parse_unit
from qbank.family.keys import describe
from qbank.family.nodes import Listing, Scalar
from qbank.family.nodes import Node as YamlNode
from qbank.family.scope import KNOWN, Formulas, Kind, Piece, Scope

LENGTH = parse_unit("m").dimension
UNIT = "unit"  # in expressions: the length that one unit of the drawing stands for

MOST_POINTS = 30


def number(value: Fraction | int) -> Number:
    """A literal number."""
    exact = Fraction(value)
    return Number(exact, str(exact))


@dataclass(frozen=True, slots=True)
class FigureNumbers:
    """Reads positions, lengths, angles and plain numbers of a figure.

    `unit` is the length one unit of the drawing stands for; None where the figure has no scale.
    Quantities that are `hidden` from the student cannot be drawn.
    """

    formulas: Formulas
    hidden: Collection[str]
    unit: Node | None

    @classmethod
    def of(cls, scope: Scope, hidden: Collection[str], unit: Node | None) -> FigureNumbers:
        """Reads against the names of a family and `unit`; drawing does not count as a use."""
        own = replace(scope, kinds=dict(scope.kinds), dimensions=dict(scope.dimensions))
        if unit is not None:
            own.kinds.setdefault(UNIT, Kind.LET)
            own.dimensions.setdefault(UNIT, LENGTH)
        return cls(Formulas(own, counts=False), hidden, unit)

    def any(self, scalar: Scalar, what: str, piece: Piece | None = None) -> tuple[Node, Dimension]:
        """A quantity of any dimension, in SI."""
        at = piece or Piece.whole(scalar)
        node, dimension = self.formulas.any_value(at, what, KNOWN)
        return self.seen(node, at, what), dimension

    def list_of(self, scalar: Scalar, what: str) -> tuple[Node, Dimension]:
        """A data list, or an expression over one, in SI."""
        at = Piece.whole(scalar)
        node, dimension = self.formulas.any_value(at, what, KNOWN, listed=True)
        return self.seen(node, at, what), dimension

    def seen(self, node: Node, at: Piece, what: str) -> Node:
        """The node with `unit` put in. Raises FamilyError for what the student never sees."""
        span = (at.offset, at.offset + len(at.text))
        for name in sorted(names_in(node).intersection(self.hidden)):
            raise at.scalar.fault(
                f"{what}: '{name}' is hidden from the student", span, "draw it from what is shown"
            )
        return node if self.unit is None else replaced(node, UNIT, self.unit)

    def extent(self, scalar: Scalar, what: str) -> Node:
        """A length drawn to scale, or a plain number, in units of the drawing."""
        node, dimension = self.any(scalar, what)
        if dimension == DIMENSIONLESS:
            return node
        if dimension != LENGTH:
            raise scalar.fault(
                f"{what}: expected a length or a plain number, found {dimension.describe()}",
                hint="divide by a quantity of the same kind, as in `40*F/(100 N)`",
            )
        if self.unit is None:
            raise scalar.fault(
                f"{what}: a length stands here, but the figure has no scale",
                hint="add for example `scale: {length: 1 m, drawn: 100}`",
            )
        return Binary("/", node, self.unit)

    def plain(self, scalar: Scalar, what: str, called: str) -> Node:
        """A pure number or an angle."""
        node, dimension = self.any(scalar, what)
        if dimension != DIMENSIONLESS:
            raise scalar.fault(
                f"{what}: expected {called}, found {dimension.describe()}",
                hint="correct the expression",
            )
        return node

    def pair(self, node: YamlNode, what: str) -> tuple[Node, Node]:
        """`[x, y]`."""
        if not isinstance(node, Listing) or len(node.items) != 2:
            raise node.fault(
                f"{what}: expected [x, y], found {describe(node)}", hint="write [x, y]"
            )
        x, y = (self.extent(_text(item, what), what) for item in node.items)
        return x, y

    def points(self, node: YamlNode, what: str) -> tuple[Node, ...]:
        """`[[x, y], [x, y], ...]`, one number after the other."""
        if not isinstance(node, Listing) or not 2 <= len(node.items) <= MOST_POINTS:
            raise node.fault(
                f"{what}: expected 2 to {MOST_POINTS} positions, found {describe(node)}",
                hint="write [[x, y], [x, y]]",
            )
        return tuple(part for item in node.items for part in self.pair(item, what))


def _text(node: YamlNode, what: str) -> Scalar:
    if not isinstance(node, Scalar) or not node.text.strip():
        raise node.fault(
            f"{what}: expected an expression, found {describe(node)}",
            hint="put an expression with a comma in quotes",
        )
    return node


def replaced(node: Node, name: str, by: Node) -> Node:
    """The node with a name replaced wherever it stands."""

    def within(part: Node) -> Node:
        return replaced(part, name, by)

    match node:
        case Name(id=found) if found == name:
            return by
        case Negate() | Not():
            return replace(node, operand=within(node.operand))
        case Binary():
            return replace(node, left=within(node.left), right=within(node.right))
        case Call():
            return replace(node, arguments=tuple(map(within, node.arguments)))
        case Compare() | Logic():
            return replace(node, operands=tuple(map(within, node.operands)))
        case _:
            return node
