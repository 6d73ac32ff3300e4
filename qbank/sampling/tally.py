"""How many candidates each rule saw and turned away, and what that says about the rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from qbank.place import Place


@dataclass(frozen=True, slots=True)
class Ruling:
    """Something a candidate must meet: a rule of the author, or one the method implies.

    `author` tells the two apart; `place` is where the author can change it.
    """

    need: str
    because: str
    place: Place
    author: bool


@dataclass(slots=True)
class Tally:
    """Counts per ruling, in the order the rulings are applied.

    reached   (r,): candidates that met all rulings before this one (and that it applies to)
    rejected  (r,): how many of those it turned away
    candidates, accepted  how many came in and how many met everything
    """

    rulings: tuple[Ruling, ...]
    reached: NDArray[np.int64] = field(init=False)
    rejected: NDArray[np.int64] = field(init=False)
    candidates: int = 0
    accepted: int = 0

    def __post_init__(self) -> None:
        self.reached = np.zeros(len(self.rulings), dtype=np.int64)
        self.rejected = np.zeros(len(self.rulings), dtype=np.int64)

    def count(self, ruling: int, reached: int, rejected: int) -> None:
        """Add to the counts of one ruling."""
        self.reached[ruling] += reached
        self.rejected[ruling] += rejected

    def add(self, other: Tally) -> None:
        """Add another tally of the same rulings."""
        self.reached += other.reached
        self.rejected += other.rejected
        self.candidates += other.candidates
        self.accepted += other.accepted

    @property
    def acceptance(self) -> float:
        """The share of candidates accepted; 1 when there were none."""
        return self.accepted / self.candidates if self.candidates else 1.0

    def rows(self) -> list[dict[str, object]]:
        """One plain record a ruling."""
        return [
            {
                "need": ruling.need,
                "because": ruling.because,
                "place": str(ruling.place),
                "reached": int(reached),
                "rejected": int(rejected),
            }
            for ruling, reached, rejected in zip(
                self.rulings, self.reached, self.rejected, strict=True
            )
        ]

    def as_table(self, widest: int = 60) -> str:
        """The rulings with how many candidates reached each and what share it rejected."""
        records = [("rule", "reached", "rejected", "", "because")]
        for ruling, reached, rejected in zip(
            self.rulings, self.reached.tolist(), self.rejected.tolist(), strict=True
        ):
            if rejected or ruling.author:  # what the method implies is told where it mattered
                records.append(
                    (
                        _cut(ruling.need, widest),
                        f"{reached:,}",
                        f"{rejected:,}",
                        _share(rejected, reached),
                        _cut(ruling.because, widest),
                    )
                )
        widths = [max(len(record[i]) for record in records) for i in range(4)]
        return "\n".join(
            "  ".join(
                [
                    record[0].ljust(widths[0]),
                    *(record[i].rjust(widths[i]) for i in range(1, 4)),
                    record[4],
                ]
            ).rstrip()
            for record in records
        )


def _share(rejected: int, reached: int) -> str:
    if not reached:
        return "-"
    share = 100.0 * rejected / reached
    # a share is not called everything or nothing unless it is
    if 0 < rejected < reached:
        return (
            f"{min(max(share, 0.01), 99.99):.2f} %" if not 0.1 < share < 99.9 else f"{share:.1f} %"
        )
    return f"{share:.0f} %"


def _cut(text: str, widest: int) -> str:
    line = " ".join(text.split())
    return line if len(line) <= widest else line[: widest - 1] + "…"


def contradiction(held: Sequence[NDArray[np.bool_]]) -> list[int]:
    """A smallest-possible set of rulings of which no candidate meets all at once.

    `held` has a mask (n,) for each ruling. Rulings are taken away one by one as long as what is
    left still lets nothing through, so every ruling named is needed for the contradiction. Empty
    when some candidate meets everything.
    """
    if not held or np.logical_and.reduce(held).any():
        return []
    named = list(range(len(held)))
    # those that turn away fewest go first, so that the telling ones stay
    for ruling in sorted(named, key=lambda i: -int(np.count_nonzero(held[i]))):
        rest = [i for i in named if i != ruling]
        if rest and not np.logical_and.reduce([held[i] for i in rest]).any():
            named = rest
    return named
