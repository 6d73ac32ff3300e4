"""A text of its own."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.figures.canvas import Canvas, Point, Spot
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, around, within


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Centred at a point where that is free, else near it; on a `side` of it where one is named."""
    point = shape.point("at")
    canvas.label(shape.labels["text"], _spots(point, shape.side))


@again
def _spots(point: Point, side: str) -> Iterator[Spot]:
    if not side:
        yield within(point)
    yield from around(point, 4.0, side)
