"""A capacitor: two equal plates, as in IEC 60617 (from memory)."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Pen
from qbank.figures.parameters import Parameters
from qbank.figures.shapes.circuit import element

GAP, WIDTH = 8.0, 17.0  # half the width


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Between two terminals."""
    body = element(canvas, shape, GAP, WIDTH)
    for ahead in (-GAP / 2, GAP / 2):
        canvas.line([body.at(ahead, WIDTH), body.at(ahead, -WIDTH)], Pen.BOLD)
