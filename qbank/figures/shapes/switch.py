"""A switch: two contacts and a lever, open or closed."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.parameters import Parameters
from qbank.figures.shapes.circuit import element

KINDS = ("open", "closed")
LENGTH = 34.0


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Between two terminals."""
    body = element(canvas, shape, LENGTH, 14.0)
    half = LENGTH / 2
    left = 0.0 if shape.words.get("kind") == "closed" else 14.0
    canvas.line([body.at(-half), body.at(half if not left else half - 4, left)])
    for ahead in (-half, half):
        canvas.circle(body.at(ahead), 2.8, Pen.LINE, Fill.PAPER)
