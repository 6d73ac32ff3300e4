"""An angle between two directions, or a turn with the head of an arrow."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, pi, sin

from qbank.figures.canvas import Canvas, Pen, Point, Spot
from qbank.figures.geometry import arc, head
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """An arc from `start` to `end`, anticlockwise from rightwards."""
    point, radius = shape.point("at"), shape.number("radius", 34.0)
    start, end = shape.number("start"), shape.number("end")
    canvas.line(arc(point, radius, start, end), Pen.THIN)
    if shape.yes("arrow"):
        sense = 1.0 if end > start else -1.0
        lean = end + sense * pi / 2 - sense * 0.13
        tip = point[0] + radius * cos(end), point[1] + radius * sin(end)
        head(canvas, tip, (cos(lean), sin(lean)))
    canvas.label(shape.label, _spots(point, radius, (start + end) / 2))


@again
def _spots(point: Point, radius: float, half: float) -> Iterator[Spot]:
    across = 0 if abs(cos(half)) < 0.35 else (1 if cos(half) > 0 else -1)
    up = 0 if abs(sin(half)) < 0.35 else (1 if sin(half) > 0 else -1)
    for reach in (radius + 5, radius + 12, radius + 22, radius + 36, radius + 52):
        x, y = point[0] + reach * cos(half), point[1] + reach * sin(half)
        yield x, y, across, 0 if across else up
        yield x, y, across, up
    yield from around(point, radius + 5)
