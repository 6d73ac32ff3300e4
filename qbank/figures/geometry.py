"""Points along, beside and around lines."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, hypot, pi, sin

from qbank.figures.canvas import Canvas, Fill, Pen, Point

HEAD = 9.0  # length of an arrow's head


def direction(start: Point, end: Point) -> tuple[Point, float]:
    """The unit vector from start to end, and the distance; rightwards where they coincide."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = hypot(dx, dy)
    return ((dx / size, dy / size), size) if size else ((1.0, 0.0), 0.0)


def moved(point: Point, along: Point, ahead: float, left: float = 0.0) -> Point:
    """The point `ahead` along a unit vector and `left` to the left of it."""
    ux, uy = along
    return point[0] + ahead * ux - left * uy, point[1] + ahead * uy + left * ux


def turned(points: Sequence[Point], about: Point, angle: float) -> list[Point]:
    """The points turned anticlockwise about the origin and moved to `about`."""
    if not angle:
        return [(about[0] + x, about[1] + y) for x, y in points]
    c, s = cos(angle), sin(angle)
    return [(about[0] + c * x - s * y, about[1] + s * x + c * y) for x, y in points]


def arc(centre: Point, radius: float, start: float, end: float) -> list[Point]:
    """A polyline that departs from the arc by less than a fifth of a unit."""
    steps = max(2, ceil(abs(end - start) / 0.13))
    angles = [start + (end - start) * k / steps for k in range(steps + 1)]
    return [(centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in angles]


def ellipse(centre: Point, a: float, b: float) -> list[Point]:
    """A closed polyline for an ellipse with semi-axes `a` and `b`."""
    angles = [2 * pi * k / 72 for k in range(72)]
    return [(centre[0] + a * cos(t), centre[1] + b * sin(t)) for t in angles]


def head(
    canvas: Canvas, tip: Point, along: Point, size: float = HEAD, *, clear: bool = True
) -> None:
    """The head of an arrow that points along a unit vector."""
    wings = [moved(tip, along, -size, 0.36 * size), tip, moved(tip, along, -size, -0.36 * size)]
    canvas.line(wings, Pen.LINE, Fill.INK, closed=True, clear=clear)


def hatch(canvas: Canvas, start: Point, end: Point, depth: float = 8.0) -> None:
    """Short oblique strokes on the right-hand side of a line: solid ground begins here."""
    along, size = direction(start, end)
    count = max(2, min(60, round(size / 9)))
    for k in range(count):
        foot = moved(start, along, size * (k + 0.7) / count)
        canvas.line([foot, moved(foot, along, -depth * 0.7, -depth)], Pen.THIN, clear=False)
    # stands for all of them when labels are placed
    canvas.line([moved(start, along, 0, -depth / 2), moved(end, along, 0, -depth / 2)], Pen.NONE)
