"""Loads on a beam: a point load, or one that is spread evenly between two points."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from qbank.figures.canvas import Canvas, Pen, Point, Spot
from qbank.figures.geometry import direction, head, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, along, around

DOWN = (0.0, -1.0)


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Arrows `height` long that press on the points from above."""
    if shape.has("at"):
        tip = shape.point("at")
        tail = tip[0], tip[1] + shape.number("height", 60.0)
        canvas.line([tail, (tip[0], tip[1] + 6)])
        head(canvas, tip, DOWN)
        canvas.label(shape.label, _spots(tail, tip, shape.side))
        return
    start, end = shape.point("from"), shape.point("to")
    height = shape.number("height", 28.0)
    way, size = direction(start, end)
    count = max(2, min(40, round(size / 24)))
    top = [(start[0], start[1] + height), (end[0], end[1] + height)]
    canvas.line([start, *top, end], Pen.THIN)
    for k in range(count + 1):
        tip = moved(start, way, size * k / count)
        canvas.line([(tip[0], tip[1] + height), tip], Pen.THIN, clear=False)
        head(canvas, tip, DOWN, 6.0, clear=False)
    canvas.label(shape.label, along(top[0], top[1], shape.side or "above"))


@again
def _spots(tail: Point, tip: Point, side: str) -> Iterator[Spot]:
    yield from islice(around(tail, 4.0, side, "above"), 3)
    yield from along(tail, tip, side)
