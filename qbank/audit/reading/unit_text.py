"""The unit that stands after a number in running text, however people write it.

Rules where there are two readings:
- Letters followed at once by a negative power are never a prefix and a second: "ms-2", "ms⁻²" and
  "m s-2" are m·s⁻². Other runs are taken apart only where they are no symbol: "Nm", "kgm-3".
- All that is joined by · or a space after a solidus stands below it: "J/kg·K" is J/(kg·K);
  so it does after a second solidus: "m/s/s".
- A space joins two symbols where the second has a power, stands in brackets or below a solidus,
  or the two are a usual product ("N m", "kg m", "A h"); else the second is a word.
- "in" is a word, save before a mark or the end of the text, with a power, after a solidus, or at
  once after the number. "M" is mol/L before a formula or a word such as "solution", and after a
  number with decimals before a mark, "and" or the end.
- °C in a compound unit is a difference, so K.
"""

from __future__ import annotations

import re
from functools import lru_cache

from qbank.audit.reading.unit_words import NOT_MEANT, run_together, symbols, words
from qbank.errors import ExpressionError
from qbank.expressions.units import Unit, parse_unit

MOST_FACTORS = 8
_WINDOW = 100  # characters after a number in which its unit must stand
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺−–", "0123456789-+--")
_BLANK = r"[ \t\u00a0\u2009\u202f]"
_WORD = re.compile(
    rf"[°ºo˚]{_BLANK}{{0,20}}[CFK](?![A-Za-z0-9])|[°º˚%‰℃℉]|[A-Za-zÀ-ÖØ-öø-ÿµμΩΩ\u212b]{{1,24}}(?:°)?"
)
_POWER = re.compile(
    rf"{_BLANK}?(?:\^|\*\*){_BLANK}?(?:\({_BLANK}?(?P<part>[-−–]?[0-9]{{1,2}}){_BLANK}?\)|(?P<whole>[-−–]?[0-9]{{1,2}})(?![0-9]))"
    r"|(?P<raised>[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,2})"
    r"|(?P<glued>[-−–][1-9]|[2-4])(?:(?=[A-Za-z]{1,3}[-−–⁻^])|(?![A-Za-z0-9.,]?[0-9])(?![a-z]{2}))"
)
_POWER_STARTS = frozenset(" \t\u00a0\u2009\u202f^*⁻⁺⁰¹²³⁴⁵⁶⁷⁸⁹-−–234")
_SUFFIX = re.compile(rf"{_BLANK}(squared|cubed)\b", re.IGNORECASE)
_BEFORE = re.compile(rf"(square|cubic|sq\.?|cu\.?){_BLANK}", re.IGNORECASE)
_DOT = re.compile(rf"{_BLANK}{{0,4}}[·⋅∙•×*]{_BLANK}{{0,4}}(?=[A-Za-zµμΩ°])|\.(?=[A-Za-zµΩ])")
_DASH = re.compile(r"[-‐‑–](?=[A-Za-zµΩ])")
_SPACE = re.compile(rf"{_BLANK}{{1,4}}(?=[A-Za-zµμΩ°])")
_SOLIDUS = re.compile(
    rf"{_BLANK}{{0,4}}/{_BLANK}{{0,4}}(?=[A-Za-zµμΩ°(])|{_BLANK}(?:per|pro|par|por){_BLANK}|-per-"
)
_LEADING = re.compile(rf"1?/{_BLANK}?(?=[A-Za-zµΩ°])|per{_BLANK}(?!cent)")
_OF_TEMPERATURE = re.compile(
    rf"{_BLANK}{{0,3}}(?:(?P<c>[Cc]elsius|[Cc]entigrade|C(?![A-Za-z°0-9]))|(?P<f>[Ff]ahrenheit|F(?![A-Za-z°0-9]))|(?P<k>[Kk]elvin))"
)
_OF_MERCURY = re.compile(rf"{_BLANK}Hg(?![A-Za-z0-9])")
_PLAIN_WORD = re.compile(r"[A-Za-z]+")
_FREEDOM = re.compile(r"\s+of\s+(?:freedom|unsaturation)")
_ATOM_COUNT = re.compile(r"\s+(?:atoms?|ions?|nucle|isotop)")
_MOLAR = re.compile(
    rf"{_BLANK}{{1,3}}(?:\(?[A-Z][A-Za-z0-9_₀-₉(]*[0-9₀-₉A-Z()]|[A-Z][a-z]?(?:\^|[⁺⁻⁰-⁹])"
    r"|(?:solution|aqueous|acid|acetic|hydrochloric|sulfuric|sulphuric|nitric|sodium|potassium"
    r"|ammoni|calcium|silver|lead|glucose|sucrose|buffer|strong|weak|monoprotic|base)\w*)"
)
_MOLAR_END = re.compile(r"\s*(?:$|[.,;:?!)]|\s(?:and|or|in)\b)")
_INCH_END = re.compile(rf"{_BLANK}?(?:$|[.,;:)?!]|(?:by|x|×|long|wide|thick|tall|diameter|pipe)\b)")
_POCKET = re.compile(rf"{_BLANK}?([.,;:)?!]|$)")

_SQUARED = frozenset({"m", "cm", "mm", "km", "s", "K", "ft", "in"})  # may stand as "m2"
_MOLARITY = ("mol/L",)
_TWO_SYMBOLS = {"ms": ("m", "s"), "rads": ("rad", "s")}  # before a negative power
_FIRST = frozenset(
    [
        "N",
        "kN",
        "MN",
        "mN",
        "µN",
        "kg",
        "g",
        "J",
        "kJ",
        "mJ",
        "Pa",
        "mPa",
        "kPa",
        "A",
        "mA",
        "W",
        "kW",
        "MW",
        "V",
        "C",
        "µC",
        "nC",
        "T",
        "Ω",
        "µΩ",
        "nΩ",
        "mΩ",
        "eV",
        "lbf",
        "lb",
        "µPa",
        "kV",
        "ft",
        "in",
    ]
)
_NEXT = {
    "m": frozenset(
        [
            "N",
            "kN",
            "MN",
            "mN",
            "µN",
            "kg",
            "g",
            "C",
            "µC",
            "nC",
            "T",
            "Ω",
            "µΩ",
            "nΩ",
            "mΩ",
            "W",
            "V",
            "A",
            "J",
        ]
    ),
    "cm": frozenset(["N", "kN", "Ω", "µΩ", "C", "kg", "g"]),
    "mm": frozenset(["N", "kN", "kg"]),
    "s": frozenset(
        ["N", "kN", "mN", "J", "Pa", "mPa", "W", "kW", "V", "A", "C", "eV", "µPa", "kg"]
    ),
    "h": frozenset(["W", "kW", "MW", "A", "mA"]),
    "lb": frozenset({"ft", "in"}),
    "lbf": frozenset({"ft", "in"}),
    "ft": frozenset({"lb", "lbf"}),
    "in": frozenset({"lb", "lbf"}),
}
_Factor = tuple[str, int]


def read_unit(text: str) -> Unit | None:
    """The unit that a whole cell or a phrase such as "newton metres" or "(kg)" is; else None."""
    text = text.strip(" \t\u00a0\u2009\u202f.,;:")
    if text.startswith(("(", "[")) and text.endswith((")", "]")):
        text = text[1:-1].strip()
    if not text or len(text) > 80:
        return None
    if text in ("M", "mol dm-3"):
        return parse_unit("mol/L")
    found = unit_at(text, 0, alone=True)
    if found is not None and found[1] == len(text):
        return found[0]
    if text in NOT_MEANT:
        return None
    try:
        return parse_unit(text) if text != "1" else None
    except ExpressionError:
        return None


def unit_at(
    text: str, at: int, *, alone: bool = False, glued: bool = False, decimals: bool = False
) -> tuple[Unit, int] | None:
    """The unit that starts at `at`, and where it ends; None where none stands there.

    alone     the text is a unit and nothing else
    glued     no space stands between the number and `at`
    decimals  the number before it has decimals
    """
    found = _unit_in(text[at : at + _WINDOW], alone, glued, decimals)
    return None if found is None else (found[0], at + found[1])


@lru_cache(maxsize=16384)
def _unit_in(window: str, alone: bool, glued: bool, decimals: bool) -> tuple[Unit, int] | None:
    """The unit at the start of a text; remembered, for the stems of siblings are alike."""
    reader = _Reader(window, alone, glued, decimals)
    end = reader.read(0)
    if end is None:
        return None
    unit = _assembled(tuple(reader.above), tuple(reader.below))
    return None if unit is None else (unit, end)


@lru_cache(maxsize=4096)
def _assembled(above: tuple[_Factor, ...], below: tuple[_Factor, ...]) -> Unit | None:
    """The unit of the factors, spelled as the language spells it."""
    several = len(above) + len(below) > 1
    if several or below or above[0][1] != 1:
        kelvin = {"°C": "K", "°F": ""}
        above = tuple((kelvin.get(symbol, symbol), power) for symbol, power in above)
        below = tuple((kelvin.get(symbol, symbol), power) for symbol, power in below)
    if any(not symbol for symbol, _ in above + below):
        return None
    above, below = _merged(above), _merged(below)
    top, under = " ".join(map(_factor, above)), " ".join(map(_factor, below))
    text = top or "1"
    if under:
        text += f"/({under})" if " " in under else f"/{under}"
    try:
        return parse_unit(text)
    except ExpressionError:
        return None


def _merged(factors: tuple[_Factor, ...]) -> tuple[_Factor, ...]:
    """Equal symbols once: "m/s/s" is m/s²."""
    if len({symbol for symbol, _ in factors}) == len(factors):
        return factors
    powers: dict[str, int] = {}
    for symbol, power in factors:
        powers[symbol] = powers.get(symbol, 0) + power
    return tuple((symbol, power) for symbol, power in powers.items() if power)


def _factor(factor: _Factor) -> str:
    symbol, power = factor
    return symbol if power == 1 else f"{symbol}^{power}"


class _Reader:
    """Reads one unit into factors above and below the solidus."""

    def __init__(self, text: str, alone: bool, glued: bool, decimals: bool) -> None:
        self.text = text
        self.alone = alone
        self.glued = glued
        self.decimals = decimals
        self.above: list[_Factor] = []
        self.below: list[_Factor] = []
        self.molar = False  # "M" was read, which nothing joins

    def read(self, at: int) -> int | None:
        text = self.text
        into = self.above
        if text.startswith("(", at):
            inside = _Reader(text, True, False, False)
            end = inside.read(at + 1)
            if end is None or not text.startswith(")", end):
                return None
            self.above, self.below = inside.above, inside.below
            return end + 1
        if leading := _LEADING.match(text, at):
            into = self.below
            at = leading.end()
        end = self.factor(at, into, first=True)
        if end is None:
            return None
        if self.molar:
            return end
        while len(self.above) + len(self.below) < MOST_FACTORS and end < len(text):
            further = self.further(end, into)
            if further is None:
                break
            end, into = further
        return end

    def further(self, end: int, into: list[_Factor]) -> tuple[int, list[_Factor]] | None:
        """One more factor after `end`, and the side of the solidus it stands on."""
        text = self.text
        if solidus := _SOLIDUS.match(text, end):
            at = solidus.end()
            if text.startswith("(", at):
                closed = self.bracket(at + 1)
                return None if closed is None else (closed, self.below)
            after = self.factor(at, self.below)
            return None if after is None else (after, self.below)
        gap = _DOT.match(text, end) or _DASH.match(text, end)
        if gap:
            after = self.factor(gap.end(), into)
            return None if after is None else (after, into)
        if space := _SPACE.match(text, end):
            after = self.factor(space.end(), into, spaced=True)
            return None if after is None else (after, into)
        if text[end - 1] in _RAISED_END and text[end].isalpha():  # the mol-1 of "JK-1mol-1"
            after = self.factor(end, into, powered=True)
            return None if after is None else (after, into)
        return None

    def bracket(self, at: int) -> int | None:
        """The factors below in brackets; nothing is kept of them where they do not close."""
        kept = len(self.below)
        end = self.factor(at, self.below)
        while end is not None and len(self.below) < MOST_FACTORS:
            if self.text.startswith(")", end):
                return end + 1
            gap = _DOT.match(self.text, end) or _SPACE.match(self.text, end)
            end = self.factor(gap.end(), self.below) if gap else None
        del self.below[kept:]
        return None

    def factor(
        self,
        at: int,
        into: list[_Factor],
        *,
        first: bool = False,
        spaced: bool = False,
        powered: bool = False,
    ) -> int | None:
        """Add the unit at `at` with its power; None, adding nothing, where none stands there."""
        text = self.text
        raised = 1
        if before := _BEFORE.match(text, at):
            raised = 2 if before[1][0] in "sS" else 3
            at = before.end()
        match = _WORD.match(text, at)
        if match is None:
            return None
        found = self.symbol(match, first)
        if found is None:
            return None
        named, end, is_word = found
        power, after = self.power(end)
        if power is None and is_word and (suffix := _SUFFIX.match(text, end)):
            power, after = (2 if suffix[1][0] in "sS" else 3), suffix.end()
        if power is not None and power < 0 and match[0] in _TWO_SYMBOLS:
            named = _TWO_SYMBOLS[match[0]]
        if power is None and powered:
            return None
        if spaced and named == ("M",):
            return None
        if spaced and text[end : end + 1] in ("2", "3", "4") and named[-1] not in _SQUARED:
            return None  # the H2 of "H2SO4"
        if spaced and not self.joins(named[0], power, into, is_word):
            return None
        if first and not self.meant(named, power, end, match[0]):
            return None
        if named == ("M",):
            named = _MOLARITY
            self.molar = True
        *front, last = named
        raised = raised if power is None else power
        factors = [(symbol, 1) for symbol in front]
        parts = last.replace("/", " / ").split()
        side = 1
        for part in parts:
            if part == "/":
                side = -1
                continue
            symbol, _, own = part.partition("^")
            factors.append((symbol, int(own or 1) * raised * side))
        if any(abs(p) > 12 for _, p in factors):
            return None
        if side < 0 and into is self.above:
            into.extend((s, p) for s, p in factors if p > 0)
            self.below.extend((s, -p) for s, p in factors if p < 0)
        else:
            into.extend(factors)
        return end if power is None and after is None else (after or end)

    def symbol(self, match: re.Match[str], first: bool) -> tuple[tuple[str, ...], int, bool] | None:
        """The symbols a word stands for, where it ends, and whether it is a word or a sign."""
        text, word, end = self.text, match[0], match.end()
        head = word[0]
        if head in "°º˚℃℉" or (
            head == "o"
            and len(word) > 1
            and word[-1] in "CF"
            and not word[1:-1].strip(" \t\u00a0\u2009\u202f")
        ):
            sign = {"C": "°C", "F": "°F", "K": "K", "℃": "°C", "℉": "°F"}.get(word[-1], "°")
            return (sign,), end, False
        known = symbols()
        if word == "mm" and (mercury := _OF_MERCURY.match(text, end)):
            return ("mmHg",), mercury.end(), False
        if word in known:
            if word in ("deg", "Grad") and (of := _OF_TEMPERATURE.match(text, end)):
                return (_degree(of),), of.end(), False
            if word in ("°",):
                return ("°",), end, False
            return (known[word],), end, word in ("deg", "min", "mol", "rad", "bar", "rev", "acre")
        if word == "M":
            return (("M",), end, False)
        if word in ("µ", "μ", "u") and (space := _SPACE.match(text, end)):
            follows = _WORD.match(text, space.end())
            if follows and "µ" + follows[0] in known:
                return (known["µ" + follows[0]],), follows.end(), False
        lower = word.lower()
        meant = words().get(lower)
        if meant is not None:
            if meant == "°":
                if of := _OF_TEMPERATURE.match(text, end):
                    return (_degree(of),), of.end(), False
                if _FREEDOM.match(text, end):
                    return None
            return (meant,), end, True
        if lower == "per" and text[end : end + 5].strip().lower().startswith("cent"):
            cent = _PLAIN_WORD.match(text, end + 1)
            return (("%",), cent.end(), True) if cent else None
        parts = run_together(word)
        if parts and (not first or self.alone or end == len(text) or text[end] in _AFTER_RUN):
            return parts, end, False
        return None

    def power(self, end: int) -> tuple[int | None, int | None]:
        text = self.text
        if end >= len(text) or text[end] not in _POWER_STARTS:
            return None, None
        match = _POWER.match(text, end)
        if match is None:
            return None, None
        digits = match["part"] or match["whole"] or match["raised"] or match["glued"]
        power = int(digits.translate(_RAISED))
        return (power, match.end()) if power else (None, None)

    def joins(self, symbol: str, power: int | None, into: list[_Factor], is_word: bool) -> bool:
        """Whether a symbol after a space belongs to the unit."""
        if self.alone or power is not None:
            return True
        before = into[-1][0] if into else ""
        if into is self.below and symbol in ("K", "°C", "mol"):
            return True
        if is_word:
            return before in _FIRST and symbol in ("m", "s", "h", "cm", "mm") and len(into) < 3
        return before in _NEXT.get(symbol, ())

    def meant(self, named: tuple[str, ...], power: int | None, end: int, word: str) -> bool:
        """Whether a first symbol that is also something else is meant as a unit."""
        text = self.text
        if self.alone or power is not None:
            return True
        if word == "in":
            return self.glued or bool(_INCH_END.match(text, end)) or text[end : end + 1] in "-/·"
        if named == ("M",):
            return bool(_MOLAR.match(text, end)) or (
                self.decimals and bool(_MOLAR_END.match(text, end))
            )
        if len(word) == 1 and word in "CNHFKSPVW" and not self.decimals:
            return not _ATOM_COUNT.match(text, end)
        return True


_RAISED_END = frozenset("0123456789⁰¹²³⁴⁵⁶⁷⁸⁹")
_AFTER_RUN = frozenset(" \t\u00a0\u2009\u202f.,;:?!)]⁻^-−–/·*")


def _degree(match: re.Match[str]) -> str:
    return "°C" if match["c"] else "°F" if match["f"] else "K"
