"""Do the slips lead to answers of their own?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.family.model import ChooseLaw, ChooseWord, Match, Slip
from qbank.finding import Finding, Severity
from qbank.instances import Floats
from qbank.sampling.options import shown_answers
from qbank.vetting import guidelines
from qbank.vetting.evidence import Evidence, Mask, asked, percent

LIKE_KEY = 0.1  # of the instances in which a slip gives a value: there the mistake is marked right
LIKE_SLIP = 0.5  # of the instances: there one of the two can never be told to have happened
TOO_SELDOM = 0.05  # of the instances of the cases it applies to


def never_applies(evidence: Evidence) -> Iterator[Finding]:
    """slip-never-applies, slip-seldom-applies: the mistake yields an answer never or hardly."""
    instances = evidence.instances
    for slip in evidence.family.slips.values():
        if _is_word_or_law(evidence, slip):
            continue
        here = _concerned(evidence, slip)
        count = int(np.count_nonzero(here))
        valued = _valued(evidence, slip) & here
        part = float(np.count_nonzero(valued)) / max(count, 1)
        if not valued.any():
            known = any(np.isfinite(a).any() for a in instances.wrong[slip.name].values())
            why = "for anything that is asked" if known else "in any instance"
            yield Finding(
                "slip-never-applies",
                Severity.WARNING,
                slip.place,
                f"the slip '{slip.name}' gives no value {why} ({count:,} instances looked at)",
                "a slip leads to a wrong value of something that is asked for",
                "let it edit a law or a quantity that matters, ask for what it changes, or"
                " delete it",
                {"instances": float(count)},
            )
        elif part < TOO_SELDOM:
            yield Finding(
                "slip-seldom-applies",
                Severity.WARNING,
                slip.place,
                f"the slip '{slip.name}' gives a value in {percent(part)} of {count:,} instances",
                f"in at least {percent(TOO_SELDOM)} of them",
                "see whether the edited laws have a solution; state its cases with `only:`",
                {"share": part, "instances": float(count)},
            )


def like_key(evidence: Evidence) -> Iterator[Finding]:
    """slip-like-key: the mistake is marked right, because its answers lie within the tolerance."""
    for slip in evidence.family.slips.values():
        valued = _valued(evidence, slip)
        if _is_word_or_law(evidence, slip) or not valued.any():
            continue
        hidden = valued.copy()
        for name, shown in _asked_values(evidence, slip).items():
            low, high = evidence.instances.tolerance[name]
            with np.errstate(invalid="ignore"):
                hidden &= ~((shown < low) | (shown > high))
        part = float(np.count_nonzero(hidden)) / int(np.count_nonzero(valued))
        if part > LIKE_KEY:
            yield Finding(
                "slip-like-key",
                Severity.WARNING,
                slip.place,
                f"the answers of the slip '{slip.name}' lie within the tolerance of the right ones"
                f" in {percent(part)} of {int(np.count_nonzero(valued)):,} instances",
                f"in at most {percent(LIKE_KEY)}",
                "add a rule that keeps it apart, narrow the tolerance, or delete the slip",
                {"share": part, "instances": float(np.count_nonzero(valued))},
                guidelines.TYPICAL_ERRORS,
            )


def like_slip(evidence: Evidence) -> Iterator[Finding]:
    """slip-like-slip: two mistakes lead to the same answers, so neither can be diagnosed."""
    slips = [s for s in evidence.family.slips.values() if not _is_word_or_law(evidence, s)]
    valued = {slip.name: _valued(evidence, slip) for slip in slips}
    shown_by = {slip.name: _asked_values(evidence, slip) for slip in slips}
    for j, slip in enumerate(slips):
        for other in slips[:j]:
            both = valued[slip.name] & valued[other.name]
            count = int(np.count_nonzero(both))
            if not count:
                continue
            alike = both.copy()
            mine, yours = shown_by[slip.name], shown_by[other.name]
            for name, shown in mine.items():
                low, high = evidence.instances.tolerance[name]
                key = evidence.instances.rounded[name]
                reach = np.maximum(high - key, key - low)
                with np.errstate(invalid="ignore"):
                    near = np.abs(shown - yours[name]) <= reach
                alike &= near | (np.isnan(shown) & np.isnan(yours[name]))
            part = float(np.count_nonzero(alike)) / count
            if part > LIKE_SLIP:
                yield Finding(
                    "slip-like-slip",
                    Severity.WARNING,
                    slip.place,
                    f"the slips '{other.name}' (line {other.place.line}) and '{slip.name}' lead to"
                    f" the same answers in {percent(part)} of {count:,} instances",
                    f"in at most {percent(LIKE_SLIP)}",
                    "keep one of them, or ask for something that tells them apart",
                    {"share": part, "instances": float(count)},
                    guidelines.INDEPENDENT,
                )


def _is_word_or_law(evidence: Evidence, slip: Slip) -> bool:
    """Whether the slip reaches the student as a word or an equation to pick."""
    for part in evidence.family.ask:
        if isinstance(part, ChooseWord) and slip.cases:
            return True
        if isinstance(part, ChooseLaw) and part.law in slip.laws:
            return True
        if isinstance(part, Match) and slip.name in part.spare:
            return True
    return False


def _concerned(evidence: Evidence, slip: Slip) -> Mask:
    """The instances of the cases the slip is for."""
    cases = evidence.family.cases
    applies = np.array([not slip.only or case.name in slip.only for case in cases])
    return applies[evidence.instances.case]


def _asked_values(evidence: Evidence, slip: Slip) -> dict[str, Floats]:
    """What the slip makes of everything asked for, as displayed, in the shown unit."""
    find = evidence.family.find
    wrong = evidence.instances.wrong[slip.name]
    return {name: shown_answers(find[name], wrong[name]) for name in asked(evidence.family)}


def _valued(evidence: Evidence, slip: Slip) -> Mask:
    """Where the slip gives a value of something asked for."""
    found = np.zeros(len(evidence.instances), dtype=np.bool_)
    wrong = evidence.instances.wrong[slip.name]
    for name in asked(evidence.family):
        found |= np.isfinite(wrong[name])
    return found
