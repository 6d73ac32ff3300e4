"""A text of its own."""

from __future__ import annotations

from itertools import chain

from qbank.figures.canvas import Canvas
from qbank.figures.parameters import Parameters
from qbank.figures.spots import around, within


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Centred at a point where that is free, else near it; on a `side` of it where one is named."""
    point = shape.point("at")
    centred = [] if shape.side else [within(point)]
    canvas.label(shape.labels["text"], chain(centred, around(point, 4.0, shape.side)))
