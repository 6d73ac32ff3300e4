"""A measuring instrument: a circle with a letter (IEC 60617, from memory)."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.parameters import Parameters
from qbank.figures.shapes.circuit import element
from qbank.figures.spots import within

RADIUS = 15.0


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Between two terminals; the letter stands in the circle."""
    body = element(canvas, shape, 2 * RADIUS, RADIUS)
    canvas.circle(body.middle, RADIUS, Pen.LINE, Fill.PAPER)
    canvas.label(shape.labels.get("letter", ()), [within(body.middle)])
