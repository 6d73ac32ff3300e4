"""Where a label may stand beside a point or along a line, best places first."""

from __future__ import annotations

from math import hypot

from qbank.figures.canvas import Point, Spot

SIDES = {"right": (1, 0), "left": (-1, 0), "above": (0, 1), "below": (0, -1)}
_DIAGONALS = ((1, 1), (-1, 1), (1, -1), (-1, -1))
GAP = 5.0


def around(point: Point, gap: float = GAP, side: str = "", order: str = "right") -> list[Spot]:
    """Spots around a point that is `gap` in radius: the author's `side`, then the others.

    `order` is the side tried first where the author names none.
    """
    x, y = point
    first = SIDES[side or order]
    ways = [first, *(way for way in SIDES.values() if way != first), *_DIAGONALS]
    spots = []
    for stretch in (gap, gap + 10, gap + 22, gap + 36):
        for across, up in ways:
            reach = stretch * 0.75 if across and up else stretch
            spots.append((x + across * reach, y + up * reach, across, up))
    return spots


def along(start: Point, end: Point, side: str = "", gap: float = GAP) -> list[Spot]:
    """Spots beside a straight line: at its middle, then nearer to its ends, on either side.

    Without a `side`, above a line that is rather level and to the right of one that is steep.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = hypot(dx, dy) or 1.0
    nx, ny = -dy / size, dx / size
    want = SIDES[side or ("above" if abs(ny) > 0.7 else "right")]
    if nx * want[0] + ny * want[1] < 0:
        nx, ny = -nx, -ny
    spots = []
    for reach in (gap, gap + 9, gap + 20, gap + 34):
        for share in (0.5, 0.32, 0.68, 0.15, 0.85):
            x, y = start[0] + share * dx, start[1] + share * dy
            for sign in (1, -1):
                across, up = _step(sign * nx), _step(sign * ny)
                spots.append((x + sign * nx * reach, y + sign * ny * reach, across, up))
    for across, up in SIDES.values():  # beyond its ends, last of all
        spots.append((start[0] + across * gap, start[1] + up * gap, across, up))
        spots.append((end[0] + across * gap, end[1] + up * gap, across, up))
    return spots


def beyond_end(end: Point, way: Point, tail: float = 0.0) -> Spot:
    """Past the end of a line that arrives there along a unit vector."""
    reach = tail + GAP
    return end[0] + reach * way[0], end[1] + reach * way[1], _step(way[0]), _step(way[1])


def within(point: Point) -> list[Spot]:
    """In the middle of something."""
    return [(point[0], point[1], 0, 0)]


def _step(part: float) -> int:
    return 0 if abs(part) < 0.2 else (1 if part > 0 else -1)
