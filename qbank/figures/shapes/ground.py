"""The surface of solid ground, a floor, a wall or a ceiling."""

from __future__ import annotations

from qbank.figures.canvas import Canvas
from qbank.figures.geometry import hatch
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Solid on the right-hand side as one goes from start to end: below, from left to right."""
    start, end = shape.point("from"), shape.point("to")
    canvas.line([start, end])
    hatch(canvas, start, end)
    canvas.label(shape.label, along(start, end, shape.side or "below", 13.0))
