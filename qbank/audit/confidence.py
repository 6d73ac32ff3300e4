"""How sure a finding on a matched key is, once its cause is known.

Matching says how likely a stem was read rightly. That a known mistake leads to the very number
the bank states is evidence for the reading too: under a wrong reading it would be a rare accident.
So the odds of the reading are multiplied by how much more often a cause is found for keys that are
wrong than by accident (Bayes' rule). The accident rates were counted on random keys of three
figures: about 9 % for any cause, less than 2 % for a slip of the family.
"""

from __future__ import annotations

from dataclasses import replace

from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.finding import Severity

SLIP = 25.0  # a mistake of the family itself
OTHER = 6.0  # any other cause that is sure of itself
UNEXPLAINED = 0.7  # no cause: a little less likely where the reading is right
DOUBTFUL = 0.6  # below this a finding is a warning
UNSURE = "The text alone does not make it sure enough that the question is read rightly."


def weighed(judgement: Judgement, *, alone: bool = False) -> Judgement:
    """A matched key that is called wrong, with the confidence its cause gives; a finding that is
    hardly more likely right than not is a warning, and none at all where the question stands
    `alone`, so that only its text tells how it is to be read."""
    if judgement.level is not Level.MATCHED or judgement.verdict is not Verdict.WRONG:
        return judgement
    before = min(max(judgement.confidence, 0.01), 0.9999)
    odds = before / (1 - before) * _weight(judgement.cause)
    confidence = odds / (1 + odds)
    if alone and confidence < DOUBTFUL:
        return replace(
            judgement,
            verdict=Verdict.UNCHECKED,
            level=None,
            code="unsure",
            severity=Severity.NOTE,
            how=f"{judgement.how} {UNSURE}".strip(),
            expected="",
            cause=None,
            others=(),
            confidence=confidence,
        )
    severity = Severity.WARNING if confidence < DOUBTFUL else judgement.severity
    return replace(judgement, confidence=confidence, severity=severity)


def _weight(cause: Cause | None) -> float:
    if cause is None:
        return UNEXPLAINED
    if cause.says.startswith("perhaps"):
        return 1.0
    return SLIP if cause.code.startswith("slip:") else OTHER
