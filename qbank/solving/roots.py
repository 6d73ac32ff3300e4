"""Real roots of one equation in one unknown, for a whole array of equations at once.

Nothing here knows of families. Roots come as rows of an array (r, n), one column an equation,
NaN where an equation has fewer roots. A bad element never disturbs the others.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SCAN_CELLS = 64  # equal parts of a bracket that are searched for a change of sign
_GEOMETRIC_RATIO = 100.0  # from here on a bracket of positive ends is cut in equal ratios
_EPSILON = float(np.finfo(np.float64).eps)


def quadratic_roots(a: Floats, b: Floats, c: Floats) -> Floats:
    """The real roots of `a x^2 + b x + c = 0`, shape (2, n), the smaller first.

    Each root is formed without cancellation, `q / a` and `c / q` with
    `q = -(b + sign(b) sqrt(b^2 - 4 a c)) / 2` (Press et al., Numerical Recipes, section 5.6,
    from memory). A discriminant that is zero to within rounding counts as zero, and a = 0
    leaves the one root of the linear equation.
    """
    with np.errstate(all="ignore"):
        square, product = b * b, 4.0 * a * c
        discriminant = square - product
        rounding = np.abs(discriminant) <= 4.0 * _EPSILON * square
        q = -0.5 * (b + np.copysign(np.sqrt(np.where(rounding, 0.0, discriminant)), b))
        first, second = q / a, c / q
        # b = c = 0 has the double root 0, which c / q cannot form
        second = np.where((q == 0.0) & (c == 0.0), first, second)
        both = np.isfinite(first) & np.isfinite(second)
        pair = np.empty((2, len(first)))
        np.minimum(first, second, out=pair[0])
        np.maximum(first, second, out=pair[1])
        if not both.all():  # the one root, if any, comes first
            lone = np.where(np.isfinite(first), first, second)
            pair[0] = np.where(both, pair[0], np.where(np.isfinite(lone), lone, np.nan))
            pair[1] = np.where(both, pair[1], np.nan)
    return pair


def polynomial_roots(coefficients: Sequence[Floats]) -> Floats:
    """The real roots of polynomials, coefficients (n,) from the highest power down.

    Shape (degree, n), ascending, NaN where there are fewer. Eigenvalues of companion matrices,
    then Newton steps that are kept only where they bring the value nearer to zero. Leading
    coefficients that vanish lower the degree of that element alone.
    """
    if len(coefficients) == 3:
        return quadratic_roots(*coefficients)
    table = np.stack([np.asarray(c, dtype=np.float64) for c in coefficients])
    degree, n = len(table) - 1, table.shape[1]
    roots = np.full((max(degree, 1), n), np.nan)
    if degree < 1 or n == 0:
        return roots
    usable = np.isfinite(table).all(axis=0) & (table != 0.0).any(axis=0)
    actual = degree - np.argmax(table != 0.0, axis=0)
    for reduced in range(1, degree + 1):
        rows = np.flatnonzero(usable & (actual == reduced))
        if len(rows):
            roots[:reduced, rows] = _roots_of_full_degree(table[degree - reduced :, rows])
    return roots


def _roots_of_full_degree(table: Floats) -> Floats:
    degree, n = len(table) - 1, table.shape[1]
    if degree == 1:
        return -table[1:] / table[:1]
    if degree == 2:
        return quadratic_roots(table[0], table[1], table[2])
    with np.errstate(all="ignore"):
        monic = table[1:] / table[0]
        # x = scale * z makes the coefficients alike in size, which eigenvalue routines need
        powers = np.arange(1, degree + 1)[:, None]
        scale = np.max(np.abs(monic) ** (1.0 / powers), axis=0)
        scale = np.where(np.isfinite(scale) & (scale > 0.0), scale, 1.0)
        monic /= scale**powers
    fit = np.isfinite(monic).all(axis=0)
    companion = np.zeros((n, degree, degree))
    companion[:, np.arange(1, degree), np.arange(degree - 1)] = 1.0
    companion[:, 0, :] = np.where(fit, -monic, 0.0).T
    values = np.linalg.eigvals(companion).T
    # a double root splits into a pair about sqrt(eps) apart, perhaps off the real axis
    real = np.abs(values.imag) <= 1e-6 * np.abs(values) + 1e-14
    roots = np.where(real & fit, values.real * scale, np.nan)
    return np.sort(_polished(table, roots), axis=0)


def _polished(table: Floats, roots: Floats, steps: int = 6) -> Floats:
    """Newton steps on each root; those whose value is not small in the end are no roots."""
    with np.errstate(all="ignore"):
        value, slope, size = _horner(table, roots)
        for _ in range(steps):
            trial = roots - value / slope
            trial_value, trial_slope, trial_size = _horner(table, trial)
            better = np.abs(trial_value) < np.abs(value)
            if not better.any():
                break
            roots = np.where(better, trial, roots)
            value = np.where(better, trial_value, value)
            slope = np.where(better, trial_slope, slope)
            size = np.where(better, trial_size, size)
        return np.where(np.abs(value) <= 1e-10 * size, roots, np.nan)


def _horner(table: Floats, x: Floats) -> tuple[Floats, Floats, Floats]:
    """Value, slope, and the sum of the sizes of the terms, of polynomials at points (r, n)."""
    value = np.zeros_like(x)
    slope = np.zeros_like(x)
    size = np.zeros_like(x)
    span = np.abs(x)
    for coefficient in table:
        slope = slope * x + value
        value = value * x + coefficient
        size = size * span + np.abs(coefficient)
    return value, slope, size


# ---------------------------------------------------------------------------- brackets

Residual = Callable[[Floats, NDArray[np.intp] | None], Floats]
"""`f(x, rows)`: the residual of the equations `rows` (all for None) at the points `x`."""


def bracketed_roots(
    residual: Residual, low: Floats, high: Floats, cells: int = SCAN_CELLS
) -> Floats:
    """All simple roots between `low` and `high`, shape (r, n), ascending, r as needed.

    The bracket is cut into `cells` parts, equal in ratio when both ends are positive and more
    than a factor 100 apart, else equal in length; each part with a change of sign is narrowed
    by Chandrupatla's method. What is guaranteed: each root reported has a change of sign within
    the last bits around it and is no pole or jump. Two roots inside one part are not seen.
    """
    low = np.asarray(low, dtype=np.float64)
    high = np.asarray(high, dtype=np.float64)
    n = len(low)
    rows: list[NDArray[np.intp]] = []
    lefts: list[Floats] = []
    rights: list[Floats] = []
    at_left: list[Floats] = []
    at_right: list[Floats] = []
    exact: list[tuple[NDArray[np.intp], Floats]] = []
    with np.errstate(all="ignore"):
        geometric = (low > 0.0) & (high > _GEOMETRIC_RATIO * low)
        ratio = np.where(geometric, high / low, 1.0)
        previous = low
        f_previous = residual(low, None)
        outside = np.flatnonzero(np.isnan(f_previous))
        if len(outside):  # 0*ln(0) at the edge says nothing about its neighbourhood
            previous = low.copy()
            previous[outside] += 1e-12 * (high - low)[outside]
            f_previous = np.where(np.isnan(f_previous), residual(previous, None), f_previous)
        _note_zeros(exact, previous, f_previous)
        for cell in range(1, cells + 1):
            share = cell / cells
            point = np.where(geometric, low * ratio**share, low + (high - low) * share)
            if cell == cells:
                point = high
            f_point = residual(point, None)
            change = np.flatnonzero(f_previous * np.sign(f_point) < 0.0)
            if len(change):
                rows.append(change)
                lefts.append(previous[change])
                rights.append(point[change])
                at_left.append(f_previous[change])
                at_right.append(f_point[change])
            _note_zeros(exact, point, f_point)
            previous, f_previous = point, f_point
    if rows:
        where = np.concatenate(rows)
        found = _chandrupatla(
            lambda x, subset: residual(x, where[subset]),
            (np.concatenate(lefts), np.concatenate(rights)),
            (np.concatenate(at_left), np.concatenate(at_right)),
        )
        exact.append((where, found))
    return _columns(exact, n)


def _note_zeros(exact: list[tuple[NDArray[np.intp], Floats]], point: Floats, value: Floats) -> None:
    hits = np.flatnonzero(value == 0.0)
    if len(hits):
        exact.append((hits, point[hits]))


def _columns(found: list[tuple[NDArray[np.intp], Floats]], n: int) -> Floats:
    """Roots listed with their element, as an ascending (r, n) array padded with NaN."""
    if not found:
        return np.full((1, n), np.nan)
    rows = np.concatenate([part for part, _ in found])
    roots = np.concatenate([part for _, part in found])
    kept = np.isfinite(roots)
    rows, roots = rows[kept], roots[kept]
    order = np.lexsort((roots, rows))
    rows, roots = rows[order], roots[order]
    count = np.bincount(rows, minlength=n)
    first = np.cumsum(count) - count
    out = np.full((max(int(count.max(initial=0)), 1), n), np.nan)
    out[np.arange(len(rows)) - first[rows], rows] = roots
    return out


def _chandrupatla(
    residual: Callable[[Floats, NDArray[np.intp]], Floats],
    ends: tuple[Floats, Floats],
    values: tuple[Floats, Floats],
    max_steps: int = 200,
) -> Floats:
    """Narrows changes of sign to the last bits; NaN where a pole or a jump is behind one.

    T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149 (from memory):
    inverse quadratic interpolation where it is safe, bisection elsewhere.
    """
    (a, b), (fa, fb) = ends, values
    out = np.full(len(a), np.nan)
    step = np.zeros(len(a))  # the change of the value over the last bits
    active = np.arange(len(a))
    c, fc = a, fa
    t = np.full(len(a), 0.5)
    with np.errstate(all="ignore"):
        for _ in range(max_steps):
            x = a + t * (b - a)
            fx = residual(x, active)
            same = np.sign(fx) == np.sign(fa)
            c, fc = np.where(same, a, b), np.where(same, fa, fb)
            b, fb = np.where(same, b, a), np.where(same, fb, fa)
            a, fa = x, fx
            nearer = np.abs(fa) < np.abs(fb)
            best, f_best = np.where(nearer, a, b), np.where(nearer, fa, fb)
            width = np.abs(b - a)
            smallest = 2.0 * _EPSILON * np.abs(best) + np.finfo(np.float64).tiny
            done = (f_best == 0.0) | (width <= 2.0 * smallest) | np.isnan(fx)
            if done.any():
                out[active[done]] = best[done]
                step[active[done]] = np.where(f_best == 0.0, 0.0, np.abs(fa - fb))[done]
                left = ~done
                active = active[left]
                if not len(active):
                    break
                a, b, c = a[left], b[left], c[left]
                fa, fb, fc = fa[left], fb[left], fc[left]
                width, smallest = width[left], smallest[left]
            edge = smallest / width
            xi = (a - b) / (c - b)
            phi = (fa - fb) / (fc - fb)
            inverse = (fa / (fb - fa)) * (fc / (fb - fc)) + ((c - a) / (b - a)) * (
                fa / (fc - fa)
            ) * (fb / (fc - fb))
            safe = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi) & np.isfinite(inverse)
            t = np.clip(np.where(safe, inverse, 0.5), edge, 1.0 - edge)
        # a continuous function changes more over a part of the bracket than over its last bits;
        # at a jump or a pole the change sits in the last bits
        low, high = np.minimum(*ends), np.maximum(*ends)
        reach = 1e-3 * (high - low)
        every = np.arange(len(out))
        before = residual(np.maximum(out - reach, low), every)
        after = residual(np.minimum(out + reach, high), every)
        smooth = np.isfinite(step) & (step <= 0.5 * np.abs(after - before))
        out[~(smooth | (step == 0.0))] = np.nan
    return out
