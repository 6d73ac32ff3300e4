"""When a fitted surface is believed, and which keys it then puts in doubt.

A surface is believed when a clear majority of the keys lies on it so closely that chance cannot
explain it. Chance is bounded as in a-contrario fitting (L. Moisan and B. Stival, "A probabilistic
criterion to detect rigid point matches", Int. J. Computer Vision 57, 2004): the number of models
tried, times the ways to choose the siblings that agree, times the chance that so many of the
others fall within the scatter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.audit.outliers.sample import Sample
from qbank.audit.question import Floats

MAJORITY = 0.65  # of the siblings lie on it
MANY, MORE = 4, 0.75  # numbers fitted with which a form that is only near needs more on it
SIGMAS = 6.0
ROUNDINGS = 3.0  # half units in the last place
TIGHT = 0.03  # of the key: a looser surface says nothing of the usual mistakes
SURE = -6.0  # log10 of the expected number of such surfaces by accident
UNDECIDED = 0.04  # of the siblings near the limit; more, and the scatter has no clear edge
ROUNDED = 0.7  # half units; rounding alone gives 0.58 (the deviation of a uniform error)
LOOSE = 3.0  # times the limit, where more than rounding scatters: the form is near, not right
SEPARATE = 3.5  # standard deviations of a rank sum: those outside are a regime of their own
TOGETHER = -2.0  # log10 of the chance that those outside lie so close together
FEWEST_SPARE = 6  # siblings on the surface beyond those that fix it
_MOST_PAIRED = 12  # columns whose ratios are looked at


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A believed surface.

    predicted  (n,): what it says of each sibling, over the sample's size; NaN where nothing
    limit      (n,): how far off a key must be to be suspicious
    scatter    robust relative standard deviation of the keys about it
    exact      whether the keys lie on it within their rounding
    terms      numbers that were fitted
    says       the form, "m·v²" with its factor
    """

    predicted: Floats
    limit: Floats
    inside: NDArray[np.bool_]
    scatter: float
    exact: bool
    terms: int
    says: str
    chance: float

    def suspects(self, sample: Sample) -> NDArray[np.bool_]:
        """Which keys are off by more than the limit, and not in their own band, (n,)."""
        off = np.abs(sample.y - self.predicted)
        with np.errstate(invalid="ignore"):
            within = (sample.band[:, 0] <= self.predicted) & (self.predicted <= sample.band[:, 1])
            out: NDArray[np.bool_] = (off > self.limit) & ~within
        return out


def believe(
    sample: Sample,
    predicted: Floats,
    leverage: Floats,
    terms: int,
    tried: float,
    says: str,
) -> Surface | None:
    """The surface, if it is to be believed.

    predicted  (n,), NaN where the form has no value
    leverage   (n,): variance of the prediction over that of a key, from the siblings it rests on
    terms      numbers fitted; `tried` is how many forms were tried
    """
    y, n = sample.y, len(sample)
    with np.errstate(invalid="ignore", over="ignore"):
        off = np.abs(y - predicted)
    off = np.where(np.isfinite(off), off, np.inf)
    unit = _scale(sample)
    u = off / unit
    sigma = _robust_sigma(u, terms)
    if not math.isfinite(sigma):
        return None
    limit = max(SIGMAS * sigma, ROUNDINGS)
    limits = limit * np.sqrt(1.0 + np.where(np.isfinite(leverage), leverage, 1e6))
    inside = u <= limits
    count = int(inside.sum())
    if count < MAJORITY * n or count - terms < FEWEST_SPARE or terms > max(n / 4, 2):
        return None
    near = np.count_nonzero((u > 0.6 * limits) & (u <= 2.0 * limits) & np.isfinite(u))
    if near > max(1.0, UNDECIDED * n):
        return None
    width = limit * unit
    typical = float(np.median(width / np.maximum(np.abs(y), 1e-300)))
    spread = _spread(y)
    if typical > TIGHT or spread <= 0:
        return None
    q = min(1.0, float(np.median(2.0 * width)) / spread)
    chance = (
        math.log10(max(tried, 1.0))
        + _log_choose(n, count)
        + _log_choose(count, min(terms, count))
        + (count - terms) * math.log10(max(q, 1e-12))
    )
    if chance > SURE:
        return None
    exact = sigma <= ROUNDED
    if not exact and terms >= MANY and count < MORE * n:
        return None
    if _separate(sample, inside):
        return None
    relative = float(np.median((off / np.maximum(np.abs(y), 1e-300))[inside]))
    return Surface(
        np.where(np.isfinite(predicted), predicted, np.nan),
        limits * unit * (1.0 if exact else LOOSE),
        inside,
        1.4826 * relative,
        exact,
        terms,
        says,
        chance,
    )


def _separate(sample: Sample, inside: NDArray[np.bool_]) -> bool:
    """Whether those outside lie together, by the numbers or by the ratio of two: then they follow
    another law, as where something moves the other way, and are no faults.

    By the rank sum of H. B. Mann and D. R. Whitney (Ann. Math. Stat. 18, 1947), and by how few of
    the others lie among them at one end of the order.
    """
    n, m = len(inside), int(np.count_nonzero(~inside))
    if m < 3:
        return False
    x = sample.x
    k = min(x.shape[1], _MOST_PAIRED)
    with np.errstate(all="ignore"):
        pairs = [x[:, i] / x[:, j] for i in range(k) for j in range(i)]
    features = np.nan_to_num(np.column_stack([x, *pairs]))
    ranks = np.argsort(np.argsort(features, axis=0, kind="stable"), axis=0) + 1.0
    outside = ranks[~inside]
    deviation = math.sqrt(m * (n - m) * (n + 1) / 12.0)
    if np.abs(outside.sum(axis=0) - m * (n + 1) / 2.0).max() > SEPARATE * deviation:
        return True
    among = int(min((n + 1 - outside.min(axis=0)).min(), outside.max(axis=0).min()))
    chance = math.log10(2.0 * features.shape[1]) + _log_choose(among, m) - _log_choose(n, m)
    return chance < TOGETHER


def _scale(sample: Sample) -> Floats:
    """Half a last place, or 0.002 % of the size of a key where it is written more finely: the
    numbers in a stem and the constants behind it are not exact either."""
    floor: Floats = np.asarray(2e-5 * np.abs(sample.y) + 1e-9 * np.median(np.abs(sample.y)))
    return np.asarray(np.maximum(sample.half, floor))


def _robust_sigma(u: Floats, terms: int) -> float:
    """Standard deviation of those that belong: from the median, then from those within 4 of it."""
    n = len(u)
    spare = math.sqrt(n / max(n - terms, 1))
    # where 30 % are wrong, the median of all is the 71st percentile of the others
    sigma = float(np.quantile(u, 0.5, method="lower")) / 0.6745 * spare
    for _ in range(6):
        near = u <= max(4.0 * sigma, 1.0)
        count = int(near.sum())
        if count <= terms:
            return math.inf
        sigma = math.sqrt(float((u[near] ** 2).sum()) / max(count - terms, 1))
    return sigma


def _spread(y: Floats) -> float:
    """The interval that holds the middle four fifths of the keys."""
    low, high = np.quantile(y, [0.1, 0.9])
    return float(high - low)


def _log_choose(n: int, k: int) -> float:
    return (math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)) / math.log(10)
