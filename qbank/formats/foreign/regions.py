"""Sets of numbers that rules accept: unions of closed intervals of doubles.

An open end is moved to the next double, so that closed intervals say it all and the complement
of a region is one again. Tolerances follow the mapping note, b3.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from qbank.scoring.rounding import PLACES, round_to

_INF = math.inf


@dataclass(frozen=True, slots=True)
class Region:
    """Disjoint closed intervals in ascending order."""

    intervals: tuple[tuple[float, float], ...]

    def __bool__(self) -> bool:
        return bool(self.intervals)

    def __contains__(self, value: float) -> bool:
        return any(low <= value <= high for low, high in self.intervals)

    def __and__(self, other: Region) -> Region:
        if len(self.intervals) == len(other.intervals) == 1:  # by far the most
            ((a, b),), ((c, d),) = self.intervals, other.intervals
            return between(max(a, c), min(b, d))
        return _region(
            (max(a, c), min(b, d)) for a, b in self.intervals for c, d in other.intervals
        )

    def __or__(self, other: Region) -> Region:
        if not self.intervals or not other.intervals:
            return self if self.intervals else other
        return _region((*self.intervals, *other.intervals))

    def __invert__(self) -> Region:
        gaps = []
        start = -_INF
        for low, high in self.intervals:
            if low > start:
                gaps.append((start, math.nextafter(low, -_INF)))
            if high == _INF:
                return _region(gaps)
            start = math.nextafter(high, _INF)
        return _region([*gaps, (start, _INF)])


def _region(intervals: Iterable[tuple[float, float]]) -> Region:
    """The union of intervals, those that touch made one."""
    merged: list[tuple[float, float]] = []
    for low, high in sorted(pair for pair in intervals if pair[0] <= pair[1]):
        if merged and low <= math.nextafter(merged[-1][1], _INF):
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return Region(tuple(merged))


def points(values: Iterable[float]) -> Region:
    """Single numbers."""
    return _region([(value, value) for value in values])


NOTHING = Region(())
EVERYTHING = Region(((-_INF, _INF),))


def between(low: float, high: float, *, low_in: bool = True, high_in: bool = True) -> Region:
    """The interval between two ends, either with or without its own end."""
    low = low if low_in else math.nextafter(low, _INF)
    high = high if high_in else math.nextafter(high, -_INF)
    return Region(((low, high),)) if low <= high else NOTHING


def compared(operator: str, bound: float) -> Region:
    """What is `gt`, `gte`, `lt` or `lte` a bound, or equal to it."""
    if operator == "gt":
        return between(bound, _INF, low_in=False)
    if operator == "gte":
        return between(bound, _INF)
    if operator == "lt":
        return between(-_INF, bound, high_in=False)
    if operator == "lte":
        return between(-_INF, bound)
    return between(bound, bound)


MIRRORED = {"gt": "lt", "gte": "lte", "lt": "gt", "lte": "gte"}


def near(
    key: float,
    mode: str,
    tolerance: tuple[float, float],
    *,
    low_in: bool = True,
    high_in: bool = True,
    key_first: bool = True,
) -> Region | None:
    """What `equal` accepts beside a key; None where that is no one interval.

    The window stands around the first operand and the second is tested, so with the response
    first it is the response that moves the window: x·(1 − t0) ≤ key ≤ x·(1 + t1) is solved for
    x. Each inclusive flag stays with its own end (mapping note, b3).
    """
    below, above = tolerance
    if mode == "exact":
        return between(key, key)
    if mode == "absolute":
        if not key_first:
            below, above, low_in, high_in = above, below, high_in, low_in
        return between(key - below, key + above, low_in=low_in, high_in=high_in)
    if mode != "relative":
        return None
    down, up = 1 - below / 100, 1 + above / 100
    if key_first:
        ends = [(key * down, low_in), (key * up, high_in)]
    else:
        if down <= 0 or up <= 0:
            return None
        ends = [(key / down, low_in), (key / up, high_in)]
    ends.sort(key=lambda end: end[0])
    return between(ends[0][0], ends[1][0], low_in=ends[0][1], high_in=ends[1][1])


def rounding_alike(key: float, mode: str, figures: int) -> Region | None:
    """What `equalRounded` takes for a key: all that rounds to the same number, halves away from
    zero, as `qbank.scoring.rounding` does."""
    rounded = round_to(key, mode, figures)
    if rounded is None or not math.isfinite(rounded):
        return None
    middle = abs(Decimal(repr(rounded)))
    if mode == PLACES:
        above = below = -figures
    elif not middle:
        return between(0.0, 0.0)
    else:
        above = below = middle.adjusted() - figures + 1
        if middle == Decimal(1).scaleb(middle.adjusted()):
            below -= 1  # below a power of ten the last figure is worth a tenth
    high = float(middle + Decimal(5).scaleb(above - 1))
    if not middle:
        return between(-high, high, low_in=False, high_in=False)
    low = float(middle - Decimal(5).scaleb(below - 1))
    if rounded > 0:
        return between(low, high, high_in=False)
    return between(-high, -low, low_in=False)
