"""Numbers as an author writes them -> exact decimals: one value, lists, ranges with a step."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from qbank.errors import ExpressionError, FamilyError
from qbank.expressions.units import ONE, Unit, parse_unit
from qbank.family.model import Fixed, Grid, Listed
from qbank.family.nodes import Scalar

MAX_COUNT = 10**9
MAX_DIGITS = 15  # so that every mantissa, and its product with a power of ten, keeps its digits
MAX_EXPONENT = 100  # so that no value, in SI and with its powers in laws, overflows at once
MAX_LENGTH = 60  # characters of a number, leading zeros and all
MAX_ACCEPTED = 8
MAX_LISTED = 1000

_NUMERAL = re.compile(r"[+−-]?\d+(?:\.\d+)?(?:[eE][+−-]?\d+)?", re.ASCII)
_DOTS = re.compile(r"\s*\.\.\s*")
_BY = re.compile(r"\s+by\s+")
_COMMA = re.compile(r"\s*,\s*")


@dataclass(frozen=True, slots=True)
class Numeral:
    """A decimal as written: `mantissa * 10**exponent`; `scientific` when written with an e."""

    mantissa: int
    exponent: int
    scientific: bool

    @property
    def value(self) -> Fraction:
        """The number exactly."""
        return self.mantissa * Fraction(10) ** self.exponent


def numeral(scalar: Scalar, start: int, what: str) -> tuple[Numeral, int]:
    """The number that begins at `start` of the text, and where it ends."""
    match = _NUMERAL.match(scalar.text, start)
    if match is None:
        rest = scalar.text[start:].split()
        raise scalar.fault(
            f"{what}: expected a number, found {_quoted(rest[0]) if rest else _END}",
            (start, start + len(rest[0]) if rest else start + 1),
            "write digits with a point, such as 0.5 or 1.8e-5",
        )
    if len(match[0]) > MAX_LENGTH:
        raise _too_long(scalar, match, what)
    digits, _, power = match[0].lower().replace("−", "-").partition("e")
    whole, _, decimals = digits.partition(".")
    exponent = int(power or 0) - len(decimals)
    figures = len((whole + decimals).lstrip("+-0"))
    if figures > MAX_DIGITS or abs(exponent) > MAX_EXPONENT:
        raise _too_long(scalar, match, what)
    return Numeral(int(whole + decimals), exponent, bool(power)), match.end()


def _too_long(scalar: Scalar, match: re.Match[str], what: str) -> FamilyError:
    return scalar.fault(
        f"{what}: the number has more than {MAX_DIGITS} digits or is beyond 1e{MAX_EXPONENT}",
        match.span(),
        "choose a larger or a smaller unit",
    )


def trailing_unit(scalar: Scalar, start: int, what: str) -> Unit:
    """The unit the text ends with from `start` on; a pure number where nothing follows."""
    rest = scalar.text[start:]
    if not rest.strip():
        return ONE
    try:
        return moderate_unit(parse_unit(rest), scalar, what, start)
    except ExpressionError as error:
        raise scalar.located(error, what, start) from None


def moderate_unit(unit: Unit, scalar: Scalar, what: str, start: int = 0) -> Unit:
    """The unit, unless it is so large or small that values in it have no place in a float."""
    if not 10.0**-MAX_EXPONENT <= unit.factor <= 10.0**MAX_EXPONENT:
        raise scalar.fault(
            f"{what}: the unit {unit.text} is {unit.factor:.0e} of its SI unit",
            (start, len(scalar.text)),
            f"use a unit within 1e{MAX_EXPONENT} of SI",
        )
    return unit


def read_fixed(scalar: Scalar, what: str) -> tuple[Fixed, Unit, bool]:
    """`9.81 m/s^2` -> the value, its unit and whether it was written with an e."""
    number, end = numeral(scalar, _skip(scalar.text, 0), what)
    unit = trailing_unit(scalar, end, what)
    return Fixed(number.mantissa, number.exponent), unit, number.scientific


def read_accepted(scalar: Scalar, unit: Unit, what: str) -> tuple[Fixed, ...]:
    """`9.8, 9.81 m/s^2` -> the values; the unit may be left out, and is that of the given."""
    values: list[Fixed] = []
    at = _skip(scalar.text, 0)
    while True:
        number, end = numeral(scalar, at, what)
        values.append(Fixed(number.mantissa, number.exponent))
        comma = _COMMA.match(scalar.text, end)
        if comma is None:
            break
        at = comma.end()
    if scalar.text[end:].strip() and trailing_unit(scalar, end, what) != unit:
        raise scalar.fault(
            f"{what}: expected values in {unit.text or 'no unit'}, as in `fixed:`, found "
            f"'{scalar.text[end:].strip()[:40]}'",
            (end, len(scalar.text)),
            "write the unit of `fixed:`, or leave it out",
        )
    if len(values) > MAX_ACCEPTED:
        raise scalar.fault(
            f"{what}: more than {MAX_ACCEPTED} values are accepted", hint="keep the usual ones"
        )
    return tuple(values)


def read_listed(scalar: Scalar, what: str) -> tuple[Listed, Unit, bool]:
    """`4.7, 10, 22 kΩ` -> the values, their unit and whether one was written with an e."""
    numbers: list[Numeral] = []
    seen: set[Fraction] = set()
    at = _skip(scalar.text, 0)
    while True:
        number, end = numeral(scalar, at, what)
        if number.value in seen:
            raise scalar.fault(
                f"{what}: the value {scalar.text[at:end]} is listed twice",
                (at, end),
                "delete one of the two",
            )
        seen.add(number.value)
        numbers.append(number)
        comma = _COMMA.match(scalar.text, end)
        if comma is None:
            break
        at = comma.end()
        if len(numbers) >= MAX_LISTED:
            raise scalar.fault(
                f"{what}: more than {MAX_LISTED} values are listed", (at, at + 1), "use `draw:`"
            )
    rest = scalar.text[end:]
    if "," in rest:
        comma_at = end + rest.index(",")
        raise scalar.fault(
            f"{what}: expected a comma after {scalar.text[at:end]}, found "
            f"'{scalar.text[end:comma_at].strip()[:40]}'",
            (end + len(rest) - len(rest.lstrip()), comma_at),
            "write the unit once, after the last value",
        )
    unit = trailing_unit(scalar, end, what)
    if len(numbers) < 2:
        raise scalar.fault(
            f"{what}: a list needs two values at least, found one", hint="write `fixed:` instead"
        )
    listed = Listed(tuple(n.mantissa for n in numbers), tuple(n.exponent for n in numbers))
    return listed, unit, any(number.scientific for number in numbers)


def read_grid(scalar: Scalar, what: str) -> tuple[Grid, Unit, bool]:
    """`2.0 .. 9.0 by 0.5 kg` -> the grid, its unit and whether it was written with an e."""
    text = scalar.text
    low_at = _skip(text, 0)
    low, end = numeral(scalar, low_at, what)
    dots = _expect(_DOTS, scalar, end, what, "'..' after the lowest value")
    high, high_end = numeral(scalar, dots, what)
    by = _expect(_BY, scalar, high_end, what, "'by' and the step after the highest value")
    step, step_end = numeral(scalar, by, what)
    unit = trailing_unit(scalar, step_end, what)
    if step.mantissa <= 0:
        raise scalar.fault(
            f"{what}: the step must be more than 0, found {text[by:step_end]}",
            (by, step_end),
            "write the distance between neighbouring values",
        )
    if low.value > high.value:
        raise scalar.fault(
            f"{what}: the lowest value {text[low_at:end]} is above the highest "
            f"{text[dots:high_end]}",
            (low_at, high_end),
            "exchange the two",
        )
    if low.value == high.value:
        raise scalar.fault(
            f"{what}: the lowest and the highest value are both {text[low_at:end]}",
            (low_at, high_end),
            "write `fixed:` instead, or widen the range",
        )
    exponent = min(low.exponent, high.exponent, step.exponent)
    first, last, stride = (
        int(number.value / Fraction(10) ** exponent) for number in (low, high, step)
    )
    steps, rest = divmod(last - first, stride)
    if rest:
        below, above = (_decimal(first + count * stride, exponent) for count in (steps, steps + 1))
        raise scalar.fault(
            f"{what}: from {text[low_at:end]} to {text[dots:high_end]} is not a whole number of "
            f"steps of {text[by:step_end]}",
            (dots, high_end),
            f"end the range at {below} or {above}" if steps else f"end the range at {above}",
        )
    count = steps + 1
    if count > MAX_COUNT or max(abs(first), abs(last)) >= 10**MAX_DIGITS:
        shown = f"{count:,}" if count < 10**18 else f"1e{len(str(count)) - 1}"
        raise scalar.fault(
            f"{what}: the range has {shown} values, more than {MAX_COUNT:,}"
            if count > MAX_COUNT
            else f"{what}: the values have more than {MAX_DIGITS} digits",
            (low_at, step_end),
            "use a larger step",
        )
    scientific = low.scientific or high.scientific or step.scientific
    return Grid(first, stride, count, exponent), unit, scientific


def whole_number(scalar: Scalar, what: str, least: int, most: int) -> int:
    """Text that is a whole number within bounds."""
    text = scalar.text.strip()
    if not re.fullmatch(r"[+-]?\d{1,9}", text) or not least <= int(text) <= most:
        raise scalar.fault(
            f"{what}: expected a whole number from {least} to {most}, found '{text[:40]}'",
            hint=f"write for example {min(max(3, least), most)}",
        )
    return int(text)


def read_size(scalar: Scalar, what: str, most: int) -> tuple[int, int]:
    """`10` or `8 .. 12` -> the fewest and the most values of a data list."""
    match = re.fullmatch(r"\s*(\d{1,9})(?:\s*\.\.\s*(\d{1,9}))?\s*", scalar.text)
    if match is None:
        raise scalar.fault(
            f"{what}: expected a size, found '{scalar.text.strip()[:40]}'",
            hint="write `10`, `8 .. 12` or `like y`",
        )
    low, high = int(match[1]), int(match[2] or match[1])
    if not 2 <= low <= high <= most:
        raise scalar.fault(
            f"{what}: a data list has 2 to {most} values, found {scalar.text.strip()}",
            hint="correct the size, the smaller number first",
        )
    return low, high


def _skip(text: str, at: int) -> int:
    while at < len(text) and text[at].isspace():
        at += 1
    return at


def _expect(pattern: re.Pattern[str], scalar: Scalar, at: int, what: str, wanted: str) -> int:
    match = pattern.match(scalar.text, at)
    if match is None:
        raise _not_a_range(scalar, at, what, wanted)
    return match.end()


def _not_a_range(scalar: Scalar, at: int, what: str, wanted: str) -> FamilyError:
    rest = scalar.text[at:]
    start = at + len(rest) - len(rest.lstrip())
    found = rest.split()[0] if rest.strip() else ""
    try:
        parse_unit(found)
    except ExpressionError:
        if found.startswith(","):
            hint = "single values belong under `list:`; a decimal sign is a point"
        else:
            hint = "write low .. high by step unit, such as 2.0 .. 9.0 by 0.5 kg"
    else:
        hint = "write the unit once, after the step"
    said = _quoted(found) if found else _END
    return scalar.fault(
        f"{what}: expected {wanted}, found {said}", (start, start + max(1, len(found))), hint
    )


_END = "the end of the text"


def _quoted(word: str) -> str:
    return f"'{word[:40]}'"


def _decimal(mantissa: int, exponent: int) -> str:
    if exponent >= 0:
        return str(mantissa * 10**exponent) if exponent < 7 else f"{mantissa}e{exponent}"
    if exponent < -7:
        return f"{mantissa}e{exponent}"
    digits = str(abs(mantissa)).rjust(1 - exponent, "0")
    sign = "-" if mantissa < 0 else ""
    return f"{sign}{digits[:exponent]}.{digits[exponent:]}"
