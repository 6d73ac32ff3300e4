"""Quantiles of the normal, Student's t and chi-squared distributions on arrays.

Each distinct (p, df) is worked out once and kept, so arrays may be long as long as they hold few
distinct pairs. Outside 0 <= p <= 1 or df > 0 the result is NaN.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from statistics import NormalDist

import mpmath
import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_DIGITS = 22  # worked with; results are rounded to a float
_STANDARD_NORMAL = NormalDist()


def normal_quantile(p: ArrayLike) -> Floats:
    """The z with P(Z <= z) = p; shape of `p`. Wichura's AS 241, as in `statistics.NormalDist`."""
    return _by_distinct(_normal, p)


def t_quantile(p: ArrayLike, df: ArrayLike) -> Floats:
    """The t with P(T <= t) = p for Student's t with `df` degrees of freedom; broadcast shape.

    The tail is half the incomplete beta function I_x(df/2, 1/2) at x = df/(df + t^2)
    (Abramowitz and Stegun 26.7.1), inverted by a bracketed Newton iteration.
    """
    return _by_distinct(_student, p, df)


def chi2_quantile(p: ArrayLike, df: ArrayLike) -> Floats:
    """The x with P(X <= x) = p for chi-squared with `df` degrees of freedom; broadcast shape.

    The distribution is the incomplete gamma function P(df/2, x/2) (Abramowitz and Stegun 26.4.19).
    """
    return _by_distinct(_chi_squared, p, df)


def _by_distinct(function: Callable[..., float], *arguments: ArrayLike) -> Floats:
    """`function` of each distinct tuple of arguments, spread back over the broadcast shape."""
    columns = np.broadcast_arrays(*(np.asarray(a, dtype=np.float64) for a in arguments))
    shape = columns[0].shape
    # two arguments become one complex number, which sorts far quicker than rows of a table
    keys = np.empty(columns[0].size, dtype=np.complex128)
    keys.real, keys.imag = columns[0].ravel(), columns[-1].ravel()
    distinct, where = np.unique(keys, return_inverse=True)
    pairs = [(float(key.real), float(key.imag))[: len(columns)] for key in distinct]
    found = np.array([function(*pair) for pair in pairs], dtype=np.float64)
    return found[where.ravel()].reshape(shape)


def _normal(p: float) -> float:
    if p in (0.0, 1.0):
        return math.copysign(math.inf, p - 0.5)
    return _STANDARD_NORMAL.inv_cdf(p) if 0 < p < 1 else math.nan


@lru_cache(maxsize=65536)
def _student(p: float, df: float) -> float:
    if not (0 <= p <= 1 and df > 0):
        return math.nan
    if p in (0.0, 1.0):
        return math.copysign(math.inf, p - 0.5)
    if math.isinf(df):
        return _normal(p)
    if p == 0.5:
        return 0.0
    with mpmath.workdps(_DIGITS):
        tail = mpmath.mpf(min(p, 1 - mpmath.mpf(p)))
        half = mpmath.mpf(df) / 2
        scale = mpmath.beta(half, 0.5) * mpmath.sqrt(df)

        def log_tail(t: mpmath.mpf) -> mpmath.mpf:
            share = mpmath.betainc(half, 0.5, 0, df / (df + t * t), regularized=True)
            return mpmath.log(share / 2)

        def density(t: mpmath.mpf) -> mpmath.mpf:
            return (1 + t * t / df) ** (-half - 0.5) / scale

        z = -_normal(float(tail)) if tail > 1e-300 else 37.0
        start = z * (1 + (z * z + 1) / (4 * df))  # Abramowitz and Stegun 26.7.5
        t = _invert(log_tail, density, mpmath.log(tail), start, falling=True)
        return float(t if p > 0.5 else -t)


@lru_cache(maxsize=65536)
def _chi_squared(p: float, df: float) -> float:
    if not (0 <= p <= 1 and 0 < df < math.inf):
        return math.nan
    if p in (0.0, 1.0):
        return math.inf if p else 0.0
    with mpmath.workdps(_DIGITS):
        half = mpmath.mpf(df) / 2
        upper = p > 0.5
        tail = 1 - mpmath.mpf(p) if upper else mpmath.mpf(p)

        def log_tail(x: mpmath.mpf) -> mpmath.mpf:
            bounds = (x / 2, mpmath.inf) if upper else (0, x / 2)
            return mpmath.log(mpmath.gammainc(half, *bounds, regularized=True))

        def density(x: mpmath.mpf) -> mpmath.mpf:
            return mpmath.exp((half - 1) * mpmath.log(x / 2) - x / 2 - mpmath.loggamma(half)) / 2

        # Wilson and Hilferty, Abramowitz and Stegun 26.4.17
        start = df * (1 - 2 / (9 * df) + _normal(p) * math.sqrt(2 / (9 * df))) ** 3
        return float(_invert(log_tail, density, mpmath.log(tail), start, falling=upper))


def _invert(
    log_tail: Callable[[mpmath.mpf], mpmath.mpf],
    density: Callable[[mpmath.mpf], mpmath.mpf],
    target: mpmath.mpf,
    start: float,
    *,
    falling: bool,
) -> mpmath.mpf:
    """The x > 0 where the logarithm of a tail is `target`.

    Newton on (ln x, ln tail), where both tails are close to straight lines, kept inside a bracket
    that shrinks; at most 200 steps. A step below 1e-10 leaves an error near its square.
    `falling` says whether the tail falls with x; a `start` that is no positive number becomes 1.
    """
    sign = -1 if falling else 1
    low, high = -mpmath.inf, mpmath.inf
    s = mpmath.log(start) if 0 < start < math.inf else mpmath.mpf(0)
    for _ in range(200):
        x = mpmath.exp(s)
        found = log_tail(x)
        error = sign * (found - target)
        low, high = (s, high) if error < 0 else (low, s)
        slope = x * density(x) / mpmath.exp(found) if mpmath.isfinite(found) else mpmath.mpf(0)
        step = error / slope if slope > 0 else mpmath.sign(error) * 2
        step = max(-4, min(4, step)) if mpmath.isfinite(step) else mpmath.sign(error) * 2
        following = s - step
        if not low <= following <= high:
            following = (low + high) / 2
        if abs(following - s) < 1e-10:
            return mpmath.exp(following)
        s = following
    return mpmath.nan
