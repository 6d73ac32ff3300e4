"""How numbers are rounded and written for a reader; nothing else in the project rounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """How many figures or decimals are shown, and whether as a power of ten.

    Exactly one of `figures` (significant figures, at least 1) and `decimals` (may be negative)
    is set. `notation`: "plain" never uses a power of ten, "scientific" always does, "auto" does
    outside 0.001 <= |x| < 100 000 and wherever plain digits could not show which zeros count.
    """

    figures: int | None = None
    decimals: int | None = None
    notation: Literal["auto", "plain", "scientific"] = "auto"
