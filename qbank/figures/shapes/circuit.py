"""What the two-terminal symbols of circuits share: leads, and a place for the symbol and label."""

from __future__ import annotations

from dataclasses import dataclass

from qbank.figures.canvas import Canvas, Point
from qbank.figures.geometry import direction, moved
from qbank.figures.parameters import Parameters
from qbank.figures.spots import along


@dataclass(frozen=True, slots=True)
class Element:
    """A symbol `length` long in the middle between two terminals."""

    middle: Point
    way: Point
    length: float

    def at(self, ahead: float, left: float = 0.0) -> Point:
        """A point of the symbol, from its middle."""
        return moved(self.middle, self.way, ahead, left)


def element(canvas: Canvas, shape: Parameters, length: float, width: float) -> Element:
    """Draws the leads and puts the label beside a symbol of that length and half width."""
    start, end = shape.point("from"), shape.point("to")
    way, size = direction(start, end)
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    first, last = moved(middle, way, -length / 2), moved(middle, way, length / 2)
    if size > length:
        canvas.line([start, first])
        canvas.line([last, end])
    canvas.label(shape.label, along(first, last, shape.side, width + 6))
    return Element(middle, way, length)
