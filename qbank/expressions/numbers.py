"""How numbers are rounded and written for a reader; nothing else in the project rounds.

The rule is the common one: to the nearest, and halfway away from zero (rule B of ISO 80000-1,
annex B, from memory). Computed values carry an error in their last bits, so that 2.675 may
arrive as 2.67499999999999982. A value closer to a tie than 1e-11 of itself (and than a thousandth
of a unit in the last place) therefore counts as the tie, and no machine's last bit decides.

A rounded number is held as `mantissa * 10**exponent` in integers; text is made from those
digits alone. A double holds 15 decimal digits, so no more than 15 significant ones are shown.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

MINUS = "\u2212"
MOST_FIGURES = 15
TIE_SHARE = 1e-11
TIE_PLACE = 1e-3
_SUPERSCRIPTS = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_POWERS = [float(f"1e{power}") for power in range(309)]
_POWER_ARRAY = np.array(_POWERS)
_FEW_POWERS = 8
_LEAST_POWER = -350  # below every last place: the least double is 5e-324, with 15 figures
_ALL_POWERS = np.array([float(f"1e{power}") for power in range(_LEAST_POWER, 311)])
_EXACT = 22  # 10**22 is the last power of ten that a double holds exactly


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """How many figures or decimals are shown, and whether as a power of ten.

    Exactly one of `figures` (significant figures, at least 1) and `decimals` (may be negative)
    is set. `notation`: "plain" never uses a power of ten; "scientific" always does, except where
    it would be 10⁰; "auto" does wherever plain digits could not show which zeros count and,
    where figures are set, outside 0.001 <= |x| < 100 000.

    Zero has no significant figures; it is shown as a number of size 1 would be ("0.00" for 3).
    """

    figures: int | None = None
    decimals: int | None = None
    notation: Literal["auto", "plain", "scientific"] = "auto"


# ---------------------------------------------------------------------------- rounding


def decimal_parts(
    values: ArrayLike, fmt: NumberFormat
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The values rounded for `fmt`, as integers: `mantissa * 10**exponent`, each (n,).

    Entries that are not finite give (0, 0); `round_values` keeps them as they are.
    """
    given = np.asarray(values, dtype=np.float64)
    size = np.abs(given)
    finite = np.isfinite(size)
    if not finite.all():
        size = np.where(finite, size, 0.0)
    places = _places(size, fmt)
    scaled = _scale_up(size, places)
    nearest = np.floor(scaled + np.minimum(scaled * TIE_SHARE, TIE_PLACE) + 0.5)
    if fmt.figures is not None:
        # 9.996 to three figures is 10.0 rather than 10.00
        carried = nearest >= _POWERS[min(fmt.figures, MOST_FIGURES)]
        if carried.any():
            nearest = np.where(carried, nearest / 10.0, nearest)
            places = places - carried
    return np.copysign(nearest, given).astype(np.int64), -places


def round_values(values: ArrayLike, fmt: NumberFormat) -> NDArray[np.float64]:
    """The values (n,) as displayed: each the double nearest to the decimal that is printed.

    Halfway goes away from zero (ISO 80000-1, annex B, rule B, from memory). NaN and infinities
    stay; a negative zero becomes zero.
    """
    given = np.asarray(values, dtype=np.float64)
    return _rounded(given, *decimal_parts(given, fmt))


def last_place(values: ArrayLike, fmt: NumberFormat) -> NDArray[np.float64]:
    """The size (n,) of one unit in the last displayed place, after rounding.

    15.04 to three figures is shown as 15.0, so the size is 0.1. NaN where a value is not finite.
    """
    given = np.asarray(values, dtype=np.float64)
    return _unit(given, decimal_parts(given, fmt)[1])


def rounded_and_place(
    values: ArrayLike, fmt: NumberFormat
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """`round_values` and `last_place` at once, which costs half as much."""
    given = np.asarray(values, dtype=np.float64)
    mantissa, exponent = decimal_parts(given, fmt)
    return _rounded(given, mantissa, exponent), _unit(given, exponent)


def _rounded(
    given: NDArray[np.float64], mantissa: NDArray[np.int64], exponent: NDArray[np.int64]
) -> NDArray[np.float64]:
    rounded = _scale_up(mantissa.astype(np.float64), exponent)
    far = np.abs(exponent) > _EXACT
    if far.any():  # where powers of ten are not exact, the parser rounds
        pairs = zip(mantissa[far].tolist(), exponent[far].tolist(), strict=True)
        rounded[far] = [float(f"{digits}e{power}") for digits, power in pairs]
    finite = np.isfinite(given)
    return rounded if finite.all() else np.where(finite, rounded, given)


def _unit(given: NDArray[np.float64], exponent: NDArray[np.int64]) -> NDArray[np.float64]:
    size = _ALL_POWERS.take(exponent - _LEAST_POWER)
    finite = np.isfinite(given)
    return size if finite.all() else np.where(finite, size, np.nan)


def _places(size: NDArray[np.float64], fmt: NumberFormat) -> NDArray[np.int64]:
    """How many decimals each value is rounded to."""
    if fmt.figures is not None:
        return min(fmt.figures, MOST_FIGURES) - 1 - _magnitude(size)
    decimals = fmt.decimals or 0
    places = np.full(size.shape, decimals, dtype=np.int64)
    if decimals > -MOST_FIGURES and bool(np.any(size >= 10.0 ** min(MOST_FIGURES - decimals, 308))):
        places = np.minimum(places, MOST_FIGURES - 1 - _magnitude(size))
    return places


def _magnitude(size: NDArray[np.float64]) -> NDArray[np.int64]:
    """The power of ten of the leading digit; 0 for zero."""
    if not size.size:
        return np.zeros(size.shape, dtype=np.int64)
    nonzero = np.where(size > 0, size, 1.0)
    first = _magnitude_of(float(nonzero.min()))
    last = _magnitude_of(float(nonzero.max()))
    if last - first > _FEW_POWERS:
        powers = _ALL_POWERS[first - _LEAST_POWER : last - _LEAST_POWER + 1]
        return np.searchsorted(powers, nonzero, side="right") + (first - 1)
    # Most arrays span few powers of ten: comparing with each is exact, and quicker than logarithms.
    above = np.zeros(size.shape, dtype=np.int8)
    for power in range(first + 1, last + 1):
        above += (nonzero >= _ALL_POWERS[power - _LEAST_POWER]).view(np.int8)
    return above + np.int64(first)


def _scale_up(size: NDArray[np.float64], power: NDArray[np.int64]) -> NDArray[np.float64]:
    """`size * 10**power`, in two steps where one power would overflow."""
    if not power.size:
        return size
    least, most = int(power.min()), int(power.max())
    scaled = size
    if most > 0:
        scaled = scaled * _POWER_ARRAY.take(np.clip(power, 0, _EXACT))
    if most > _EXACT:
        scaled = scaled * _POWER_ARRAY.take(np.clip(power - _EXACT, 0, 308))
    if least < 0:
        scaled = scaled / _POWER_ARRAY.take(np.clip(-power, 0, _EXACT))
    if least < -_EXACT:
        scaled = scaled / _POWER_ARRAY.take(np.clip(-power - _EXACT, 0, 308))
    return scaled


def _parts(value: float, fmt: NumberFormat) -> tuple[int, int]:
    """`decimal_parts` of a single number, without the cost of an array."""
    if not math.isfinite(value):
        raise ValueError(f"expected a finite number to print, got {value}")
    size = abs(value)
    if fmt.figures is not None:
        figures = min(fmt.figures, MOST_FIGURES)
        places = figures - 1 - (_magnitude_of(size) if size else 0)
    else:
        figures = MOST_FIGURES
        places = fmt.decimals or 0
        if places > -MOST_FIGURES and size >= 10.0 ** min(MOST_FIGURES - places, 308):
            places = min(places, MOST_FIGURES - 1 - _magnitude_of(size))
    scaled = _scale(size, places)
    nearest = math.floor(scaled + min(scaled * TIE_SHARE, TIE_PLACE) + 0.5)
    if fmt.figures is not None and nearest >= 10**figures:
        nearest //= 10
        places -= 1
    return (-nearest if value < 0 else nearest), -places


def _magnitude_of(size: float) -> int:
    power = math.floor(math.log10(size))
    if size < _scale(1.0, power):
        return power - 1
    return power + 1 if size >= _scale(1.0, power + 1) else power


def _scale(size: float, power: int) -> float:
    if 0 <= power <= _EXACT:
        return size * _POWERS[power]
    if -_EXACT <= power < 0:
        return size / _POWERS[-power]
    if power > 0:
        return size * _POWERS[_EXACT] * _POWERS[min(power - _EXACT, 308)]
    return size / _POWERS[_EXACT] / _POWERS[min(-power - _EXACT, 308)]


# ---------------------------------------------------------------------------- text for people


def exact_number(mantissa: int, exponent: int, scientific: bool = False) -> str:
    """`mantissa * 10**exponent` as people read it, all digits of the mantissa kept.

    >>> exact_number(150, -1), exact_number(-18, -6, scientific=True)
    ('15.0', '−1.8 × 10⁻⁵')
    """
    if scientific:
        head, power = _scientific(mantissa, exponent)
        if power:
            return f"{head} × 10{str(power).translate(_SUPERSCRIPTS)}".replace("-", MINUS)
        return head.replace("-", MINUS)
    return _plain(mantissa, exponent).replace("-", MINUS)


def exact_machine_number(mantissa: int, exponent: int, scientific: bool = False) -> str:
    """The same number as a machine reads it.

    >>> exact_machine_number(150, -1), exact_machine_number(-18, -6, scientific=True)
    ('15.0', '-1.8e-5')
    """
    if scientific:
        head, power = _scientific(mantissa, exponent)
        return f"{head}e{power}" if power else head
    return _plain(mantissa, exponent)


def format_number(value: float, fmt: NumberFormat) -> str:
    """A number rounded for `fmt`, for people: true minus sign, powers of ten, zeros kept.

    Raises ValueError for NaN and infinities, which are never shown.

    >>> format_number(14.96, NumberFormat(figures=3)), format_number(-0.0, NumberFormat(decimals=1))
    ('15.0', '0.0')
    """
    mantissa, exponent = _parts(value, fmt)
    return exact_number(mantissa, exponent, is_scientific(mantissa, exponent, fmt))


def machine_number(value: float, fmt: NumberFormat) -> str:
    """The digits of `format_number` as a machine reads them.

    Raises ValueError for NaN and infinities.

    >>> machine_number(1.84e-5, NumberFormat(figures=2))
    '1.8e-5'
    """
    mantissa, exponent = _parts(value, fmt)
    return exact_machine_number(mantissa, exponent, is_scientific(mantissa, exponent, fmt))


def is_scientific(mantissa: int, exponent: int, fmt: NumberFormat) -> bool:
    """Whether `fmt` writes a rounded number as a power of ten."""
    if fmt.notation == "plain" or not mantissa:
        return False
    if fmt.notation == "scientific" or exponent > 0:
        return True
    if fmt.figures is None:
        return False
    power = len(str(abs(mantissa))) - 1 + exponent
    return not -3 <= power < 5


def _plain(mantissa: int, exponent: int) -> str:
    if exponent >= 0:
        return str(mantissa * 10**exponent)
    digits = str(mantissa)
    if mantissa >= 0:
        if len(digits) <= -exponent:
            digits = digits.zfill(1 - exponent)
        return f"{digits[:exponent]}.{digits[exponent:]}"
    return "-" + _plain(-mantissa, exponent)


def _scientific(mantissa: int, exponent: int) -> tuple[str, int]:
    """The number between 1 and 10 that stands before the power of ten, and the power."""
    if not mantissa:
        return _plain(0, min(exponent, 0)), 0
    digits = str(abs(mantissa))
    head = f"{digits[0]}.{digits[1:]}" if len(digits) > 1 else digits
    return ("-" + head if mantissa < 0 else head), exponent + len(digits) - 1


# ---------------------------------------------------------------------------- MathML


def number_mathml(text: str) -> str:
    """Presentation MathML for a number written by this module: one element, so it can be a child.

    >>> number_mathml("−15.0")
    '<mrow><mo>−</mo><mn>15.0</mn></mrow>'
    """
    if text[0] != MINUS and "×" not in text:
        return f"<mn>{text}</mn>"
    sign = "<mo>\u2212</mo>" if text[0] == MINUS else ""
    head, _, power = text.removeprefix(MINUS).partition(" × 10")
    if not power:
        return f"<mrow>{sign}<mn>{head}</mn></mrow>"
    digits = power.translate(_FROM_SUPERSCRIPTS)
    raised = f"<mn>{digits}</mn>"
    if digits[0] == MINUS:
        raised = f"<mrow><mo>\u2212</mo><mn>{digits[1:]}</mn></mrow>"
    return f"<mrow>{sign}<mn>{head}</mn><mo>×</mo><msup><mn>10</mn>{raised}</msup></mrow>"


_FROM_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789" + MINUS)
