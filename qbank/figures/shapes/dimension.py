"""A dimension line with extension lines and arrows at both ends (as in ISO 129-1; from memory)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from qbank.figures.canvas import Canvas, Pen, Point, Spot
from qbank.figures.geometry import direction, head, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, along, beyond_end

BEYOND = 4.0  # of the extension lines


def draw(canvas: Canvas, shape: Parameters) -> None:
    """`offset` moves it to the left as one goes from start to end; negative to the right."""
    start, end = shape.point("from"), shape.point("to")
    way, size = direction(start, end)
    off = shape.number("offset")
    a, b = moved(start, way, 0, off), moved(end, way, 0, off)
    if off:
        sign = 1.0 if off > 0 else -1.0
        for foot in (start, end):
            first = moved(foot, way, 0, sign * min(3.0, abs(off)))
            canvas.line([first, moved(foot, way, 0, off + sign * BEYOND)], Pen.THIN)
    canvas.line([a, b], Pen.THIN)
    small, tail = 7.0, 0.0
    if size > 2.5 * small:
        head(canvas, a, (-way[0], -way[1]), small)
        head(canvas, b, way, small)
    else:  # too short: the arrows point at each other from outside
        for tip, towards in ((a, way), (b, (-way[0], -way[1]))):
            canvas.line([moved(tip, towards, -16.0), tip], Pen.THIN)
            head(canvas, tip, towards, small)
        tail = 16.0
    canvas.label(shape.label, _spots(a, b, shape.side, tail))


@again
def _spots(a: Point, b: Point, side: str, tail: float) -> Iterator[Spot]:
    way, _ = direction(a, b)
    beside = iter(along(a, b, side))
    yield from islice(beside, 10)
    yield beyond_end(b, way, tail)
    yield beyond_end(a, (-way[0], -way[1]), tail)
    yield from beside
