"""How the difficulty index spreads over many instances of a family: figures and a picture."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from qbank.expressions.numbers import round_values
from qbank.hardness.features import INDEX_FORMAT, Features
from qbank.hardness.weights import WEIGHTS

MOST_BINS = 12
BAR = 40  # characters of the longest bar


@dataclass(frozen=True, slots=True)
class Spread:
    """The spread of the index over n instances.

    quantiles  least, lower quartile, median, upper quartile, most
    edges      of the bins, one more than there are `counts`; multiples of a round width
    parts      feature -> what it adds to the index: on average, at least and at most
    """

    n: int
    quantiles: tuple[float, float, float, float, float]
    edges: tuple[float, ...]
    counts: tuple[int, ...]
    parts: dict[str, tuple[float, float, float]]

    def as_json(self) -> dict[str, Any]:
        """The spread as plain values."""
        names = ("least", "lower_quartile", "median", "upper_quartile", "most")
        return {
            "instances": self.n,
            **dict(zip(names, self.quantiles, strict=True)),
            "edges": list(self.edges),
            "counts": list(self.counts),
            "parts": {
                name: dict(zip(("mean", "least", "most"), part, strict=True))
                for name, part in self.parts.items()
            },
        }

    def as_text(self) -> str:
        """A histogram for the terminal, within 80 columns, and what the index is made of."""
        least, lower, median, upper, most = self.quantiles
        decimals = max(0, -math.floor(math.log10(self.edges[1] - self.edges[0])))
        width = max(len(f"{edge:.{decimals}f}") for edge in self.edges)
        lines = [
            f"difficulty index of {self.n:,} instances: {least:.2f} to {most:.2f}",
            f"median {median:.2f}, half of them within {lower:.2f} to {upper:.2f}",
        ]
        for low, high, count in zip(self.edges, self.edges[1:], self.counts, strict=False):
            length = BAR * count // max(self.counts)
            bar = "█" * max(length, min(count, 1))  # a single instance is seen too
            span = f"{low:{width}.{decimals}f} .. {high:{width}.{decimals}f}"
            lines.append(f"  {span}  {bar:{BAR}}  {count:,}".rstrip())
        lines.append("made of (on average; least to most):")
        for name, (mean, low, high) in self.parts.items():
            lines.append(f"  {name.replace('_', ' '):14} {mean:7.2f}  ({low:.2f} to {high:.2f})")
        return "\n".join(lines)


def spread_of(features: Sequence[Features]) -> Spread:
    """The spread over all rows of some chunks of features; at least one row."""
    index = np.concatenate([chunk.index for chunk in features])
    edges = _edges(float(index.min()), float(index.max()))
    counts = np.histogram(index, bins=np.array(edges))[0]
    quantiles = np.quantile(index, (0, 0.25, 0.5, 0.75, 1))
    least, lower, median, upper, most = round_values(quantiles, INDEX_FORMAT).tolist()
    parts = {}
    for weight in WEIGHTS:
        added = weight.per_unit * np.concatenate([chunk.of(weight.feature) for chunk in features])
        three = np.array([added.mean(), added.min(), added.max()])
        mean, low, high = round_values(three, INDEX_FORMAT).tolist()
        parts[weight.feature] = (mean, low, high)
    return Spread(
        len(index), (least, lower, median, upper, most), edges, tuple(counts.tolist()), parts
    )


def _edges(least: float, most: float) -> tuple[float, ...]:
    """At most `MOST_BINS` bins that hold both ends, as wide as 1, 2 or 5 times a power of ten."""
    for step in (factor * 10.0**power for power in range(-3, 9) for factor in (1, 2, 5)):
        first, last = math.floor(least / step), math.floor(most / step) + 1
        if last - first <= MOST_BINS:
            return tuple(float(f"{k * step:.10g}") for k in range(first, last + 1))
    raise ValueError(f"expected an index of moderate size, got {least:g} to {most:g}")
