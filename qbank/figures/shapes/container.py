"""An open vessel with liquid in it."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.parameters import Parameters
from qbank.figures.spots import around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Stands on a point; `level` is how high the liquid stands in it."""
    x, y = shape.point("on")
    wide, high = shape.numbers.get("size", (80.0, 90.0))
    left, right = x - wide / 2, x + wide / 2
    level = min(shape.number("level"), high)
    if level > 0:
        top = y + level
        body = [(left, top), (left, y), (right, y), (right, top)]
        canvas.line(body, Pen.NONE, Fill.LIGHT, closed=True, clear=False)
        canvas.line([(left, top), (right, top)], Pen.THIN)
    rim = [(left - 5, y + high + 4), (left, y + high), (left, y), (right, y)]
    canvas.line([*rim, (right, y + high), (right + 5, y + high + 4)])
    spots = [] if shape.side else [(x, y + max(level, 24.0) / 2, 0, 0)]
    middle = (x, y + high / 2)
    for gap in (8.0, 18.0):
        spots += [(right + gap, middle[1], 1, 0), (left - gap, middle[1], -1, 0)]
        spots += [(x, y - gap, 0, -1), (x, y + high + gap, 0, 1)]
    if shape.side:
        first = {"right": (1, 0), "left": (-1, 0), "below": (0, -1), "above": (0, 1)}[shape.side]
        spots.sort(key=lambda spot: spot[2:] != first)
    canvas.label(shape.label, [*spots, *around(middle, wide)])
