"""Numerals as banks write them: read exactly, and another number written in the same style."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal

LONGEST = 64  # characters; no key is longer
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_RAISE = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_NUMERAL = re.compile(
    r"(?P<sign>[+\-\u2212]?)"
    r"(?P<digits>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
    r"(?:(?P<mark>[eE])(?P<power>[+\-]?[0-9]{1,3})"
    r"|(?P<times>\s?[·×]\s?10)(?P<raised>[⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3}))?"
)
# A rounding wide enough for any double; the usual 28 figures would do as well.
_CONTEXT = Context(prec=60, rounding=ROUND_HALF_EVEN)


@dataclass(frozen=True, slots=True)
class Numeral:
    """A number as written.

    start, end  where it stands in its text
    comma       whether the decimal mark is a comma
    point       whether it has a decimal mark
    places      digits after the mark
    power       how a power of ten is written: "e", "E", " × 10"; empty without one
    minus       the minus sign that its bank uses, where the number is negative; else "-"
    plus        whether a plus sign stands before it
    """

    value: Decimal
    start: int
    end: int
    comma: bool
    point: bool
    places: int
    power: str
    minus: str = "-"
    plus: bool = False

    @property
    def figures(self) -> int:
        """Significant figures as written; 1 for zero."""
        return len(self.value.as_tuple().digits)


def find_numeral(text: str) -> Numeral | None:
    """The number that `text` starts with, after white space; None where there is none.

    Read without grouping: in "1,234" the comma is a decimal mark.
    """
    lead = len(text) - len(text.lstrip())
    found = _NUMERAL.match(text, lead, lead + LONGEST)
    if found is None:
        return None
    digits = found["digits"]
    power = int(found["power"] or (found["raised"] or "0").translate(_RAISED))
    negative = found["sign"] in ("-", "\u2212")
    plain = digits.replace(",", ".")
    return Numeral(
        value=Decimal(("-" if negative else "") + plain).scaleb(power, _CONTEXT),
        start=found.start(),
        end=found.end(),
        comma="," in digits,
        point="." in plain,
        places=len(plain.partition(".")[2]),
        power=found["mark"] or found["times"] or "",
        minus=found["sign"] if negative else "-",
        plus=found["sign"] == "+",
    )


def whole_numeral(text: str) -> Numeral | None:
    """The number that `text` is, white space at both ends aside; None where it is no number.

    >>> whole_numeral(" 7,25 ").value
    Decimal('7.25')
    """
    found = find_numeral(text)
    return found if found is not None and not text[found.end :].strip() else None


def rounded(value: float, figures: int) -> Decimal:
    """A double to so many significant figures, its trailing zeros kept.

    >>> rounded(5.8, 3)
    Decimal('5.80')
    """
    exact = Decimal(repr(value))
    if exact == 0:
        return Decimal(0).scaleb(1 - figures)
    return exact.quantize(Decimal(1).scaleb(exact.adjusted() - figures + 1), context=_CONTEXT)


def in_style(value: Decimal, model: Numeral) -> str:
    """A number written as `model` is: its decimal mark, its minus and its way with powers of ten.

    >>> in_style(Decimal("0.0125"), whole_numeral("7,25"))
    '0,0125'
    """
    sign, digits, _ = value.as_tuple()
    size = abs(value)
    if model.power:
        shown = "".join(map(str, digits))
        text = shown[0] + (f".{shown[1:]}" if len(shown) > 1 else "")
        exponent = str(size.adjusted() if size else 0)
        if model.power in ("e", "E"):
            text += f"{model.power}{exponent}"
        else:
            text += f"{model.power}{exponent.translate(_RAISE)}"
    else:
        text = f"{size:f}"
    if model.comma:
        text = text.replace(".", ",")
    before = model.minus if sign and size else "+" if model.plus else ""
    return before + text
