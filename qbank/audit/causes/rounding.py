"""Keys that come of rounding on the way, as an author with a pocket calculator does.

Numbers on the way may have been rounded, or cut: the same way at all steps, to as many figures or
as many decimals, or at one step alone. They may also have been found in full, as a machine does
it, and only been carried on rounded, such as the coefficients of a fitted line. What is tried is
kept small, and a key must be met to every digit written, because a search that is free enough
reaches any number. Whoever cuts digits off keeps one more than the key has; whoever rounds may
keep fewer, but three where the key has three or more, or two where they are what a fixed number of
decimals leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from qbank.audit.causes.work import Floats, Mask, Work
from qbank.audit.causes.working import Path, Way
from qbank.audit.resolving import Resolver
from qbank.expressions.spelling import spell
from qbank.expressions.tree import Binary, Call, Node, Number

FIGURES = (6, 5, 4, 3, 2)
DECIMALS = (5, 4, 3, 2, 1, 0)
_TABLES = DECIMALS[:4]  # to which functions are tabulated
_LEAST_DECIMALS = 2  # with which two figures may be left
FARTHEST = 0.05  # of the answer; beyond it a key is wrong, however it came about
FARTHEST_UNITS = 1.25  # last digits, for a key of two figures, which any search would meet
NEAR = 0.01  # of the answer, within which three figures of a key allow two on the way

_paths: WeakKeyDictionary[Resolver, dict[str, list[tuple[Mask, Path]]]] = WeakKeyDictionary()


def paths_of(resolver: Resolver, unknown: str) -> list[tuple[Mask, Path]]:
    """The paths to an unknown, and which cases (positions in `family.cases`) share each."""
    kept = _paths.setdefault(resolver, {})
    if unknown not in kept:
        kept[unknown] = [
            (member, Path(resolver, unknown, path.stages)) for member, path in resolver.honest.paths
        ]
    return kept[unknown]


def truth_of(work: Work) -> dict[str, Floats]:
    """All true values of the rows, constants of their cases included."""
    cases = work.resolver.family.cases
    at = np.maximum(work.resolved.case, 0)
    env = {**work.resolved.values, **work.resolved.answers}
    for name in {name for case in cases for name in case.constants}:
        env[name] = np.array([case.constants.get(name, np.nan) for case in cases])[at]
    return env


def rounded_on_the_way(work: Work) -> list[str]:
    """For each row how rounding leads to its key; empty where no plausible rounding does."""
    out = [""] * len(work)
    for member, path in paths_of(work.resolver, work.unknown):
        rows = np.flatnonzero(member[np.maximum(work.resolved.case, 0)])
        if len(rows):
            for row, says in zip(rows.tolist(), _explained(work.take(rows), path), strict=True):
                out[row] = says
    return out


def _explained(work: Work, path: Path) -> list[str]:
    keys, n = work.keys, len(work)
    figures = keys.figures
    with np.errstate(invalid="ignore", divide="ignore"):
        off = np.abs(keys.value - work.answer)
        near = off <= FARTHEST * np.abs(work.answer)
        near &= (figures > 2) | (off <= FARTHEST_UNITS * np.power(10.0, keys.loose))
    near &= figures >= 2
    least = np.where(figures <= 2, 2, np.maximum(3, figures - 2)).astype(np.float64)
    with np.errstate(invalid="ignore"):
        few = (figures >= 4) | (off <= NEAR * np.abs(work.answer))
    loose = np.where(few, np.minimum(least, 2.0), least)
    says = [""] * n
    open_rows = near.copy()
    truth = truth_of(work)
    for trial in _trials(path):
        if not open_rows.any():
            break
        way = trial.way
        need = np.maximum(least, figures + 1.0) if way.cut else loose if trial.few else least
        found = path.run(
            truth, n, way, need, stages=trial.stages, places=trial.places, last=trial.last
        )
        met = open_rows & keys.matches(work.shown(found))
        for row in np.flatnonzero(met).tolist():
            says[row] = f"{trial.where} {way}"
        open_rows &= ~met
    return says


@dataclass(frozen=True, slots=True)
class _Trial:
    """Numbers rounded in a `way`: those of `stages`, and within formulas those of `places`.

    where  what is rounded, in words, ready for the way
    last   as for `Path.run`
    few    whether two figures may be left
    """

    way: Way
    where: str
    stages: frozenset[str] = frozenset()
    places: frozenset[Node] = frozenset()
    last: int | None = None
    few: bool = False


def _trials(path: Path) -> Iterator[_Trial]:
    """What is tried, the most plausible first."""
    everything = frozenset(path.intermediates)
    asked = everything & path.family.find.keys()
    functions = frozenset(p for p in path.places if isinstance(p, Call))
    inner = frozenset(path.places)
    for cut in (False, True):
        by_figures = [Way(f, None, cut) for f in FIGURES]
        by_decimals = [Way(None, d, cut) for d in DECIMALS]
        for way in [*by_figures, *by_decimals]:
            if everything:
                yield _Trial(way, "all intermediate values are", everything, few=_few(way))
        if not cut:
            yield from _carried(path, [*by_figures, *by_decimals])
            if asked and asked < everything:
                for way in [*by_figures, *by_decimals]:
                    yield _Trial(way, "answers to other parts are", asked, few=_few(way))
        for way in [*by_figures, *(Way(None, d, cut) for d in _TABLES)]:
            if functions:
                yield _Trial(way, "values of functions on the way are", everything, functions)
            if inner:
                yield _Trial(way, "the result of every operation is", everything, inner)
        for name in path.intermediates:
            named = path.family.let.get(name) or path.family.find.get(name)
            called = f"{name} is" if named else "a number written on the way is"
            for way in by_figures:
                if len(everything) > 1:
                    yield _Trial(way, called, frozenset([name]))
    for places, called in _alike(path):
        for way in [Way(f, None, cut=False) for f in FIGURES]:
            yield _Trial(way, called, places=places)
    for way in [Way(f, None, cut=False) for f in FIGURES]:
        for place in path.places:
            yield _Trial(way, f"{spell(place)} is", places=frozenset([place]))


def _alike(path: Path) -> Iterator[tuple[frozenset[Node], str]]:
    """Two or more numbers within formulas that a table would give side by side: the values of one
    function, or reciprocals."""
    found: dict[str, list[Node]] = {}
    for place in path.places:
        if isinstance(place, Call):
            found.setdefault(f"all values of {place.function} are", []).append(place)
        elif isinstance(place, Binary) and place.operator == "/" and isinstance(place.left, Number):
            found.setdefault("all reciprocals are", []).append(place)
    for called, places in found.items():
        if len(places) > 1:
            yield frozenset(places), called


def _few(way: Way) -> bool:
    return way.decimals is not None and way.decimals >= _LEAST_DECIMALS


def _carried(path: Path, ways: Sequence[Way]) -> Iterator[_Trial]:
    """Two or more values found by exact working, as a machine does it, and carried on rounded."""
    for last, names in path.carried:
        called = [n for n in names if n in path.family.let or n in path.family.find]
        where = " and ".join(called) if len(called) == len(names) == 2 else "values on the way"
        where = f"{where} are worked out in full and then"
        for way in ways:
            yield _Trial(way, where, frozenset(names), last=last, few=_few(way))
