"""Solved instances of one family, held as arrays: one row an instance.

Made by the generator, read by the checks and by rendering. Quantities are in coherent SI
except where a docstring says "in the shown unit".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from qbank.family.model import Family

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Instances:
    """`n` instances of `family`, drawn with `seed`.

    index      (n,): the k of each instance; -1 for hand-given data
    case       (n,): position in `family.cases`
    setting    (n,): position in `family.settings`
    mantissas  given -> (n,): the displayed value is `mantissa * 10**exponent` of its source, in
               the shown unit; for a `Listed` source the position in its list; (n, m) for data lists
    sizes      data list -> (n,): how many of its m columns are used
    values     given, let and unknown -> (n,), SI; data lists (n, m), NaN beyond their size
    rounded    unknown -> (n,): the answer as displayed, in the shown unit
    tolerance  unknown -> (low, high), each (n,): the accepted band, in the shown unit
    windows    unknown -> (slack, distance), each (n,), in the shown unit: how far from the key
               honest rounding can land, and how far from it the nearest slip lies (infinite where
               there is none)
    wrong      slip -> unknown -> (n,): what the slip leads to, SI; NaN where it gives no value
    typed      given -> the text of its number, for hand-given data off the grid; else empty
    """

    family: Family
    seed: int
    index: Integers
    case: Integers
    setting: Integers
    mantissas: Mapping[str, Integers]
    sizes: Mapping[str, Integers]
    values: Mapping[str, Floats]
    rounded: Mapping[str, Floats]
    tolerance: Mapping[str, tuple[Floats, Floats]]
    wrong: Mapping[str, Mapping[str, Floats]]
    typed: Mapping[str, str]
    windows: Mapping[str, tuple[Floats, Floats]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.index)

    def take(self, rows: NDArray[np.bool_] | Integers | slice) -> Instances:
        """The instances in `rows` (a mask, positions or a slice)."""
        return replace(
            self,
            index=self.index[rows],
            case=self.case[rows],
            setting=self.setting[rows],
            mantissas={name: array[rows] for name, array in self.mantissas.items()},
            sizes={name: array[rows] for name, array in self.sizes.items()},
            values={name: array[rows] for name, array in self.values.items()},
            rounded={name: array[rows] for name, array in self.rounded.items()},
            tolerance={
                name: (low[rows], high[rows]) for name, (low, high) in self.tolerance.items()
            },
            windows={
                name: (slack[rows], distance[rows])
                for name, (slack, distance) in self.windows.items()
            },
            wrong={
                slip: {name: array[rows] for name, array in answers.items()}
                for slip, answers in self.wrong.items()
            },
        )
