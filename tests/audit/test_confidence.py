"""The confidence of a finding once its cause is known."""

from __future__ import annotations

import pytest

from qbank.audit.confidence import weighed
from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.place import Place


def judgement(confidence: float, cause: Cause | None, level: Level = Level.MATCHED) -> Judgement:
    return Judgement(
        "i", "p", Place("f", 1, 1), 0, Verdict.WRONG, level,
        severity=Severity.ERROR, confidence=confidence, cause=cause,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("cause", "severity", "proved"),
    [
        (Cause("slip:diameters", "the slip 'diameters'", 2.0), Severity.ERROR, True),
        (Cause("sign", "the sign is turned", 2.0), Severity.ERROR, False),
        (Cause("sign", "perhaps the sign is turned", 2.0), Severity.WARNING, False),
        (None, Severity.WARNING, False),
    ],
)
def test_a_doubtful_reading_is_settled_by_the_cause(
    cause: Cause | None, severity: Severity, proved: bool
) -> None:
    found = weighed(judgement(0.36, cause))
    assert found.severity is severity
    assert found.proved is proved


def test_a_sure_reading_needs_no_cause() -> None:
    assert weighed(judgement(0.98, None)).proved
    assert weighed(judgement(0.98, None)).severity is Severity.ERROR


def test_a_cause_never_lowers_the_confidence_and_no_cause_never_raises_it() -> None:
    for before in (0.05, 0.36, 0.8, 0.999):
        slip = Cause("slip:a", "the slip 'a'", 1.0)
        assert weighed(judgement(before, slip)).confidence > before
        assert weighed(judgement(before, None)).confidence < before


@pytest.mark.parametrize("level", [Level.SAME_FAMILY, Level.BOUND])
def test_stronger_levels_stay_as_they_are(level: Level) -> None:
    sure = judgement(1.0, None, level)
    assert weighed(sure) == sure
