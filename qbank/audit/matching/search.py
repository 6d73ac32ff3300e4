"""Readings tried: all at once, first on some siblings, then the promising ones on more."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from qbank.audit.constants import other_values
from qbank.audit.matching.agreement import LOOSE_SHARE
from qbank.audit.matching.bundles import BARE, Bundle, Part, kind
from qbank.audit.matching.readings import Reading, fits, readings, si
from qbank.audit.matching.words import kinship
from qbank.audit.question import Floats
from qbank.audit.resolving import Resolver
from qbank.expressions.units import Unit

FIRST_ROWS = 16  # of each part; with a third of the keys wrong, fewer than 1 in 500 draws miss
FIRST_SHARE = 0.34  # of these must come near
ROWS = 160  # of each part, on which candidates compete
FEW = 7  # up to so many keys the text may decide
# Of so few items numbers prove nothing; the text must, with such a share of the family's content
# words (`words.kinship`). Questions in other words than the family's share 0.29 and more.
ALONE = 2
KIN = 0.25
_WHOLE = 12  # readings that explain every number, kept of one family and set of givens
_SURVIVORS = 10  # of one family and set of givens
_VARIED = 3  # survivors whose constants are varied
# Where the bank states no unit: the family's, and what is often used in its place.
_FACTORS = (1.0, 1e3, 1e-3, 1e2, 1e-2, 1e6, 1e-6)


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A reading of a bundle by a family.

    constants  fixed givens taken otherwise than the family does
    answers    unknown -> (N,), SI; NaN where there is none
    looked     (N,), rows that were tried and hold all numbers of the reading
    """

    resolver: Resolver
    reading: Reading
    constants: Mapping[str, float]
    answers: Mapping[str, Floats]
    looked: NDArray[np.bool_]


@dataclass(slots=True)
class Found:
    """What a search gives; `tried` readings, units and unknowns included; `fitting` families
    whose units the numbers suffice for."""

    candidates: list[Candidate] = field(default_factory=list)
    tried: int = 0
    fitting: int = 0


def compatible(part: Part, resolver: Resolver) -> list[tuple[str, float]]:
    """The unknowns a part may ask for, each with the factors from its numbers to SI."""
    found = []
    for name, unknown in resolver.family.find.items():
        own = part.group.key_unit
        if own is None:
            found += [(name, unknown.unit.factor * factor) for factor in _factors(unknown.unit)]
        elif fits(kind(own), kind(unknown.unit)):
            found.append((name, 1.0))
    return found


def _factors(unit: Unit) -> tuple[float, ...]:
    if unit.offset:
        return (1.0,)
    return _FACTORS if unit.text and kind(unit) != BARE else (1.0, 0.01, 100.0)


def search(bundle: Bundle, resolvers: Sequence[Resolver]) -> Found:
    """Candidates for a bundle, from all families that its units allow."""
    found = Found()
    rows = _spread(bundle, FIRST_ROWS)
    more = _spread(bundle, ROWS)
    for resolver in resolvers:
        if len(bundle) <= ALONE and kinship(bundle.words, resolver.family) < KIN:
            continue
        wanted = {name for part in bundle.parts for name, _ in compatible(part, resolver)}
        sets = {resolver.needs[name] for name in wanted}
        fitting = False
        for needed in sorted(sets, key=lambda names: (-len(names), sorted(names))):
            if not needed & (resolver.scalars.keys() | resolver.lists.keys()):
                continue
            tried = readings(bundle, resolver, needed & _stated(resolver))
            tried = [reading for reading in tried if reading.columns]
            if not tried:
                continue
            fitting = True
            unknowns = [name for name in wanted if resolver.needs[name] <= needed]
            hits, units = _first_look(bundle, resolver, tried, rows, sorted(unknowns))
            found.tried += len(tried) * units
            order = sorted(range(len(tried)), key=lambda at: (-hits[at], at))
            kept = [tried[at] for at in order[:_SURVIVORS] if hits[at] > 0]
            # what the text recommends most stays, for small groups
            kept += [reading for reading in tried[:1] if reading not in kept]
            found.candidates += _candidates(bundle, resolver, kept, more, needed)
            if len(bundle) <= FEW:
                found.candidates += _whole(bundle, resolver, kept, more, needed)
        found.fitting += fitting
    return found


def _whole(
    bundle: Bundle,
    resolver: Resolver,
    kept: Sequence[Reading],
    rows: NDArray[np.intp],
    needed: frozenset[str],
) -> list[Candidate]:
    """Candidates that explain every number of a stem, also those the unknowns do not hang on."""
    stated = _stated(resolver)
    tried = readings(bundle, resolver, stated, optional=stated - needed)
    whole = [
        reading
        for reading in tried
        if sum(map(len, reading.columns.values())) == len(bundle.kinds)
        and not any(reading.columns == other.columns for other in kept)
    ]
    return _candidates(bundle, resolver, whole[:_WHOLE], rows, needed) if whole else []


def _stated(resolver: Resolver) -> frozenset[str]:
    return frozenset(resolver.scalars.keys() | resolver.lists.keys())


def _spread(bundle: Bundle, most: int) -> NDArray[np.intp]:
    """Rows that serve each part with up to `most` keys, spread evenly over their sizes, so that
    the choice does not hang on the order of the bank."""
    chosen: set[int] = set()
    for part in bundle.parts:
        known = np.flatnonzero(np.isfinite(part.keys))
        if len(known) > most:
            numbers = bundle.values[part.rows[known]].T
            order = known[np.lexsort((*numbers, part.keys[known]))]
            known = order[np.linspace(0, len(order) - 1, most).round().astype(int)]
        chosen.update(part.rows[known].tolist())
    return np.array(sorted(chosen), dtype=np.intp)


def columns_of(bundle: Bundle, resolver: Resolver, name: str, columns: tuple[int, ...]) -> Floats:
    """A given's values in the stems, (N,) or for a data list (N, m), SI."""
    if name in resolver.scalars:
        return si(bundle, columns[0], resolver.scalars[name])
    datum = resolver.lists[name]
    whole = np.stack([si(bundle, column, datum) for column in columns], axis=1)
    return np.take_along_axis(whole, np.argsort(np.isnan(whole), axis=1, kind="stable"), axis=1)


def solve(
    bundle: Bundle,
    resolver: Resolver,
    tried: Sequence[tuple[Reading, Mapping[str, float]]],
    rows: NDArray[np.intp],
    names: frozenset[str],
) -> dict[str, Floats]:
    """Unknown -> answers (readings, rows) of all readings, solved in one call."""
    values: dict[str, Floats] = {}
    read: dict[tuple[str, tuple[int, ...]], Floats] = {}
    for name in sorted(names):
        blocks = []
        for reading, constants in tried:
            columns = reading.columns.get(name)
            if columns is None:
                fixed = constants.get(name, resolver.scalars[name].fixed)
                blocks.append(np.full(len(rows), math.nan if fixed is None else fixed))
                continue
            if (name, columns) not in read:
                read[name, columns] = columns_of(bundle, resolver, name, columns)[rows]
            blocks.append(read[name, columns])
        if name in resolver.lists:
            width = max(block.shape[-1] for block in blocks)
            blocks = [
                np.pad(block, ((0, 0), (0, width - block.shape[-1])), constant_values=math.nan)
                for block in blocks
            ]
        values[name] = np.concatenate(blocks)
    with np.errstate(all="ignore"):
        solved = resolver.solve(values, len(tried) * len(rows))
    return {
        name: answers.reshape(len(tried), len(rows)) for name, answers in solved.answers.items()
    }


def _first_look(
    bundle: Bundle,
    resolver: Resolver,
    tried: Sequence[Reading],
    rows: NDArray[np.intp],
    unknowns: Sequence[str],
) -> tuple[Floats, int]:
    """How well each reading does on a few rows: over all parts the share of keys it comes near,
    none counted that comes near few; and how many unknowns and units were looked at."""
    names = frozenset().union(*(resolver.needs[name] for name in unknowns)) & _stated(resolver)
    answers = solve(bundle, resolver, [(reading, {}) for reading in tried], rows, names)
    at = np.full(len(bundle), -1)
    at[rows] = np.arange(len(rows))
    total = np.zeros(len(tried))
    looked = 0
    for part in bundle.parts:
        own = np.flatnonzero((at[part.rows] >= 0) & np.isfinite(part.keys))
        if not len(own):
            continue
        best = np.zeros(len(tried))
        for name, factor in compatible(part, resolver):
            if name not in unknowns:
                continue
            looked += 1
            keys = scaled(part, factor, resolver.family.find[name].unit)[own]
            near = np.maximum(LOOSE_SHARE * np.abs(keys), 3 * part.width.tight[own] * abs(factor))
            apart = np.abs(answers[name][:, at[part.rows[own]]] - keys)
            best = np.maximum(best, (apart <= near).mean(axis=1))
        total += np.where(best >= FIRST_SHARE, best, 0.0)
    return total, max(1, looked)


def scaled(part: Part, factor: float, unit: Unit) -> Floats:
    """The keys of a part in SI; `factor` counts where the group has no unit of answers."""
    if part.group.key_unit is not None:
        return part.keys
    return part.keys * factor + unit.offset


def _candidates(
    bundle: Bundle,
    resolver: Resolver,
    kept: Sequence[Reading],
    rows: NDArray[np.intp],
    needed: frozenset[str],
) -> list[Candidate]:
    tried: list[tuple[Reading, Mapping[str, float]]] = [(reading, {}) for reading in kept]
    for reading in kept[:_VARIED]:
        for name in sorted(needed):
            datum = resolver.scalars.get(name)
            if datum is None or datum.fixed is None or name in reading.columns:
                continue
            tried += [
                (reading, {name: other.si}) for other in other_values(resolver.family.given[name])
            ]
    answers = solve(bundle, resolver, tried, rows, needed & _stated(resolver))
    out = []
    for at, (reading, constants) in enumerate(tried):
        whole = {}
        for name, found in answers.items():
            if resolver.needs[name] <= needed:
                whole[name] = np.full(len(bundle), math.nan)
                whole[name][rows] = found[at]
        looked = np.zeros(len(bundle), dtype=np.bool_)
        looked[rows] = True
        for columns in reading.columns.values():
            looked &= np.isfinite(bundle.values[:, columns]).any(axis=1)
        out.append(Candidate(resolver, reading, constants, whole, looked))
    return out
