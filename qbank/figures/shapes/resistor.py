"""A resistor: the rectangle of IEC 60617 (from memory)."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.parameters import Parameters
from qbank.figures.shapes.circuit import element

LENGTH, WIDTH = 44.0, 8.0  # half the width


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Between two terminals."""
    body = element(canvas, shape, LENGTH, WIDTH)
    half = LENGTH / 2
    corners = [
        body.at(-half, WIDTH),
        body.at(half, WIDTH),
        body.at(half, -WIDTH),
        body.at(-half, -WIDTH),
    ]
    canvas.line(corners, Pen.LINE, Fill.PAPER, closed=True)
