"""The number that a cell of anyone's table states: where it stands, and another in its style.

A cell says "6,789.8", "6.79 x 10^3 m", "\\(6.79 \\times 10^{3}\\)", "about 6 790 m" or
"<b>6790</b> ± 20". What it states is read as the check reads it; here only the characters of the
number are looked for, so that all around them stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from qbank.audit.correction.numerals import LONGEST
from qbank.audit.reading.numerals import Decimal as DecimalSign
from qbank.audit.reading.quantities import read_number
from qbank.audit.reading.text import inline_text

MOST_TEXT = 400  # characters of a cell in which a number is looked for
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_RAISE = str.maketrans("0123456789-+", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺")
_GROUPS = "'’\u2009\u202f\u00a0 "
_POWER = (
    r"(?:(?P<times>[eE]|[ \u00a0\u2009\u202f]{0,3}(?:[x×X·⋅∙•*✕]|\\times|\\cdot)"
    r"[ \u00a0\u2009\u202f]{0,3}10[ ]?(?:\^|\*\*|<sup>)?[ ]?[({]?)"
    r"(?P<power>[-+−–]?[0-9]{1,3}|[⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3})(?![0-9])(?P<closed>[ ]?[)}]|</sup>)?)?"
)


def _numeral(mark: str, group: str) -> re.Pattern[str]:
    separator = "[" + re.escape(group + _GROUPS) + "]"
    mark = re.escape(mark)
    return re.compile(
        r"(?<![0-9A-Za-z_^])(?P<sign>[+\-−–]?)"
        rf"(?:(?P<grouped>[0-9]{{1,3}}(?:{separator}[0-9]{{3}})+(?![0-9]))|(?P<whole>[0-9]+))?"
        rf"(?:(?<![.,])(?P<mark>{mark})(?P<part>[0-9]*))?" + _POWER
    )


_NUMERALS = {".": _numeral(".", ","), ",": _numeral(",", ".")}


@dataclass(frozen=True, slots=True)
class CellNumber:
    """A number in the text of a cell.

    start, end   where its characters stand, sign and power of ten included
    mark, group  before decimals and between thousands; `group` is empty without one
    times        what stands before the exponent, as " x 10^"; empty without a power of ten
    power        the exponent as written; `closed` is what follows it, as "}"
    minus        the minus sign of its bank; `plus`, whether a plus sign stands there
    """

    value: Decimal
    start: int
    end: int
    figures: int
    mark: str
    group: str
    times: str
    power: str
    closed: str
    minus: str
    plus: bool

    def written(self, value: Decimal) -> str:
        """Another number as this one is written."""
        negative, digits, _ = value.as_tuple()
        if self.times:
            shown = "".join(map(str, digits))
            text = shown[0] + (f"{self.mark}{shown[1:]}" if len(shown) > 1 else "")
            text += self.times + self._exponent(value.adjusted() if value else 0) + self.closed
        else:
            whole, _, part = f"{abs(value):f}".partition(".")
            if self.group:
                whole = f"{int(whole):,}".replace(",", self.group)
            text = whole + (f"{self.mark}{part}" if part else "")
        return (self.minus if negative and value else "+" if self.plus else "") + text

    def _exponent(self, power: int) -> str:
        plain = self.power.translate(_RAISED).replace("−", "-").replace("–", "-")
        width = len(plain.lstrip("+-")) if plain.lstrip("+-").startswith("0") else 1
        sign = "-" if power < 0 else "+" if plain.startswith("+") else ""
        text = sign + f"{abs(power):0{width}d}"
        if plain != self.power and self.power.translate(_RAISED) != self.power:
            return text.translate(_RAISE)
        return text.replace("-", "−") if "−" in self.power else text


def stated_value(text: str, decimal: DecimalSign) -> Fraction | None:
    """The number that a cell states, as the check reads it; None where it states none."""
    read = read_number(inline_text(text), decimal)
    return None if read is None else read.value


def cell_number(text: str, decimal: DecimalSign) -> CellNumber | None:
    """The characters of the number that a cell states; None where they cannot be told for sure."""
    value = stated_value(text, decimal)
    return None if value is None else number_of_value(text, value, decimal)


def number_of_value(text: str, value: Fraction, decimal: DecimalSign) -> CellNumber | None:
    """The one place of a text where a number of that value stands; None where there are none or
    several."""
    for sign in (decimal, "," if decimal == "." else "."):
        found = [one for one in _numbers(text[:MOST_TEXT], sign) if Fraction(one.value) == value]
        if found:
            return found[0] if len(found) == 1 else None
    return None


def with_number(text: str, found: CellNumber, value: Decimal, decimal: DecimalSign) -> str | None:
    """The text with another number in place of `found`; None where it would not be read so."""
    new = found.written(value)
    if len(new) > LONGEST:
        return None
    anew = text[: found.start] + new + text[found.end :]
    was = read_number(inline_text(text), decimal)
    now = read_number(inline_text(anew), decimal)
    if was is None or now is None or now.value != Fraction(value):
        return None
    units = [None if one.unit is None else one.unit.text for one in (was, now)]
    return anew if units[0] == units[1] else None


def _numbers(text: str, mark: str) -> Iterator[CellNumber]:
    for match in _NUMERALS[mark].finditer(text):
        grouped, whole, part = match["grouped"], match["whole"], match["part"]
        if not (grouped or whole or part) or len(match[0]) > LONGEST:
            continue
        group = next((sign for sign in grouped or "" if not sign.isdigit()), "")
        digits = grouped.replace(group, "") if grouped else whole or "0"
        digits += f".{part}" if part else ""
        power = (match["power"] or "0").translate(_RAISED).replace("−", "-").replace("–", "-")
        sign = match["sign"]
        negative = sign not in ("", "+")
        value = Decimal(("-" if negative else "") + digits).scaleb(int(power))
        if grouped and len(set(grouped) - set("0123456789")) > 1:
            continue
        shown = ((grouped or whole or "") + (part or "")).replace(group, "").lstrip("0")
        yield CellNumber(
            value=value,
            start=match.start(),
            end=match.end(),
            figures=max(len(shown), 1),
            mark=mark,
            group=group,
            times=match["times"] or "",
            power=match["power"] or "",
            closed=match["closed"] or "",
            minus=sign if negative else "-",
            plus=sign == "+",
        )
