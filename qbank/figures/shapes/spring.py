"""A helical spring, seen from the side."""

from __future__ import annotations

from qbank.figures.canvas import Canvas
from qbank.figures.geometry import direction, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along

WIDTH = 9.0  # half of it


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Straight ends and a zigzag of `coils` coils between them."""
    start, end = shape.point("from"), shape.point("to")
    way, size = direction(start, end)
    coils = max(2, min(30, round(shape.number("coils", 7))))
    lead = 0.12 * size
    step = (size - 2 * lead) / (2 * coils)
    zigzag = [
        moved(start, way, lead + (k + 0.5) * step, WIDTH if k % 2 == 0 else -WIDTH)
        for k in range(2 * coils)
    ]
    canvas.line([start, moved(start, way, lead), *zigzag, moved(end, way, -lead), end])
    canvas.label(shape.label, along(start, end, shape.side, WIDTH + 5))
