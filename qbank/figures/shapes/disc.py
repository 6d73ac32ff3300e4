"""A disc, wheel, drum or pulley: a circle with its axle, and a radius where asked for."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from math import cos, sin

from qbank.figures.canvas import Canvas, Fill, Pen, Point, Spot
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, along, around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """With `towards` the label stands at a radius drawn that way, else at the rim."""
    centre, radius = shape.point("at"), shape.number("radius")
    canvas.circle(centre, radius, Pen.LINE, Fill.LIGHT if shape.yes("shade") else Fill.PAPER)
    if not shape.yes("plain"):
        canvas.circle(centre, 2.5, Pen.LINE, Fill.INK)
    if shape.has("towards"):
        way = shape.number("towards")
        rim = centre[0] + radius * cos(way), centre[1] + radius * sin(way)
        canvas.line([centre, rim], Pen.THIN)
        canvas.label(shape.label, _spots(centre, rim, shape.side))
    else:
        canvas.label(shape.label, around(centre, radius + 5, shape.side))


@again
def _spots(centre: Point, rim: Point, side: str) -> Iterator[Spot]:
    yield from islice(along(centre, rim, side), 10)
    yield from around(rim, side=side, order="right" if rim[0] >= centre[0] else "left")
