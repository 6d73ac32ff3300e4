"""Choices among words beside their siblings: which way it turns, what moves first.

The numbers of a stem decide the case, by a family that other keys of the same stem have shown to
fit. Where siblings of one case key one text and those of another case another, nearly without
exception, the text is a matter of the case, and a key that goes with another case is suspicious.
The siblings say which text means which case; no wording is understood, so that it is no proof.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.audit.evident.telling import alike
from qbank.audit.judging import states
from qbank.audit.matching.agreement import MOST_CHANCE
from qbank.audit.question import Group, Question
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.finding import Severity

LEAST_OTHERS = 4  # siblings in the same case that say which text goes with it
AGREEING = 0.85  # of them that do; with fewer, the text may hang on more than the case
At = tuple[str, str]  # a family's name and one of its cases


@dataclass(frozen=True, slots=True)
class _Row:
    question: Question
    case: At
    label: str  # the keyed text, as it is compared


def cases_of(judgements: Iterable[Judgement], questions: Iterable[Question]) -> dict[str, At]:
    """The case of each stem that a right key has shown to be read rightly; stems for which keys
    speak for different cases are left out."""
    stems = {(question.number, question.part): question.stem for question in questions}
    found: dict[str, set[At]] = defaultdict(set)
    for judgement in judgements:
        if judgement.verdict is Verdict.RIGHT and judgement.case:
            stem = stems.get((judgement.number, judgement.part))
            if stem:
                found[stem].add((judgement.family, judgement.case))
    return {stem: next(iter(cases)) for stem, cases in found.items() if len(cases) == 1}


def judge_case_words(
    group: Group, cases: Mapping[str, At]
) -> tuple[list[Judgement], dict[tuple[int, str], str]]:
    """The suspicions among the choices of a group, and for the other choices that were compared,
    by number of the item and part, what they were compared with."""
    rows = _rows(group.questions, cases)
    suspects: list[Judgement] = []
    compared: dict[tuple[int, str], str] = {}
    for family in sorted({row.case[0] for row in rows}):
        own = [row for row in rows if row.case[0] == family]
        labels = _by_case(own)
        for row in own if labels else ():
            _compare(row, labels[row.case], suspects, compared)
    return suspects, compared


def _rows(questions: Sequence[Question], cases: Mapping[str, At]) -> list[_Row]:
    """Choices whose case is known; none where any picks several options or a number."""
    out = []
    for question in questions:
        keyed = [option for option in question.options if option.keyed]
        if len(keyed) != 1 or math.isfinite(question.key):
            return []
        case = cases.get(question.stem)
        if case is not None:
            out.append(_Row(question, case, alike(keyed[0].text)))
    return out


def _by_case(rows: Sequence[_Row]) -> dict[At, Counter[str]]:
    """How often each text is keyed in each case; empty unless the text goes with the case."""
    labels: dict[At, Counter[str]] = defaultdict(Counter)
    for row in rows:
        labels[row.case][row.label] += 1
    usual = {case: counted.most_common(1)[0] for case, counted in labels.items()}
    agreeing = sum(count for _, count in usual.values())
    if len({label for label, _ in usual.values()}) < 2 or agreeing < AGREEING * len(rows):
        return {}
    texts = Counter(row.label for row in rows)
    shares = [texts[usual[row.case][0]] / len(rows) for row in rows]
    chance = _chance(shares, len(rows) - agreeing) * float(len(texts)) ** len(usual)
    return labels if chance <= MOST_CHANCE else {}


def _chance(shares: Sequence[float], missing: int) -> float:
    """How likely at most so many rows lack the usual text of their case if the text had nothing to
    do with the case, so that each row has that text as often as all rows together (`shares`)."""
    spread = np.zeros(missing + 1)
    spread[0] = 1.0
    for share in shares:
        spread[1:] = spread[1:] * share + spread[:-1] * (1 - share)
        spread[0] *= share
    return float(spread.sum())


def _compare(
    row: _Row,
    counted: Counter[str],
    suspects: list[Judgement],
    compared: dict[tuple[int, str], str],
) -> None:
    """A row with its siblings in the same case, itself left out."""
    question, (family, case) = row.question, row.case
    others = counted - Counter([row.label])
    total = sum(others.values())
    if total < LEAST_OTHERS:
        return
    label, count = others.most_common(1)[0]
    right = [option for option in question.options if alike(option.text) == label]
    if count < AGREEING * total or len(right) != 1:
        return
    how = (
        f"other keys of this stem put it in the case '{case}' of '{family}', in which {count} of"
        f" {total} siblings key '{right[0].text}'"
    )
    if row.label == label:
        compared[question.number, question.part] = how
        return
    suspects.append(
        Judgement(
            item=question.item,
            part=question.part,
            place=question.place,
            number=question.number,
            verdict=Verdict.SUSPECT,
            level=Level.OUTLIER,
            code="off-its-case",
            severity=Severity.WARNING,
            states=states(question),
            expected=right[0].text,
            how=how,
            confidence=round((count + 1) / (total + 2), 3),  # Laplace's rule of succession
            family=family,
            case=case,
        )
    )
