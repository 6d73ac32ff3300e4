"""How a reading fits the keys of a part, and what is decided on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qbank.audit.matching.agreement import Tally
from qbank.audit.matching.bundles import Part
from qbank.audit.matching.search import Candidate

LAST_BITS = 1e-9  # relative: answers so near to each other are one


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A candidate with the unknown a part asks for, and how far its keys agree.

    log10  of the chance of an accident, before the number of readings tried
    """

    candidate: Candidate
    unknown: str
    factor: float
    tally: Tally
    naming: float

    @property
    def rank(self) -> tuple[float, ...]:
        """The better the greater: evidence, exact agreement, the family's own constants, words."""
        return (
            round(-self.tally.log10, 6),
            self.tally.tight,
            -len(self.candidate.constants),
            self.naming,
            self.candidate.reading.score,
            len(self.candidate.reading.columns),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Decision:
    """`fit` is None where the part stays unmatched; `reason` and `code` say why."""

    fit: Fit | None
    chance: float = 1.0
    confidence: float = 0.0
    code: str = ""
    reason: str = ""


def same(part: Part, one: Fit, two: Fit) -> bool:
    """Whether two fits judge every key alike: their answers agree within the tolerance. Readings
    that differ in a constant alone are one; which value was taken is judged key by key."""
    if (
        one.candidate.resolver is two.candidate.resolver
        and one.candidate.reading is two.candidate.reading
        and (one.unknown, one.factor) == (two.unknown, two.factor)
    ):
        return True
    if one.factor != two.factor and part.group.key_unit is None:
        return False
    first = one.candidate.answers[one.unknown][part.rows]
    second = two.candidate.answers[two.unknown][part.rows]
    width = part.width if part.group.key_unit else part.width.scaled(abs(one.factor))
    apart = np.abs(first - second)
    near = np.maximum(width.wide, LAST_BITS * np.abs(first))  # a wrong key may be written finely
    return bool(np.all((apart <= near) | ~np.isfinite(first)))
