"""An audit as plain values, for scripts."""

from __future__ import annotations

import math
from typing import Any

from qbank.audit.report.worst import accusing, count
from qbank.audit.verdict import Audit, Verdict


def as_json(audit: Audit) -> dict[str, Any]:
    """The audit as plain values; a number that is not known is null, never NaN.

    `counts` has a row for each level and verdict that occurs; `level` is null where nothing
    could be checked. `judgements` stand in the order of the bank and are those of
    `Judgement.as_json`; `worst` lists the places in them of what accuses, the worst first.
    """
    counts = count(audit)
    places = {id(judgement): at for at, judgement in enumerate(audit.judgements)}
    levels = {verdict: at for at, verdict in enumerate(Verdict)}
    cells = sorted(
        counts.cells.items(), key=lambda cell: (int(cell[0][0] or 9), levels[cell[0][1]])
    )
    return {
        "bank": audit.bank,
        "format": audit.format,
        "items": audit.items,
        "keys": counts.keys,
        "checked": counts.checked,
        "accused": counts.accused,
        "nothing_checked": counts.nothing,
        "counts": [
            {
                "level": None if level is None else int(level),
                "verdict": verdict.value,
                "judgements": number,
            }
            for (level, verdict), number in cells
        ],
        "worst": [places[id(judgement)] for judgement in accusing(audit)],
        "judgements": [_finite(judgement.as_json()) for judgement in audit.judgements],
        "assignments": [
            _finite(
                {
                    "family": assignment.family,
                    "unknown": assignment.unknown,
                    "wording": assignment.wording,
                    "questions": assignment.questions,
                    "agreeing": assignment.agreeing,
                    "chance": assignment.chance,
                    "says": list(assignment.says),
                }
            )
            for assignment in audit.assignments
        ],
        "losses": list(audit.losses),
        "columns": list(audit.columns),
        "binding": audit.binding,
    }


def _finite(values: dict[str, Any]) -> dict[str, Any]:
    return {
        name: None if isinstance(value, float) and not math.isfinite(value) else value
        for name, value in values.items()
    }
