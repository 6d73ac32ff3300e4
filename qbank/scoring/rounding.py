"""Rounding and comparing numbers as the standard says.

- `round` takes half toward plus infinity: 6.5 to 7, -6.5 to -6 (mapping note, g2).
- `roundTo` and `equalRounded` decide on the next digit, 5 goes up; they work on the decimal
  digits of a number as it is printed (its shortest form that reads back), so that 2.675 is
  2.68 whatever its last bit says. The sign stands aside: -2.675 is -2.68.
- The window of `equal` is built around the first operand (mapping note, b3).
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Context, Decimal

FIGURES = "significantFigures"
PLACES = "decimalPlaces"
_CONTEXT = Context(prec=700, rounding=ROUND_HALF_UP)
MAX_FIGURES = 300


def round_half_up(number: float) -> int | None:
    """The nearest whole number, half toward plus infinity; None for what is not finite."""
    if not math.isfinite(number):
        return None
    # floor(x + 1/2) would carry 0.49999999999999994 to 1.
    floor = math.floor(number)
    return floor + 1 if number - floor >= 0.5 else floor


def round_to(number: float, mode: str, figures: int) -> float | None:
    """A number to some significant figures (at least 1) or decimals (at least 0); else None."""
    if figures < (1 if mode == FIGURES else 0) or figures > MAX_FIGURES:
        return None
    if not math.isfinite(number):
        return None if math.isnan(number) else number
    exact = Decimal(repr(number))
    if not exact:
        return 0.0
    last = exact.adjusted() - figures + 1 if mode == FIGURES else -figures
    return float(exact.quantize(Decimal((0, (1,), last)), context=_CONTEXT))


def within(
    first: float,
    second: float,
    mode: str,
    tolerance: tuple[float, float],
    included: tuple[bool, bool],
) -> bool:
    """Whether `second` lies in the window around `first`.

    absolute: [x - t0, x + t1]; relative: [x (1 - t0/100), x (1 + t1/100)]; exact: x alone.
    `included` says for each end whether it belongs to the window; a negative x swaps the ends
    of a relative window, each with its own inclusion.
    """
    if mode == "exact":
        return first == second
    below, above = tolerance
    include_lower, include_upper = included
    if mode == "absolute":
        low, high = first - below, first + above
    else:
        low, high = first * (1 - below / 100), first * (1 + above / 100)
    if low > high:
        low, high = high, low
        include_lower, include_upper = include_upper, include_lower
    above_low = second >= low if include_lower else second > low
    below_high = second <= high if include_upper else second < high
    return above_low and below_high
