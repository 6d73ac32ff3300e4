"""Keys that are one product of powers of the numbers, as so many laws are."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from qbank.audit.outliers.robust import least_quantile, polish, trial_rows
from qbank.audit.outliers.sample import Sample, product_text
from qbank.audit.outliers.surface import Surface, believe
from qbank.audit.question import Floats

TRIALS = 240
MOST_COLUMNS = 9
NEAR = 0.04  # an exponent so near a simple one is that one
_SIMPLE = sorted({Fraction(a, b) for b in (1, 2, 3, 4) for a in range(-6 * b, 6 * b + 1)})
_SIMPLE_FLOATS = np.array([float(e) for e in _SIMPLE])


def monomial(sample: Sample) -> Surface | None:
    """c·x₁^a·x₂^b…, the exponents found by a robust fit of the logarithms and made simple."""
    usable = [j for j in range(sample.x.shape[1]) if (sample.x[:, j] != 0).all()]
    if not usable or len(usable) > MOST_COLUMNS:
        return None
    keyed = sample.y != 0
    n, p = int(keyed.sum()), len(usable) + 1
    if n < p + 4:
        return None
    logs = np.log(np.abs(sample.x[:, usable]))
    features = np.column_stack([np.ones(len(sample)), logs - logs.mean(axis=0)])
    target = np.zeros(len(sample))
    target[keyed] = np.log(np.abs(sample.y[keyed]))
    rows = trial_rows(sample.generator(), n, p, TRIALS)
    support = np.arange(p, dtype=np.int64)[None, :]
    _, start = least_quantile(features[keyed], target[keyed], support, rows)
    weights = np.abs(sample.y) / np.maximum(sample.half, 1e-5 * np.abs(sample.y) + 1e-300)
    weights = np.where(keyed, weights, 0.0)
    found, leverage = polish(features[keyed], target[keyed], weights[keyed], start[0])
    if not np.isfinite(found).all() or np.abs(found[1:]).max() > 8:
        return None
    whole = np.zeros(len(sample))
    whole[keyed] = leverage
    exponents = [simple(e) for e in found[1:]]
    if all(e is not None for e in exponents):
        powers = np.array([float(e) for e in exponents if e is not None])
        size = (logs - logs.mean(axis=0)) @ powers
        rest = np.sort((target - size)[keyed])
        factor = _densest(rest)
        predicted = np.exp(size + factor)
        surface = believe(
            sample.rounded_by(_spread(sample, usable, powers, predicted)),
            _signed(sample, usable, exponents, predicted),
            np.full(len(sample), 1.0 / n),
            1 + int(np.count_nonzero(powers)),
            1.0,
            _say(sample, usable, exponents),
        )
        if surface is not None:
            return surface
    predicted = np.exp(features @ found)
    return believe(
        sample.rounded_by(_spread(sample, usable, found[1:], predicted)),
        _signed(sample, usable, exponents, predicted),
        whole,
        p,
        1.0,
        "a product of powers of the numbers",
    )


def _spread(sample: Sample, usable: list[int], powers: Floats, predicted: Floats) -> Floats:
    """How far off the prediction may be where answers it rests on are rounded, (n,)."""
    share = powers * sample.noise[:, usable] / np.abs(sample.x[:, usable])
    return np.asarray(predicted * np.sqrt((share**2).sum(axis=1)))


def _densest(rest: Floats) -> float:
    """The middle of the shortest interval that holds more than half of them, refined."""
    n = len(rest)
    half = n // 2 + 1
    widths = rest[half - 1 :] - rest[: n - half + 1]
    first = int(np.argmin(widths))
    return float(np.median(rest[first : first + half]))


def simple(exponent: float) -> Fraction | None:
    """The simple exponent that is meant; None where none is near."""
    i = int(np.argmin(np.abs(_SIMPLE_FLOATS - exponent)))
    near = _SIMPLE[i]
    allowed = NEAR if near.denominator <= 2 else NEAR / 4
    return near if abs(float(near) - exponent) <= allowed else None


def _signed(
    sample: Sample, usable: list[int], exponents: list[Fraction | None], size: Floats
) -> Floats:
    """The sign most keys have, or most have once odd powers of signed numbers are counted in."""
    sign = np.sign(sample.y)
    turned = np.ones(len(sample))
    for j, exponent in zip(usable, exponents, strict=True):
        if exponent is not None and exponent.denominator == 1 and exponent % 2:
            turned = turned * np.sign(sample.x[:, j])
    best = max((turned, np.ones(len(sample))), key=lambda s: abs(float((sign * s).sum())))
    majority = 1.0 if float((sign * best).sum()) >= 0 else -1.0
    return majority * best * size


def size_text(labels: list[str], exponents: list[Fraction | None]) -> str:
    """The product of powers for people; empty where all exponents are 0."""
    return product_text((name, e) for name, e in zip(labels, exponents, strict=True) if e)


def _say(sample: Sample, usable: list[int], exponents: list[Fraction | None]) -> str:
    return size_text([sample.labels[j] for j in usable], exponents) or "a constant"
