"""The kinds of given quantity: which displayable values each can take, and their SI values.

A value is first of all the decimal number that is printed, held as an integer mantissa; the SI
value is computed from exactly that number.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np

from qbank.expressions.numbers import exact_number
from qbank.expressions.units import Unit
from qbank.family.model import Fixed, Given, Grid, Listed, Sampled
from qbank.instances import Floats, Integers

_TABLE = 2**16  # grids up to this many points look their SI values up
_EXACT_POWER = 22  # 10**22 is the last power of ten that a double holds exactly
LARGEST_MANTISSA = 2**53


def decimal_values(mantissas: Integers, exponent: int) -> Floats:
    """The doubles nearest to `mantissas * 10**exponent`, of the same shape.

    Exactly rounded for |exponent| <= 22; beyond that a last bit may differ.
    """
    if exponent >= 0:
        return mantissas.astype(np.float64) * 10.0**exponent
    if exponent < -_EXACT_POWER:
        return np.array([float(f"{m}e{exponent}") for m in mantissas.ravel().tolist()]).reshape(
            mantissas.shape
        )
    return mantissas.astype(np.float64) / 10.0**-exponent


@dataclass(frozen=True)
class GridKind:
    """Equally spaced values."""

    source: Grid
    unit: Unit

    @property
    def count(self) -> int:
        return self.source.count

    def mantissas(self, at: Integers) -> Integers:
        """The mantissas of the points `at`, (n,)."""
        return self.source.first + self.source.step * at

    def values(self, at: Integers) -> Floats:
        """The SI values of the points `at`, (n,)."""
        if self.count <= _TABLE:
            return self._table.take(at)
        return self.si(self.mantissas(at))

    @cached_property
    def _table(self) -> Floats:
        return self.si(self.mantissas(np.arange(self.count, dtype=np.int64)))

    def si(self, mantissas: Integers) -> Floats:
        """The SI values of numbers on this grid's last decimal, on the grid or off it, (n,)."""
        return self.unit.to_si(decimal_values(mantissas, self.source.exponent))

    def mantissa_of(self, mantissa: int, exponent: int) -> int | None:
        """The mantissa on this grid's exponent that shows the number, or None if none does."""
        return _on_exponent(mantissa, exponent, self.source.exponent)

    def describe(self) -> str:
        """Such as "71 values from 2.0 kg to 9.0 kg"."""
        last = self.source.first + self.source.step * (self.count - 1)
        ends = [exact_number(m, self.source.exponent) for m in (self.source.first, last)]
        return f"{self.count} values from {ends[0]} {self.unit.text} to {ends[1]} {self.unit.text}"


@dataclass(frozen=True)
class ListedKind:
    """Values the author lists; the mantissa of an instance is the position in the list."""

    source: Listed
    unit: Unit

    @property
    def count(self) -> int:
        return len(self.source.mantissas)

    def mantissas(self, at: Integers) -> Integers:
        """The positions themselves, (n,)."""
        return at

    def values(self, at: Integers) -> Floats:
        """The SI values of the listed numbers `at`, (n,)."""
        return self._table.take(at)

    @cached_property
    def _table(self) -> Floats:
        pairs = zip(self.source.mantissas, self.source.exponents, strict=True)
        return np.array([self.unit.si_value(m * Fraction(10) ** e) for m, e in pairs])

    def mantissa_of(self, mantissa: int, exponent: int) -> int | None:
        """The position of the listed number that equals this one, or None if none does."""
        pairs = zip(self.source.mantissas, self.source.exponents, strict=True)
        for position, (m, e) in enumerate(pairs):
            if _on_exponent(mantissa, exponent, e) == m:
                return position
        return None

    def describe(self) -> str:
        """Such as "3 listed values"."""
        return f"{self.count} listed values"


@dataclass(frozen=True)
class FixedKind:
    """One value."""

    source: Fixed
    unit: Unit
    count: int = 1

    def mantissas(self, at: Integers) -> Integers:
        """The one mantissa, (n,)."""
        return np.full(at.shape, self.source.mantissa, dtype=np.int64)

    def values(self, at: Integers) -> Floats:
        """The one SI value, (n,)."""
        return np.full(at.shape, self.value)

    @cached_property
    def value(self) -> float:
        """The SI value."""
        return self.unit.si_value(self.source.mantissa * Fraction(10) ** self.source.exponent)

    def mantissa_of(self, mantissa: int, exponent: int) -> int | None:
        """The mantissa on this value's exponent that shows the number, or None if none does."""
        return _on_exponent(mantissa, exponent, self.source.exponent)

    def describe(self) -> str:
        """Such as "fixed"."""
        return "fixed"


ScalarKind = GridKind | ListedKind | FixedKind


def scalar_kind(given: Given) -> ScalarKind | None:
    """The kind of a given that is one number; None for a data list."""
    match given.source:
        case Grid() as source:
            return GridKind(source, given.unit)
        case Listed() as source:
            return ListedKind(source, given.unit)
        case Fixed() as source:
            return FixedKind(source, given.unit)
        case Sampled():
            return None


def _on_exponent(mantissa: int, exponent: int, target: int) -> int | None:
    """`m` with m * 10**target == mantissa * 10**exponent, if there is one a double can hold."""
    shift = exponent - target
    if abs(shift) > 30:  # no grid is that much finer than a typed number
        return mantissa if mantissa == 0 else None
    if shift >= 0:
        found = mantissa * 10**shift
    else:
        found, rest = divmod(mantissa, 10**-shift)
        if rest:
            return None
    return found if abs(found) < LARGEST_MANTISSA else None
