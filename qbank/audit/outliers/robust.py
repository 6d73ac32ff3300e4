"""Robust linear fits of many candidate forms at once.

Trial fits through as many siblings as there are terms, judged by a high quantile of their
residuals (least quantile of squares: P. J. Rousseeuw, "Least median of squares regression",
J. Am. Stat. Assoc. 79, 1984), survive more faults than are to be expected of any bank.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from qbank.audit.question import Floats

QUANTILE = 0.62  # of the residuals: a third of the keys may be wrong
_RIDGE = 1e-10  # trial fits only start the search; no system may be singular to the last bit


def least_quantile(
    features: Floats,
    target: Floats,
    supports: NDArray[np.int64],
    draws: NDArray[np.int64],
) -> tuple[Floats, Floats]:
    """For each support the best trial fit: quantile (b,) of its residuals, coefficients (b, p).

    features (n, m); target (n,); supports (b, p) columns; draws (t, p) rows of the trial fits
    """
    n = len(target)
    b, p = supports.shape
    rank = min(n - 1, int(np.ceil(QUANTILE * n)))
    best = np.full(b, np.inf)
    coefficients = np.zeros((b, p))
    wide = np.ascontiguousarray(features[:, supports].transpose(1, 2, 0))  # (b, p, n)
    for rows in draws:
        system = wide[:, :, rows].transpose(0, 2, 1)
        trial = _solve(system, target[rows])
        with np.errstate(all="ignore"):
            residual = np.abs(np.einsum("bp,bpn->bn", trial, wide) - target)
        residual = np.where(np.isfinite(residual), residual, np.inf)
        reached = np.partition(residual, rank, axis=1)[:, rank]
        better = reached < best
        best[better] = reached[better]
        coefficients[better] = trial[better]
    return best, coefficients


def _solve(system: Floats, right: Floats) -> Floats:
    """(b, p, p) systems with one right side (p,); singular ones give huge or NaN values."""
    p = len(right)
    with np.errstate(all="ignore"):
        if p == 1:
            return np.asarray(right / system[:, :, 0])
        if p == 2:
            a, b, c, d = system[:, 0, 0], system[:, 0, 1], system[:, 1, 0], system[:, 1, 1]
            det = a * d - b * c
            det = np.where(np.abs(det) < 1e-14 * (np.abs(a * d) + np.abs(b * c)), np.nan, det)
            return np.column_stack(
                [(right[0] * d - right[1] * b) / det, (right[1] * a - right[0] * c) / det]
            )
        eye = _RIDGE * np.eye(p)
        sides = np.broadcast_to(right[:, None], (len(system), p, 1))
        try:
            return np.asarray(np.linalg.solve(system + eye, sides)[:, :, 0])
        except np.linalg.LinAlgError:
            return np.full((len(system), p), np.nan)


def polish(
    features: Floats, target: Floats, weights: Floats, start: Floats, steps: int = 8
) -> tuple[Floats, Floats]:
    """Least squares over those that lie close, from a robust start, until they stay the same.

    features (n, p), target (n,), weights (n,): 1 over the size of a key's rounding in the target
    Returns the coefficients and the leverage (n,) of each sibling.
    """
    coefficients = start
    n, p = features.shape
    a, t = features * weights[:, None], target * weights
    rank = max(p + 1, int(np.ceil(QUANTILE * n)))
    used = np.zeros(n, dtype=np.bool_)
    for step in range(steps):
        residual = np.abs(a @ coefficients - t)
        residual = np.where(np.isfinite(residual), residual, np.inf)
        edge = np.partition(residual, rank - 1)[rank - 1]
        chosen = residual <= (edge if step == 0 else max(2.5 * edge, 1.5))
        if np.array_equal(chosen, used) or chosen.sum() <= p:
            break
        used = chosen
        coefficients = np.linalg.lstsq(a[used], t[used], rcond=1e-13)[0]
    if not used.any():
        return coefficients, np.full(n, np.inf)
    inverse = np.linalg.pinv(a[used].T @ a[used], rcond=1e-15, hermitian=True)
    leverage = np.einsum("np,pq,nq->n", a, inverse, a)
    return coefficients, np.where(used, np.minimum(leverage, 1.0), leverage)


def trial_rows(generator: np.random.Generator, n: int, p: int, trials: int) -> NDArray[np.int64]:
    """(trials, p) distinct rows of n."""
    return np.argsort(generator.random((trials, n)), axis=1)[:, :p].astype(np.int64)
