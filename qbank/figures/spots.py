"""Where a label may stand beside a point or along a line, best places first.

Spots are worked out one by one as they are tried, since the first is usually free, and anew
each time they are asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from math import hypot
from typing import ParamSpec

from qbank.figures.canvas import Point, Spot

P = ParamSpec("P")

SIDES = {"right": (1, 0), "left": (-1, 0), "above": (0, 1), "below": (0, -1)}
_DIAGONALS = ((1, 1), (-1, 1), (1, -1), (-1, -1))
GAP = 5.0
ROUND = len(SIDES) + len(_DIAGONALS)  # spots of one round of `around`


class Spots:
    """Spots in order of preference; each iteration works them out from the beginning."""

    __slots__ = ("_make",)

    def __init__(self, make: Callable[[], Iterator[Spot]]) -> None:
        self._make = make

    def __iter__(self) -> Iterator[Spot]:
        return self._make()


def again(make: Callable[P, Iterator[Spot]]) -> Callable[P, Spots]:
    """Turns a generator of spots into a function whose result can be iterated again and again."""

    def spots(*args: P.args, **kwargs: P.kwargs) -> Spots:
        return Spots(partial(make, *args, **kwargs))

    return spots


def ways(side: str) -> list[tuple[int, int]]:
    """The directions a label may stand in, that of `side` first."""
    first = SIDES[side]
    return [first, *(way for way in SIDES.values() if way != first), *_DIAGONALS]


@again
def around(point: Point, gap: float = GAP, side: str = "", order: str = "right") -> Iterator[Spot]:
    """Spots around a point that is `gap` in radius: the author's `side`, then the others.

    `order` is the side tried first where the author names none.
    """
    x, y = point
    directions = ways(side or order)
    for stretch in (gap, gap + 10, gap + 22, gap + 36):
        for across, up in directions:
            reach = stretch * 0.75 if across and up else stretch
            yield x + across * reach, y + up * reach, across, up


@again
def along(start: Point, end: Point, side: str = "", gap: float = GAP) -> Iterator[Spot]:
    """Spots beside a straight line: at its middle, then nearer to its ends, on either side.

    Without a `side`, above a line that is rather level and to the right of one that is steep.
    """
    (x0, y0), (x1, y1) = start, end
    dx, dy = x1 - x0, y1 - y0
    size = hypot(dx, dy) or 1.0
    nx, ny = -dy / size, dx / size
    want = SIDES[side or ("above" if abs(ny) > 0.7 else "right")]
    if nx * want[0] + ny * want[1] < 0:
        nx, ny = -nx, -ny
    across, up = step(nx), step(ny)
    for reach in (gap, gap + 9, gap + 20, gap + 34):
        for share in (0.5, 0.32, 0.68, 0.15, 0.85):
            x, y = x0 + share * dx, y0 + share * dy
            yield x + nx * reach, y + ny * reach, across, up
            yield x - nx * reach, y - ny * reach, -across, -up
    for across, up in SIDES.values():  # beyond its ends, last of all
        yield x0 + across * gap, y0 + up * gap, across, up
        yield x1 + across * gap, y1 + up * gap, across, up


def beyond_end(end: Point, way: Point, tail: float = 0.0) -> Spot:
    """Past the end of a line that arrives there along a unit vector."""
    reach = tail + GAP
    return end[0] + reach * way[0], end[1] + reach * way[1], step(way[0]), step(way[1])


def within(point: Point) -> Spot:
    """In the middle of something."""
    return point[0], point[1], 0, 0


def step(part: float) -> int:
    """The sign of a part of a unit vector; 0 where it hardly counts."""
    return 0 if abs(part) < 0.2 else (1 if part > 0 else -1)
