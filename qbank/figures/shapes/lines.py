"""Cords, wires and plain lines through points."""

from __future__ import annotations

from itertools import pairwise

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.geometry import direction
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along, around


def cord(canvas: Canvas, shape: Parameters) -> None:
    """A cord, rope or wire, taut from point to point; its label stands at the longest leg."""
    _through(canvas, shape, Pen.LINE)


def line(canvas: Canvas, shape: Parameters) -> None:
    """A thin line, dashed where the author wants: an axis, a level, a direction."""
    _through(canvas, shape, Pen.DASHED if shape.yes("dashed") else Pen.THIN)


def node(canvas: Canvas, shape: Parameters) -> None:
    """A dot: where wires join, or a point with a name."""
    point = shape.point("at")
    canvas.circle(point, 2.8, Pen.LINE, Fill.INK)
    canvas.label(shape.label, around(point, 6.0, shape.side, "above"))


def _through(canvas: Canvas, shape: Parameters, pen: Pen) -> None:
    points = shape.points("through")
    canvas.line(points, pen)
    legs = pairwise(points)
    start, end = max(legs, key=lambda leg: direction(*leg)[1])
    canvas.label(shape.label, along(start, end, shape.side))
