"""Which way a system goes, decided from the data before anything is solved."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import compile_nodes
from qbank.family.model import Family

Values = Mapping[str, NDArray[np.float64]]


class CaseDecider:
    """Decides the case of every draw; made by `decide_cases`."""

    def __init__(self, family: Family) -> None:
        self._positions = [i for i, case in enumerate(family.cases) if case.when is not None]
        self._otherwise = next((i for i, case in enumerate(family.cases) if case.when is None), -1)
        conditions = [case.when for case in family.cases if case.when is not None]
        self._program = compile_nodes(conditions) if conditions else None

    def __call__(self, values: Values, n: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The case of each of `n` draws and how many cases hold, both (n,) int64.

        `values` are the givens and lets, SI, each (n,). The case is a position in
        `family.cases`, the first that holds, -1 where none does. Only where exactly one holds
        has the draw a meaning. `otherwise` holds where no other case does.
        """
        case = np.full(n, self._otherwise, dtype=np.int64)
        held = np.zeros(n, dtype=np.uint8)
        if self._program is not None:
            masks = self._program(values, n)
            for position, mask in zip(self._positions[::-1], masks[::-1], strict=True):
                np.copyto(case, position, where=mask)
                held += mask.view(np.uint8)
        holding = held.astype(np.int64)
        if self._otherwise >= 0:
            holding[holding == 0] = 1
        return case, holding


def decide_cases(family: Family) -> CaseDecider:
    """What decides the case of a draw. A family without cases always has its one case."""
    return CaseDecider(family)
