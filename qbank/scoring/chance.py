"""Chance that is the same on every machine for the same seed.

Python promises the sequence of `Random.random()` for a seed, but not that of its other methods,
so whole numbers, picks and shuffles are made from `random()` here.
"""

from __future__ import annotations

import random
from collections.abc import MutableSequence, Sequence
from typing import TypeVar

T = TypeVar("T")


class Chance:
    """A stream of chance; made when first asked, as most items never ask."""

    def __init__(self, seed: int | str) -> None:
        self.seed = seed
        self._random: random.Random | None = None

    def fraction(self) -> float:
        """Uniform in [0, 1)."""
        if self._random is None:
            # Not for secrets: the same seed has to give the same draws.
            self._random = random.Random(f"{self.seed}")  # noqa: S311
        return self._random.random()

    def below(self, count: int) -> int:
        """Uniform in 0 ... count - 1, for counts up to 2**52."""
        return int(self.fraction() * count)

    def pick(self, items: Sequence[T]) -> T:
        return items[self.below(len(items))]

    def shuffle(self, items: MutableSequence[T]) -> None:
        for last in range(len(items) - 1, 0, -1):
            other = self.below(last + 1)
            items[last], items[other] = items[other], items[last]
