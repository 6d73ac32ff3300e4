"""Bins with round edges, and how many values fall into each."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.instances import Floats

ABOUT = 10  # bins of a histogram
DECADES_APART = 2.0  # values spread wider than this are binned by powers of ten


@dataclass(frozen=True, slots=True)
class Bins:
    """`edges` (m + 1,), ascending; bin i holds edges[i] <= value < edges[i + 1], the last one its
    upper edge too. `by_powers` where each decade is cut at 1, 2 and 5."""

    edges: Floats
    by_powers: bool

    def counts(self, values: Floats) -> NDArray[np.int64]:
        """How many of the values (n,) lie in each of the m bins."""
        # a value on an edge belongs above it, whatever the last bit of the edge
        place = np.searchsorted(self.edges, values * (1.0 + np.sign(values) * 1e-12), side="right")
        return np.bincount(
            np.clip(place - 1, 0, len(self.edges) - 2), minlength=len(self.edges) - 1
        ).astype(np.int64)


def bins_for(values: Floats) -> Bins:
    """Bins that hold all of the values (n,), which are finite; one bin where they hardly differ.

    >>> bins_for(np.array([1.0, 19.0])).edges
    array([ 0.,  2.,  4.,  6.,  8., 10., 12., 14., 16., 18., 20.])
    """
    low, high = float(values.min()), float(values.max())
    if high - low <= 1e-9 * max(abs(low), abs(high)):  # too close for edges between them
        return Bins(np.array([low, high]), by_powers=False)
    if low > 0.0 and math.log10(high / low) >= DECADES_APART:
        return Bins(_powers(low, high), by_powers=True)
    step = _round_step((high - low) / ABOUT)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return Bins(np.arange(first, max(last, first + 1) + 1, dtype=np.float64) * step, False)


def _round_step(step: float) -> float:
    """The least of 1, 2, 5 times a power of ten that is not less than `step`."""
    power = 10.0 ** math.floor(math.log10(step))
    return next(power * size for size in (1.0, 2.0, 5.0, 10.0) if power * size >= step * (1 - 1e-9))


def _powers(low: float, high: float) -> Floats:
    decades = range(math.floor(math.log10(low)) - 1, math.ceil(math.log10(high)) + 1)
    wide = len(decades) > ABOUT
    cuts = [10.0**decade * size for decade in decades for size in ((1,) if wide else (1, 2, 5))]
    first = max(k for k, cut in enumerate(cuts) if cut <= low * (1 + 1e-9))
    last = min(k for k, cut in enumerate(cuts) if cut >= high * (1 - 1e-9))
    return np.array(cuts[first : last + 1])
