"""Sources of voltage: a cell, whose longer plate is positive, or an ideal source in a circle
(IEC 60617, from memory)."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen, Run
from qbank.figures.parameters import Parameters
from qbank.figures.shapes.circuit import element

KINDS = ("cell", "ideal")
GAP, LONG, SHORT, RADIUS = 8.0, 18.0, 9.0, 17.0


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Between two terminals; the one named by `to` is positive."""
    if shape.words.get("kind") == "ideal":
        body = element(canvas, shape, 2 * RADIUS, RADIUS)
        canvas.circle(body.middle, RADIUS, Pen.LINE, Fill.PAPER)
        canvas.line([body.at(-RADIUS), body.at(RADIUS)])
        plus = body.at(RADIUS + 12, -10)
    else:
        body = element(canvas, shape, GAP, LONG)
        canvas.line([body.at(-GAP / 2, SHORT), body.at(-GAP / 2, -SHORT)], Pen.BOLD)
        canvas.line([body.at(GAP / 2, LONG), body.at(GAP / 2, -LONG)])
        plus = body.at(GAP / 2 + 11, -11)
    other = body.at(body.length / 2 + 11, 11)
    canvas.label((Run("+"),), [(plus[0], plus[1], 0, 0), (other[0], other[1], 0, 0)])
