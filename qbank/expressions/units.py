"""Units: reading them as people write them, showing them, converting to and from coherent SI."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from qbank.errors import ExpressionError
from qbank.expressions import unit_symbols as table

Values = TypeVar("Values", float, NDArray[np.float64])

MAX_UNIT_LENGTH = 80
MAX_UNIT_POWER = 12
_EXACT_INTEGER = 2**53  # above this an integer need not be a float


@dataclass(frozen=True, slots=True)
class Dimension:
    """Exponents of kg, m, s, A, K, mol, cd, in this order."""

    exponents: tuple[Fraction, Fraction, Fraction, Fraction, Fraction, Fraction, Fraction]

    def __mul__(self, other: Dimension) -> Dimension:
        return _dimension(a + b for a, b in zip(self.exponents, other.exponents, strict=True))

    def __truediv__(self, other: Dimension) -> Dimension:
        return _dimension(a - b for a, b in zip(self.exponents, other.exponents, strict=True))

    def __pow__(self, power: int | Fraction) -> Dimension:
        return _dimension(a * power for a in self.exponents)

    def __str__(self) -> str:
        """The coherent SI unit, such as "kg m s^-2"; empty for a pure number."""
        return " ".join(
            symbol + _power_text(exponent)
            for symbol, exponent in zip(table.BASE_SYMBOLS, self.exponents, strict=True)
            if exponent
        )

    def describe(self) -> str:
        """In words for a message: "a force (kg m s^-2)", "a quantity in kg m^7"."""
        unit = str(self)
        if not unit:
            return table.KINDS[""]
        kind = table.KINDS.get(unit)
        return f"{kind} ({unit})" if kind else f"a quantity in {unit}"


def _dimension(exponents: object) -> Dimension:
    return Dimension(tuple(map(Fraction, exponents)))  # type: ignore[call-overload]  # always seven


def _power_text(exponent: Fraction) -> str:
    if exponent == 1:
        return ""
    return f"^{exponent}" if exponent.denominator == 1 else f"^({exponent})"


DIMENSIONLESS = _dimension([0] * 7)


@cache
def _si_dimension(text: str) -> Dimension:
    """The dimension of a product of base units such as "kg m^2 s^-2"."""
    result = DIMENSIONLESS
    for part in text.split():
        symbol, _, power = part.partition("^")
        base = _dimension(int(symbol == other) for other in table.BASE_SYMBOLS)
        result = result * base ** Fraction(power or 1)
    return result


@dataclass(frozen=True)
class Unit:
    """A unit as it is shown to people, and what one of it is in coherent SI.

    `si value = factor * value + offset`. `text` is empty for pure numbers. `exact` is the factor
    as a rational where it is one, so that 12 cm is 12/100 m and not 12 * 0.01 m.
    """

    text: str
    dimension: Dimension
    factor: float
    offset: float = 0.0
    exact: Fraction | None = field(default=None, compare=False)

    @property
    def ascii(self) -> str:
        """The same unit in ASCII, readable by `parse_unit`: "kg m^2", "1" for pure numbers."""
        text = self.text.replace("·", " ")
        text = _SUPERSCRIPT_RUN.sub(lambda m: "^" + m[0].translate(_FROM_SUPERSCRIPT), text)
        for symbol, plain in table.ASCII.items():
            text = text.replace(symbol, plain)
        return text or "1"

    @property
    def glued(self) -> bool:
        """Whether the unit follows its number without a space: only "°" (SI Brochure 5.4.3)."""
        return self.text == "°"

    @cached_property
    def _ratio(self) -> tuple[float, float]:
        """Multiplier and divisor that convert to SI with as few roundings as floats allow."""
        if self.exact is None:
            return self.factor, 1.0
        top, bottom = self.exact.as_integer_ratio()
        if max(top, bottom) <= _EXACT_INTEGER or 1 in (top, bottom):
            return float(top), float(bottom)
        return self.factor, 1.0

    def to_si(self, values: Values) -> Values:
        """Values in this unit -> coherent SI; same shape."""
        top, bottom = self._ratio
        if top != 1.0:
            values = values * top
        if bottom != 1.0:
            values = values / bottom
        return values + self.offset if self.offset else values + 0.0

    def from_si(self, values: Values) -> Values:
        """Values in coherent SI -> this unit; same shape."""
        top, bottom = self._ratio
        if self.offset:
            values = values - self.offset
        if bottom != 1.0:
            values = values * bottom
        return values / top

    def si_value(self, value: Fraction) -> float:
        """One exact number in this unit -> coherent SI, rounded once where the factor is exact."""
        if self.exact is None:
            return float(value) * self.factor + self.offset
        return float(value * self.exact + Fraction(str(self.offset)))


ONE = Unit("", DIMENSIONLESS, 1.0, exact=Fraction(1))

# ---------------------------------------------------------------------------- reading

_SUPERSCRIPTS = "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"
_FROM_SUPERSCRIPT = str.maketrans(_SUPERSCRIPTS, "0123456789-")
_TO_SUPERSCRIPT = str.maketrans("0123456789-", _SUPERSCRIPTS)
_SUPERSCRIPT_RUN = re.compile(f"[{_SUPERSCRIPTS}]+")
_SYMBOL = re.compile(r"°C|℃|°F|℉|°|%|‰|[A-Za-zµμΩΩÅÅ]+")
_POWER = re.compile(
    rf"\^(?P<whole>-?\d{{1,3}})|\^\((?P<part>-?\d{{1,3}}(?:/\d{{1,3}})?)\)"
    rf"|(?P<raised>⁻?[{_SUPERSCRIPTS[:-1]}]{{1,3}})"
)
_NOT_AFTER_SYMBOL = re.compile(r"[A-Za-z0-9_(]")
_NOT_AFTER_POWER = re.compile(r"[A-Za-z0-9_.]")


@cache
def _atoms() -> dict[str, Unit]:
    """Every symbol with every prefix it takes, by each of its spellings."""
    atoms: dict[str, Unit] = {}
    for symbol, (si, factor, prefixes) in table.UNITS.items():
        spellings = [symbol, *(s for s, shown in table.SPELLINGS.items() if shown == symbol)]
        for prefix in ["", *sorted(prefixes)]:
            scale = factor * Fraction(10) ** table.PREFIXES[prefix] if prefix else factor
            offset = float(table.OFFSETS.get(symbol, 0))
            exact = scale if isinstance(scale, Fraction) else None
            unit = Unit(prefix + symbol, _si_dimension(si), float(scale), offset, exact)
            for spelling in spellings:
                for typed in {prefix, prefix.replace("µ", "μ"), prefix.replace("µ", "u")}:
                    atoms.setdefault(typed + spelling, unit)
    return atoms


@lru_cache(maxsize=1024)
def parse_unit(text: str) -> Unit:
    """The unit a text names: "kg", "m/s^2", "kg·m²", "J/(kg K)", "1/s"; "1" for pure numbers.

    Raises `ExpressionError` with the place in the text and the nearest unit it knows.
    """
    if len(text) > MAX_UNIT_LENGTH:
        raise ExpressionError(
            f"a unit of {len(text)} characters; at most {MAX_UNIT_LENGTH} are read",
            excerpt=text,
            span=(MAX_UNIT_LENGTH, len(text)),
        )
    start = len(text) - len(text.lstrip())
    if text.strip() == "1":
        return ONE
    if not text.strip():
        raise ExpressionError(
            "expected a unit, found nothing", excerpt=text, hint='Write "1" for a pure number.'
        )
    unit, end = _Scanner(text, alone=True).unit(start)
    if text[end:].strip():
        raise ExpressionError(
            f"expected the unit to end here, found {text[end:].strip()!r}",
            excerpt=text,
            span=(end, len(text)),
            hint="Products are written with a space or ·, powers with ^, quotients with one /.",
        )
    return unit


def match_unit(text: str, position: int) -> tuple[Unit, int] | None:
    """The unit that stands at `position` inside an expression, and where it ends.

    None where no known unit stands there. Inside an expression `*` never belongs to a unit, a
    space joins two symbols, and `/` goes on only without spaces and before a known unit.
    """
    scanner = _Scanner(text, alone=False)
    return scanner.unit(position) if scanner.symbol_at(position) else None


class _Scanner:
    """Reads one unit; `alone` when the whole text is the unit, not part of an expression."""

    def __init__(self, text: str, *, alone: bool) -> None:
        self.text = text
        self.alone = alone
        self.between = re.compile(r"\s*[·⋅*]\s*|\s+" if alone else r" *[·⋅] *| +")
        self.solidus = re.compile(r"\s*/\s*" if alone else r"/")

    def symbol_at(self, position: int) -> tuple[str, int] | None:
        """The known symbol at `position` and its end."""
        match = _SYMBOL.match(self.text, position)
        if match is None or match[0] not in _atoms():
            return None
        if match[0][0] not in "°℃℉%‰" and _NOT_AFTER_SYMBOL.match(self.text, match.end()):
            return None
        return match[0], match.end()

    def unit(self, position: int) -> tuple[Unit, int]:
        if self.alone and re.compile(r"1\s*/").match(self.text, position):
            total, end = ONE, position + 1
            shown = "1"
        else:
            total, end = self.product(position)
            shown = total.text
        slash = self.solidus.match(self.text, end)
        if slash and (below := self.denominator(slash.end())):
            divisor, end = below
            bracketed = "·" in divisor.text
            shown = f"{shown}/({divisor.text})" if bracketed else f"{shown}/{divisor.text}"
            total = _combine(shown, total, divisor, -1)
            self.refuse_more(position, end)
        self.refuse_compound_celsius(total, position, end)
        return total, end

    def product(self, position: int) -> tuple[Unit, int]:
        total, end = self.factor(position)
        while gap := self.between.match(self.text, end):
            if self.symbol_at(gap.end()) is None and not (self.alone and self.more(gap.end())):
                break
            other, end = self.factor(gap.end())
            total = _combine(f"{total.text}·{other.text}", total, other, 1)
        return total, end

    def more(self, position: int) -> bool:
        return position < len(self.text) and self.text[position] not in "/)"

    def factor(self, position: int) -> tuple[Unit, int]:
        found = self.symbol_at(position)
        if found is None:
            raise self.unknown(position)
        unit, end = _atoms()[found[0]], found[1]
        power = _POWER.match(self.text, end)
        if power is None or _NOT_AFTER_POWER.match(self.text, power.end()):
            return unit, end
        digits = power["whole"] or power["part"] or power["raised"].translate(_FROM_SUPERSCRIPT)
        if re.search(r"/0+$", digits):
            raise ExpressionError(
                "a power with the denominator 0", excerpt=self.text, span=power.span()
            )
        exponent = Fraction(digits)
        if abs(exponent) > MAX_UNIT_POWER or exponent.denominator > MAX_UNIT_POWER:
            raise ExpressionError(
                f"a unit to the power {exponent}; at most {MAX_UNIT_POWER} is read",
                excerpt=self.text,
                span=power.span(),
            )
        if exponent.denominator == 1:
            shown = unit.text + str(exponent).translate(_TO_SUPERSCRIPT)
        else:
            shown = f"{unit.text}^({exponent})"
        return _combine(shown, ONE, unit, exponent), power.end()

    def denominator(self, position: int) -> tuple[Unit, int] | None:
        """What stands below the solidus; None where it is no unit but part of the expression."""
        if not self.text.startswith("(", position):
            if self.alone or self.symbol_at(position):
                return self.factor(position)
            return None
        if not self.alone and self.symbol_at(position + 1) is None:
            return None
        unit, end = self.product(position + 1)
        if self.text.startswith(")", end):
            return unit, end + 1
        if not self.alone:
            return None
        raise ExpressionError("expected ')' in the unit", excerpt=self.text, span=(end, end + 1))

    def refuse_more(self, start: int, end: int) -> None:
        """What follows the denominator: `J/kg K` and `m/s/s` have two readings."""
        gap = self.between.match(self.text, end) or self.solidus.match(self.text, end)
        if gap and (after := self.symbol_at(gap.end())):
            raise ExpressionError(
                f"the unit {self.text[start : after[1]]!r} can be read in two ways",
                excerpt=self.text,
                span=(start, after[1]),
                hint="Put all that is below the solidus in brackets, such as J/(kg K) or m/s^2"
                + ("." if self.alone else "; to divide the number, put spaces around the /."),
            )

    def refuse_compound_celsius(self, total: Unit, start: int, end: int) -> None:
        degree = next((sign for sign in table.OFFSETS if sign in total.text), None)
        if degree and total.text != degree:
            raise ExpressionError(
                f"{degree} inside the unit {total.text!r} has no meaning of its own",
                excerpt=self.text,
                span=(start, end),
                hint="Use K: a difference of 1 °C is 1 K, one of 1 °F is 5/9 K.",
            )

    def unknown(self, position: int) -> ExpressionError:
        word = re.compile(r"[^\s/·⋅*^()]*").match(self.text, position)
        found = word[0] if word else ""
        if not found:
            at = self.text[position : position + 1]
            found_text = repr(at) if at else "the end"
            return ExpressionError(
                f"expected a unit, found {found_text}",
                excerpt=self.text,
                span=(position, position + 1),
            )
        near = nearest_unit(found)
        return ExpressionError(
            f"{found!r} is not a unit that is known here",
            excerpt=self.text,
            span=(position, position + len(found)),
            hint=f"Did you mean {near}?" if near else "Units are SI symbols such as kg, m/s^2, kΩ.",
        )


def _combine(text: str, left: Unit, right: Unit, power: int | Fraction) -> Unit:
    """`left * right**power`, shown as `text`; the offset of °C is refused or lost by the caller."""
    dimension = left.dimension * right.dimension**power
    if left.exact is not None and right.exact is not None and Fraction(power).denominator == 1:
        exact = left.exact * right.exact ** int(power)
        return Unit(text, dimension, float(exact), exact=exact)
    return Unit(text, dimension, left.factor * right.factor ** float(power))


def nearest_unit(word: str) -> str | None:
    """The unit that a word which is none most likely means."""
    if word in table.HABITS:
        return table.HABITS[word]
    if len(word) > MAX_UNIT_LENGTH:
        return None
    trailing = re.fullmatch(r"([A-Za-zµΩ]+)(\d)", word)
    if trailing and trailing[1] in _atoms():
        return f"{trailing[1]}^{trailing[2]}"
    for other in _atoms():
        if other.lower() == word.lower():
            return other
    close = difflib.get_close_matches(word, [*table.HABITS, *_common_symbols()], 1, 0.6)
    return table.HABITS.get(close[0], close[0]) if close else None


@cache
def _common_symbols() -> tuple[str, ...]:
    """Symbols with the prefixes people use, so that nobody is offered a yoctobar."""
    return tuple(
        prefix + symbol
        for symbol, (_, _, allowed) in table.UNITS.items()
        for prefix in ["", "k", "M", "G", "c", "m", "µ", "n"]
        if not prefix or prefix in allowed
    )
