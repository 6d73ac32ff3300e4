"""Keys that hold the logarithm or the exponential of a product of the numbers: times of decay,
voltages of a discharge, rates at two temperatures.

Only forms on which the keys lie within their rounding are given: over a narrow range a logarithm
is near to many things.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from qbank.audit.outliers.monomials import monomial, simple, size_text
from qbank.audit.outliers.robust import least_quantile, polish, trial_rows
from qbank.audit.outliers.sample import Sample, product_text
from qbank.audit.outliers.surface import Surface, believe
from qbank.audit.outliers.terms import sum_of_terms
from qbank.audit.question import Floats
from qbank.expressions.units import DIMENSIONLESS

MOST_LOGS = 5  # logarithms that are tried
MOST_POWERS = 90  # products that are tried as what the exponential is of
MOST_COLUMNS = 6
LOG_TERMS = 2  # with more, a logarithm serves to bend what is none
LOG_PRODUCTS = 30
FEW = 2
TRIALS = 120
BEST = 4  # products that are looked at closely
PLAIN = 0.1  # the exponential must change the keys by so much, or it is none
_LARGE = 40.0  # of the exponent: beyond it keys could not be written


def logarithm(sample: Sample) -> Surface | None:
    """A product or a sum of products, of which the logarithm of a number or of the ratio of two
    numbers of one kind is a factor."""
    for column, noise, label in itertools.islice(_logs(sample), MOST_LOGS):
        richer = replace(
            sample,
            columns=(-1, *sample.columns),
            x=np.column_stack([column, sample.x]),
            labels=(label, *sample.labels),
            dimensions=(DIMENSIONLESS, *sample.dimensions),
            angles=(False, *sample.angles),
            noise=np.column_stack([noise, sample.noise]),
            sizes=(1.0, *sample.sizes),
        )
        surfaces = [monomial(richer), sum_of_terms(richer, LOG_TERMS, LOG_PRODUCTS)]
        if sample.x.shape[1] <= FEW:  # constants of any kind may stand before it
            free = replace(richer, dimension=None)
            surfaces.append(sum_of_terms(free, LOG_TERMS, LOG_PRODUCTS))
        for surface in surfaces:
            if surface is not None and surface.exact and label in surface.says:
                return surface
    return None


def _logs(sample: Sample) -> Iterator[tuple[Floats, Floats, str]]:
    """Logarithms (n,) that may be factors, how exactly they are known, and their texts."""
    positive = [
        j for j in range(sample.x.shape[1]) if (sample.x[:, j] > 0).all() and not sample.angles[j]
    ]
    with np.errstate(all="ignore"):
        share = {j: sample.noise[:, j] / sample.x[:, j] for j in positive}
    for i, j in itertools.combinations(positive, 2):
        if sample.dimensions[i] == sample.dimensions[j]:
            column = np.log(sample.x[:, i] * sample.sizes[i]) - np.log(
                sample.x[:, j] * sample.sizes[j]
            )
            if (np.abs(column) > 1e-6).all():
                text = f"ln({sample.labels[i]}/{sample.labels[j]})"
                yield column, np.hypot(share[i], share[j]), text
    for j in positive:
        yield np.log(sample.x[:, j] * sample.sizes[j]), share[j], f"ln {sample.labels[j]}"


def exponential(sample: Sample) -> Surface | None:
    """c·x₁^a·x₂^b…·exp(k·z), z a product of a few of the numbers."""
    usable = [j for j in range(sample.x.shape[1]) if (sample.x[:, j] > 0).all()]
    keyed = sample.y != 0
    n, k = int(keyed.sum()), len(usable)
    if not usable or k > MOST_COLUMNS or n < k + 8:
        return None
    x = sample.x[:, usable]
    logs = np.log(x)
    logs = logs - logs.mean(axis=0)
    powers = _powers(sample, usable)
    products = np.exp(np.log(x) @ powers.T)
    spread = np.std(products, axis=0)
    kept = np.isfinite(spread) & (spread > 1e-9 * np.abs(products).max(axis=0))
    powers, raw = powers[kept], products[:, kept] / spread[kept]
    if not len(powers):
        return None
    products = raw - raw.mean(axis=0)
    target = np.zeros(len(sample))
    target[keyed] = np.log(np.abs(sample.y[keyed]))
    features = np.column_stack([np.ones(len(sample)), logs, products])
    supports = np.array([[*range(k + 1), k + 1 + z] for z in range(len(powers))], dtype=np.int64)
    rows = trial_rows(sample.generator(), n, k + 2, TRIALS)
    reached, starts = least_quantile(features[keyed], target[keyed], supports, rows)
    for z in np.argsort(reached, kind="stable")[:BEST].tolist():
        surface = _exponential(
            sample, usable, keyed, logs, raw[:, z], powers[z], target, starts[z], len(powers)
        )
        if surface is not None and surface.exact:
            return surface
    return None


def _exponential(
    sample: Sample,
    usable: list[int],
    keyed: NDArray[np.bool_],
    logs: Floats,
    product: Floats,
    power: NDArray[np.int64],
    target: Floats,
    start: Floats,
    tried: int,
) -> Surface | None:
    """The surface with one product in the exponential, if it is to be believed."""
    half = np.maximum(sample.half, 1e-5 * np.abs(sample.y) + 1e-300)
    weights = (np.abs(sample.y) / half)[keyed]
    centred = product - product.mean()
    whole = np.column_stack([np.ones(len(sample)), logs, centred])
    found, _ = polish(whole[keyed], target[keyed], weights, start)
    if not np.isfinite(found).all() or np.abs(found[1:-1]).max() > 8:
        return None
    exponents = [simple(e) for e in found[1:-1]]
    if any(e is None for e in exponents):
        return None
    fixed = np.array([float(e) for e in exponents if e is not None])
    base = logs @ fixed
    two = np.column_stack([np.ones(len(sample)), centred])
    found, leverage = polish(two[keyed], (target - base)[keyed], weights, found[[0, -1]])
    if not np.isfinite(found).all() or not PLAIN <= np.ptp(found[1] * product) <= _LARGE:
        return None
    predicted = np.exp(base + two @ found)
    if np.count_nonzero(sample.y < 0) * 2 > len(sample):
        predicted = -predicted
    room = np.full(len(sample), np.inf)
    room[keyed] = leverage
    noise = sample.noise[:, usable] / sample.x[:, usable]
    slope = fixed + found[1] * np.outer(product, power)
    extra = np.abs(predicted) * np.sqrt(((slope * noise) ** 2).sum(axis=1))
    names = [sample.labels[j] for j in usable]
    inner = product_text((name, int(e)) for name, e in zip(names, power, strict=True) if e)
    outer = size_text(names, exponents)
    says = f"{outer}{'·' if outer else ''}exp of a multiple of {inner}"
    terms = 2 + int(np.count_nonzero(fixed))
    return believe(sample.rounded_by(extra), predicted, room, terms, 10.0 * tried, says)


def _powers(sample: Sample, usable: list[int]) -> NDArray[np.int64]:
    """Exponents (m, k) of products of at most three numbers, those without a dimension first."""
    k = len(usable)
    rows = [
        row for row in itertools.product((0, 1, -1), repeat=k) if 1 <= np.count_nonzero(row) <= 3
    ]
    own = [sample.dimensions[j] for j in usable]

    def rank(row: tuple[int, ...]) -> tuple[int, int]:
        dimension = DIMENSIONLESS
        for one, e in zip(own, row, strict=True):
            dimension = dimension * one**e
        return int(dimension != DIMENSIONLESS), int(np.count_nonzero(row))

    return np.array(sorted(rows, key=rank)[:MOST_POWERS], dtype=np.int64)
