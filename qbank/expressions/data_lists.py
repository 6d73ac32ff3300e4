"""Data lists as arrays: n lists of up to m values, padded, reduced to one value each.

Every function takes `values` (n, m) float64 and `valid` (n, m) bool, which says where a list has
a value, and gives (n,) float64. Only `valid` marks padding: a NaN that is valid stays one.
Values are added from left to right, so that a result depends on neither n nor m.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


def count(values: Floats, valid: Mask) -> Floats:
    """How many values each list has."""
    del values
    return np.asarray(valid.sum(axis=1), dtype=np.float64)


def total(values: Floats, valid: Mask) -> Floats:
    """The sum of each list; 0 for an empty one."""
    result = np.zeros(len(values))
    for column, used in zip(values.T, valid.T, strict=True):
        np.add(result, column, out=result, where=used)
    return result


def mean(values: Floats, valid: Mask) -> Floats:
    """The arithmetic mean; NaN for an empty list."""
    return np.asarray(total(values, valid) / count(values, valid), dtype=np.float64)


def variance(values: Floats, valid: Mask) -> Floats:
    """The sample variance, with n - 1 (ISO 3534-1); NaN for fewer than two values."""
    deviations = values - mean(values, valid)[:, None]
    squares = total(deviations * deviations, valid)
    return np.asarray(squares / (count(values, valid) - 1), dtype=np.float64)


def standard_deviation(values: Floats, valid: Mask) -> Floats:
    """The square root of the sample variance."""
    return np.asarray(np.sqrt(variance(values, valid)), dtype=np.float64)


def median(values: Floats, valid: Mask) -> Floats:
    """The middle value, or the mean of the two middle ones; NaN for an empty list."""
    if values.shape[1] == 0:
        return np.full(len(values), np.nan)
    ordered = np.sort(np.where(valid, values, np.inf), axis=1)
    size = valid.sum(axis=1)
    rows = np.arange(len(values))
    below = ordered[rows, np.maximum(size - 1, 0) // 2]
    above = ordered[rows, np.minimum(size // 2, values.shape[1] - 1)]
    result = (below + above) / 2
    spoiled = (np.isnan(values) & valid).any(axis=1) | (size == 0)
    return np.asarray(np.where(spoiled, np.nan, result), dtype=np.float64)


def least(values: Floats, valid: Mask) -> Floats:
    """The smallest value; NaN for an empty list."""
    found = np.min(np.where(valid, values, np.inf), axis=1, initial=np.inf)
    return np.where(valid.any(axis=1), found, np.nan)


def greatest(values: Floats, valid: Mask) -> Floats:
    """The largest value; NaN for an empty list."""
    found = np.max(np.where(valid, values, -np.inf), axis=1, initial=-np.inf)
    return np.where(valid.any(axis=1), found, np.nan)
