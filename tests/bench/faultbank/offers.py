"""Choices among numbers, put beside the numbers to enter, and what goes wrong with their options.

The distractors are what slips lead to, and the usual mistakes of the hand where slips are few;
all stand clear of the answer. Options stand in ascending order.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from qbank.expressions.units import Unit
from qbank.item import Choice, Option
from tests.bench.faultbank import faults, stems
from tests.bench.faultbank.faults import make_fault
from tests.bench.faultbank.siblings import Siblings, shown_text

OPTION = "wrong option"
SHIFTED = "options shifted"
TWO, NONE, EQUAL = "two right options", "no right option", "options equal after rounding"
OTHER_G = "options by another g"
KINDS = (OPTION, TWO, NONE, EQUAL, OTHER_G)
TOGETHER = 3  # options shifted in fewer siblings cannot be told from wrong keys
OPTIONS = 4
CLEAR = 0.025  # of the answer: as far off is a distractor at least
_FACTORS = (2.0, 0.5, 10.0, -1.0, 0.1, 4.0, 1.5, 3.0)
_SPOILS = ("digits", "slip", "factor", "power of ten", "sign")
_PREFIXES = {"m": ("cm", 100), "s": ("ms", 1000), "N": ("mN", 1000), "J": ("mJ", 1000),
             "V": ("mV", 1000), "A": ("mA", 1000), "W": ("mW", 1000), "kg": ("g", 1000),
             "Pa": ("mPa", 1000), "Hz": ("mHz", 1000), "mol": ("mmol", 1000)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Offer:
    """A number offered as an option: its text, the unrounded value, the slip that leads there."""

    text: str
    value: float
    slip: str = ""


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A choice with a fault; `codes` and `value` tell its cause as `Put` does."""

    choice: Choice
    kind: str
    wrong: bool
    codes: tuple[str, ...]
    value: float


def offered(own: Siblings) -> str:
    """The unknown a family's siblings are given a choice for; empty where there is none."""
    if not own.asked:
        return ""
    return own.asked[zlib.crc32(own.family.name.encode()) % len(own.asked)]


def choice(own: Siblings, kind: str, row: int, identifier: str) -> Choice | None:
    """A choice as an honest author writes it; None where no distractors stand clear."""
    offers = _offers(own, kind, row)
    return None if offers is None else _choice(own, kind, identifier, offers, 0)


def spoiled_choice(
    own: Siblings, kind: str, row: int, good: Choice, fault: str, many: bool,
    random: np.random.Generator,
) -> Spoiled | None:  # fmt: skip
    """The choice with a fault; None where there can be none. `many` siblings have the same."""
    offers = _offers(own, kind, row)
    assert offers is not None
    name, unknown = good.identifier, offered(own)
    if fault in (OPTION, SHIFTED):
        at = next(i for i, option in enumerate(good.options) if option.correct)
        step = 1 if fault == SHIFTED else int(random.integers(1, OPTIONS))
        keyed = (at + step) % OPTIONS
        moved = tuple(replace(o, correct=i == keyed) for i, o in enumerate(good.options))
        taken = next(offer for offer in offers if offer.text == _plain(moved[keyed]))
        codes = {
            OPTION: (f"slip:{taken.slip}",) if taken.slip else (),
            SHIFTED: ("options-shifted",) if many else ("options-shifted", f"slip:{taken.slip}"),
        }[fault]
        return Spoiled(replace(good, options=moved), fault, True, codes, taken.value)
    right = offers[0]
    if fault in (TWO, EQUAL):
        other = _again(own, kind, row) if fault == TWO else _finer(own, kind, row)
        if other is None or other.text in [offer.text for offer in offers]:
            return None
        changed = [right, other, *offers[2:]]
        made = _choice(own, kind, name, changed, 0)
        return Spoiled(made, fault, True, ("two-options-right", "options-equal"), right.value)
    if fault == OTHER_G:
        return _by_other_g(own, kind, row, offers, name)
    for spoil in random.permutation(_SPOILS).tolist():
        if spoil == "digits" and kind == "sloppy":
            continue  # a figure less, and they are no longer the digits of the answer
        found = make_fault(spoil, own, unknown, row, random)
        if found is None or not found.wrong or not _clear(own, row, found.key):
            continue
        text = _text(own, kind, found.key)
        if text in [offer.text for offer in offers]:
            continue
        made = _choice(own, kind, name, [Offer(text, found.value), *offers[1:]], 0)
        return Spoiled(made, NONE, True, found.codes, found.value)
    return None


def _by_other_g(
    own: Siblings, kind: str, row: int, offers: list[Offer], name: str
) -> Spoiled | None:
    """The right option by another usual g, where the stem leaves g to the reader: no fault."""
    here = faults.exact(own, offered(own), row)
    others = faults.with_other_g(own, offered(own), row, lambda g: stems.leaves_out(kind, g))
    for value in others:
        if math.isclose(value, here, rel_tol=1e-5) or not math.isfinite(value):
            continue
        text = _text(own, kind, value)
        if text in [offer.text for offer in offers]:
            continue
        made = _choice(own, kind, name, [Offer(text, value), *offers[1:]], 0)
        return Spoiled(made, OTHER_G, False, ("constant",), value)
    return None


# ---------------------------------------------------------------------------- options


def _choice(own: Siblings, kind: str, name: str, offers: list[Offer], right: int) -> Choice:
    order = sorted(range(len(offers)), key=lambda i: (offers[i].value, i))
    options = tuple(
        Option(f"O{place}", (offers[i].text,), i == right) for place, i in enumerate(order, 1)
    )
    return Choice(name, (_prompt(own, kind),), options, 1.0, shuffle=False)


def _prompt(own: Siblings, kind: str) -> str:
    unknown = own.family.find[offered(own)]
    meaning = unknown.meaning.rstrip(".")
    if kind == "listed":
        return f"Which is the value of {unknown.name}, the {meaning}?"
    if kind == "prose":
        return f"Which of these is the {meaning}?"
    return f"Pick the {meaning}{f' ({unknown.unit.ascii})' if unknown.unit.text else ''}."


def _offers(own: Siblings, kind: str, row: int) -> list[Offer] | None:
    """The right number first, then the others."""
    unknown = offered(own)
    right = faults.exact(own, unknown, row)
    found = [Offer(_text(own, kind, right), right)]
    texts = {found[0].text}
    others = [
        value
        for value in faults.with_other_g(own, unknown, row, lambda g: stems.leaves_out(kind, g))
        if math.isfinite(value)
    ]
    for value, slip in _wrong(own, unknown, row, right):
        text = _text(own, kind, value)
        near = any(abs(value - other) <= CLEAR * abs(other) for other in others)
        if text in texts or near or not _clear(own, row, value):
            continue
        if any(abs(value - offer.value) <= CLEAR * abs(offer.value) for offer in found):
            continue
        texts.add(text)
        found.append(Offer(text, value, slip))
        if len(found) == OPTIONS:
            return found
    return None


def _wrong(own: Siblings, unknown: str, row: int, right: float) -> Iterator[tuple[float, str]]:
    for name, found in own.made.wrong.items():
        value = float(own.family.find[unknown].unit.from_si(found[unknown][row]))
        if math.isfinite(value) and abs(value) < 1e15:
            yield value, name
    for factor in _FACTORS:
        yield right * factor, ""


def _clear(own: Siblings, row: int, value: float) -> bool:
    """Whether a number is no answer, however it is rounded."""
    unknown = offered(own)
    right = faults.exact(own, unknown, row)
    low, high = (float(side[row]) for side in own.made.tolerance[unknown])
    slack = float(own.made.windows[unknown][0][row])
    room = max(CLEAR * abs(right), 2 * slack, 2 * (high - low))
    return right != 0 and abs(value - right) > room


# ---------------------------------------------------------------------------- texts


def _text(own: Siblings, kind: str, value: float) -> str:
    """As an option of a kind: "sloppy" ones have a figure less, and their unit in the prompt."""
    wanted = own.family.find[offered(own)]
    shown = wanted.shown
    if kind == "sloppy" and (shown.figures or 0) > 2:
        shown = replace(shown, figures=(shown.figures or 0) - 1)
    return _with_unit(shown_text(value, shown), wanted.unit, kind)


def _with_unit(machine: str, unit: Unit, kind: str) -> str:
    number = Decimal(machine)
    power = number.adjusted() if number else 0
    text = f"{number:f}"
    if not -4 < power < 6:
        text = f"{number.scaleb(-power):f} × 10^{power}"
    if kind == "sloppy" or not unit.text:
        return text
    return f"{text}{'' if unit.text == '°' else ' '}{unit.text}"


def _again(own: Siblings, kind: str, row: int) -> Offer | None:
    """The right number in a smaller unit."""
    wanted = own.family.find[offered(own)]
    if kind == "sloppy" or wanted.unit.text not in _PREFIXES:
        return None
    small, factor = _PREFIXES[wanted.unit.text]
    value = faults.exact(own, offered(own), row)
    text = Decimal(shown_text(value, wanted.shown)) * factor
    if not 1e-3 < abs(text) < 1e6:
        return None
    return Offer(f"{text:f} {small}", value)


def _finer(own: Siblings, kind: str, row: int) -> Offer | None:
    """The right number with one figure more."""
    wanted = own.family.find[offered(own)]
    shown = wanted.shown
    fine = replace(
        shown,
        figures=None if shown.figures is None else shown.figures + 1,
        decimals=None if shown.decimals is None else shown.decimals + 1,
    )
    value = faults.exact(own, offered(own), row)
    return Offer(_with_unit(shown_text(value, fine), wanted.unit, kind), value)


def _plain(option: Option) -> str:
    return "".join(piece for piece in option.content if isinstance(piece, str))
