"""Accepted candidates as columns that can be cut, joined and put in order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from qbank.checking.window import Window
from qbank.instances import Floats, Integers
from qbank.sampling.points import Candidates

Column = TypeVar("Column", Floats, Integers)


@dataclass(frozen=True, slots=True)
class Drawn:
    """Rows that met every ruling; fields as in `Instances`, and the window of each unknown."""

    case: Integers
    values: Mapping[str, Floats]
    mantissas: Mapping[str, Integers]
    sizes: Mapping[str, Integers]
    wrong: Mapping[str, Mapping[str, Floats]]
    windows: Mapping[str, Window]

    @classmethod
    def of(cls, candidates: Candidates) -> Drawn:
        """What a judge left of some candidates."""
        return cls(
            candidates.case,
            candidates.values,
            candidates.mantissas(),
            candidates.sizes,
            candidates.wrong,
            candidates.windows,
        )

    @classmethod
    def join(cls, parts: Sequence[Drawn]) -> Drawn:
        """The rows of all parts in turn; at least one part."""
        if len(parts) == 1:
            return parts[0]
        return cls(
            np.concatenate([part.case for part in parts]),
            _joined([part.values for part in parts]),
            _joined([part.mantissas for part in parts]),
            _joined([part.sizes for part in parts]),
            {slip: _joined([part.wrong[slip] for part in parts]) for slip in parts[0].wrong},
            {
                name: Window.join([part.windows[name] for part in parts])
                for name in parts[0].windows
            },
        )

    def __len__(self) -> int:
        return len(self.case)

    def take(self, rows: NDArray[np.bool_] | Integers | slice) -> Drawn:
        """The given rows, in the given order."""
        return Drawn(
            self.case[rows],
            {name: column[rows] for name, column in self.values.items()},
            {name: column[rows] for name, column in self.mantissas.items()},
            {name: column[rows] for name, column in self.sizes.items()},
            {
                slip: {name: column[rows] for name, column in answers.items()}
                for slip, answers in self.wrong.items()
            },
            {name: window.take(rows) for name, window in self.windows.items()},
        )


def _joined(parts: Sequence[Mapping[str, Column]]) -> dict[str, Column]:
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
