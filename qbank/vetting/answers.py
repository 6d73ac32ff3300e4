"""Could an answer be guessed, or carried over from a neighbour?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.number_columns import number_texts
from qbank.family.model import ChooseStatements, ChooseWord
from qbank.finding import Finding, Severity
from qbank.instances import Floats
from qbank.vetting import guidelines
from qbank.vetting.evidence import Evidence, asked, listed, percent

OFTEN_RIGHT = 0.25  # as good as picking one of four options blindly
MOSTLY_RIGHT = 0.5  # writing the same number always would be right more often than wrong
ONE_WORD = 0.85  # for two options, blind guessing gives a half
SAME_MARKS = 0.5  # the same set of statements right in every other instance
FEW_INSTANCES = 100  # a large class; neighbours would share an instance


def guessable(evidence: Evidence) -> Iterator[Finding]:
    """answer-guessable: one number is right in too many instances.

    Up to one half this is only told: a whole case may have one answer, such as no acceleration.
    """
    instances, family = evidence.instances, evidence.family
    for name in asked(family):
        unknown = family.find[name]
        key, (low, high) = instances.rounded[name], instances.tolerance[name]
        value, part = commonest(key, low, high)
        if part > OFTEN_RIGHT:
            shown = f"{number_texts(np.array([value]), unknown.shown)[0]} {unknown.unit.text}"
            yield Finding(
                "answer-guessable",
                Severity.WARNING if part > MOSTLY_RIGHT else Severity.NOTE,
                unknown.place,
                f"{shown.rstrip()} is within one tolerance of {name} in {percent(part)} of"
                f" {len(instances):,} instances",
                f"no value is right in more than {percent(OFTEN_RIGHT)} of the instances",
                f"widen the ranges of what {name} depends on, or narrow its tolerance",
                {"share": part, "value": value, "instances": float(len(instances))},
                guidelines.NO_CLUES,
            )


def commonest(key: Floats, low: Floats, high: Floats) -> tuple[float, float]:
    """The key (n,) whose band `low .. high` holds most keys, and the share of keys it holds."""
    order = np.sort(key)
    inside = np.searchsorted(order, high, "right") - np.searchsorted(order, low, "left")
    best = int(np.argmax(inside))
    return float(key[best]), float(inside[best]) / len(key)


def one_word(evidence: Evidence) -> Iterator[Finding]:
    """word-guessable: one of the words to pick from is right nearly always."""
    family, instances = evidence.family, evidence.instances
    counts = np.bincount(instances.case, minlength=len(family.cases))
    for part in family.ask:
        if not isinstance(part, ChooseWord):
            continue
        by_word: dict[str, int] = {}
        for case, count in zip(family.cases, counts.tolist(), strict=True):
            by_word[case.words[part.word]] = by_word.get(case.words[part.word], 0) + count
        word = max(by_word, key=by_word.__getitem__)
        most = by_word[word] / len(instances)
        if most > ONE_WORD:
            yield Finding(
                "word-guessable",
                Severity.WARNING,
                part.place,
                f"'{word}' is right in {percent(most)} of {len(instances):,} instances",
                f"no option is right in more than {percent(ONE_WORD)} of the instances",
                "write `shares: equal`, or change the ranges",
                {"share": most, "instances": float(len(instances))},
                guidelines.VARY_THE_KEY,
            )


def same_marks(evidence: Evidence) -> Iterator[Finding]:
    """marks-guessable: the same statements hold in too many instances."""
    instances = evidence.instances
    n = len(instances)
    for part in evidence.family.ask:
        if not isinstance(part, ChooseStatements):
            continue
        masks = compile_nodes([s.when for s in part.statements])(instances.values, n)
        held = np.column_stack(masks)
        patterns, counts = np.unique(held, axis=0, return_counts=True)
        most = float(counts.max()) / n
        if most > SAME_MARKS:
            right = [str(i + 1) for i in np.flatnonzero(patterns[int(np.argmax(counts))]).tolist()]
            which = f"statements {listed(right)} are" if len(right) > 1 else "no statement is"
            if len(right) == 1:
                which = f"statement {right[0]} and no other is"
            yield Finding(
                "marks-guessable",
                Severity.WARNING,
                part.place,
                f"{which} to be marked in {percent(most)} of {n:,} instances",
                f"no set of statements is right in more than {percent(SAME_MARKS)}",
                "let statements depend on the drawn data",
                {"share": most, "instances": float(n)},
                guidelines.VARY_THE_KEY,
            )


def few_instances(evidence: Evidence) -> Iterator[Finding]:
    """few-instances: a class would share instances."""
    count = evidence.generator.count(evidence.instances.seed)
    if count.number < FEW_INSTANCES:
        yield Finding(
            "few-instances",
            Severity.WARNING,
            evidence.family.place,
            f"there are {count.number:,} distinct instances",
            f"at least {FEW_INSTANCES}, so that a class need not share",
            "give the quantities wider ranges or finer steps",
            {"instances": float(count.number)},
        )
