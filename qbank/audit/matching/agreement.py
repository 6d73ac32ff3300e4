"""When a key agrees with an answer, and how likely so many agree by accident.

A key agrees within half a unit of its last written digit, or within half a percent, whichever is
wider: work with intermediate values rounded to three or four figures stays within that. Where the
bank accepts a band it counts instead of the half percent, up to 1 %, the width most banks use.

Accident. An answer that has nothing to do with a key falls within its tolerance with a
probability p. It is taken from the keys themselves, as the share of pairs of siblings whose keys
agree so, and not below what keys spread evenly would give. Of N questions with different answers
k agree by accident with the binomial tail P(X >= k). It is multiplied by the number of readings
tried (Bonferroni), and must come out below `MOST_CHANCE`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.audit.causes.work import written_places
from qbank.audit.options import counted_place
from qbank.audit.question import Floats, Group
from qbank.expressions.units import Unit

MOST_CHANCE = 1e-6  # a bank of a thousand wordings is misread once in a thousand such banks
LEAST_SHARE = 2 / 3  # of keys that must agree
SHARE = 0.005
WIDEST_SHARE = 0.01
LOOSE_SHARE = 0.03  # for a first look; another value of g (10 for 9.81) stays within
_ROUNDING = 1.02  # half a unit, and a little for what is exactly half-way
_SOME = 1 / 3  # of keys; where fewer agree, how likely that is does not matter
_PAIRS = 200  # siblings compared in pairs
_LEAST_P = 1e-4  # of an accident, whatever the spread


@dataclass(frozen=True, slots=True, eq=False)
class Widths:
    """Half-widths around the keys of a group, (n,), in the unit of `keys`, also where SI.

    tight  half a unit of the last written digit
    wide   as the module says
    """

    tight: Floats
    wide: Floats

    def scaled(self, factor: float) -> Widths:
        return Widths(self.tight * factor, self.wide * factor)


def widths(group: Group) -> Widths:
    """The half-widths of a group's keys, SI where the group has a unit of answers."""
    tight = np.zeros(len(group))
    wide = np.zeros(len(group))
    for row, question in enumerate(group.questions):
        half = half_unit(question.key_text, question.key)
        for option in question.options:
            if option.keyed and option.quantity is not None:
                half = 0.5 * 10.0 ** counted_place(option.quantity, question.options)
        share = SHARE * abs(question.key)
        if question.low <= question.key <= question.high:
            band = max(question.high - question.key, question.key - question.low)
            share = min(band, WIDEST_SHARE * abs(question.key))
        factor = _factor(question.unit or group.key_unit)
        tight[row] = half * _ROUNDING * factor
        wide[row] = max(half * _ROUNDING, share) * factor
    return Widths(tight, wide)


def half_unit(text: str, value: float) -> float:
    """Half a unit of the last written digit of a number such as "15.0" or "1.8e-5".

    Zeros at the end of a whole number may be figures or not; they are taken for figures.
    """
    place, _ = written_places(text, value)
    return 0.5 * 10.0 ** max(-300, min(300, place))


def _factor(unit: Unit | None) -> float:
    return 1.0 if unit is None else abs(unit.factor)


def accident(keys: Floats, tolerance: Floats) -> float:
    """The probability p that an answer to another question agrees with a key, 0 to 1."""
    known = np.flatnonzero(np.isfinite(keys))
    order = known[np.argsort(keys[known], kind="stable")]
    if len(order) < 2:
        # one key: as if keys spread over a factor of ten around it
        size = float(np.abs(keys[order]).sum())
        return float(np.clip(tolerance[order].sum() / size, _LEAST_P, 1.0)) if size else 1.0
    step = max(1, len(order) // _PAIRS)
    some = order[::step]
    apart = np.abs(keys[some][:, None] - keys[some][None, :])
    near = (apart <= tolerance[some][:, None]).sum() - len(some)
    pairs = near / (len(some) * (len(some) - 1))
    spread = float(keys[order[-1]] - keys[order[0]])
    even = float(np.mean(2 * tolerance[order])) / spread if spread > 0 else 1.0
    return float(np.clip(max(pairs, even), _LEAST_P, 1.0))


def tail(successes: int, trials: int, p: float) -> float:
    """log10 of the binomial tail P(X >= successes)."""
    if successes <= 0 or p >= 1:
        return 0.0
    terms = [
        math.lgamma(trials + 1)
        - math.lgamma(k + 1)
        - math.lgamma(trials - k + 1)
        + k * math.log(p)
        + (trials - k) * math.log1p(-p)
        for k in range(successes, trials + 1)
    ]
    top = max(terms)
    return min(0.0, (top + math.log(sum(math.exp(term - top) for term in terms))) / math.log(10))


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """How far answers agree with keys.

    counted   questions with a key and an answer
    agreeing  of these; `tight` within half a unit of the last digit
    near      disagreeing by less than four times the tolerance
    log10     of the chance of an accident, before the number of readings tried
    """

    counted: int
    agreeing: int
    tight: int
    near: int
    log10: float
    mask: NDArray[np.bool_]


def tally(answers: Floats, keys: Floats, width: Widths, had: int) -> Tally:
    """Compare answers with keys, both (n,); `had` questions have a key.

    Questions with the same answer are one piece of evidence: they agree if most of them do.
    """
    known = np.isfinite(answers) & np.isfinite(keys)
    apart = np.where(known, np.abs(answers - keys), np.inf)
    mask = apart <= width.wide
    tight = apart <= width.tight
    near = known & ~mask & (apart <= 4 * width.wide)
    rows = np.flatnonzero(known)
    chance = 0.0
    if mask.sum() >= _SOME * had:
        _, first, inverse = np.unique(
            _rounded(answers[rows]), return_index=True, return_inverse=True
        )
        inverse = inverse.ravel()
        sizes = np.bincount(inverse)
        for hits, width_of in ((mask, width.wide), (tight, width.tight)):
            share = np.bincount(inverse, weights=hits[rows]) / sizes
            own = rows[first]
            p = accident(keys[own], width_of[own])
            # two widths are looked at: twice the chance
            chance = min(chance, math.log10(2) + tail(int((share > 0.5).sum()), len(own), p))
    return Tally(had, int(mask.sum()), int(tight.sum()), int(near.sum()), chance, mask)


def _rounded(values: Floats) -> Floats:
    """To nine significant figures, so that the last bits of a solver make no difference."""
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.where(values == 0, 0.0, np.floor(np.log10(np.abs(values))))
    scale = 10.0 ** np.clip(8 - power, -290, 290)
    return np.asarray(np.round(values * scale) / scale)
