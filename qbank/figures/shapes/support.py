"""Supports of beams and frames, drawn as in structural engineering (common practice, no source)."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen, Point
from qbank.figures.geometry import hatch, turned
from qbank.figures.parameters import Parameters
from qbank.figures.spots import around

KINDS = ("pinned", "roller", "fixed")
HEIGHT = 18.0


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Under the point, or turned by `angle` about it. A fixed end has its wall on the left."""
    point, angle = shape.point("at"), shape.number("angle")

    def put(*points: Point) -> list[Point]:
        return turned(points, point, angle)

    kind = shape.words.get("kind", "pinned")
    if kind == "fixed":
        top, bottom = put((0, 26), (0, -26))
        canvas.line([top, bottom])
        hatch(canvas, top, bottom)
    else:
        canvas.line(put((0, 0), (-11, -HEIGHT), (11, -HEIGHT)), Pen.LINE, Fill.PAPER, closed=True)
        level = -HEIGHT
        if kind == "roller":
            for x in (-6.0, 6.0):
                canvas.circle(put((x, -HEIGHT - 4))[0], 4.0, Pen.LINE, Fill.PAPER)
            level -= 8
        left, right = put((-20, level), (20, level))
        canvas.line([left, right])
        hatch(canvas, left, right)
    canvas.label(shape.label, around(put((0, -HEIGHT / 2))[0], 24.0, shape.side, "left"))
