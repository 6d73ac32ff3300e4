"""What a format needs of a number entry and a bank of anyone's may not state.

A key is written as people write it ("60,02 cm"); formats want it as a machine reads it. A bank may
state no accepted band; formats that score want one, and get the tool's default.
"""

from __future__ import annotations

import math
from dataclasses import replace

from qbank.audit.reading.quantities import read_number
from qbank.checking.tolerance import DEFAULT_PLACES, DEFAULT_SHARE
from qbank.expressions.numbers import exact_machine_number
from qbank.formats.xmltext import NUMBER
from qbank.item import Item, NumberEntry, Tolerance

KEY_REWRITTEN = "key"
BAND_SET = "band"
_SAME = 1e-9
_MOST_PLACES = 300


def completed(item: Item) -> tuple[Item, list[str]]:
    """The item with its numeric keys as numbers and a band for each, and the kinds of change.

    A band that is set reaches 1 % from the key or 1.5 units of its last written digit, whichever
    is wider. Parts without a key stay as they are.
    """
    kinds: list[str] = []
    parts = tuple(
        _completed(part, kinds) if isinstance(part, NumberEntry) else part for part in item.parts
    )
    return (replace(item, parts=parts), sorted(set(kinds))) if kinds else (item, [])


def _completed(part: NumberEntry, kinds: list[str]) -> NumberEntry:
    if not math.isfinite(part.key):
        return part
    text, place = part.key_text, None
    if not NUMBER.fullmatch(text):
        kinds.append(KEY_REWRITTEN)
        text, place = _as_number(part)
        part = replace(part, key_text=text)
    band = part.tolerance
    if math.isnan(band.low) and math.isnan(band.high):
        kinds.append(BAND_SET)
        if place is None:
            _, place = _as_number(part)
        part = replace(part, tolerance=_band(part.key, place))
    return part


def _as_number(part: NumberEntry) -> tuple[str, int]:
    """The key as a machine reads it, and the exponent of its last written digit."""
    for decimal in (".", ","):
        found = read_number(part.key_text, decimal)
        if found is not None and math.isclose(float(found.value), part.key, rel_tol=_SAME):
            whole = found.value / 10**found.place if found.place >= 0 else (
                found.value * 10**-found.place
            )  # fmt: skip
            if whole.denominator == 1 and abs(found.place) < _MOST_PLACES:
                return exact_machine_number(int(whole), found.place), found.place
    text = repr(part.key)
    mantissa, _, power = text.partition("e")
    decimals = len(mantissa.partition(".")[2]) if not mantissa.endswith(".0") else 0
    return text, int(power or 0) - decimals


def _band(key: float, place: int) -> Tolerance:
    by_share, by_place = DEFAULT_SHARE * abs(key), DEFAULT_PLACES * 10.0**place
    width = max(by_share, by_place)
    stated = f"{100 * DEFAULT_SHARE:g} %"
    if by_place > by_share:
        stated = f"{DEFAULT_PLACES:g} units in the last place"
    return Tolerance(float(f"{key - width:.12g}"), float(f"{key + width:.12g}"), stated)
