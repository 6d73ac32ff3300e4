"""The tolerance window of every answer: rounding slack, slip distance, and the band between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.checking.slack import HonestSolver, honest_range
from qbank.checking.tolerance import (
    LEAST_PLACES,
    TOO_OFTEN,
    authored,
    bands,
    reach,
    within_window,
)
from qbank.expressions.numbers import round_values, rounded_and_place
from qbank.family.model import ChooseValue, Enter, Family, Unknown
from qbank.instances import Floats, Integers
from qbank.solving.solver import Solver

Mask = NDArray[np.bool_]
Wrong = Mapping[str, Mapping[str, Floats]]

SAME = 1e-9  # relative: a slip's value this near to the exact answer is that answer
LAST_BITS = 1e-6  # relative: what differences of doubles near a key may be short of
_LOOKED_AT = 5.0  # places beyond which rounding cannot bring a slip into a tolerance


@dataclass(frozen=True, slots=True)
class Window:
    """One answer of n instances; arrays (n,), in the shown unit.

    key        the answer as displayed
    low, high  the accepted band
    slack      how far from the key honest work can land
    distance   how far from it the nearest slip lies that can be told apart; infinite without one
    """

    key: Floats
    low: Floats
    high: Floats
    slack: Floats
    distance: Floats

    @classmethod
    def join(cls, parts: Sequence[Window]) -> Window:
        """The rows of all parts in turn; at least one part."""
        return cls(
            *(
                np.concatenate([getattr(part, column) for part in parts])
                for column in ("key", "low", "high", "slack", "distance")
            )
        )

    def take(self, rows: Mask | Integers | slice) -> Window:
        """The given rows, in the given order."""
        return Window(
            self.key[rows], self.low[rows], self.high[rows], self.slack[rows], self.distance[rows]
        )

    def covers_slack(self) -> Mask:
        """Where the band holds whatever honest work can give, (n,)."""
        return covers(self.key, self.low, self.high, self.slack)

    def clear_of_slips(self) -> Mask:
        """Where the band holds no slip that can be told apart, (n,)."""
        return _half(self.key, (self.low, self.high)) < self.distance


def asked_for(family: Family) -> tuple[str, ...]:
    """The unknowns whose value a part of the question asks for."""
    asked = (part.quantity for part in family.ask if isinstance(part, Enter | ChooseValue))
    return tuple(dict.fromkeys(asked))


def covers(key: Floats, low: Floats, high: Floats, slack: Floats) -> Mask:
    """Where a band reaches at least `slack` to both sides of its key, but for the last bits."""
    narrower = np.minimum(high - key, key - low)
    held: Mask = slack <= narrower * (1.0 + LAST_BITS)
    return held


@dataclass(frozen=True, slots=True)
class AnswerPolicy:
    """What holds for one answer in all draws, settled on a sample of them.

    apart     the slips whose distance counts
    close     slip -> the share of its draws in which it lies too close: those left out
    narrow    share of draws in which an author's tolerance is narrower than the slack
    wide      share in which it reaches a slip
    """

    apart: tuple[str, ...]
    close: Mapping[str, float]
    narrow: float = 0.0
    wide: float = 0.0


class Windows:
    """The windows of one family, compiled once.

    `settle` decides from a sample of draws which slips count; until then all do.
    """

    def __init__(self, family: Family, solver: Solver) -> None:
        self.family = family
        self.honest = HonestSolver(family, solver)
        self.policies = {name: AnswerPolicy(tuple(family.slips), {}) for name in family.find}
        self.asked = asked_for(family)

    def measure(
        self, values: Mapping[str, Floats], case: Integers, wrong: Wrong, n: int
    ) -> dict[str, Window]:
        """The windows of every unknown; `values` and `wrong` in SI as in `Instances`."""
        deviations = self.honest.deviations(values, case, n)
        return {
            name: self._window(unknown, values[name], deviations[name], wrong)
            for name, unknown in self.family.find.items()
        }

    def fair(self, name: str, window: Window) -> Mask:
        """Where the band of an answer is fair, (n,); see `tolerance.py` for what is let be."""
        clear = window.clear_of_slips()
        if self.policies[name].narrow > TOO_OFTEN:
            return clear
        return clear & window.covers_slack()

    def settle(self, values: Mapping[str, Floats], case: Integers, wrong: Wrong, n: int) -> None:
        """Decide which slips can be told apart, from draws that meet the family's rules."""
        deviations = self.honest.deviations(values, case, n)
        for name, unknown in self.family.find.items():
            exact = values[name]
            key, slack, wished, place = _key_and_slack(unknown, exact, deviations[name])
            # as far as any band must reach, rounded outward as bands are
            need = _half(key, bands(unknown, key, slack))
            if authored(unknown):
                need = np.maximum(need, _half(key, bands(unknown, key, wished)))
            slips = [wrong[slip][name] for slip in self.family.slips]
            distances = _distances(unknown, exact, key, place, need, slips)
            apart: list[str] = []
            close: dict[str, float] = {}
            kept: list[Floats] = []
            for slip, far in zip(self.family.slips, distances, strict=True):
                made = int(np.count_nonzero(np.isfinite(far)))
                share = int(np.count_nonzero(far <= need)) / made if made else 0.0
                if share > TOO_OFTEN:
                    close[slip] = share
                else:
                    apart.append(slip)
                    kept.append(far)
            distance = _nearest(kept, n)
            narrow = float(np.mean(slack > wished)) if authored(unknown) and n else 0.0
            wide = float(np.mean(distance <= need)) if authored(unknown) and n else 0.0
            self.policies[name] = AnswerPolicy(tuple(apart), close, narrow, wide)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the author should know, a sentence each."""
        return tuple(said for name in self.asked for said in self._warnings(name))

    def _warnings(self, name: str) -> list[str]:
        policy, where = self.policies[name], self.family.find[name].place
        fate = "and is let be" if policy.narrow > TOO_OFTEN else "and those are not drawn"
        said = []
        if policy.narrow:
            said.append(
                f"{where}: the tolerance of {name} is narrower than honest rounding in"
                f" {_percent(policy.narrow)} of the draws, {fate}"
            )
        if policy.wide:
            said.append(
                f"{where}: the tolerance of {name} reaches a slip in {_percent(policy.wide)} of"
                " the draws, and those are not drawn"
            )
        said += [
            f"{self.family.slips[slip].place}: the slip '{slip}' cannot be told from honest work on"
            f" {name} in {_percent(share)} of the draws, so its tolerance does not heed it"
            for slip, share in policy.close.items()
        ]
        return said

    def _window(
        self, unknown: Unknown, exact: Floats, deviation: tuple[Floats, Floats], wrong: Wrong
    ) -> Window:
        key, slack, wished, place = _key_and_slack(unknown, exact, deviation)
        apart = self.policies[unknown.name].apart
        needed = np.maximum(slack, wished)
        slips = [wrong[slip][unknown.name] for slip in apart]
        distance = _nearest(_distances(unknown, exact, key, place, needed, slips), len(key))
        width = within_window(unknown, wished, slack, distance)
        low, high = bands(unknown, key, width)
        return Window(key, low, high, slack, distance)


def _key_and_slack(
    unknown: Unknown, exact: Floats, deviation: tuple[Floats, Floats]
) -> tuple[Floats, Floats, Floats, Floats]:
    """Key, rounding slack, wished reach and last place, each (n,), in the shown unit."""
    with np.errstate(invalid="ignore"):
        shown = unknown.unit.from_si(exact)
        key, place = rounded_and_place(shown, unknown.shown)
        above, below = (side / unknown.unit.factor for side in deviation)
        low, high = honest_range(shown, place, above, below, unknown.shown)
        slack = np.maximum(high - key, key - low)
        if not authored(unknown):
            slack = np.maximum(slack, LEAST_PLACES * place)
        return key, slack, reach(unknown, key, place), place


def _distances(
    unknown: Unknown,
    exact: Floats,
    key: Floats,
    place: Floats,
    needed: Floats,
    wrong: Sequence[Floats],
) -> list[Floats]:
    """How far each slip's value lies from the key (n,), in the shown unit.

    Where it lies near what a tolerance needs, the value as displayed counts as well. NaN where
    the slip has no value or comes to the answer itself.
    """
    look = 2.0 * needed + _LOOKED_AT * place
    distances: list[Floats] = []
    nears: list[Integers] = []
    shown: list[Floats] = []
    with np.errstate(invalid="ignore"):
        for values in wrong:
            own = unknown.unit.from_si(values)
            far = np.abs(own - key)
            near = np.flatnonzero(far <= look)
            distances.append(far)
            nears.append(near)
            shown.append(own[near])
        if not any(map(len, nears)):
            return distances
        # all slips in one go: rounding takes many small steps
        displayed = round_values(np.concatenate(shown), unknown.shown)
        ends = np.cumsum([len(near) for near in nears])
        for values, far, near, end in zip(wrong, distances, nears, ends.tolist(), strict=True):
            off = np.abs(displayed[end - len(near) : end] - key[near])
            size = np.maximum(np.abs(exact[near]), place[near] * unknown.unit.factor)
            same = np.abs(values[near] - exact[near]) <= SAME * size
            far[near] = np.where(same, np.nan, np.minimum(far[near], off))
    return distances


def _nearest(distances: Sequence[Floats], n: int) -> Floats:
    """The least of the distances (n,), infinite where there is none."""
    nearest: Floats = np.full(n, np.inf)
    for far in distances:
        np.fmin(nearest, far, out=nearest)
    return nearest


def _half(key: Floats, band: tuple[Floats, Floats]) -> Floats:
    """How far a band reaches from its key to the farther side."""
    low, high = band
    return np.maximum(high - key, key - low)


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %" if share >= 0.001 else "less than 0.1 %"
