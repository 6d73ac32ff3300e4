"""A block, crate or load: a rectangle on a point, hanging under it or centred at it."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.figures.canvas import Canvas, Fill, Pen, Point, Spot
from qbank.figures.geometry import turned
from qbank.figures.parameters import Parameters
from qbank.figures.spots import again, ways, within


def draw(canvas: Canvas, shape: Parameters) -> None:
    """The label stands in the block where it fits, else beside it."""
    wide, high = shape.numbers.get("size", (40.0, 40.0))
    name = next(key for key in ("on", "under", "at") if shape.has(key))
    bottom = {"on": 0.0, "under": -high, "at": -high / 2}[name]
    corners = [
        (-wide / 2, bottom),
        (wide / 2, bottom),
        (wide / 2, bottom + high),
        (-wide / 2, bottom + high),
    ]
    placed = turned(corners, shape.point(name), shape.number("angle"))
    fill = Fill.LIGHT if shape.yes("shade") else Fill.PAPER
    canvas.line(placed, Pen.LINE, fill, closed=True)
    middle = (placed[0][0] + placed[2][0]) / 2, (placed[0][1] + placed[2][1]) / 2
    reach_x = max(x for x, _ in placed) - middle[0]
    reach_y = max(y for _, y in placed) - middle[1]
    canvas.label(shape.label, _spots(shape.side, middle, reach_x, reach_y))


@again
def _spots(side: str, middle: Point, reach_x: float, reach_y: float) -> Iterator[Spot]:
    if not side:
        yield within(middle)
    for gap in (5.0, 14.0, 26.0):
        for across, up in ways(side or "right"):
            x = middle[0] + across * (reach_x + gap)
            y = middle[1] + up * (reach_y if across else reach_y + gap)
            yield x, y, across, up
