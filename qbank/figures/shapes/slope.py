"""An inclined plane: a wedge with the angle at its foot."""

from __future__ import annotations

from math import cos, sin

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.geometry import arc, hatch
from qbank.figures.parameters import Parameters


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Rises to the right from its foot by `angle` over a `length` along the slope."""
    foot, angle, size = shape.point("at"), shape.number("angle"), shape.number("length")
    top = foot[0] + size * cos(angle), foot[1] + size * sin(angle)
    corner = top[0], foot[1]
    canvas.line([foot, corner, top], Pen.LINE, Fill.LIGHT, closed=True)
    hatch(canvas, foot, corner)
    radius = min(46.0, 0.3 * size)
    canvas.line(arc(foot, radius, 0.0, angle), Pen.THIN)
    half = angle / 2
    spots = [
        (foot[0] + reach * cos(half), foot[1] + reach * sin(half), 1, 0)
        for reach in (radius + 5, radius + 14, radius + 28, radius + 44, radius + 64)
    ]
    spots += [(foot[0] + radius, foot[1] - gap, 0, -1) for gap in (12.0, 20.0)]
    canvas.label(shape.label, spots)
