"""Do the cases exclude each other, cover the range, come up, and agree with the solution?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.finding import Finding, Severity
from qbank.vetting.coverage import Coverage
from qbank.vetting.evidence import Draws, Evidence, at_point, percent, share

RARE_CASE = 0.02  # a class of 50 would meet it once; drawn in equal shares it would be seen


def overlap(draws: Draws, seen: Coverage) -> Iterator[Finding]:
    """case-overlap: two cases hold at one point of the range, away from any boundary."""
    cases = draws.family.cases
    for j in range(len(cases)):
        for i in range(j):
            both = seen.pairs[i] & seen.pairs[j] & ~seen.boundary
            if not both.any():
                continue
            row = int(np.argmax(both & ~seen.ruled_out if (both & ~seen.ruled_out).any() else both))
            part = share(both)
            yield Finding(
                "case-overlap",
                Severity.ERROR,
                cases[j].place,
                f"the cases '{cases[i].name}' and '{cases[j].name}' hold together at"
                f" {percent(part)} of {seen.looked}, for example at"
                f" {at_point(draws.family, seen.values, row)}",
                "at every point of the range one case holds",
                f"narrow the condition of '{cases[i].name}' or of '{cases[j].name}'",
                {"share": part, "points": float(both.size)},
            )


def gap(draws: Draws, seen: Coverage) -> Iterator[Finding]:
    """case-gap: no case holds, though the rules on the data let the point through."""
    none = (seen.holding == 0) & ~seen.boundary & ~seen.ruled_out
    if not none.any():
        return
    part = share(none)
    yield Finding(
        "case-gap",
        Severity.WARNING,
        draws.family.cases[0].place,
        f"no case holds at {percent(part)} of {seen.looked}, for example at"
        f" {at_point(draws.family, seen.values, int(np.argmax(none)))}",
        "at every point of the range that the rules let through one case holds",
        "widen a condition, add a case or `when: otherwise`, or rule these points out",
        {"share": part, "points": float(none.size)},
    )


def boundary(draws: Draws, seen: Coverage) -> Iterator[Finding]:
    """case-boundary: where two sides are equal, no case holds or several do; such draws are lost.

    Exact balance is left out by most families, so this is only told.
    """
    lost = seen.boundary & (seen.holding != 1) & ~seen.ruled_out
    if not lost.any():
        return
    part = share(lost)
    found = "no case holds" if (seen.holding[lost] == 0).all() else "not exactly one case holds"
    yield Finding(
        "case-boundary",
        Severity.NOTE,
        draws.family.cases[0].place,
        f"where two sides are equal, {found}: {percent(part)} of {seen.looked}, for example"
        f" {at_point(draws.family, seen.values, int(np.argmax(lost)))}",
        "a rule that keeps draws away from the boundary",
        "nothing, if exact balance may be left out; else write <= on one side or add a rule",
        {"share": part, "points": float(lost.size)},
    )


def rare(evidence: Evidence) -> Iterator[Finding]:
    """case-rare: hardly any instance comes to a case."""
    family = evidence.family
    if len(family.cases) < 2:
        return
    counts = np.bincount(evidence.instances.case, minlength=len(family.cases))
    for case, count in zip(family.cases, counts.tolist(), strict=True):
        part = count / len(evidence.instances)
        if part < RARE_CASE:
            yield Finding(
                "case-rare",
                Severity.WARNING,
                case.place,
                f"the case '{case.name}' comes up in {percent(part)} of"
                f" {len(evidence.instances):,} instances",
                f"each case in at least {percent(RARE_CASE)} of the instances",
                "write `shares: equal`, change the ranges, or leave the case out",
                {"share": part, "instances": float(len(evidence.instances))},
            )


def disagrees(draws: Draws) -> Iterator[Finding]:
    """case-disagrees: the solved sign contradicts the case, though every rule is met.

    Such draws are turned away, so no key is wrong; but what decides the case is, or `expect` is.
    """
    family = draws.family
    if len(family.cases) < 2:
        return
    met = draws.solved.copy()
    for rule in family.rules:
        met &= ~draws.refused_at(rule.place)
    for unknown in family.find.values():
        if unknown.expect is None:
            continue
        wrong = draws.refused_at(unknown.place) & met
        part = float(np.count_nonzero(wrong)) / max(int(np.count_nonzero(met)), 1)
        if wrong.any():
            row = int(np.argmax(wrong))
            yield Finding(
                "case-disagrees",
                Severity.WARNING,
                unknown.place,
                f"{unknown.name} is not as expected in {percent(part)} of the draws that meet"
                f" every rule, for example in case '{family.cases[int(draws.case[row])].name}' at"
                f" {at_point(family, draws.values, row)}",
                "the case decided from the data agrees with the sign that is solved for",
                "correct the conditions of the cases, or say as a rule what `expect` turns away",
                {"share": part, "draws": float(np.count_nonzero(met))},
            )
