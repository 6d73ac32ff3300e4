"""The accepted band around a numeric key: the policy, in one place.

For every answer two numbers are known (`window.py`): the *rounding slack*, how far from the key
honest work can land, and the *slip distance*, how far from it the nearest modelled mistake lands.
A fair tolerance reaches at least as far as the slack and not as far as that slip. Unless an author
sets the tolerance, the slack is taken to be at least one unit in the last place: nobody is marked
wrong for a last digit that is one off.

- Without an author's rule it is 1 % of the key or 1.5 units in the last place, whichever is
  wider. It is widened to the slack where that is wider still. It is narrowed to half the slip
  distance where it would reach farther, because whoever makes the slip rounds too; but never
  below the slack.
- An author's rule is kept as it is, and a warning says where it leaves the window.
- An instance whose slack reaches the nearest slip has no fair tolerance and is not drawn; nor is
  one in which an author's rule leaves the window. But what fails in more than half of the draws
  is not a matter of the draw: a slip that is so close so often cannot be told apart from honest
  work, and does not count for that answer; an author's rule that is so often too narrow is let
  be, with the warning.
"""

from __future__ import annotations

import numpy as np

from qbank.expressions.numbers import last_place
from qbank.family.model import Unknown
from qbank.instances import Floats

DEFAULT_SHARE = 0.01  # of the key
DEFAULT_PLACES = 1.5  # units in the last displayed place of the key
LEAST_PLACES = 1.0  # units in the last displayed place that a default tolerance always forgives
CLEAR = 0.5  # of the way to the nearest slip, as far as a default tolerance may reach
TOO_OFTEN = 0.5  # share of draws above which a fault is the family's and not the draw's
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


def authored(unknown: Unknown) -> bool:
    """Whether the author set the tolerance."""
    return unknown.tolerance.relative is not None or unknown.tolerance.absolute is not None


def within_window(unknown: Unknown, wished: Floats, slack: Floats, distance: Floats) -> Floats:
    """How far from the key (n,) a response may lie, set inside the window where there is one.

    `wished` (n,) is what `reach` gives; `slack` and `distance` (n,) are the ends of the window,
    all in the shown unit. See the module for the policy.
    """
    if authored(unknown):
        return wished
    return np.maximum(slack, np.minimum(np.maximum(wished, slack), CLEAR * distance))


def bands(unknown: Unknown, rounded: Floats, width: Floats | None = None) -> tuple[Floats, Floats]:
    """The lowest and highest accepted response, each (n,), around keys (n,), in the shown unit.

    They lie `width` (n,) from the key, or as far as `reach` says. Bounds are widened outward to
    decimals with two more digits than the key shows, and each is the double nearest to its
    decimal, so that a typed number equal to a bound is accepted.
    NaN where the key is not finite.
    """
    with np.errstate(all="ignore"):
        place = last_place(rounded, unknown.shown)
        if width is None:
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
