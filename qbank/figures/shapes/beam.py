"""A beam, bar, rod or pipe: a long bar between two points."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.geometry import direction, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along


def draw(canvas: Canvas, shape: Parameters) -> None:
    """`depth` is across the beam; the two points are the ends of its middle line."""
    start, end = shape.point("from"), shape.point("to")
    way, _ = direction(start, end)
    half = shape.number("depth", 10.0) / 2
    corners = [
        moved(start, way, 0, half),
        moved(end, way, 0, half),
        moved(end, way, 0, -half),
        moved(start, way, 0, -half),
    ]
    canvas.line(corners, Pen.LINE, Fill.LIGHT, closed=True)
    canvas.label(shape.label, along(start, end, shape.side, half + 5))
