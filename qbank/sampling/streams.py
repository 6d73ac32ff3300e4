"""Counter-based random numbers: functions of (key, purpose, block, position) and nothing else.

The generator is Philox4x64-10: J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, "Parallel
random numbers: as easy as 1, 2, 3", SC11 (2011). NumPy promises its raw words for all time but
not its distributions, so only raw words are taken from NumPy.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from qbank.instances import Floats, Integers

Words = NDArray[np.uint64]

_WORDS_A_STEP = 4  # one Philox counter gives four words of 64 bits
_COUNTERS = 2**256


class Purpose(IntEnum):
    """What a stream is for; streams of different purposes share no words."""

    PERMUTATION = 1
    ORDER = 2
    SETTING = 3
    CASE_ORDER = 4
    HIDDEN = 5  # hidden givens count up from here
    SIZE = 1 << 16  # and the sizes and values of data lists from these
    VALUES = 1 << 24


@dataclass(frozen=True, slots=True)
class Key:
    """A 128-bit Philox key."""

    value: int

    @classmethod
    def of(cls, draw_key: str, seed: int | str) -> Key:
        """The key of a family's draw key and a seed (the first half of a SHA-256)."""
        text = f"qbank draw\0{draw_key}\0{seed}"
        return cls(int.from_bytes(hashlib.sha256(text.encode()).digest()[:16], "big"))

    def words(self, purpose: int, block: int, count: int, first: int = 0) -> Words:
        """Words `first .. first+count-1` of a stream, (count,) uint64.

        Reading a stream in pieces gives the same words as reading it at once.
        """
        step, skipped = divmod(first, _WORDS_A_STEP)
        counter = (purpose << 192) | (block << 64) | step
        return raw_words(self.value, counter, skipped + count)[skipped:]


def raw_words(key: int, counter: int, count: int) -> Words:
    """Philox4x64-10 output for `counter`, `counter + 1` and so on, (count,) uint64."""
    # NumPy counts up before it computes, so it is started one below.
    generator = np.random.Philox(key=key, counter=(counter - 1) % _COUNTERS)
    return generator.random_raw(count)


def below(words: Words, bound: int) -> Integers:
    """Integers from 0 to `bound - 1`, of the same shape as `words`; 0 < bound <= 2**32.

    The upper half of each word is scaled, so a value's share is off by at most bound / 2**32.
    """
    scaled = (words >> np.uint64(32)) * np.uint64(bound)
    return (scaled >> np.uint64(32)).astype(np.int64)


def uniform(words: Words) -> Floats:
    """Numbers strictly between 0 and 1: odd multiples of 2**-53, all equally likely."""
    return ((words >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52


def normal(first: Words, second: Words) -> Floats:
    """Standard normal numbers, one for each pair of words.

    G. E. P. Box and M. E. Muller, "A note on the generation of random normal deviates", Annals
    of Mathematical Statistics 29 (1958). Logarithm and cosine are summed here from operations
    that IEEE 754 rounds exactly, because those of a machine's library differ in the last bit.
    """
    radius: Floats = np.sqrt(-2.0 * _ln(uniform(first)))
    return radius * _cos_turns(uniform(second))


def _ln(x: Floats) -> Floats:
    """Natural logarithm of positive numbers by ln m = 2 artanh((m - 1)/(m + 1))."""
    mantissa, exponent = np.frexp(x)
    low = mantissa < math.sqrt(0.5)
    mantissa = np.where(low, 2.0 * mantissa, mantissa)
    exponent = np.where(low, exponent - 1, exponent)
    s = (mantissa - 1.0) / (mantissa + 1.0)
    return 2.0 * s * _polynomial([1.0 / (2 * k + 1) for k in range(12)], s * s) + exponent * _LN_2


def _cos_turns(x: Floats) -> Floats:
    """Cosine of `x` whole turns, 0 < x < 1, by the power series within an eighth of a turn."""
    quarter = np.rint(4.0 * x)
    angle = (x - 0.25 * quarter) * (2.0 * math.pi)
    square = -angle * angle
    cosine = _polynomial([1.0 / math.factorial(2 * k) for k in range(10)], square)
    sine = angle * _polynomial([1.0 / math.factorial(2 * k + 1) for k in range(10)], square)
    phase = quarter.astype(np.int64) % 4
    return np.select([phase == 0, phase == 1, phase == 2], [cosine, -sine, -cosine], sine)


_LN_2 = 0.6931471805599453


def _polynomial(coefficients: list[float], x: Floats) -> Floats:
    """Sum of coefficients[k] * x**k."""
    total = np.full_like(x, coefficients[-1])
    for coefficient in reversed(coefficients[:-1]):
        total = total * x + coefficient
    return total
