"""Areas of a picture, and whether a point lies in one (mapping note, g2, `inside`).

Coordinates are those of HTML image maps: a point on the border is inside.
"""

from __future__ import annotations

from collections.abc import Callable

from lxml import etree

from qbank.scoring.faults import ScoringError, at
from qbank.scoring.names import get
from qbank.scoring.values import number_of

Area = Callable[[float, float], bool]

_COUNTS = {"circle": 3, "rect": 4, "ellipse": 4, "default": 0}


def read_area(element: etree._Element) -> Area:
    """The area of an element's `shape` and `coords`. Raises ScoringError for bad ones."""
    shape = get(element, "shape") or ""
    coords = get(element, "coords") or ""
    try:
        # A per cent sign is a length of HTML that only a shown picture gives a meaning.
        numbers = [number_of(word.strip()) for word in coords.split(",") if word.strip()]
    except ValueError as fault:
        raise ScoringError(f'coords="{coords[:60]}"{at(element)}: {fault}') from fault
    polygon = shape == "poly" and len(numbers) >= 6 and len(numbers) % 2 == 0
    counted = shape != "poly" and _COUNTS.get(shape) == len(numbers)
    if not (polygon or counted or shape == "default"):
        raise ScoringError(
            f'shape="{shape}" with {len(numbers)} coordinates{at(element)}',
            hint="a circle has 3, a rectangle or ellipse 4, a polygon 6 or more in pairs",
        )
    if shape == "circle":
        x, y, r = numbers
        return lambda px, py: (px - x) ** 2 + (py - y) ** 2 <= r * r
    if shape == "rect":
        left, top, right, bottom = numbers
        return lambda px, py: left <= px <= right and top <= py <= bottom
    if shape == "ellipse":
        x, y, h, v = numbers
        return lambda px, py: h * v != 0 and ((px - x) / h) ** 2 + ((py - y) / v) ** 2 <= 1
    if shape == "default":
        return lambda _px, _py: True
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
