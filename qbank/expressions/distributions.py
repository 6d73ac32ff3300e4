"""Distribution functions P(X <= x) of the normal, Student's t and chi-squared laws on arrays.

Every value is computed, so arrays may hold as many distinct values as they like. Small tails keep
their relative accuracy (about 1e-13); a p value near 1e-16 of an upper tail is better had from the
lower tail of -z or -t. Outside the domain, and for more than 1e7 degrees of freedom of
chi-squared, the result is NaN.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_MANY = 5e3  # degrees of freedom from which on t is read off the normal law
_MOST = 1e7  # degrees of freedom of chi-squared
_STEPS = 60_000  # of a continued fraction or a series; it takes some roots of the degrees
_TINY = 1e-300  # stands for 0 in a denominator

_erfc = np.frompyfunc(math.erfc, 1, 1)
_lgamma = np.frompyfunc(math.lgamma, 1, 1)


def normal_cdf(z: ArrayLike) -> Floats:
    """P(Z <= z) of the standard normal law; shape of `z`."""
    values = np.asarray(z, dtype=np.float64)
    share: Floats = 0.5 * np.asarray(_erfc(-values * math.sqrt(0.5)), dtype=np.float64)
    return share


def t_cdf(t: ArrayLike, df: ArrayLike) -> Floats:
    """P(T <= t) for Student's t with `df` > 0 degrees of freedom; broadcast shape.

    A tail is half the incomplete beta function I_x(df/2, 1/2) at x = df/(df + t^2) (Abramowitz and
    Stegun 26.7.1); from 5000 degrees on, Hill's normal deviate (Algorithm 395, 1970).
    """
    return _flat(_student, t, df)


def chi2_cdf(x: ArrayLike, df: ArrayLike) -> Floats:
    """P(X <= x) for chi-squared with `df` > 0 degrees of freedom; broadcast shape, 0 for x <= 0.

    The incomplete gamma function P(df/2, x/2) (Abramowitz and Stegun 26.4.19).
    """
    return _flat(_chi_squared, x, df)


def _flat(function: Callable[[Floats, Floats], Floats], x: ArrayLike, df: ArrayLike) -> Floats:
    """The function over the broadcast arrays, laid out in one dimension."""
    first, second = np.broadcast_arrays(
        np.asarray(x, dtype=np.float64), np.asarray(df, dtype=np.float64)
    )
    with np.errstate(all="ignore"):
        return function(first.ravel(), second.ravel()).reshape(first.shape)


def _student(t: Floats, df: Floats) -> Floats:
    tail = np.full(t.shape, np.nan)
    size = np.abs(t)
    far = np.isinf(size) & (df > 0)
    tail[far] = 0.0
    normal = (df > _MANY) & ~far & ~np.isnan(t)
    tail[normal] = normal_cdf(-_normal_deviate(size[normal], df[normal]))
    rest = (df > 0) & ~far & ~normal & ~np.isnan(t)
    tail[rest] = _student_tail(size[rest], df[rest])
    return np.where(t > 0, 1.0 - tail, tail)


def _normal_deviate(t: Floats, df: Floats) -> Floats:
    """The z whose normal tail is that of t for many degrees of freedom, by Hill's expansion."""
    inverse = 1.0 / df
    near = 1.0 - 0.5 * inverse
    y = np.where(np.isinf(df), t * t, near * df * np.log1p(t * t * inverse))
    scale = 48.0 * (near * df) ** 2
    inner = ((((-0.4 * y - 3.3) * y - 24.0) * y - 85.5) / (0.8 * y * y + 100.0 + scale)) + y + 3.0
    deviate: Floats = np.sqrt(y) * (1.0 + inner / scale)
    return deviate


def _student_tail(t: Floats, df: Floats) -> Floats:
    """P(T > t) for t >= 0."""
    a = df / 2
    ratio = t / np.sqrt(df)
    square = ratio * ratio
    x, y = 1.0 / (1.0 + square), square / (1.0 + square)  # they add up to 1
    # x^a y^(1/2) / B(a, 1/2), with logarithms of what is near 1 or near 0
    spread = np.where(square > 1e200, 2 * np.log(ratio), np.log1p(square))
    front = np.exp(-a * spread) * np.sqrt(y) * _inverse_beta(a)
    tail = np.empty_like(t)
    outer = x < (a + 1.0) / (a + 2.5)
    b = np.full_like(a, 0.5)
    tail[outer] = 0.5 * (front / a)[outer] * _beta_fraction(x[outer], a[outer], b[outer])
    inner = ~outer
    share = (front / 0.5)[inner] * _beta_fraction(y[inner], b[inner], a[inner])
    tail[inner] = 0.5 * (1.0 - share)
    return tail


def _inverse_beta(a: Floats) -> Floats:
    """1/B(a, 1/2): the quotient of the gamma functions of a + 1/2 and a, over the root of pi."""
    small = a < 15.0
    log = np.empty_like(a)
    log[small] = _log_gamma(a[small] + 0.5) - _log_gamma(a[small])
    big = a[~small]
    log[~small] = (
        big * np.log1p(0.5 / big) - 0.5 + 0.5 * np.log(big) + _stirling(big + 0.5) - _stirling(big)
    )
    inverse: Floats = np.exp(log) / math.sqrt(math.pi)
    return inverse


def _beta_fraction(x: Floats, a: Floats, b: Floats) -> Floats:
    """The continued fraction of I_x(a, b) (Abramowitz and Stegun 26.5.8), x below its mean."""

    def coefficient(step: int, x: Floats, a: Floats, b: Floats) -> tuple[Floats, Floats]:
        m = step // 2
        if step % 2:
            top = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            top = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        return top, np.ones_like(x)

    return 1.0 / _fraction(np.ones_like(x), coefficient, (x, a, b))


def _chi_squared(x: Floats, df: Floats) -> Floats:
    share = np.full(x.shape, np.nan)
    known = (df > 0) & (df <= _MOST) & ~np.isnan(x)
    share[known & (x <= 0)] = 0.0
    share[known & np.isposinf(x)] = 1.0
    low = known & (x > 0) & (x < df + 2) & np.isfinite(x)
    share[low] = _gamma_series(x[low] / 2, df[low] / 2)
    high = known & (x >= df + 2) & np.isfinite(x)
    share[high] = 1.0 - _gamma_fraction(x[high] / 2, df[high] / 2)
    return share


def _gamma_front(x: Floats, a: Floats) -> Floats:
    """x^a e^-x / Gamma(a + 1), by way of its value at x = a (Loader 2000)."""
    front = np.empty_like(x)
    small = a < 15.0
    front[small] = np.exp(a[small] * np.log(x[small]) - x[small] - _log_gamma(a[small] + 1.0))
    big, at = a[~small], x[~small]
    front[~small] = np.exp(-_deviance(at, big) - _stirling(big)) / np.sqrt(2 * math.pi * big)
    return front


def _deviance(x: Floats, a: Floats) -> Floats:
    """x - a - a ln(x/a) without loss where x is near a."""
    v = (x - a) / (x + a)
    near = np.abs(v) < 0.1
    out = x - a - a * np.log(x / a)
    # ln(x/a) = 2 (v + v^3/3 + v^5/5 + ...), and x - a = v (x + a)
    w = v[near]
    series = np.zeros_like(w)
    for k in range(12, 0, -1):
        series = (series + 1.0 / (2 * k + 1)) * w * w
    out[near] = (x - a)[near] * w - 2.0 * a[near] * w * series
    return out


def _gamma_series(x: Floats, a: Floats) -> Floats:
    """P(a, x) for x < a + 1 (Abramowitz and Stegun 6.5.29)."""
    term = np.ones_like(x)
    total = np.ones_like(x)
    live = np.arange(x.size)
    for step in range(1, _STEPS):
        if not live.size:
            break
        term[live] *= x[live] / (a[live] + step)
        total[live] += term[live]
        live = live[term[live] > 1e-17 * total[live]]
    total[live] = np.nan
    return _gamma_front(x, a) * total


def _gamma_fraction(x: Floats, a: Floats) -> Floats:
    """1 - P(a, x) for x >= a + 1 (Abramowitz and Stegun 6.5.31, its even part)."""

    def coefficient(step: int, x: Floats, a: Floats) -> tuple[Floats, Floats]:
        return -step * (step - a), x - a + 1.0 + 2 * step

    return _gamma_front(x, a) * a / _fraction(x - a + 1.0, coefficient, (x, a))


def _fraction(
    start: Floats,
    coefficient: Callable[..., tuple[Floats, Floats]],
    arguments: tuple[Floats, ...],
) -> Floats:
    """start + a_1/(b_1 + a_2/(b_2 + ...)) with a_k, b_k = coefficient(k, ...), all in step.

    Lentz's method as Thompson and Barnett (1986) have it; NaN where it does not settle.
    """
    value = start.copy()
    upper, lower = start.copy(), np.zeros_like(start)
    live = np.arange(start.size)
    for step in range(1, _STEPS):
        if not live.size:
            break
        top, plain = coefficient(step, *(argument[live] for argument in arguments))
        below = plain + top * lower[live]
        below = 1.0 / np.where(below == 0, _TINY, below)
        above = plain + top / upper[live]
        above = np.where(above == 0, _TINY, above)
        lower[live], upper[live] = below, above
        value[live] *= below * above
        live = live[~(np.abs(below * above - 1.0) < 1e-15)]
    value[live] = np.nan
    return value


def _log_gamma(a: Floats) -> Floats:
    return np.asarray(_lgamma(a), dtype=np.float64)


def _stirling(a: Floats) -> Floats:
    """ln Gamma(a) less (a - 1/2) ln a - a + ln(2 pi)/2, for a >= 15.

    Abramowitz and Stegun 6.1.41.
    """
    square = a * a
    series = 1 / 1188 - 691 / 360360 / square
    series = -1 / 1680 + series / square
    series = 1 / 1260 + series / square
    series = -1 / 360 + series / square
    correction: Floats = (1 / 12 + series / square) / a
    return correction
