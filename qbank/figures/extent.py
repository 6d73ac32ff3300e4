"""Boxes of strokes and labels: where they reach, whether they overlap, whether lines cross them."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import hypot

from qbank.figures import metrics
from qbank.figures.canvas import Point, Runs, Spot
from qbank.figures.recording import Line, Stroke

Box = tuple[float, float, float, float]  # left, bottom, right, top

CLEARANCE = 2.0  # between a label and lines or other labels


def label_size(runs: Runs) -> tuple[float, float]:
    """Width and height of the box of a label; no font is expected to need more."""
    return metrics.width(runs), metrics.ASCENT * metrics.SIZE + metrics.depth(runs)


def box_at(size: tuple[float, float], spot: Spot) -> Box:
    """The box of a label of that size that stands at a spot."""
    (wide, tall), (x, y, across, up) = size, spot
    left = x + (across - 1) / 2 * wide
    bottom = y + (up - 1) / 2 * tall
    return left, bottom, left + wide, bottom + tall


def stroke_box(stroke: Stroke) -> Box:
    """The box of a line or circle, without the width of its stroke."""
    if isinstance(stroke, Line):
        if len(stroke.points) == 2:
            (x0, y0), (x1, y1) = stroke.points
            if x0 > x1:
                x0, x1 = x1, x0
            return (x0, y0, x1, y1) if y0 <= y1 else (x0, y1, x1, y0)
        xs = [point[0] for point in stroke.points]
        ys = [point[1] for point in stroke.points]
        return min(xs), min(ys), max(xs), max(ys)
    (x, y), r = stroke.centre, stroke.radius
    return x - r, y - r, x + r, y + r


def union(boxes: Iterable[Box]) -> Box:
    """The smallest box around all boxes. Raises ValueError where there is none."""
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return min(lefts), min(bottoms), max(rights), max(tops)


def grown(box: Box, by: float) -> Box:
    """The box with a margin on all sides."""
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def overlap(first: Box, second: Box) -> bool:
    """Whether two boxes share more than a border."""
    return (
        first[0] < second[2]
        and second[0] < first[2]
        and first[1] < second[3]
        and second[1] < first[3]
    )


def inside(inner: Box, outer: Box) -> bool:
    """Whether a box lies within another."""
    return (
        outer[0] <= inner[0]
        and outer[1] <= inner[1]
        and inner[2] <= outer[2]
        and inner[3] <= outer[3]
    )


def crosses(stroke: Stroke, box: Box) -> bool:
    """Whether the stroke of a line or circle runs through a box; what it encloses is free."""
    if isinstance(stroke, Line):
        points = stroke.points
        if stroke.closed:
            points = (*points, points[0])
        return any(_segment_meets(start, end, box) for start, end in pairwise(points))
    x, y = stroke.centre
    near = hypot(max(box[0] - x, 0.0, x - box[2]), max(box[1] - y, 0.0, y - box[3]))
    far = hypot(max(x - box[0], box[2] - x), max(y - box[1], box[3] - y))
    return near < stroke.radius < far or (far <= stroke.radius and stroke.radius < 6)


def _segment_meets(start: Point, end: Point, box: Box) -> bool:
    """Whether a straight stroke passes through the inside of a box (Liang and Barsky, 1984)."""
    (x0, y0), (x1, y1) = start, end
    left, bottom, right, top = box
    if (
        (x0 <= left and x1 <= left)
        or (x0 >= right and x1 >= right)
        or (y0 <= bottom and y1 <= bottom)
        or (y0 >= top and y1 >= top)
    ):
        return False
    dx, dy = x1 - x0, y1 - y0
    enter, leave = 0.0, 1.0
    for step, low, high in ((dx, left - x0, right - x0), (dy, bottom - y0, top - y0)):
        if step:
            first, second = low / step, high / step
            if first > second:
                first, second = second, first
            enter, leave = max(enter, first), min(leave, second)
        elif not low < 0 < high:
            return False
    return enter < leave
