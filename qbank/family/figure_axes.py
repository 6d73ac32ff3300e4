"""Axes of a figure: their ranges, and curves, marks and dots placed in them."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from qbank.expressions.tree import Binary, Measure, Node, Number
from qbank.expressions.units import ONE, Dimension, Unit
from qbank.family.figure_numbers import FigureNumbers, number, replaced
from qbank.family.nodes import Scalar
from qbank.family.scope import Kind, Piece

SAMPLES = 48  # straight pieces of a curve
_RANGE = re.compile(
    r"\s*(?:(?P<variable>[A-Za-z]\w*)\s*=(?!=)\s*)?(?P<low>.+?)\s*\.\.\s*(?P<high>.+?)"
    r"(?:\s+by\s+(?P<step>.+?))?\s*\Z",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Range:
    """A range of one axis in SI; `unit` is that of the step, in which ticks are numbered."""

    variable: str | None
    low: Node
    high: Node
    step: Node | None
    unit: Unit
    dimension: Dimension

    def share(self, value: Node) -> Node:
        """How far along the axis a value stands, 0 at its low end and 1 at its high end."""
        return Binary("/", Binary("-", value, self.low), Binary("-", self.high, self.low))

    def numbers(self) -> tuple[Node, ...]:
        """Low, high and step, in the unit of the step; no step where there are no ticks."""
        if self.step is None:
            return (self.low, self.high)
        factor = number(Fraction(self.unit.exact or Fraction(self.unit.factor)))
        return tuple(Binary("/", part, factor) for part in (self.low, self.high, self.step))


@dataclass(frozen=True, slots=True)
class Axes:
    """Where axes stand in the drawing, and what they measure."""

    x: Node
    y: Node
    wide: Node
    high: Node
    across: Range
    up: Range | None

    def at_x(self, value: Node) -> Node:
        """The position of a value of the axis across, in units of the drawing."""
        return Binary("+", self.x, Binary("*", self.across.share(value), self.wide))

    def at_y(self, value: Node, up: Range) -> Node:
        """The position of a value of the axis up, in units of the drawing."""
        return Binary("+", self.y, Binary("*", up.share(value), self.high))


def read_range(scalar: Scalar, what: str, reader: FigureNumbers) -> Range:
    """`low .. high by step`, with `x = ` before it where curves need a variable."""
    match = _RANGE.match(scalar.text)
    if match is None:
        raise scalar.fault(
            f"{what}: expected low .. high, found '{scalar.text.strip()[:40]}'",
            hint="write for example `0 s .. 40 s by 10 s`",
        )
    parts: dict[str, tuple[Node, Dimension]] = {}
    for name in ("low", "high", "step"):
        if match[name] is not None:
            piece = Piece(scalar, match[name], match.start(name))
            parts[name] = reader.any(scalar, f"{what}, {name}", piece)
    low, dimension = parts["low"]
    for name, (node, found) in parts.items():
        if found != dimension:
            zero = isinstance(node, Number) and node.value == 0
            raise scalar.fault(
                f"{what}: low is {dimension.describe()}, but {name} is {found.describe()}",
                match.span(name),
                "write 0 with its unit" if zero else "give both the same dimension",
            )
    step = parts["step"][0] if "step" in parts else None
    unit = step.unit if isinstance(step, Measure) else ONE
    if step is not None and not isinstance(step, Measure | Number):
        raise scalar.fault(
            f"{what}: the step must be one number with its unit",
            match.span("step"),
            "write for example `by 10 s`",
        )
    variable = match["variable"]
    if variable is not None:
        kind = reader.formulas.scope.kinds.get(variable)
        if kind not in (None, Kind.UNKNOWN):
            raise scalar.fault(
                f"{what}: '{variable}' is {kind.value} already" if kind else "",
                match.span("variable"),
                "call the variable of the axis differently",
            )
    return Range(variable, low, parts["high"][0], step, unit, dimension)


def curve_points(scalar: Scalar, what: str, axes: Axes, reader: FigureNumbers) -> tuple[Node, ...]:
    """Points of a curve in units of the drawing: its expression at equal steps of the variable."""
    across, up = axes.across, axes.up
    if across.variable is None or up is None:
        raise scalar.fault(
            f"{what}: the axes have no {'variable' if up else 'range up'}",
            hint="write `across: x = low .. high` and `up: low .. high`",
        )
    scope = reader.formulas.scope
    own = replace(
        scope,
        kinds={**scope.kinds, across.variable: Kind.LET},
        dimensions={**scope.dimensions, across.variable: across.dimension},
    )
    inner = replace(reader, formulas=replace(reader.formulas, scope=own))
    node, dimension = inner.any(scalar, what)
    same_dimension(scalar, what, dimension, up)
    points: list[Node] = []
    for k in range(SAMPLES + 1):
        share = number(Fraction(k, SAMPLES))
        span = Binary("-", across.high, across.low)
        value = Binary("+", across.low, Binary("*", share, span))
        points.append(Binary("+", axes.x, Binary("*", share, axes.wide)))
        points.append(axes.at_y(replaced(node, across.variable, value), up))
    return tuple(points)


def same_dimension(scalar: Scalar, what: str, found: Dimension, axis: Range) -> None:
    """FamilyError unless a value fits an axis."""
    if found != axis.dimension:
        raise scalar.fault(
            f"{what}: expected {axis.dimension.describe()} as on the axis, found "
            f"{found.describe()}",
            hint="correct the expression or the range",
        )
