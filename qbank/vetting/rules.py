"""Does each rule earn its place?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.family.model import Rule
from qbank.finding import Finding, Severity
from qbank.vetting.evidence import Draws, Mask, percent, share

NEARLY_ALL = 0.9  # a rule that turns away nine in ten says that the ranges are not meant
SEEN_ENOUGH = 30  # draws turned away, before "always turned away by another" means something


def never_binds(draws: Draws) -> Iterator[Finding]:
    """rule-never-binds: a rule that turned away nothing."""
    for rule in draws.family.rules:
        looked = _looked_at(draws, rule)
        count = int(np.count_nonzero(looked))
        if count and not draws.refused_at(rule.place).any():
            whole = "all " if draws.whole else ""
            yield Finding(
                "rule-never-binds",
                Severity.WARNING,
                rule.place,
                f"the rule `{rule.text}` turns away none of {whole}{count:,} draws",
                "a rule turns something away",
                "delete it, or widen the ranges it was meant for",
                {"draws": float(count), "turned away": 0.0},
            )


def rejects_nearly_all(draws: Draws) -> Iterator[Finding]:
    """rule-rejects-nearly-all: a rule that leaves next to nothing of what it is looked at for."""
    for rule in draws.family.rules:
        looked = _looked_at(draws, rule)
        refused = draws.refused_at(rule.place)
        part = share(refused[looked])
        if part > NEARLY_ALL:
            yield Finding(
                "rule-rejects-nearly-all",
                Severity.WARNING,
                rule.place,
                f"the rule `{rule.text}` turns away {percent(part)} of"
                f" {int(np.count_nonzero(looked)):,} draws",
                f"at most {percent(NEARLY_ALL)}; ranges say what is usual, rules what is not",
                "narrow the ranges of the quantities in it, or loosen the rule",
                {"share": part, "draws": float(np.count_nonzero(looked))},
            )


def redundant(draws: Draws) -> Iterator[Finding]:
    """rule-redundant: all that a rule turns away, one other rule turns away as well."""
    rules = draws.family.rules
    refused = [draws.refused_at(rule.place) for rule in rules]
    for i, rule in enumerate(rules):
        count = int(np.count_nonzero(refused[i]))
        if count < SEEN_ENOUGH:
            continue
        for j, other in enumerate(rules):
            if i == j or not _covers(refused[j], refused[i]):
                continue
            if j > i and _covers(refused[i], refused[j]):
                continue  # the two turn away the same; the later one is named
            yield Finding(
                "rule-redundant",
                Severity.WARNING,
                rule.place,
                f"all {count:,} draws that the rule `{rule.text}` turns away are turned away by"
                f" `{other.text}` in line {other.place.line} as well",
                "each rule turns away something that no other does",
                "delete it, or make the other one less strict",
                {"turned away": float(count), "by the other": float(refused[j].sum())},
            )
            break


def _covers(one: Mask, other: Mask) -> bool:
    """Whether `one` holds wherever `other` does."""
    return not (other & ~one).any()


def _looked_at(draws: Draws, rule: Rule) -> Mask:
    """The draws a rule applies to and could be judged for."""
    looked = np.ones(len(draws), dtype=np.bool_)
    if rule.only:
        here = np.array([case.name in rule.only for case in draws.family.cases])
        looked &= here[draws.case]
    return looked & draws.solved if rule.uses_solution or rule.only else looked
