"""A keyed part of an item as text and numbers, and siblings as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.units import Unit
from qbank.item import Provenance
from qbank.place import Place

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number that stands in a text, with the unit after it.

    text     as it stands, with its unit
    value    in `unit`, exactly as written
    unit     None where no unit stands there
    start    position of the number in the text; `end` is the position after its unit
    figures  significant figures as written
    place    exponent of ten of the last written digit
    symbol   the letter it is given to, "m_1" where "m_1 = 3 kg" stands; else empty
    """

    text: str
    value: Fraction
    unit: Unit | None
    start: int
    end: int
    figures: int
    place: int
    symbol: str = ""

    @property
    def si(self) -> float:
        """The value in coherent SI; as written where there is no unit."""
        return float(self.value) if self.unit is None else self.unit.si_value(self.value)


@dataclass(frozen=True, slots=True)
class OptionValue:
    """An option of a choice: its words, the number it states (None where it states none), and
    whether the bank keys it."""

    identifier: str
    text: str
    quantity: Quantity | None
    keyed: bool


@dataclass(frozen=True, slots=True)
class Question:
    """One keyed part of an item.

    number      position of the item in the bank, from 0
    stem        the item's stem as one line of plain text; `prompt` is that of the part
    quantities  numbers read in the stem, then those in the prompt (positions in `text`)
    key         the number the bank keys, in `unit`; NaN where it keys none. For a choice the
                value of the keyed option
    key_text    the key as the bank writes it
    unit        unit of the answer; None where the bank states none
    low, high   the accepted band in the unit of the answer; NaN where the bank states none
    options     of a choice; empty for a number to enter
    arranged    of a part to order its entries in the keyed order, of one to match its keyed pairs,
                as tuples of one text or two; empty for all others
    language    of the item; empty where it names none
    """

    item: str
    part: str
    number: int
    place: Place
    stem: str
    prompt: str
    quantities: Sequence[Quantity]
    key: float
    key_text: str
    unit: Unit | None
    low: float
    high: float
    options: tuple[OptionValue, ...] = ()
    provenance: Provenance | None = None
    arranged: tuple[tuple[str, ...], ...] = ()
    language: str = ""

    @property
    def text(self) -> str:
        """Stem and prompt as one text, in which the quantities have their positions."""
        return f"{self.stem}\n{self.prompt}" if self.prompt else self.stem

    @property
    def offered(self) -> list[str]:
        """The texts that are picked from, ordered or matched."""
        return [option.text for option in self.options] or [
            text for entry in self.arranged for text in entry
        ]


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Siblings: n questions of one wording that differ in k numbers.

    wording    the common wording; "{0}" .. "{k-1}" stand for the numbers
    values     (n, k), coherent SI, or as written where a number has no unit; NaN where a sibling
               lacks the number
    units      the unit of each column, None without one. Siblings may use different units of one
               dimension
    figures    (n, k), significant figures as written; 0 where the number is lacking
    keys       (n,), SI where `key_unit` is known, else as written; NaN without a key
    key_unit   unit of the answers
    """

    questions: tuple[Question, ...]
    wording: str
    values: Floats
    units: tuple[Unit | None, ...]
    figures: NDArray[np.int64]
    keys: Floats
    key_unit: Unit | None

    def __len__(self) -> int:
        return len(self.questions)
