"""What a corrected copy changed, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from qbank.audit.correction.changes import CorrectionReport
from qbank.audit.report.summary import more, wrapped
from qbank.audit.report.worst import numbered


def correction_summary(report: CorrectionReport, width: int = 80, most: int | None = 20) -> str:
    """The changes of a corrected copy and what it left, at most `most` of each."""
    return "\n".join(_lines(report, max(width, 40), most))


def _lines(report: CorrectionReport, width: int, most: int | None) -> Iterator[str]:
    changed = numbered(len(report.changes), "key")
    yield wrapped(f"Corrected copy: {report.path}: {changed} replaced, all else as it was.", width)
    for change in report.changes[:most]:
        yield wrapped(str(change), width, "  ", "    ")
        for note in change.notes:
            yield wrapped(f"note: {note}", width, "    ", "      ")
    if most is not None:
        yield from more(len(report.changes) - most)
    if report.left:
        yield wrapped(f"Left for you to mend: {numbered(len(report.left), 'key')}", width)
        for left in report.left[:most]:
            yield wrapped(str(left), width, "  ", "    ")
        if most is not None:
            yield from more(len(report.left) - most)
