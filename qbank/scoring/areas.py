"""Areas of a picture, and whether a point lies in one (mapping note, g2, `inside`).

Coordinates are those of HTML image maps: a point on the border is inside.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from lxml import etree

from qbank.scoring.faults import ScoringError, at
from qbank.scoring.names import get
from qbank.scoring.values import number_of

Area = Callable[[float, float], bool]

_COUNTS = {"circle": 3, "rect": 4, "ellipse": 4}


def read_area(element: etree._Element) -> Area:
    """The area of an element's `shape` and `coords`. Raises ScoringError for bad ones."""
    shape = get(element, "shape") or ""
    coords = get(element, "coords") or ""
    try:
        # A per cent sign is a length of HTML that only a shown picture gives a meaning.
        numbers = [number_of(word.strip()) for word in coords.split(",") if word.strip()]
        return area_of(shape, numbers)
    except ValueError as fault:
        raise ScoringError(
            f'shape="{shape[:20]}" coords="{coords[:60]}"{at(element)}: {fault}'
        ) from fault


def area_of(shape: str, numbers: Sequence[float]) -> Area:
    """An area by its shape and coordinates. Raises ValueError when they do not fit together."""
    if shape == "default":
        return lambda _px, _py: True
    polygon = shape == "poly" and len(numbers) >= 6 and len(numbers) % 2 == 0
    if not polygon and (shape == "poly" or _COUNTS.get(shape) != len(numbers)):
        raise ValueError(
            "expected 3 coordinates of a circle, 4 of a rect or ellipse, "
            "6 or more in pairs of a poly"
        )
    if shape == "circle":
        x, y, r = numbers
        return lambda px, py: math.hypot(px - x, py - y) <= r
    if shape == "rect":
        left, top, right, bottom = numbers
        return lambda px, py: left <= px <= right and top <= py <= bottom
    if shape == "ellipse":
        x, y, h, v = numbers
        return lambda px, py: h * v != 0 and math.hypot((px - x) / h, (py - y) / v) <= 1
    points = list(zip(numbers[::2], numbers[1::2], strict=True))
    return lambda px, py: _in_polygon(points, px, py)


def _in_polygon(points: list[tuple[float, float]], px: float, py: float) -> bool:
    """Even-odd rule, with the border inside."""
    inside = False
    for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1], strict=True):
        cross = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
        if cross == 0 and min(ax, bx) <= px <= max(ax, bx) and min(ay, by) <= py <= max(ay, by):
            return True
        if (ay > py) != (by > py) and px < ax + (py - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside
