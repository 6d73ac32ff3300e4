"""Axes with ticks, and what is plotted in them: a curve, a mark, the values of a data list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from math import ceil, floor

from qbank.figures.canvas import Canvas, Fill, Pen, Point, Run, Runs, Spot
from qbank.figures.geometry import head
from qbank.figures.metrics import width
from qbank.figures.parameters import Parameters
from qbank.figures.spots import ROUND, again, around

TICK = 5.0
TALL = 24.0  # room for a number on the axis up
_MULTIPLES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
MINUS = "\u2212"


def axes(canvas: Canvas, shape: Parameters) -> None:
    """Two arrows from the lower left corner, a little longer than `size`; one without `up`."""
    x, y = shape.point("at")
    wide, high = shape.numbers.get("size", (260.0, 160.0))
    end = x + wide + 16
    canvas.line([(x, y), (end - 6, y)])
    head(canvas, (end, y), (1.0, 0.0))
    for place, runs in _ticks(shape.numbers["across"], wide):
        canvas.line([(x + place, y), (x + place, y - TICK)], Pen.THIN)
        canvas.label(runs, [(x + place, y - TICK - 2, 0, -1)])
    canvas.label(
        shape.labels.get("along", ()),
        [(end + 5, y, 1, 0), (end, y - 26, -1, -1), (end, y - 40, -1, -1)],
    )
    if not shape.has("up"):
        return
    top = y + high + 16
    canvas.line([(x, y), (x, top - 6)])
    head(canvas, (x, top), (0.0, 1.0))
    for place, runs in _ticks(shape.numbers["up"], high, upright=True):
        canvas.line([(x, y + place), (x - TICK, y + place)], Pen.THIN)
        canvas.label(runs, [(x - TICK - 3, y + place, -1, 0)])
    upper = [(x, top + 4, 0, 1), (x + 8, top, 1, 0), (x - 8, top, -1, 0)]
    canvas.label(shape.labels.get("upright", ()), upper)


def curve(canvas: Canvas, shape: Parameters) -> None:
    """A smooth line through points; those outside the axes are left out."""
    (left, low), (wide, high) = shape.point("corner"), shape.point("size")
    box = (left - 1, low - 1, left + wide + 1, low + high + 1)
    points = [
        (x, y) for x, y in shape.points("points") if box[0] <= x <= box[2] and box[1] <= y <= box[3]
    ]
    if not points:
        return
    canvas.line(points, Pen.DASHED if shape.yes("dashed") else Pen.LINE)
    middle = len(points) // 2
    near = [points[middle], points[middle // 2], points[3 * middle // 2], points[-1]]
    canvas.label(shape.label, _near(near, shape.side))


@again
def _near(points: Sequence[Point], side: str) -> Iterator[Spot]:
    for point in points:
        yield from islice(around(point, 8.0, side, "above"), 2 * ROUND)


def mark(canvas: Canvas, shape: Parameters) -> None:
    """A point with dashed lines to both axes, and texts where they end."""
    point, corner = shape.point("point"), shape.point("corner")
    for foot in ((point[0], corner[1]), (corner[0], point[1])):
        if foot != point:
            canvas.line([foot, point], Pen.DASHED)
    canvas.circle(point, 2.8, Pen.LINE, Fill.INK)
    beside = [spot for spot in around(point, 6.0, shape.side) if spot[1] > corner[1] + 4]
    canvas.label(shape.label, beside)
    below = [
        (point[0] + shift, corner[1] - 6, way, -1) for shift, way in ((0, 0), (-3, -1), (3, 1))
    ]
    canvas.label(shape.labels.get("along", ()), [*below, (point[0], corner[1] - 26, 0, -1)])
    left = [(corner[0] - 6, point[1], -1, way) for way in (0, 1, -1)]
    canvas.label(shape.labels.get("upright", ()), left)


def dots(canvas: Canvas, shape: Parameters) -> None:
    """A dot for each value; equal values are stacked."""
    _, bottom = shape.point("corner")
    radius = 3.4
    base = bottom + shape.number("above", 10.0)
    stacked: dict[int, int] = {}
    last: Point = (0.0, 0.0)
    for x in sorted(shape.numbers["values"]):
        column = round(x / (2 * radius))
        level = stacked.get(column, 0)
        stacked[column] = level + 1
        last = (x, base + level * (2 * radius + 1))
        canvas.circle(last, radius, Pen.THIN, Fill.INK if not shape.yes("open") else Fill.PAPER)
    end = max(last[0], shape.number("corner") + shape.number("size"))
    canvas.label(
        shape.label,
        [(end + 8, base + up, 1, way) for up, way in ((0, 0), (-2, 1), (6, 1), (20, 1))],
    )


def _ticks(
    numbers: tuple[float, ...], size: float, upright: bool = False
) -> Iterator[tuple[float, Runs]]:
    """Where on the axis the multiples of the step lie, and their numbers, in the unit of the step.

    An axis whose range has no step has no ticks; where they would crowd, only some are numbered.
    """
    if len(numbers) < 3:
        return
    low, high, step = numbers
    if not step > 0 or not high > low:
        return
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    labels = [(Run(_tick(k * step)),) for k in (first, last)]
    room = TALL if upright else max(map(width, labels)) + 12
    fitting = size / (high - low) * step
    every = next((m for m in _MULTIPLES if m * fitting >= room), 0)
    if not every:
        return
    for k in range(first + -first % every, last + 1, every):
        yield (k * step - low) / (high - low) * size, (Run(_tick(k * step)),)


def _tick(value: float) -> str:
    return f"{value:.10g}".replace("-", MINUS)
