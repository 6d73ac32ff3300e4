"""An ellipse, such as an orbit."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Pen
from qbank.figures.geometry import ellipse
from qbank.figures.parameters import Parameters
from qbank.figures.spots import around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """`size` holds the two semi-axes, across and up."""
    centre = shape.point("at")
    a, b = shape.point("size")
    canvas.line(ellipse(centre, a, b), Pen.LINE, closed=True)
    canvas.label(shape.label, around((centre[0], centre[1] + b), 5.0, shape.side, "above"))
