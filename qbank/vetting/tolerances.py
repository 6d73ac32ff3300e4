"""Is there a fair tolerance for every answer, between honest rounding and the nearest slip?"""

from __future__ import annotations

from collections.abc import Iterator

from qbank.finding import Finding, Severity
from qbank.vetting.evidence import Evidence, percent

MANY = 0.25  # of the draws: losing so many, the tolerance decides more than the rules do


def too_narrow(evidence: Evidence) -> Iterator[Finding]:
    """tolerance-too-narrow: the author's tolerance marks honest rounding wrong."""
    windows = evidence.generator.sampler.windows
    for name in windows.asked:
        part = windows.policies[name].narrow
        if part > 0:
            yield Finding(
                "tolerance-too-narrow",
                Severity.WARNING if part > MANY else Severity.NOTE,
                evidence.family.find[name].place,
                f"the tolerance of {name} is narrower than what honest rounding can reach in"
                f" {percent(part)} of the draws",
                "a tolerance that holds all honest work",
                "widen it, show more figures, or leave it to the tool",
                {"share": part},
            )


def reaches_slip(evidence: Evidence) -> Iterator[Finding]:
    """tolerance-reaches-slip: the author's tolerance marks a mistake right."""
    windows = evidence.generator.sampler.windows
    for name in windows.asked:
        part = windows.policies[name].wide
        if part > 0:
            yield Finding(
                "tolerance-reaches-slip",
                Severity.WARNING if part > MANY else Severity.NOTE,
                evidence.family.find[name].place,
                f"the tolerance of {name} reaches the answer of a slip in {percent(part)} of the"
                " draws, which are not used",
                "a tolerance that holds no modelled mistake",
                "narrow it, add a rule that keeps the slip apart, or leave it to the tool",
                {"share": part},
            )


def close_slip(evidence: Evidence) -> Iterator[Finding]:
    """slip-near-key: on one answer a slip cannot be told from honest rounding, most of the time."""
    windows = evidence.generator.sampler.windows
    for name in windows.asked:
        for slip, part in windows.policies[name].close.items():
            yield Finding(
                "slip-near-key",
                Severity.NOTE,
                evidence.family.slips[slip].place,
                f"the slip '{slip}' cannot be told from honest rounding of {name} in"
                f" {percent(part)} of the draws, so the tolerance of {name} does not heed it",
                "a slip that changes what it touches by more than rounding does",
                f"nothing, if another answer gives the slip away; else show {name} with more"
                " figures",
                {"share": part},
            )
