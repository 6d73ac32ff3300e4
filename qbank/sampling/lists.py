"""Data lists: random values, rounded to a displayable decimal, that can be told apart.

Rounded random values could repeat, so that two instances look the same. To make lists distinct by
construction each of the first values is given a residue: it is drawn on the lattice of decimals
whose mantissa is `digit` modulo `radix`. The digits come from the position of the instance, and
the radix is no larger than the spread of the values, so that the distribution stays what the
author wrote: rounding to every `radix`-th decimal adds (radix**2 - 1)/12 to the variance beyond
plain rounding (W. F. Sheppard's correction, 1898), which is taken off before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.tree import names_in
from qbank.expressions.units import Unit
from qbank.family.model import Given, Sampled
from qbank.instances import Floats, Integers
from qbank.sampling.kinds import LARGEST_MANTISSA, decimal_values
from qbank.sampling.streams import Words, normal, uniform

WORDS_A_VALUE = 2
_UNIFORM_CELLS = 16  # decimals of one residue that a uniform range must hold at least


@dataclass(frozen=True, slots=True)
class ListKind:
    """How one data list is drawn. `parameters` gives (mean, sd) or (low, high) in SI."""

    name: str
    source: Sampled
    unit: Unit
    least: int
    most: int
    parameters: Program
    needs: frozenset[str]

    def radix(self, values: dict[str, Floats], n: int) -> int:
        """The largest radix that the narrowest spread among `n` trial points allows."""
        first, second = self._scaled_parameters(values, n)
        spread = (
            second if self.source.distribution == "normal" else (second - first) / _UNIFORM_CELLS
        )
        usable = spread[np.isfinite(spread) & (spread > 0)]
        return max(1, int(min(usable.min(), 1e6))) if len(usable) else 1

    def mantissas(
        self,
        values: dict[str, Floats],
        digits: list[Integers],
        radix: int,
        words: Words,
    ) -> tuple[Integers, NDArray[np.bool_]]:
        """Mantissas (n, most) and which rows could be drawn (n,).

        `words` is (n, most, 2); `digits` holds an (n,) array for each of the first values.
        A row cannot be drawn when its parameters are not finite, its spread is not positive, or
        its values do not fit a double exactly.
        """
        n = len(words)
        first, second = self._scaled_parameters(values, n)
        span = np.zeros((1, self.most))
        span[0, : len(digits)] = 1.0
        residue = np.zeros((n, self.most))
        for column, digit in enumerate(digits):
            residue[:, column] = digit
        steps = np.where(span > 0, float(radix), 1.0)
        with np.errstate(all="ignore"):  # rows with impossible parameters are refused below
            if self.source.distribution == "normal":
                spread = second[:, None] ** 2 - (steps**2 - 1.0) / 12.0
                drawn = first[:, None] + np.sqrt(np.maximum(spread, 0.0)) * normal(
                    words[:, :, 0], words[:, :, 1]
                )
                rounded = residue + steps * np.rint((drawn - residue) / steps)
                possible = second > 0
            else:
                # equal chances for the decimals of the residue between low and high
                lowest = np.ceil((first[:, None] - residue) / steps)
                highest = np.floor((second[:, None] - residue) / steps)
                places = np.maximum(highest - lowest + 1.0, 1.0)
                rounded = residue + steps * (lowest + np.floor(uniform(words[:, :, 0]) * places))
                possible = second > first
        possible = possible & (np.abs(rounded) < LARGEST_MANTISSA).all(axis=1)
        rounded[~possible] = 0.0
        return rounded.astype(np.int64), possible

    def values(self, mantissas: Integers, sizes: Integers) -> Floats:
        """SI values (n, most), NaN beyond each row's size."""
        values = self.unit.to_si(decimal_values(mantissas, self.source.exponent))
        values[np.arange(self.most) >= sizes[:, None]] = np.nan
        return values

    def _scaled_parameters(self, values: dict[str, Floats], n: int) -> tuple[Floats, Floats]:
        """The two parameters counted in the last displayed decimal, (n,) each."""
        first, second = self.parameters(values, n)
        place = 10.0**self.source.exponent
        if self.source.distribution == "uniform":
            return self.unit.from_si(first) / place, self.unit.from_si(second) / place
        # a spread has no zero point: only the factor of its unit counts
        return self.unit.from_si(first) / place, second / (self.unit.factor * place)


def list_kinds(given: Mapping[str, Given]) -> list[ListKind]:
    """The data lists among the givens; one that is `like` another comes after it."""
    kinds = []
    for name, quantity in given.items():
        source = quantity.source
        if not isinstance(source, Sampled):
            continue
        model = given[source.like].source if source.like else source
        if not isinstance(model, Sampled):
            raise TypeError(f"'{name}' takes its size from '{source.like}', which is not a list")
        kinds.append(
            ListKind(
                name,
                source,
                quantity.unit,
                model.least,
                model.most,
                compile_nodes(source.parameters),
                frozenset().union(*(names_in(node) for node in source.parameters)),
            )
        )
    return sorted(kinds, key=lambda kind: kind.source.like is not None)
