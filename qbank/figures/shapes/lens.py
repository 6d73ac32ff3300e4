"""A thin lens from the side: thick in the middle where it converges, thin where it diverges."""

from __future__ import annotations

from qbank.figures.canvas import Canvas, Fill, Pen
from qbank.figures.parameters import Parameters
from qbank.figures.spots import around


def draw(canvas: Canvas, shape: Parameters) -> None:
    """Upright at a point, `height` high; the sign of `focal` tells the kind."""
    x, y = shape.point("at")
    half = shape.number("height", 120.0) / 2
    bulge = 9.0 if shape.number("focal", 1.0) >= 0 else -6.0
    rim = 1.0 if bulge > 0 else 9.0
    steps = [k / 8 for k in range(-8, 9)]
    right = [(x + rim + bulge * (1 - s * s), y + s * half) for s in steps]
    left = [(2 * x - px, py) for px, py in reversed(right)]
    canvas.line([*right, *left], Pen.LINE, Fill.LIGHT, closed=True)
    canvas.label(shape.label, around((x, y), half + 5, shape.side, "above"))
