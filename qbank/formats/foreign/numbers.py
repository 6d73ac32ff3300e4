"""Numeric parts from what rules, mappings or tries say of a response."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from lxml import etree

from qbank.formats.foreign.losses import Losses
from qbank.formats.foreign.regions import Region
from qbank.formats.xmltext import NUMBER, number
from qbank.item import Inline, NumberEntry, Tolerance, WrongValue
from qbank.scoring.values import number_of

_NEAR_MIDDLE = 0.05  # of the range; bounds are rounded when they are written
_COMMA = re.compile(r"[+-]?\d*,\d+([eE][+-]?\d+)?")


def as_number(text: str) -> float | None:
    """A finite number as people write it, with a point or a decimal comma; None for none."""
    text = text.strip().replace("\u2212", "-")
    if _COMMA.fullmatch(text):
        text = text.replace(",", ".")
    try:
        value = number_of(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


@dataclass(slots=True)
class Keyed:
    """What is known of a numeric response before it becomes a part."""

    key: float = math.nan
    key_text: str = ""
    region: Region | None = None  # what earns all the points
    points: float = 0.0
    stated: str = ""
    wrong: list[tuple[Region, str, tuple[Inline, ...], str]] = field(default_factory=list)
    silent: bool = False  # feedback only says whether there is any, and is left out

    def take_key(self, texts: Sequence[str]) -> None:
        """The first text that is a number, as the key."""
        for text in texts:
            value = as_number(text)
            if value is not None:
                self.key, self.key_text = value, _written(text.strip(), value)
                return


def _written(text: str, value: float) -> str:
    """A key's text as a machine reads it, with the digits it was given."""
    text = text.replace("\u2212", "-").replace(",", ".").removeprefix("+")
    if text.startswith((".", "-.")):
        text = text.replace(".", "0.", 1)
    text = text.removesuffix(".")
    return text if NUMBER.fullmatch(text) else numeral(value)


def number_part(
    identifier: str,
    prompt: tuple[Inline, ...],
    unit: str,
    keyed: Keyed,
    losses: Losses,
    element: etree._Element,
    *,
    shown: str = "",
    precision: str = "",
) -> NumberEntry:
    """The part, with losses for whatever is not one key within one closed band."""
    low, high = _band(keyed, losses, element)
    if math.isnan(keyed.key) and low < high and math.isfinite(low) and math.isfinite(high):
        keyed.key, keyed.key_text = _middle(low, high)
        losses.add(
            "key-of-range",
            f"'{identifier}' states no key and accepts {_said(low, high)}: its middle, "
            f"{keyed.key_text}, stands for the key",
            element,
        )
    elif math.isnan(keyed.key):
        losses.add("key", f"'{identifier}' has no correct response that is a number", element)
    elif not math.isnan(low) and not low <= keyed.key <= high:
        losses.add(
            "key-scoring",
            f"the correct response {keyed.key_text} of '{identifier}' is not accepted by the rules",
            element,
        )
    stated = keyed.stated
    if stated and unit and stated[-1].isdigit():
        stated = f"{stated} {unit}"
    kind, _, digits = precision.partition("-")
    count = int(digits) if digits.isdecimal() and len(digits) < 3 else None
    return NumberEntry(
        identifier=identifier,
        prompt=prompt,
        key=keyed.key,
        key_text=keyed.key_text,
        key_shown=shown or f"{keyed.key_text} {unit}".strip(),
        unit=unit,
        tolerance=Tolerance(low, high, stated),
        points=keyed.points,
        figures=count if kind == "figures" else None,
        decimals=count if kind == "decimals" else None,
        wrong_values=tuple(_wrong(keyed, losses, element)),
    )


def _band(keyed: Keyed, losses: Losses, element: etree._Element) -> tuple[float, float]:
    if keyed.region is None or not keyed.region:
        return math.nan, math.nan
    intervals = keyed.region.intervals
    around = [pair for pair in intervals if pair[0] <= keyed.key <= pair[1]]
    low, high = (around or list(intervals))[0]
    if len(intervals) > 1:
        losses.add(
            "band",
            f"{len(intervals)} separate intervals are accepted; kept is {_said(low, high)}",
            element,
        )
    if math.isinf(low) or math.isinf(high):
        losses.add("band", f"the accepted band {_said(low, high)} has no end", element)
    return low, high


def _middle(low: float, high: float) -> tuple[float, str]:
    """The key of a part that states a range alone: the shortest number near the middle of it."""
    middle = (low + high) / 2
    for figures in range(1, 16):
        key = float(f"{middle:.{figures}g}")
        if abs(key - middle) <= _NEAR_MIDDLE * (high - low):
            break
    return key, numeral(key)


def _said(low: float, high: float) -> str:
    return f"{low:.12g} to {high:.12g}"


def _wrong(keyed: Keyed, losses: Losses, element: etree._Element) -> list[WrongValue]:
    """Wrong answers with bands of their own, cut where they would meet the key's."""
    found = []
    for region, slip, feedback, told in keyed.wrong:
        apart = region & ~keyed.region if keyed.region is not None else region
        bounded = [
            pair for pair in apart.intervals if math.isfinite(pair[0]) and math.isfinite(pair[1])
        ]
        if told:
            losses.add("partial-credit", told, element)
        if len(bounded) != 1 or len(apart.intervals) != 1:
            if feedback:
                losses.add("feedback", "feedback for a range of wrong numbers is left out", element)
            continue
        ((low, high),) = bounded
        if slip or feedback:
            said = () if keyed.silent else feedback
            found.append(WrongValue(slip, (low + high) / 2, low, high, said))
    return found


def numeral(value: float) -> str:
    """A number as a key's text."""
    return number(value) if math.isfinite(value) else ""
