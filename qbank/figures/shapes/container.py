"""An open vessel with liquid in it."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.figures.canvas import Canvas, Fill, Pen, Point, Spot
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, ways


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
    canvas.label(shape.label, _spots(shape.side, (x, y), (wide, high), level))


@again
def _spots(side: str, foot: Point, size: Point, level: float) -> Iterator[Spot]:
    (x, y), (wide, high) = foot, size
    if not side:
        yield x, y + max(level, 24.0) / 2, 0, 0
    for gap in (8.0, 18.0, 30.0):
        for across, up in ways(side or "right"):
            yield (
                x + across * (wide / 2 + gap),
                y + high / 2 + up * (high / 2 + (0 if across else gap)),
                across,
                up,
            )
