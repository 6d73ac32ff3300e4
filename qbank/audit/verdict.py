"""What checking a bank reports, as data; text is made of it at the edge."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import Enum, IntEnum
from typing import Any

from qbank.audit.question import Question
from qbank.finding import Severity
from qbank.place import Place

SURE = 0.9  # of a reading that was found by trying: below, nothing is corrected


class Level(IntEnum):
    """What a finding rests on, the strongest first."""

    SAME_FAMILY = 1  # the item says which instance it is, and the key is derived again
    BOUND = 2  # a binding file says how the quantities stand in the stem
    MATCHED = 3  # the family was found by trying
    OUTLIER = 4  # the key does not go with its siblings' keys
    SELF_EVIDENT = 5  # visible in the item alone


class Verdict(Enum):
    """Of one key."""

    RIGHT = "right"
    ROUNDED = "right if intermediate values were rounded"
    OTHER_CONSTANT = "right with another constant"
    WRONG = "wrong"
    SUSPECT = "suspicious"  # level 4: unlike its siblings, without proof
    DEFECT = "defective"  # level 5: whatever is right, this item cannot work as it stands
    REMARK = "worth a look"  # level 5: a weakness that leaves the key unjudged
    UNCHECKED = "not checked"

    @property
    def right(self) -> bool:
        return self in (Verdict.RIGHT, Verdict.ROUNDED, Verdict.OTHER_CONSTANT)


@dataclass(frozen=True, slots=True)
class Cause:
    """What reproduces the number a bank states.

    code   stable name: "slip:diameters", "digits-swapped", "sign", "power-of-ten", "unit", ...
    says   a sentence on what was done
    value  the number it leads to, in the unit of the key
    """

    code: str
    says: str
    value: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on one key.

    item, part, place, number  which one (see `Question`)
    level       what it rests on; None where nothing could be checked
    code        stable name of the check or the cause, for scripts
    severity    None where there is nothing to tell
    states      the key as the bank states it, with its unit
    expected    what it should be, with its unit and as many figures as the bank writes; empty
                where that is not known
    value       the recomputed key in the unit of the bank's key; NaN where not known
    how         a sentence on how it was obtained: family, quantities as read, equation or rule
    cause       what reproduces the stated number; `others` are further ones that do
    confidence  from 0 to 1, that the verdict is right; 1 at level 1
    family, case, unknown  what was solved; empty where no family was
    correct     identifiers of the options that should be keyed, where the part is a choice
    low, high   the band that should be accepted around `value`; NaN where none is proposed
    """

    item: str
    part: str
    place: Place
    number: int
    verdict: Verdict
    level: Level | None = None
    code: str = ""
    severity: Severity | None = None
    states: str = ""
    expected: str = ""
    value: float = math.nan
    how: str = ""
    cause: Cause | None = None
    others: tuple[Cause, ...] = ()
    confidence: float = 1.0
    family: str = ""
    case: str = ""
    unknown: str = ""
    correct: tuple[str, ...] = ()
    low: float = math.nan
    high: float = math.nan

    @property
    def accuses(self) -> bool:
        """Whether the key is said to be wrong or suspicious, or the item defective."""
        return self.verdict in (Verdict.WRONG, Verdict.SUSPECT, Verdict.DEFECT)

    @property
    def proved(self) -> bool:
        """Whether solving again proves the key wrong, so that it may be corrected. A reading of
        the stem that was found by trying must be sure."""
        solved = self.level in (Level.SAME_FAMILY, Level.BOUND)
        solved |= self.level is Level.MATCHED and self.confidence >= SURE
        return self.verdict is Verdict.WRONG and solved

    def as_json(self) -> dict[str, Any]:
        """Plain values; numbers that are not known are null."""

        def number(value: float) -> float | None:
            return value if math.isfinite(value) else None

        def cause(given: Cause) -> dict[str, Any]:
            return {"code": given.code, "says": given.says, "value": number(given.value)}

        return {
            "item": self.item,
            "part": self.part,
            "file": self.place.file,
            "line": self.place.line,
            "verdict": self.verdict.value,
            "level": None if self.level is None else int(self.level),
            "code": self.code,
            "severity": None if self.severity is None else self.severity.value,
            "states": self.states,
            "expected": self.expected,
            "value": number(self.value),
            "how": self.how,
            "cause": None if self.cause is None else cause(self.cause),
            "other_causes": [cause(other) for other in self.others],
            "confidence": self.confidence,
            "family": self.family,
            "case": self.case,
            "unknown": self.unknown,
            "correct": list(self.correct),
            "low": number(self.low),
            "high": number(self.high),
        }


@dataclass(frozen=True, slots=True)
class Assignment:
    """How the numbers of a group's stems were read as quantities of a family, in words.

    questions   how many questions it serves; `agreeing` of their keys agree
    chance      how likely so many would agree by accident; an upper bound
    says        for a person to confirm: "12 cm is r, the radius of the small disc"
    """

    family: str
    unknown: str
    wording: str
    questions: int
    agreeing: int
    chance: float
    says: tuple[str, ...]


@dataclass(slots=True)
class Audit:
    """All that checking a bank found. Judgements stand in the order of the bank.

    items        how many items were read
    judgements   one or more for each keyed part; parts that could not be checked included
    assignments  families found by trying or by a binding file
    losses       what could not be read (sentences with their place)
    columns      for a table: what each column was taken for
    binding      the text of a binding file that states the assignments; empty without any
    accused      the questions whose keys are accused, as they were read
    """

    bank: str
    format: str
    items: int = 0
    judgements: list[Judgement] = field(default_factory=list)
    assignments: list[Assignment] = field(default_factory=list)
    losses: list[str] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    binding: str = ""
    accused: list[Question] = field(default_factory=list)
