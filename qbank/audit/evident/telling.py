"""What the checks share: making a judgement, comparing texts and quoting them."""

from __future__ import annotations

from qbank.audit.reading.shown import Shown
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.item import NumberEntry, Part

LONGEST_QUOTE = 60


def tell(
    shown: Shown,
    part: Part | None,
    code: str,
    severity: Severity,
    how: str,
    expected: str = "",
) -> Judgement:
    """A judgement of level 5; an error is a defect, anything less leaves the key unjudged."""
    return Judgement(
        item=shown.item.identifier,
        part="" if part is None else part.identifier,
        place=shown.read.place,
        number=0,
        verdict=Verdict.DEFECT if severity is Severity.ERROR else Verdict.REMARK,
        level=Level.SELF_EVIDENT,
        code=code,
        severity=severity,
        states=part.key_shown or part.key_text if isinstance(part, NumberEntry) else "",
        expected=expected,
        how=how,
    )


def alike(text: str) -> str:
    """The text without differences of space and case."""
    return " ".join(text.split()).casefold()


def quoted(text: str) -> str:
    """A piece of a text, for a message."""
    short = text if len(text) <= LONGEST_QUOTE else text[: LONGEST_QUOTE - 1] + "…"
    return f"'{short}'"
