"""Which slips make distractors of a choice question, for whole arrays of instances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from qbank.checking.window import Window
from qbank.expressions.numbers import round_values
from qbank.family.model import ChooseValue, Family, Unknown
from qbank.instances import Floats


def shown_answers(unknown: Unknown, values: Floats) -> Floats:
    """SI values (n,) as displayed: in the shown unit, rounded."""
    return round_values(unknown.unit.from_si(values), unknown.shown)


def distractors(
    unknown: Unknown,
    key: Floats,
    band: tuple[Floats, Floats],
    wrong: Sequence[Floats],
    most: int,
) -> NDArray[np.bool_]:
    """Which slips are offered, (n, slips): the first `most` that can be told apart.

    key   (n,): the key as displayed, in the shown unit, with its accepted `band`
    wrong one (n,) array a slip, in SI; NaN where it gives no value

    A slip is offered when its displayed value lies outside the key's band and is farther than
    half the band from every one offered before it.
    """
    low, high = band
    reach = np.maximum(high - key, key - low)
    offered = np.zeros((len(key), len(wrong)), dtype=np.bool_)
    room = np.full(len(key), most)
    before: list[tuple[Floats, NDArray[np.bool_]]] = []
    for column, values in enumerate(wrong):
        shown = shown_answers(unknown, values)
        with np.errstate(invalid="ignore"):  # NaN compares false, which is what is meant
            apart = (shown < low) | (shown > high)
            for other, taken in before:
                apart &= ~taken | (np.abs(shown - other) > reach)
        apart &= np.isfinite(shown) & (room > 0)
        offered[:, column] = apart
        room -= apart
        before.append((shown, apart))
    return offered


def wanted(family: Family) -> dict[str, int]:
    """Unknowns whose value is chosen among options -> how many distractors each needs."""
    needs: dict[str, int] = {}
    for part in family.ask:
        if isinstance(part, ChooseValue):
            needs[part.quantity] = max(needs.get(part.quantity, 0), part.options - 1)
    return needs


def enough(
    family: Family,
    name: str,
    needed: int,
    window: Window,
    wrong: Mapping[str, Mapping[str, Floats]],
) -> NDArray[np.bool_]:
    """Where the slips give `needed` distractors for the unknown `name`, (n,)."""
    unknown = family.find[name]
    answers = [wrong[slip][name] for slip in family.slips if name in wrong[slip]]
    band = (window.low, window.high)
    offered = distractors(unknown, window.key, band, answers, needed)
    met: NDArray[np.bool_] = np.count_nonzero(offered, axis=1) >= needed
    return met
