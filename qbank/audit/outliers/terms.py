"""Keys that are a sum, or a quotient of sums, of a few products of the numbers.

The products tried have the dimension of the key, where units are known, up to constants that stand
in no stem (the free-fall acceleration). The key itself, its square and its inverse are fitted; a
quotient N/D is fitted as y = N − y·(D − 1).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from qbank.audit.outliers.robust import least_quantile, polish, trial_rows
from qbank.audit.outliers.sample import Sample, product_text
from qbank.audit.outliers.surface import Surface, believe
from qbank.audit.question import Floats
from qbank.expressions.units import DIMENSIONLESS, Dimension, parse_unit

MOST_FEATURES = 72
MOST_TERMS = 5
PAIR_DRAWS, MORE_DRAWS = 9, 12
BEAM = {3: 14, 4: 8, 5: 5}  # supports kept before a term is added
NEAR_POWERS = (1, -1, 2)  # others are believed only where the keys lie within their rounding
_WORDS = {
    1: "",
    -1: "the inverse of the key as ",
    2: "the square of the key as ",
    -2: "the inverse square of the key as ",
}
_POWERS = (-2, -1, 0, 1, 2)
_MOST_COLUMNS = 7
_MOST_HIDDEN = 3  # constants that may stand in pairs
_KELVIN, _GAS = parse_unit("K").dimension, parse_unit("J/(mol K)").dimension


@dataclass(frozen=True, slots=True, eq=False)
class _Target:
    """A power of the key that is to be a sum of products; `of_key` marks columns times the key.

    Products are those of the factors of `_base` with `exponents`.
    """

    power: int
    features: Floats  # (n, m)
    of_key: NDArray[np.bool_]  # (m,)
    texts: tuple[str, ...]  # (m,)
    exponents: NDArray[np.int64]  # (m, b)


def sum_of_terms(
    sample: Sample, most: int = MOST_TERMS, products: int = MOST_FEATURES
) -> Surface | None:
    """The form of fewest terms on which the keys lie within their rounding; else the first near.

    At most `most` terms of the first `products` products are tried.
    """
    keyed = np.abs(sample.y) > 1e-12 * np.median(np.abs(sample.y))
    if keyed.sum() < 10 or sample.x.shape[1] == 0:
        return None
    generator = sample.generator()
    near: Surface | None = None
    searches = [_Search(sample, keyed, target, generator) for target in _targets(sample, products)]
    for terms in range(1, most + 1):
        if terms > max(2, len(sample) // 6):
            break
        for search in searches:
            surface = search.with_terms(terms)
            if surface is not None and surface.exact:
                return surface
            near = near or (surface if search.target.power in NEAR_POWERS else None)
    return near


class _Search:
    """Supports of growing size for one target."""

    def __init__(
        self,
        sample: Sample,
        keyed: NDArray[np.bool_],
        target: _Target,
        generator: np.random.Generator,
    ) -> None:
        self.sample, self.keyed, self.target = sample, keyed, target
        self.generator = generator
        size = np.abs(sample.y[keyed]) ** target.power
        self.goal = np.sign(sample.y[keyed]) if target.power % 2 else np.ones(int(keyed.sum()))
        scaled = target.features[keyed] / size[:, None]
        norm = np.median(np.abs(scaled), axis=0)
        self.norm = np.where(norm > 0, norm, 1.0)
        self.scaled = scaled / self.norm
        half = np.maximum(sample.half, 1e-5 * np.abs(sample.y))[keyed]
        self.weights = np.abs(sample.y[keyed]) / (half * abs(target.power))
        self.kept: NDArray[np.int64] = np.zeros((1, 0), dtype=np.int64)

    def with_terms(self, terms: int) -> Surface | None:
        n, m = self.scaled.shape
        if terms > m or n < terms + 6:
            return None
        supports = self._supports(terms)
        if not len(supports):
            return None
        draws = trial_rows(self.generator, n, terms, PAIR_DRAWS if terms < 3 else MORE_DRAWS)
        reached, coefficients = least_quantile(self.scaled, self.goal, supports, draws)
        order = np.argsort(reached, kind="stable")
        self.kept = supports[order[: BEAM.get(terms + 1, 1)]]
        near: Surface | None = None
        for i in order[:3]:
            surface = self._surface(supports[i], coefficients[i], m)
            if surface is not None and surface.exact:
                return surface
            near = near or surface
        return near

    def _supports(self, terms: int) -> NDArray[np.int64]:
        m = self.scaled.shape[1]
        if terms <= 2:
            combos = list(itertools.combinations(range(m), terms))
            found = np.array(combos, dtype=np.int64).reshape(-1, terms)
        else:
            grown = {
                tuple(sorted((*row, j)))
                for row in self.kept.tolist()
                for j in range(m)
                if j not in row
            }
            found = np.array(sorted(grown), dtype=np.int64).reshape(-1, terms)
        plain = ~self.target.of_key[found]
        return found[plain.any(axis=1)] if len(found) else found

    def _surface(self, support: NDArray[np.int64], start: Floats, m: int) -> Surface | None:
        sample, keyed, target = self.sample, self.keyed, self.target
        if not np.isfinite(start).all():
            return None
        features = self.scaled[:, support]
        found, leverage = polish(features, self.goal, self.weights, start)
        if not np.isfinite(found).all():
            return None
        c = found / self.norm[support]
        of_key = target.of_key[support]
        y = sample.y
        value = self._value(sample, support, c)
        whole = np.full(len(sample), np.inf)
        with np.errstate(all="ignore"):
            ratio = np.abs(y[keyed] / value[keyed])
            whole[keyed] = leverage * np.minimum(ratio, 1.0) ** 2
        tried = 10.0 * float(m) ** len(support)
        words = _WORDS[target.power]
        form = "a quotient of sums" if of_key.any() else "a sum"
        texts = [target.texts[i] for i in support]
        says = f"{words}{form} of multiples of {', '.join(texts)}"
        rounded = sample.rounded_by(self._spread(support, c, value))
        return believe(rounded, value, whole, len(support), tried, says)

    def _value(self, sample: Sample, support: NDArray[np.int64], c: Floats) -> Floats:
        """What the form says of each sibling, (n,); NaN where it has no value."""
        target, of_key = self.target, self.target.of_key[support]
        with np.errstate(all="ignore"):
            products = _made(_base(sample)[0], target.exponents[support])
            top = products[:, ~of_key] @ c[~of_key]
            # a column times the key: the same product without it, moved to the left
            below = 1.0 - products[:, of_key] @ c[of_key]
            value = top / below
            if target.power < 0:
                value = 1.0 / value
            if abs(target.power) == 2:
                value = np.sqrt(value) * _majority_sign(sample.y)
            if of_key.any():
                value = np.where(np.abs(below) > 1e-3, value, np.nan)
        return np.asarray(value)

    def _spread(self, support: NDArray[np.int64], c: Floats, value: Floats) -> Floats:
        """How far off the value may be where answers it rests on are rounded, (n,)."""
        sample, total = self.sample, np.zeros(len(self.sample))
        for j in np.flatnonzero(sample.noise.any(axis=0)).tolist():
            moved = sample.x.copy()
            moved[:, j] += sample.noise[:, j]
            with np.errstate(invalid="ignore", over="ignore"):
                total += (self._value(replace(sample, x=moved), support, c) - value) ** 2
        return np.asarray(np.sqrt(total))


def _majority_sign(y: Floats) -> float:
    return 1.0 if np.count_nonzero(y > 0) * 2 >= len(y) else -1.0


# ---------------------------------------------------------------------------- products


def _targets(sample: Sample, most: int) -> Iterator[_Target]:
    dimension = sample.dimension
    for power in (1, -1, 2, -2):
        own = None if dimension is None else dimension**power
        products, texts, rows = _products(sample, own, most)
        if products.shape[1]:
            plainly = np.zeros(products.shape[1], dtype=np.bool_)
            yield _Target(power, products, plainly, texts, rows)
    plain, texts, rows = _products(sample, dimension, most // 2)
    ratios, names, more = _products(sample, DIMENSIONLESS, most // 2, constants=False)
    moves = np.ptp(ratios, axis=0) > 0 if len(ratios) else np.zeros(0, dtype=np.bool_)
    varying = ratios[:, moves]
    texts += tuple(name for name, kept in zip(names, moves, strict=True) if kept)
    if plain.shape[1] and varying.shape[1]:
        features = np.column_stack([plain, varying * sample.y[:, None]])
        of_key = np.arange(features.shape[1]) >= plain.shape[1]
        yield _Target(1, features, of_key, texts, np.concatenate([rows, more[moves]]))


def _products(
    sample: Sample, dimension: Dimension | None, most: int, *, constants: bool = True
) -> tuple[Floats, tuple[str, ...], NDArray[np.int64]]:
    """Products (n, m) of the numbers that have a dimension, the simplest first, their texts, and
    their exponents (m, b).

    Angles come as their sine and cosine. Where no dimension is known, products of any are taken.
    """
    base, dims, labels = _base(sample)
    exponents = _exponents(base.shape[1])
    if dimension is not None:
        mine = exponents.astype(np.float64) @ np.array(
            [[float(e) for e in d.exponents] for d in dims]
        ).reshape(len(dims), 7)
        fits = np.zeros(len(exponents), dtype=np.bool_)
        for hidden in _hidden(sample) if constants else [DIMENSIONLESS]:
            want = np.array([float(e) for e in (dimension / hidden).exponents])
            fits |= (np.abs(mine - want) < 1e-9).all(axis=1)
        exponents = exponents[fits]
    exponents = exponents[: 2 * most]
    with np.errstate(all="ignore"):
        made = _made(base, exponents)
    good = np.flatnonzero(np.isfinite(made).all(axis=0) & made.any(axis=0))[:most].tolist()
    texts = tuple(
        product_text((label, int(e)) for label, e in zip(labels, exponents[i], strict=True) if e)
        or "1"
        for i in good
    )
    return made[:, good], texts, exponents[good]


def _made(base: Floats, exponents: NDArray[np.int64]) -> Floats:
    """Products (n, m) of factors (n, b) with exponents (m, b)."""
    if not len(exponents):
        return np.zeros((len(base), 0))
    columns = [np.prod(base**row, axis=1) for row in exponents.astype(np.float64)]
    return np.column_stack(columns)


def _base(sample: Sample) -> tuple[Floats, list[Dimension], list[str]]:
    """Factors (n, b), their dimensions and texts."""
    factors, dims, labels = [], [], []
    for j in range(min(sample.x.shape[1], _MOST_COLUMNS)):
        x = sample.x[:, j]
        made = [np.sin(x), np.cos(x)] if sample.angles[j] else [x]
        own = sample.labels[j]
        labels += [f"sin {own}", f"cos {own}"] if sample.angles[j] else [own]
        for factor in made:
            factors.append(factor)
            dims.append(DIMENSIONLESS if sample.angles[j] else sample.dimensions[j])
    return np.column_stack(factors), dims, labels


@lru_cache(maxsize=16)
def _exponents(count: int) -> NDArray[np.int64]:
    """Exponents (e, count) of at most four factors, of sum of sizes at most 5, simplest first."""
    rows = np.array(list(itertools.product(_POWERS, repeat=min(count, 7))), dtype=np.int64)
    rows = np.pad(rows, ((0, 0), (0, count - rows.shape[1])))
    size = np.abs(rows).sum(axis=1)
    rows = rows[(size <= 5) & (np.count_nonzero(rows, axis=1) <= 4)]
    below = np.where(rows < 0, -rows, 0).sum(axis=1)
    order = np.lexsort((below, np.abs(rows).sum(axis=1)))
    return np.asarray(rows[order], dtype=np.int64)


def _hidden(sample: Sample) -> list[Dimension]:
    """Dimensions of what may stand as a constant in every key: nothing, the free-fall
    acceleration, the gas constant where there are temperatures, and the numbers that are the same
    in all siblings."""
    single = dict.fromkeys((*sample.constants, parse_unit("m/s^2").dimension))
    if len(single) < _MOST_HIDDEN and _KELVIN in sample.dimensions:
        single[_GAS] = None
    powers = [DIMENSIONLESS, *(d**e for d in single for e in (1, -1, 2, -2))]
    pairs = (
        [a * b for a, b in itertools.combinations(powers[1:], 2)]
        if len(single) <= _MOST_HIDDEN
        else []
    )
    return list(dict.fromkeys([*powers, *pairs]))
