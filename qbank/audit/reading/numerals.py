"""Numbers as people type them in running text, exactly.

Read are "12", "1.50", ".5", "1,500", "1 500" (thin or no-break spaces; plain ones where a group
starts with 0 or there are two), "1.5e3", "1.5 x 10^3", "1.5×10³", "5 x 10-3" (a superscript
lost), "10⁻⁴", "½", "2½", "3/4" and "2 1/2". Signs are the caller's: what stands before decides.

A number of more than `MOST_DIGITS` digits or with an exponent beyond `MOST_POWER` is none: it is
passed over as a whole, and no power of ten is ever made of it. No quantity that is asked about
lies beyond 1e120.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

MOST_DIGITS = 60
MOST_POWER = 120  # so that squares and cubes of what is read still fit a double, in any unit
MOST_FIGURES = 15  # for fractions that no decimal writes
Decimal = Literal[".", ","]

_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺−–", "0123456789-+--")
_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5),
    "⅗": (3, 5), "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8),
    "⅞": (7, 8),
}  # fmt: skip
VULGAR = "".join(_VULGAR)
_POWER = (
    r"(?:\s?(?:\^|\*\*)\s?[({]?\s?(?P<power>[-+−–]?[0-9]{1,9})(?![0-9])(?:\s?[)}])?"
    r"|(?P<raised>[⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,9}))"
)
_POWER_OF_TEN = re.compile(_POWER)
_SCALE = re.compile(
    r"[eE](?P<e>[-+−–]?[0-9]{1,9})(?![0-9.,]?[0-9])"
    rf"|[ \t\u00a0\u2009\u202f]{{0,3}}[x×X·⋅∙•*✕][ \t\u00a0\u2009\u202f]{{0,6}}10"
    rf"(?:{_POWER}|[ \u00a0]?(?P<lost>[-−–][0-9]{{1,3}})(?![0-9.]))"
)
_SCALE_STARTS = frozenset("eE xX×·⋅∙•*✕\t\u00a0\u2009\u202f")
_FRACTION = re.compile(r"/(?P<below>[1-9][0-9]{0,2})(?![0-9/.,]?[0-9/])")
_MIXED = re.compile(r"[ \u00a0\u2009]?(?P<sign>[" + VULGAR + r"])")
_MIXED_ASCII = re.compile(r" (?P<above>[1-9][0-9]?)/(?P<below>[1-9][0-9]?)(?![0-9/.,]?[0-9/])")
_DATE = re.compile(
    r"[0-9]{1,4}([-/.])[0-9]{1,2}\1[0-9]{1,4}(?![0-9])|[0-2]?[0-9]:[0-5][0-9](?::[0-5][0-9])?"
    r"(?![0-9])|[0-9]+(?:\.[0-9]+){2,}"
)
_FAR_EXPONENT = re.compile(r"[eE][-+−–]?[0-9]{10}|\s?\^\s?[({]?[-+−–]?[0-9]{10}")
_TAIL = re.compile(r"[0-9.,]*[0-9]")


def _mantissa(decimal: str) -> re.Pattern[str]:
    group = re.escape("," if decimal == "." else ".")
    return re.compile(
        rf"(?P<whole>[1-9][0-9]{{0,2}}(?:[{group}'’\u2009\u202f\u00a0][0-9]{{3}})+(?![0-9])"
        r"|[1-9][0-9]{0,2}(?: [0-9]{3}){2,}(?![0-9])|[1-9][0-9]{0,2} 0[0-9]{2}(?![0-9])"
        rf"|[0-9]+)?(?:{re.escape(decimal)}(?P<part>[0-9]+))?"
    )


_MANTISSA = {".": _mantissa("."), ",": _mantissa(",")}
_OTHER = {
    ".": re.compile(r",(?P<part>[0-9]{1,2}|[0-9]{4,})(?![0-9]|,[0-9])"),
    ",": re.compile(r"\.(?P<part>[0-9]{1,2}|[0-9]{4,})(?![0-9]|\.[0-9])"),
}
_OTHER_AFTER_ZERO = {
    ".": re.compile(r",(?P<part>[0-9]+)(?![0-9]|,[0-9])"),
    ",": re.compile(r"\.(?P<part>[0-9]+)(?![0-9]|\.[0-9])"),
}
_NOT_DIGITS = re.compile(r"[^0-9]+")


class Numeral(NamedTuple):
    """A number without its sign: value, where it ends, figures, last place, and whether it is
    written as a plain whole number."""

    value: Fraction
    end: int
    figures: int
    place: int
    plain: bool


def read_numeral(text: str, at: int, decimal: Decimal = ".") -> tuple[Numeral | None, int]:
    """The number that starts at `at`, with a digit, a point and a digit, or a "½"; and its end.

    None, with the end of what is passed over, where it is a date, a time of day or out of bounds.
    """
    first = text[at]
    if first in _VULGAR:
        return _fraction(0, *_VULGAR[first], at + 1), at + 1
    if dated := _DATE.match(text, at):
        return None, dated.end()
    match = _MANTISSA[decimal].match(text, at)
    if match is None:  # cannot be: every part is optional
        return None, at + 1
    end = match.end()
    whole, part = match["whole"] or "", match["part"] or ""
    if not part and whole and end < len(text) and text[end] == ("," if decimal == "." else "."):
        other = (_OTHER_AFTER_ZERO if whole == "0" else _OTHER)[decimal].match(text, end)
        if other and not (decimal == "." and at and text[at - 1] in "([{,;"):
            part, end = other["part"], other.end()
    if len(whole) + len(part) > MOST_DIGITS:
        tail = _TAIL.match(text, at)
        return None, tail.end() if tail else end
    bare = whole.isdecimal() and not part
    if bare and end < len(text) and len(whole) <= 3 and text[end] in _MIXED_STARTS:
        mixed = _mixed(text, int(whole), end)
        if mixed is not None:
            return mixed, mixed.end
    power, scaled = 0, False
    if end < len(text):
        if whole == "10" and not part and (raised := _POWER_OF_TEN.match(text, end)):
            return _power_of_ten(raised)
        if text[end] in _SCALE_STARTS and (scale := _SCALE.match(text, end)):
            power, scaled, end = _exponent(scale), True, scale.end()
        elif text[end] in "eE^ " and (far := _FAR_EXPONENT.match(text, end)):
            return None, far.end()
    if abs(power - len(part)) > MOST_POWER or len(whole) + power > MOST_POWER:
        return None, end
    value, figures = _value(whole, part, power)
    return Numeral(value, end, figures, power - len(part), bare and not scaled), end


_MIXED_STARTS = frozenset(VULGAR + "/ \u00a0\u2009")


def _exponent(match: re.Match[str]) -> int:
    groups = match.groupdict()
    digits = groups.get("e") or groups["power"] or groups["raised"] or groups.get("lost") or "0"
    return int(digits.translate(_RAISED))


def _power_of_ten(match: re.Match[str]) -> tuple[Numeral | None, int]:
    power = _exponent(match)
    if abs(power) > MOST_POWER:
        return None, match.end()
    return Numeral(_value("1", "", power)[0], match.end(), 1, power, False), match.end()


@lru_cache(maxsize=8192)
def _value(whole: str, part: str, power: int) -> tuple[Fraction, int]:
    """The exact value and the significant figures; of zero, as many as a 1 there would have."""
    digits = _NOT_DIGITS.sub("", whole) + part
    power -= len(part)
    number = int(digits)
    value = Fraction(number * 10**power) if power >= 0 else Fraction(number, 10**-power)
    return value, len(digits.lstrip("0")) or len(part) + 1


def _mixed(text: str, whole: int, end: int) -> Numeral | None:
    """ "2½", "2 1/2" or "3/4"."""
    if sign := _MIXED.match(text, end):
        return _fraction(whole, *_VULGAR[sign["sign"]], sign.end())
    if both := _MIXED_ASCII.match(text, end):
        above, below = int(both["above"]), int(both["below"])
        return _fraction(whole, above, below, both.end()) if above < below else None
    if under := _FRACTION.match(text, end):
        return _fraction(0, whole, int(under["below"]), under.end())
    return None


def _fraction(whole: int, above: int, below: int, end: int) -> Numeral:
    """A fraction is exact: its figures are those of its decimal, 15 where that never ends."""
    value = whole + Fraction(above, below)
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    size = len(str(int(value))) if value >= 1 else 0
    if rest > 1:
        return Numeral(value, end, MOST_FIGURES, size - MOST_FIGURES, False)
    places = 0
    while (value * 10**places).denominator > 1:
        places += 1
    return Numeral(value, end, len(str(int(value * 10**places))), -places, False)


# ---------------------------------------------------------------------------- decimal sign

_COMMAS = re.compile(
    r"(?<![0-9.,(\[{;])(?:[0-9]{1,9},(?:[0-9]{1,2}|[0-9]{4,9})|0,[0-9]{1,9}"
    r"|[0-9]{1,3}(?:\.[0-9]{3}){1,4},[0-9]{1,9})(?![0-9]|[.,][0-9])"
)
_POINTS = re.compile(
    r"(?<![0-9.,])(?:[0-9]{1,9}\.(?:[0-9]{1,2}|[0-9]{4,9})|0\.[0-9]{1,9}"
    r"|[0-9]{1,3}(?:,[0-9]{3}){1,4}\.[0-9]{1,9})(?![0-9]|[.,][0-9])"
)


def judge_decimal(texts: Iterable[str]) -> Decimal:
    """Which sign a bank writes before decimals, by what stands in its texts.

    Counted are numbers that can be read in one way only: 1,5 and 0,125 and 1.234,5 against 1.5
    and 0.125 and 1,234.5; neither 1,500 nor 1.500 says anything. The point wins a tie.
    """
    commas = points = 0
    for text in texts:
        if "," in text:
            commas += sum(1 for _ in _COMMAS.finditer(text))
        if "." in text:
            points += sum(1 for _ in _POINTS.finditer(text))
    return "," if commas > points else "."
