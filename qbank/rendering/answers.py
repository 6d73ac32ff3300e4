"""Keys, tolerances and the wrong values of slips, as columns."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from qbank.checking.tolerance import DEFAULT_PLACES, DEFAULT_SHARE, bands
from qbank.expressions.number_columns import machine_texts
from qbank.expressions.numbers import NumberFormat, format_number, last_place
from qbank.expressions.symbols import with_unit
from qbank.family.model import Unknown
from qbank.instances import Floats
from qbank.item import Tolerance, WrongValue
from qbank.rendering.batch import KELVIN_UNIT, Batch
from qbank.rendering.columns import Column
from qbank.rendering.messages import Messages
from qbank.sampling.options import shown_answers

LAST_BITS = 1e-9  # relative: a value this near to a band's end lies in the band
_WIDTH = NumberFormat(figures=3)  # of a tolerance that is neither share nor places


def key_texts(unknown: Unknown) -> Column[str]:
    """The keys as a machine reads them."""

    def column(batch: Batch) -> Iterable[str]:
        return machine_texts(batch.instances.rounded[unknown.name], unknown.shown)

    return column


def tolerances(unknown: Unknown, messages: Messages) -> Column[Tolerance]:
    """The accepted bands, the rule as people say it, and the window each lies in."""
    rule = unknown.tolerance
    share, places = (
        f"{messages.words.number(f'{100 * DEFAULT_SHARE:g}')} %",
        messages.tolerance_places,
    )
    width_unit = KELVIN_UNIT if unknown.unit.offset else unknown.unit  # of a difference
    stated: str | None = None
    if rule.relative is not None:
        stated = f"{messages.words.number(f'{100 * rule.relative:.10g}')} %"
    elif rule.absolute is not None:
        stated = with_unit(messages.words.number(f"{rule.absolute:.10g}"), width_unit.text)

    def said(batch: Batch, low: Floats, high: Floats) -> list[str]:
        if stated is not None:
            return [stated] * batch.n
        key = batch.instances.rounded[unknown.name]
        place = last_place(key, unknown.shown)
        by_place = DEFAULT_PLACES * place
        by_share = DEFAULT_SHARE * np.abs(key)
        width = np.maximum(high - key, key - low)
        # bounds lie on a grid of a hundredth of the last place
        kept = np.abs(width - np.maximum(by_place, by_share)) <= 0.011 * place
        words = [places if wider else share for wider in (by_place > by_share).tolist()]
        for row in np.flatnonzero(~kept).tolist():
            amount = messages.words.number(format_number(float(width[row]), _WIDTH))
            words[row] = with_unit(amount, width_unit.text)
        return words

    def column(batch: Batch) -> Iterable[Tolerance]:
        instances = batch.instances
        low, high = instances.tolerance[unknown.name]
        words = said(batch, low, high)
        if unknown.name not in instances.windows:
            return map(Tolerance, low.tolist(), high.tolist(), words)
        slack, distance = (array.tolist() for array in instances.windows[unknown.name])
        distances = [far if math.isfinite(far) else None for far in distance]
        return map(Tolerance, low.tolist(), high.tolist(), words, slack, distances)

    return column


# ---------------------------------------------------------------------------- slips


@dataclass(frozen=True, slots=True)
class SlipAnswers:
    """What each slip makes of one unknown, in the shown unit; arrays are (n,).

    `low .. high` is the band in which a response is taken for the slip; where `usable` is False
    the slip has no value here, or one that cannot be told from the key or an earlier slip.
    """

    slip: str
    value: Floats
    low: Floats
    high: Floats
    usable: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


def slip_answers(batch: Batch, unknown: Unknown) -> list[SlipAnswers]:
    """The slips in the author's order, their bands as wide as the key's rule makes them.

    Bands are cut half-way to a neighbour's so that no two meet.
    """
    instances = batch.instances
    key_low, key_high = instances.tolerance[unknown.name]
    taken: list[tuple[Floats, Floats, np.ndarray[tuple[int, ...], np.dtype[np.bool_]]]] = [
        (key_low, key_high, np.ones(batch.n, dtype=np.bool_))
    ]
    wrong = {
        slip: instances.wrong[slip][unknown.name]
        for slip in instances.family.slips
        if unknown.name in instances.wrong.get(slip, {})
    }
    if not wrong:
        return []
    # all slips in one go: rounding takes many small steps
    values = shown_answers(unknown, np.concatenate(list(wrong.values())))
    shape = (len(wrong), batch.n)
    lows, highs = (bound.reshape(shape) for bound in bands(unknown, values))
    answers: list[SlipAnswers] = []
    rows = zip(wrong, values.reshape(shape), lows, highs, strict=True)
    for slip, value, own_low, own_high in rows:
        low, high = own_low, own_high
        gap = LAST_BITS * np.abs(value)
        usable = np.isfinite(value)
        if not usable.any():
            continue
        for other_low, other_high, present in taken:
            above, below = value - other_high > gap, other_low - value > gap
            usable &= ~present | above | below
            low = np.where(present & above, np.maximum(low, (value + other_high) / 2), low)
            high = np.where(present & below, np.minimum(high, (value + other_low) / 2), high)
        taken.append((low, high, usable))
        answers.append(SlipAnswers(slip, value, low, high, usable))
    return answers


def wrong_values(unknown: Unknown) -> Column[tuple[WrongValue, ...]]:
    """The named wrong values of each row."""

    def column(batch: Batch) -> Iterable[tuple[WrongValue, ...]]:
        slips = batch.instances.family.slips
        makers: list[list[WrongValue | None]] = []
        for answer in slip_answers(batch, unknown):
            says = (slips[answer.slip].says,)
            rows = zip(
                answer.usable.tolist(),
                answer.value.tolist(),
                answer.low.tolist(),
                answer.high.tolist(),
                strict=True,
            )
            makers.append(
                [
                    WrongValue(answer.slip, value, low, high, says) if usable else None
                    for usable, value, low, high in rows
                ]
            )
        if not makers:
            return [()] * batch.n
        return [tuple(filter(None, row)) for row in zip(*makers, strict=True)]

    return column
