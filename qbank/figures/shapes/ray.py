"""A ray of light: a line through points with an arrow on each leg."""

from __future__ import annotations

from itertools import pairwise

from qbank.figures.canvas import Canvas, Pen
from qbank.figures.geometry import direction, head, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Where it only seems to come from it is dashed and has no arrows."""
    points = shape.points("through")
    dashed = shape.yes("dashed")
    canvas.line(points, Pen.DASHED if dashed else Pen.LINE)
    for start, end in pairwise(points) if not dashed else ():
        way, size = direction(start, end)
        if size > 30:
            head(canvas, moved(start, way, size * 0.55), way)
    canvas.label(shape.label, along(points[0], points[1], shape.side))
