"""What a row accepts around its key: a deviation, a share of the key, or a range."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from qbank.audit.reading.numerals import Decimal
from qbank.audit.reading.quantities import read_number
from qbank.audit.reading.text import inline_text

_BETWEEN = re.compile(
    r"\s?(?:\.{2,3}|…|–|—|;|\bto\b|\band\b|\bbis\b|\bund\b|\bà\b|\bet\b|\s-\s|-)\s?"
)
_OPENS = re.compile(
    r"^\s*(?:[\[(]|between\b|from\b|von\b|zwischen\b|entre\b|de\b)\s*", re.IGNORECASE
)
_AFTER_KEY = re.compile(r"(?:±|\+/[-−–]|\+-)\s{0,3}(?P<width>[0-9.,]+(?:[eE][-+]?[0-9]+)?\s?%?)")
MOST_TEXT = 120


def stated_range(text: str, decimal: Decimal) -> tuple[Fraction, Fraction] | None:
    """The ends of "3.4 - 3.6", "3.4 to 3.6 m", "[3.4; 3.6]" or "from 3.4 to 3.6"; else None."""
    plain = inline_text(text)
    if len(plain) > MOST_TEXT:
        return None
    inner = _OPENS.sub("", plain).rstrip(" ])")
    for match in _BETWEEN.finditer(inner, 1):
        before, after = inner[: match.start()].strip(), inner[match.end() :].strip()
        if not before or not after:
            continue
        low, high = read_number(before, decimal), read_number(after, decimal)
        if low is None or high is None or "%" in inner:
            continue
        if low.start == 0 and high.start == 0 and low.value <= high.value:
            return low.value, high.value
    return None


def stated_band(
    text: str, key: Fraction | None, decimal: Decimal, *, per_cent: bool
) -> tuple[float, float] | None:
    """The band that a cell about tolerance states around a key; NaN where there is no key. None
    where it cannot be read."""
    ends = stated_range(text, decimal)
    if ends is not None:
        return as_float(ends[0]), as_float(ends[1])
    found = read_number(inline_text(text).lstrip("±+-−–/ "), decimal)
    if found is None:
        return None
    if key is None:
        return math.nan, math.nan
    width = abs(found.value)
    if per_cent or "%" in text:
        width = abs(key) * width / 100
    return as_float(key - width), as_float(key + width)


def band_of_key(text: str, key: Fraction, decimal: Decimal) -> tuple[float, float, str] | None:
    """The band of a key that is written with it, "12.3 ± 0.2 m"; with the words. Else None."""
    match = _AFTER_KEY.search(text[:MOST_TEXT])
    if match is None:
        return None
    band = stated_band(match["width"], key, decimal, per_cent=False)
    return None if band is None else (*band, match[0].strip())


def without_share(text: str) -> str:
    """A key without a deviation in per cent after it, which is no unit of the key: "5.0 ± 2 %"."""
    match = _AFTER_KEY.search(text[:MOST_TEXT])
    if match is None or "%" not in match["width"]:
        return text
    return f"{text[: match.start()].rstrip()} {text[match.end() :].lstrip()}".strip()


def as_float(value: Fraction) -> float:
    """The nearest double; infinite where there is none."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf
