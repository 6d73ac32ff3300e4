"""An arrow for a force, a velocity or another directed quantity."""

from __future__ import annotations

from math import cos, sin

from qbank.figures.canvas import Canvas, Pen, Point
from qbank.figures.geometry import HEAD, direction, head, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along, around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """From a point to another, or `length` long at an `angle` anticlockwise from rightwards."""
    start = shape.point("from")
    end = shape.point("to") if shape.has("to") else _end(shape, start)
    way, size = direction(start, end)
    canvas.line([start, moved(start, way, max(0.0, size - 6))], Pen.LINE)
    head(canvas, end, way, min(HEAD, max(4.0, size)))
    at_tip = around(end, 5.0, shape.side, _ahead(way))
    beside = along(start, end, shape.side)
    first = shape.side and shape.side != _ahead(way)
    canvas.label(shape.label, [*beside, *at_tip] if first else [at_tip[0], *beside, *at_tip[1:]])


def _end(shape: Parameters, start: Point) -> Point:
    size, angle = shape.number("length"), shape.number("angle")
    return start[0] + size * cos(angle), start[1] + size * sin(angle)


def _ahead(way: Point) -> str:
    if abs(way[0]) >= abs(way[1]):
        return "right" if way[0] > 0 else "left"
    return "above" if way[1] > 0 else "below"
