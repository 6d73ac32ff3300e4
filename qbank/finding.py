"""What a judgement of a family or a bank reports: findings as data, made into text at the edge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from qbank.place import Place


class Severity(Enum):
    """How much a finding weighs: an error makes the work wrong, a warning makes it unfair or
    weak, a note is for the author to consider."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for the heaviest."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a reader should know.

    code       stable name of the check that found it
    place      where it can be mended
    found      what was found, a sentence
    expected   what was expected instead
    mend       what to do about it
    numbers    what the sentence rests on, by name; each finite
    guideline  the published guideline the check applies, where there is one
    """

    code: str
    severity: Severity
    place: Place
    found: str
    expected: str
    mend: str
    numbers: Mapping[str, float] = field(default_factory=dict)
    guideline: str = ""

    def __str__(self) -> str:
        lines = [
            f"{self.place}: {self.severity.value}: {self.found} [{self.code}]",
            f"    expected: {self.expected}",
            f"    mend: {self.mend}",
        ]
        if self.guideline:
            lines.append(f"    guideline: {self.guideline}")
        return "\n".join(lines)

    @property
    def weighs(self) -> bool:
        """Whether it is a warning or worse."""
        return self.severity is not Severity.NOTE

    def as_json(self) -> dict[str, Any]:
        """The finding as plain values."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "file": self.place.file,
            "line": self.place.line,
            "column": self.place.column,
            "found": self.found,
            "expected": self.expected,
            "mend": self.mend,
            "numbers": dict(self.numbers),
            "guideline": self.guideline,
        }
