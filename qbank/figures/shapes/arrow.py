"""An arrow for a force, a velocity or another directed quantity."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, sin

from qbank.figures.canvas import Canvas, Pen, Point, Spot
from qbank.figures.geometry import HEAD, direction, head, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, along, around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """From a point to another, or `length` long at an `angle` anticlockwise from rightwards."""
    start = shape.point("from")
    end = shape.point("to") if shape.has("to") else _end(shape, start)
    way, size = direction(start, end)
    canvas.line([start, moved(start, way, max(0.0, size - 6))], Pen.LINE)
    head(canvas, end, way, min(HEAD, max(4.0, size)))
    canvas.label(shape.label, _spots(start, end, shape.side, _ahead(way)))


@again
def _spots(start: Point, end: Point, side: str, ahead: str) -> Iterator[Spot]:
    """At the tip, unless the author asks for a side of the arrow."""
    at_tip = iter(around(end, 5.0, side, ahead))
    if not side or side == ahead:
        yield next(at_tip)
    yield from along(start, end, side)
    yield from at_tip


def _end(shape: Parameters, start: Point) -> Point:
    size, angle = shape.number("length"), shape.number("angle")
    return start[0] + size * cos(angle), start[1] + size * sin(angle)


def _ahead(way: Point) -> str:
    if abs(way[0]) >= abs(way[1]):
        return "right" if way[0] > 0 else "left"
    return "above" if way[1] > 0 else "below"
