"""An audit as a table (RFC 4180): one row a judgement, in the order of the bank."""

from __future__ import annotations

import csv
import io
import math
import re

from qbank.audit.report.worst import LEVELS
from qbank.audit.verdict import Audit, Judgement
from qbank.formats.xmltext import NUMBER

# Name and meaning of each column. New ones are added at the end, and none is ever renamed.
COLUMNS = {
    "number": "position of the item in the bank, from 1",
    "item": "identifier of the item",
    "part": "identifier of the part",
    "file": "file of the bank the item stands in",
    "line": "line it starts on",
    "verdict": "what is said of the key",
    "level": "what that rests on, from 1 (strongest) to 5; empty where nothing was checked",
    "level_name": "the same in words",
    "severity": "error, warning or note; empty where there is nothing to tell",
    "code": "stable name of the check or the cause",
    "states": "the key as the bank states it",
    "expected": "what it should be",
    "value": "the key solved again, not rounded, in the unit of the bank's key",
    "low": "least number that should be accepted",
    "high": "greatest number that should be accepted",
    "correct": "options that should be keyed, joined by |",
    "how": "how that was obtained",
    "cause": "stable name of what reproduces the stated key",
    "cause_says": "the same in a sentence",
    "other_causes": "stable names of further causes that reproduce it, joined by |",
    "confidence": "from 0 to 1, that the verdict is right",
    "family": "family that was solved",
    "case": "case of the family",
    "unknown": "quantity of the family that was asked for",
}
# What a spreadsheet may take for the start of a formula (common practice, no source).
_FORMULA = re.compile(r"\s*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]")


def as_csv(audit: Audit) -> str:
    """The judgements as a table with a header; lines end in CR LF as the standard says.

    A text that a spreadsheet could take for a formula gets an apostrophe before it; numbers stay
    numbers.
    """
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for judgement in audit.judgements:
        writer.writerow(map(harmless, _cells(judgement)))
    return table.getvalue()


def _cells(judgement: Judgement) -> list[str]:
    level, severity, cause = judgement.level, judgement.severity, judgement.cause
    return [
        str(judgement.number + 1),
        judgement.item,
        judgement.part,
        judgement.place.file,
        str(judgement.place.line),
        judgement.verdict.value,
        "" if level is None else str(int(level)),
        "" if level is None else LEVELS[level],
        "" if severity is None else severity.value,
        judgement.code,
        judgement.states,
        judgement.expected,
        _number(judgement.value),
        _number(judgement.low),
        _number(judgement.high),
        "|".join(judgement.correct),
        judgement.how,
        "" if cause is None else cause.code,
        "" if cause is None else cause.says,
        "|".join(other.code for other in judgement.others),
        _number(judgement.confidence),
        judgement.family,
        judgement.case,
        judgement.unknown,
    ]


def _number(value: float) -> str:
    return repr(value) if math.isfinite(value) else ""


def harmless(cell: str) -> str:
    """A cell that no spreadsheet runs.

    >>> harmless("=1+1"), harmless("-12.5"), harmless("-12.5 m")
    ("'=1+1", '-12.5', "'-12.5 m")
    """
    cell = cell.replace("\0", "\ufffd")
    return f"'{cell}" if _FORMULA.match(cell) and not NUMBER.fullmatch(cell) else cell
