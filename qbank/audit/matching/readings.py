"""Which number is which given: assignments in the order in which words and sizes recommend them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from qbank.audit.matching.bundles import BARE, PURE, Bundle, Kind, kind
from qbank.audit.matching.words import vocabulary
from qbank.audit.question import Floats
from qbank.audit.resolving import Datum, Resolver
from qbank.family.model import Family, Grid, Listed

MOST = 800  # assignments tried of one family and set of givens: six of one kind in any order
_CHOICES = 14  # numbers of one kind looked at for a given, the likeliest first
_SHORT = 6  # a longer list is one of data, not of several givens
_NEAR = 0.2  # a number this near to a constant of its dimension may be that constant
_SIZE = 0.3  # what a plausible size is worth, beside words

Columns = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """Given -> its columns (several for a data list); fixed givens that no number states are left
    out. `score` says how well words and sizes fit."""

    columns: Mapping[str, Columns]
    score: float


def readings(
    bundle: Bundle,
    resolver: Resolver,
    needed: frozenset[str],
    most: int = MOST,
    optional: frozenset[str] = frozenset(),
) -> list[Reading]:
    """Assignments of columns to all of `needed` that are neither fixed nor `optional`, the
    likeliest first.

    A beam search: givens one after the other, those with the fewest columns to choose from first,
    of which the best `most` are kept. Empty where the numbers or their units do not suffice.
    """
    family = resolver.family
    options: list[tuple[str, list[tuple[Columns, float]]]] = []
    data = {name: resolver.scalars.get(name) or resolver.lists[name] for name in sorted(needed)}
    for name, datum in data.items():
        found = _options(bundle, family, datum, data)
        free = datum.fixed is not None or name in optional
        if not found and not free:
            return []
        if free:
            found.append(((), 0.0))
        options.append((name, found))
    options.sort(
        key=lambda entry: (
            data[entry[0]].fixed is not None, entry[0] in optional, len(entry[1]), entry[0]
        )
    )  # fmt: skip
    # minus the score, the columns of each given so far, and a bit for each column used
    beam: list[tuple[float, tuple[Columns, ...], int]] = [(0.0, (), 0)]
    for _, choices in options:
        bits = [(own, worth, sum(1 << column for column in own)) for own, worth in choices]
        beam = [
            (cost - worth, (*columns, own), used | mask)
            for cost, columns, used in beam
            for own, worth, mask in bits
            if not used & mask
        ]
        beam.sort()
        del beam[most:]
    names = [name for name, _ in options]
    return [
        Reading({name: own for name, own in zip(names, columns, strict=True) if own}, -cost)
        for cost, columns, _ in beam
    ]


def _options(
    bundle: Bundle, family: Family, datum: Datum, data: Mapping[str, Datum]
) -> list[tuple[Columns, float]]:
    """The columns a given may stand in, each with its worth."""
    wanted = kind(datum.unit)
    own = vocabulary(family)
    candidates: list[Columns]
    if datum.listed:
        candidates = [run for run in bundle.runs if fits(bundle.kinds[run[-1]], wanted)]
        candidates = candidates or [run for run in bundle.runs if bundle.kinds[run[-1]] == BARE]
    else:
        listed = {column for run in bundle.runs if len(run) > _SHORT for column in run}
        single = [(c, found) for c, found in enumerate(bundle.kinds) if c not in listed]
        candidates = [(c,) for c, found in single if fits(found, wanted)]
        rivals = [
            other
            for other in data.values()
            if other.fixed is None and not other.listed and kind(other.unit) == wanted
        ]
        if datum.fixed is not None:
            candidates = _near_constant(bundle, datum.fixed, candidates)
        elif len(candidates) < len(rivals):  # numbers without a unit stand in
            candidates += [(c,) for c, found in single if found == BARE]
    meaning, symbols = own.meaning[datum.name], own.symbols[datum.name]
    found = []
    for columns in candidates:
        worth = bundle.contexts[columns[0]].score(meaning, symbols)
        if datum.listed:
            worth = max(worth, bundle.contexts[columns[-1]].score(meaning, symbols))
        elif datum.fixed is None:
            worth += _SIZE * plausible(bundle, columns[0], family, datum)
        else:  # a number that can be the constant most likely is
            worth += 1.0
        found.append((columns, worth))
    found.sort(key=lambda entry: (-entry[1], entry[0]))
    return found[:_CHOICES]


def fits(found: Kind, wanted: Kind) -> bool:
    """Whether a number of one kind can be a quantity of another."""
    return found == wanted or (wanted == PURE and found in (BARE, PURE))


def _near_constant(bundle: Bundle, fixed: float, candidates: list[Columns]) -> list[Columns]:
    """The columns that can be a constant: near its value, or the only one of its dimension."""
    near = []
    for columns in candidates:
        numbers = bundle.values[:, columns[0]]
        numbers = numbers[np.isfinite(numbers)]
        if len(numbers) and np.all(np.abs(numbers - fixed) <= _NEAR * abs(fixed)):
            near.append(columns)
    return near or (candidates if len(candidates) == 1 and fixed != 0 else [])


def plausible(bundle: Bundle, column: int, family: Family, datum: Datum) -> float:
    """1 where the numbers lie in the family's own range, 0 where they are a decade off."""
    source = family.given[datum.name].source
    if isinstance(source, Grid):
        ends = [source.first, source.first + source.step * (source.count - 1)]
        sizes = [abs(end) * 10.0**source.exponent for end in ends]
    elif isinstance(source, Listed):
        pairs = zip(source.mantissas, source.exponents, strict=True)
        sizes = [abs(mantissa) * 10.0**exponent for mantissa, exponent in pairs]
    else:
        return 0.0
    typical = float(bundle.sizes[column])
    if bundle.kinds[column] == BARE:
        typical = float(datum.unit.to_si(typical))
    offset = datum.unit.offset
    low, high = (float(datum.unit.to_si(size)) - offset for size in (min(sizes), max(sizes)))
    typical = abs(typical - offset)
    if not typical > 0 or not high > 0:
        return 0.0
    if low <= typical <= high:
        return 1.0
    off = np.log10(typical / high) if typical > high else np.log10(max(low, 1e-300) / typical)
    return float(max(0.0, 1.0 - off))


def si(bundle: Bundle, column: int, datum: Datum) -> Floats:
    """The numbers of a column as values of a given, SI; bare ones are in the family's unit, but
    for shares: 0.05 beside a level in percent is 5 %."""
    numbers = bundle.values[:, column]
    bare = bundle.kinds[column] == BARE and datum.unit.text
    if bare and kind(datum.unit) == PURE and np.nanmax(np.abs(numbers), initial=0.0) <= 1.0:
        return numbers
    return datum.unit.to_si(numbers) if bare else numbers
