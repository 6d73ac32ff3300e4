"""The right formula with another number put in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, permutations

import numpy as np

from qbank.audit.causes.work import Alternative, Floats, Work, told
from qbank.audit.constants import family_constants
from qbank.expressions.units import DIMENSIONLESS, Unit, parse_unit

_LENGTH = parse_unit("m").dimension
_ANGLES = ("°", "rad", "mrad")


def other_constant(work: Work) -> Iterator[Alternative]:
    """Another value of a constant that the stem states."""
    for name, others in family_constants(work.resolver.family).items():
        if name in work.stated:
            for other in others:
                said = f"{name} = {other.text} is put in, not the value the stem states"
                yield Alternative("constant", work.again({name: other.si}), 68.0, told(said), 2)


def given_for_given(work: Work) -> Iterator[Alternative]:
    """One given put in for another of its kind, or both exchanged."""
    data = {name: d for name, d in work.resolver.scalars.items() if name in work.values}
    for a, b in combinations(data, 2):
        if data[a].unit.dimension != data[b].unit.dimension:
            continue
        if (data[a].unit.text in _ANGLES) != (data[b].unit.text in _ANGLES):
            continue
        both = work.again({a: work.values[b], b: work.values[a]})
        yield Alternative("givens-swapped", both, 64.0, told(f"{a} and {b} are exchanged"))
    for a, b in permutations(data, 2):
        if data[a].unit.dimension == data[b].unit.dimension:
            once = work.again({a: work.values[b]})
            said = f"{b} is put in for {a} as well"
            yield Alternative("given-twice", once, 62.0, told(said))


def half_or_double(work: Work) -> Iterator[Alternative]:
    """A diameter taken for a radius, or another factor of two."""
    for name, datum in work.resolver.scalars.items():
        if name not in work.values:
            continue
        length = datum.unit.dimension == _LENGTH
        for factor, says in ((2.0, "twice"), (0.5, "half of")):
            said = f"{says} {name}, {datum.meaning}, is put in"
            if length:
                said += ", as when a radius and a diameter are taken for each other"
            values = work.again({name: work.values[name] * factor})
            yield Alternative("half-or-double", values, 60.0 if length else 38.0, told(said), 2)


def changed_given(work: Work) -> Iterator[Alternative]:
    """A given left out, with its sign turned, or an angle's complement."""
    for name, datum in work.resolver.scalars.items():
        if name not in work.values:
            continue
        value = work.values[name]
        turned = told(f"the sign of {name} is turned")
        yield Alternative("given-sign", work.again({name: -value}), 48.0, turned, 2)
        if not datum.unit.offset:
            zero = np.zeros(len(work))
            said = told(f"{name} is left out, as if it were zero")
            yield Alternative("given-dropped", work.again({name: zero}), 50.0, said, 2)
        if datum.unit.text in _ANGLES:
            for whole, word in ((math.pi / 2, "90°"), (math.pi, "180°")):
                said = told(f"{word} minus {name} is put in for {name}")
                yield Alternative("complement", work.again({name: whole - value}), 58.0, said, 2)


def other_answer(work: Work) -> Iterator[Alternative]:
    """The key of another part of the item, or a number found on the way."""
    family = work.resolver.family
    for name, values in work.resolved.answers.items():
        if name != work.unknown:
            own = family.find[name]
            for shown in _both(work, values, own.unit):
                said = told(f"this is the answer for {name}, {own.meaning}")
                yield Alternative(f"other-part:{name}", shown, 78.0, said, 2)
    for name, let in family.let.items():
        for shown in _both(work, work.resolved.values[name], let.unit):
            said = told(f"this is {name}, {let.meaning}, found on the way")
            yield Alternative("intermediate", shown, 46.0, said, 3)


def _both(work: Work, values: Floats, unit: Unit) -> list[Floats]:
    """SI values in the unit of the key and, where that differs, in their own."""
    shown = work.shown(values)
    own = unit.from_si(values)
    return [shown] if np.allclose(shown, own, rtol=1e-9, equal_nan=True) else [shown, own]


def neighbours(work: Work) -> Iterator[Alternative]:
    """The key of the item before or after, of any sibling, or a number of a neighbour's data."""
    whole = work if work.whole is None else work.whole
    rows = np.arange(len(work)) if work.rows is None else work.rows
    n = len(whole)
    if n < 2:
        return
    order = np.argsort([q.number for q in whole.questions], kind="stable")
    rank = np.empty(n, dtype=np.int64)
    rank[order] = np.arange(n)
    si = whole.resolved.answers[work.unknown]
    for step, word in ((-1, "before"), (1, "after")):
        at = rank[rows] + step
        near = order[np.clip(at, 0, n - 1)]
        inside = (at >= 0) & (at < n)
        values = np.where(inside, work.shown(si[near]), np.nan)
        said = told(f"this is the answer of the item {word} it")
        yield Alternative("neighbour-key", values, 77.0, said, 2)
        for name, column in whole.values.items():
            if name in work.resolver.scalars and work.resolver.scalars[name].fixed is None:
                taken = np.where(inside, column[near], np.nan)
                found = work.again({name: taken})
                said = told(f"{name} is that of the item {word} it")
                yield Alternative("neighbour-data", found, 30.0, said, 3)
    yield _any_sibling(work, si, rows)


def _any_sibling(work: Work, si: Floats, rows: np.ndarray) -> Alternative:
    """The answer of a sibling further away, where so many figures can hardly agree by chance."""
    values = np.full(len(work), np.nan)
    which: dict[int, int] = {}
    for row in range(len(work)):
        if len(si) > 10.0 ** min(int(work.keys.figures[row]), 15) / 20:
            continue
        factor = work.units[row]
        shown = factor.from_si(si)
        room = 0.5 * 10.0 ** float(work.keys.loose[row])
        with np.errstate(invalid="ignore"):
            near = np.flatnonzero(np.abs(shown - work.keys.value[row]) <= room)
        near = near[near != rows[row]]
        if len(near):
            values[row] = shown[near[0]]
            which[row] = int(near[0])
    whole = work if work.whole is None else work.whole

    def says(row: int) -> str:
        return f"this is the answer of the item {whole.questions[which[row]].item}"

    return Alternative("sibling-key", values, 52.0, says, 3)


def is_pure(unit: Unit) -> bool:
    """Whether a unit is that of a pure number and no angle."""
    return unit.dimension == DIMENSIONLESS and unit.text not in _ANGLES
