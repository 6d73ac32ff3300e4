"""Judgements in the order a reader needs them, and their counts."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from qbank.audit.verdict import Audit, Judgement, Level, Verdict

LEVELS = {
    Level.SAME_FAMILY: "same family",
    Level.BOUND: "by a binding file",
    Level.MATCHED: "matched to a family",
    Level.OUTLIER: "off its siblings",
    Level.SELF_EVIDENT: "evident in the item",
}
MEANING = {
    Level.SAME_FAMILY: "the item says which instance it is, and its key was derived again",
    Level.BOUND: "a binding file says how its quantities stand in the stem; it was solved again",
    Level.MATCHED: "a family was found under which its siblings' keys agree; it was solved again",
    Level.OUTLIER: "its key does not go with its siblings' keys: a suspicion, no proof; "
    "[1], [2], … are the numbers of its stem in order",
    Level.SELF_EVIDENT: "visible in the item alone, whatever the right answer is",
}
REMARKS = (Verdict.ROUNDED, Verdict.OTHER_CONSTANT)
REASONS = {
    "no-numbers": "No number stands in the stem.",
    "key-in-words": "The key is no number: such a key is judged only where the item says which "
    "family made it.",
    "no-family": "No family at hand has these units and asks for such an answer.",
    "none-fits": "No family at hand is sure to fit these stems and keys.",
    "on-surface": "No family is sure to fit, but the keys lie where their siblings' keys lie; "
    "that is no proof.",
    "ambiguous": "Two ways to read the stem fit about as well.",
    "not-like-siblings": "A number or an answer is missing, or more than numbers differs from the "
    "siblings.",
    "binding": "A wording of the binding file nearly fits, but not quite.",
    "off-a-little": "Its key lies off those of its siblings by too little to be suspicious.",
    "parts-disagree": "The keys of two parts do not fit together as their siblings' do: one of "
    "them is wrong.",
    "no-level": "Nothing was found to judge it by.",
}
_LOSS_CODE = re.compile(r"\[([\w.-]{1,60})\]\s*$")


def level_text(level: Level | None) -> str:
    """A level as its number and name; empty without one."""
    return "" if level is None else f"{int(level)} {LEVELS[level]}"


def accusing(audit: Audit) -> list[Judgement]:
    """The judgements that accuse, the worst first: by severity, level and confidence."""

    def rank(judgement: Judgement) -> tuple[int, int, float, int]:
        severity = 3 if judgement.severity is None else judgement.severity.rank
        level = 9 if judgement.level is None else int(judgement.level)
        confidence = judgement.confidence if math.isfinite(judgement.confidence) else 0.0
        return severity, level, -confidence, judgement.number

    return sorted((j for j in audit.judgements if j.accuses), key=rank)


@dataclass(frozen=True, slots=True)
class Counts:
    """How many keys there are and what became of them. A key is one part of one item.

    checked  keys of which at least one check could say something
    accused  keys with at least one judgement that accuses
    cells    judgements by level and verdict
    """

    keys: int
    checked: int
    accused: int
    cells: Counter[tuple[Level | None, Verdict]]

    @property
    def nothing(self) -> bool:
        """Whether no key at all was checked, so that nothing is known of the bank."""
        return self.checked == 0


def count(audit: Audit) -> Counts:
    """Count judgements and keys; a remark on an item says nothing of its key."""

    def keys(judgements: Iterable[Judgement]) -> set[tuple[int, str, str]]:
        return {(j.number, j.item, j.part) for j in judgements}

    told = [j for j in audit.judgements if j.verdict is not Verdict.REMARK]
    checked = (j for j in told if j.verdict is not Verdict.UNCHECKED)
    return Counts(
        keys=len(keys(told)),
        checked=len(keys(checked)),
        accused=len(keys(j for j in audit.judgements if j.accuses)),
        cells=Counter((j.level, j.verdict) for j in audit.judgements),
    )


def with_verdict(audit: Audit, *verdicts: Verdict) -> list[Judgement]:
    """The judgements of these verdicts, in the order of the bank."""
    return [judgement for judgement in audit.judgements if judgement.verdict in verdicts]


def unchecked_by_reason(audit: Audit) -> list[tuple[str, list[Judgement]]]:
    """What could not be checked, by reason, the most frequent first."""
    found: dict[str, list[Judgement]] = {}
    for judgement in with_verdict(audit, Verdict.UNCHECKED):
        reason = REASONS.get(judgement.code) or judgement.how or "no reason was given"
        found.setdefault(reason, []).append(judgement)
    return sorted(found.items(), key=lambda entry: -len(entry[1]))


def remarks_by_code(audit: Audit) -> list[tuple[str, list[Judgement]]]:
    """What is worth a look, by kind: warnings before notes, the most frequent first."""
    found: dict[str, list[Judgement]] = {}
    for judgement in with_verdict(audit, Verdict.REMARK):
        found.setdefault(judgement.code, []).append(judgement)

    def rank(entry: tuple[str, list[Judgement]]) -> tuple[int, int]:
        severity = entry[1][0].severity
        return (9 if severity is None else severity.rank), -len(entry[1])

    return sorted(found.items(), key=rank)


def losses_by_code(audit: Audit) -> list[tuple[str, list[str]]]:
    """What could not be read, by kind, the most frequent first."""
    found: dict[str, list[str]] = {}
    for loss in audit.losses:
        code = _LOSS_CODE.search(loss[-80:])
        found.setdefault(code[1] if code else "other", []).append(loss)
    return sorted(found.items(), key=lambda entry: -len(entry[1]))


def headline(audit: Audit) -> str:
    """The result in a sentence or two. Silence is never taken for approval."""
    counts = count(audit)
    if counts.keys == 0:
        return (
            "NOTHING WAS CHECKED: no keys were found in this bank. That says nothing about "
            "whether it is right."
        )
    if counts.nothing:
        alone = counts.keys == 1
        none = "the one key could not" if alone else f"none of the {counts.keys:,} keys could"
        are = "it is" if alone else "they are"
        return (
            f"NOTHING WAS CHECKED: {none} be judged. That says nothing about whether {are} right."
        )
    rest = counts.keys - counts.checked
    unknown = (
        f" {numbered(rest, 'key')} could not be checked, so nothing is known of "
        f"{'it' if rest == 1 else 'them'}."
        if rest
        else ""
    )
    if counts.checked == 1:
        of = "the one key that could be checked"
        among, which = "in", "The one key that could be checked"
    else:
        of = f"the {counts.checked:,} keys that could be checked"
        among, which = "among", f"{counts.accused:,} of {of}"
        if counts.accused == counts.checked:
            which = f"All {counts.checked:,} keys that could be checked"
    if counts.accused == 0:
        return f"Nothing to find fault with {among} {of}.{unknown}"
    return f"{which} should be looked at.{unknown}"


def named(judgement: Judgement) -> str:
    """The item, with the part where the judgement is on one."""
    return f"{judgement.item}, part {judgement.part}" if judgement.part else judgement.item


def numbered(number: int, word: str) -> str:
    """
    >>> numbered(1, "key"), numbered(1200, "key")
    ('1 key', '1,200 keys')
    """
    return f"{number:,} {word}" if number == 1 else f"{number:,} {word}s"


def confidence_text(confidence: float) -> str:
    """A confidence as a percentage that never rounds up to certainty.

    >>> confidence_text(1.0), confidence_text(0.9996), confidence_text(0.5)
    ('100 %', '>99 %', '50 %')
    """
    if not math.isfinite(confidence):
        return ""
    return ">99 %" if 0.99 < confidence < 1 else f"{confidence * 100:.0f} %"
