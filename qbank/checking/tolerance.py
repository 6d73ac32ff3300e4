"""The accepted band around a numeric key."""

from __future__ import annotations

import numpy as np

from qbank.expressions.numbers import last_place
from qbank.family.model import Unknown
from qbank.instances import Floats

DEFAULT_SHARE = 0.01  # of the key
DEFAULT_PLACES = 1.5  # units in the last displayed place of the key
EXTRA_DIGITS = 2  # of a bound, beyond the last displayed place
ON_THE_GRID = 1e-6  # a bound this near to a grid point, in grid steps, is that point
LAST_BITS = 1e-15  # relative error of the product that places a bound on the grid
EXACT_POWER = 1e22  # the last power of ten that a double holds exactly


def reach(unknown: Unknown, rounded: Floats, place: Floats) -> Floats:
    """How far from the key (n,) a response may lie, in the shown unit, before bounds are rounded.

    `place` (n,) is one unit in the last displayed place of each key.

    The rule is `ToleranceRule`'s; where an author sets a share and an amount, the wider counts.
    The default follows common practice, no source: 1 % forgives a rounded intermediate result,
    and 1.5 units in the last place forgive the last digit being one off.
    """
    rule = unknown.tolerance
    if rule.relative is None and rule.absolute is None:
        return np.maximum(DEFAULT_SHARE * np.abs(rounded), DEFAULT_PLACES * place)
    share = (rule.relative or 0.0) * np.abs(rounded)
    return np.maximum(share, rule.absolute or 0.0)


def bands(unknown: Unknown, rounded: Floats) -> tuple[Floats, Floats]:
    """The lowest and highest accepted response, each (n,), around keys (n,), in the shown unit.

    Bounds are widened outward to decimals with two more digits than the key shows, and each is
    the double nearest to its decimal, so that a typed number equal to a bound is accepted.
    NaN where the key is not finite.
    """
    with np.errstate(all="ignore"):
        place = last_place(rounded, unknown.shown)
        width = reach(unknown, rounded, place)
        steps = 10.0**EXTRA_DIGITS / place  # grid steps in one unit
        least, most = (rounded - width) * steps, (rounded + width) * steps
        low = np.floor(least + ON_THE_GRID + LAST_BITS * np.abs(least))
        high = np.ceil(most - ON_THE_GRID - LAST_BITS * np.abs(most))
        return _decimals(low, steps), _decimals(high, steps)


def _decimals(counts: Floats, steps: Floats) -> Floats:
    """`counts / steps`, where `steps` is a power of ten, correctly rounded."""
    fine = steps >= 1.0
    if fine.all():
        near = counts / np.rint(steps)
    else:
        near = np.where(fine, counts / np.rint(steps), counts * np.rint(1.0 / steps))
    far = np.flatnonzero(np.isfinite(counts) & ((steps > EXACT_POWER) | (steps < 1 / EXACT_POWER)))
    for row in far.tolist():  # powers of ten are no longer exact: let the parser round
        near[row] = float(f"{int(counts[row])}e{-round(np.log10(steps[row]))}")
    return near + 0.0  # no negative zero
