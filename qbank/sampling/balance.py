"""Which of the distractors are offered, so that the key's place among the options varies.

Values to choose from stand in ascending order, so the place of the key is the number of distractors
below it. Vary the place of the right option: T. M. Haladyna, S. M. Downing and M. C. Rodriguez,
Applied Measurement in Education 15 (2002) 309-333, from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from qbank.instances import Floats, Integers

FAR_OFF = 1000.0  # an option so many times larger or smaller than the key is ruled out by its size


def balanced(
    key: Floats, wrong: Floats, usable: NDArray[np.bool_], most: int, word: Integers
) -> NDArray[np.bool_]:
    """Which distractors to offer, (n, slips): at most `most` of the usable ones in each row.

    key (n,) and `wrong` (n, slips) as displayed; `usable` (n, slips) tells those that differ from
    the key and from each other. Where there are enough of the key's own sign and within a factor
    `FAR_OFF` of it, no other is offered, for it would be ruled out at sight. The places the key
    can have, given how many usable distractors lie on either side, are taken equally often as
    `word` (n,) of whole numbers from 0 runs on; on each side the author's first come first.
    """
    with np.errstate(invalid="ignore"):  # NaN: not usable
        signed = wrong * np.sign(key)[:, None]
        size = np.abs(key)[:, None]
        likely = usable & (signed > size / FAR_OFF) & (signed < size * FAR_OFF)
        usable = np.where((likely.sum(axis=1) >= most)[:, None], likely, usable)
        below = usable & (wrong < key[:, None])
        above = usable & ~(wrong < key[:, None])
    lower, upper = below.sum(axis=1), above.sum(axis=1)
    offered = np.minimum(most, lower + upper)
    least = np.maximum(0, offered - upper)
    place = least + word % (np.minimum(offered, lower) - least + 1)
    return _first(below, place) | _first(above, offered - place)


def _first(mask: NDArray[np.bool_], count: Integers) -> NDArray[np.bool_]:
    """The first `count` (n,) of those marked in each row of `mask` (n, m)."""
    first: NDArray[np.bool_] = mask & (np.cumsum(mask, axis=1) <= count[:, None])
    return first
