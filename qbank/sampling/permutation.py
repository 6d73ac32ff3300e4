"""Seeded orders of many points: a bijection computed point by point, and a shuffle of few."""

from __future__ import annotations

import math

import numpy as np

from qbank.instances import Integers
from qbank.sampling.streams import Key, Purpose, Words

LARGEST = 2**62  # of a bijection: both halves and their products fit a 64-bit word
_ROUNDS = 4
_HALF_WORD = np.uint64(32)


class Bijection:
    """A keyed one-to-one map of `0 .. size-1` onto itself, evaluated on whole arrays.

    An unbalanced Feistel network: a number is split as `left * b + right` and the halves are
    displaced in turn by a keyed mixing of the other one, which can be undone and so is one to
    one. Four rounds: M. Luby and C. Rackoff, "How to construct pseudorandom permutations from
    pseudorandom functions", SIAM Journal on Computing 17 (1988). It orders draws; it keeps no
    secrets.

    `size` is the least product of two nearly equal halves that is at least `least`.
    """

    def __init__(self, key: Key, least: int) -> None:
        if not 1 <= least <= LARGEST:
            raise ValueError(f"a bijection of {least} points; 1 to {LARGEST} are possible")
        left = math.isqrt(least - 1) + 1
        right = -(-least // left)
        self.size = left * right
        self._sides = (np.uint64(left), np.uint64(right))
        multipliers = key.words(Purpose.PERMUTATION, 0, 2 * _ROUNDS) | np.uint64(1)
        self._multipliers = multipliers.reshape(_ROUNDS, 2)

    def __call__(self, positions: Integers) -> Integers:
        """The images of `positions`, all within `0 .. size-1`; same shape, int64."""
        left_side, right_side = self._sides
        numbers = positions.astype(np.uint64)
        left = numbers // right_side
        right = numbers - left * right_side
        for turn, (first, second) in enumerate(self._multipliers):
            if turn % 2 == 0:
                _displace(left, right, left_side, first, second)
            else:
                _displace(right, left, right_side, first, second)
        left *= right_side
        left += right
        return left.astype(np.int64)


def _displace(
    target: Words, source: Words, side: np.uint64, first: np.uint64, second: np.uint64
) -> None:
    """Add a mixing of `source` to `target`, modulo `side`, in place."""
    # Two multiplications with a fold between them reach every bit of the upper half;
    # products wrap modulo 2**64, which is what is meant.
    mixed = (source + second) * first
    spare = mixed >> _HALF_WORD
    mixed ^= spare
    mixed *= second
    mixed >>= _HALF_WORD
    mixed *= side
    mixed >>= _HALF_WORD
    target += mixed
    # Below `side` the difference wraps to something huge, so the smaller one is the remainder.
    np.subtract(target, side, out=spare)
    np.minimum(target, spare, out=target)


def shuffled(key: Key, count: int, block: int = 0) -> Integers:
    """A seeded order of `0 .. count-1`, (count,) int64."""
    words = key.words(Purpose.ORDER, block, count)
    return np.argsort(words, kind="stable").astype(np.int64)


def shuffled_rows(key: Key, block: int, rows: int, columns: int) -> Integers:
    """Independent orders of `0 .. columns-1`, (rows, columns) int64."""
    words = key.words(Purpose.CASE_ORDER, block, rows * columns).reshape(rows, columns)
    return np.argsort(words, axis=1, kind="stable").astype(np.int64)
