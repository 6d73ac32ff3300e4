"""How far keys lie from what roughly similar siblings have, whatever the law behind them is.

The logarithm of the key's size as a quadratic, or where siblings are few a plane, in the
logarithms of the numbers, fitted robustly. Too coarse to suspect a key by itself; good enough to
tell which of two keys that do not fit together is off.
"""

from __future__ import annotations

import itertools

import numpy as np

from qbank.audit.outliers.robust import least_quantile, polish, trial_rows
from qbank.audit.outliers.sample import Sample
from qbank.audit.question import Floats

TRIALS = 160
ROWS_EACH = 3.0  # siblings for each number that is fitted
SAME_SIGN = 0.8  # of the keys: then another sign is far off
LEAST_SCATTER = 0.01  # of a key: no sibling lies nearer than rounding and the form allow
FAR = 99.0


def rough_distance(sample: Sample) -> Floats:
    """Robust standard deviations from the fit, (n,); 0 everywhere where nothing can be fitted."""
    n = len(sample)
    keyed = sample.y != 0
    shapes = [_features(sample, squares=squares) for squares in (True, False)]
    features = next((f for f in shapes if keyed.sum() >= ROWS_EACH * f.shape[1] + 4), None)
    if features is None:
        return np.zeros(n)
    target = np.zeros(n)
    target[keyed] = np.log(np.abs(sample.y[keyed]))
    m, p = int(keyed.sum()), features.shape[1]
    rows = trial_rows(sample.generator(), m, p, TRIALS)
    support = np.arange(p, dtype=np.int64)[None, :]
    _, start = least_quantile(features[keyed], target[keyed], support, rows)
    found, leverage = polish(features[keyed], target[keyed], np.ones(m), start[0])
    if not np.isfinite(found).all():
        return np.zeros(n)
    off = np.abs(target - features @ found)
    scatter = 1.4826 * float(np.median(off[keyed])) * np.sqrt(m / max(m - p, 1))
    room = np.ones(n)
    room[keyed] = np.sqrt(1.0 + np.minimum(leverage, 1e6))
    far = off / (max(scatter, LEAST_SCATTER) * room)
    signs = np.sign(sample.y)
    common = 1.0 if (signs > 0).sum() * 2 >= n else -1.0
    if (signs == common).mean() >= SAME_SIGN:
        far = np.where(signs == common, far, FAR)
    return np.asarray(np.where(keyed, far, FAR))


def _features(sample: Sample, *, squares: bool) -> Floats:
    """A constant, the logarithms of the numbers, and their products in pairs, (n, p)."""
    columns = []
    for j in range(sample.x.shape[1]):
        x = sample.x[:, j]
        column = np.log(np.abs(x)) if (x != 0).all() and (np.sign(x) == np.sign(x[0])).all() else x
        spread = float(np.std(column))
        columns.append((column - column.mean()) / (spread or 1.0))
    more = [
        a * b for a, b in itertools.combinations_with_replacement(columns, 2)
    ] if squares else []  # fmt: skip
    return np.column_stack([np.ones(len(sample)), *columns, *more])
