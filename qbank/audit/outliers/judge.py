"""Suspicions: keys that lie off the surface of their siblings' keys."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np

from qbank.audit.outliers.growth import exponential, logarithm
from qbank.audit.outliers.likely import likely_cause, offered_there, pasted
from qbank.audit.outliers.monomials import monomial
from qbank.audit.outliers.parts import Part, Relation, relate
from qbank.audit.outliers.sample import Sample, sample_of
from qbank.audit.outliers.surface import MANY, Surface
from qbank.audit.outliers.terms import sum_of_terms
from qbank.audit.question import Group, Question
from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.expressions.numbers import NumberFormat, format_number
from qbank.finding import Severity

Form = Callable[[Sample], Surface | None]

FEWEST = 12  # siblings; with fewer a surface through them says little
MOST_ROWS = 4000  # siblings a surface is fitted to
MOST_DEEP = 1000  # with which the dearer forms are tried too
# By whether the keys lie on the surface within their rounding: up to how many times the limit a
# key is off, and the share of such suspicions that were right, rounded down. Counted on faults put
# into siblings of all shipped families (`python -m tests.bench outliers` counts again): 898 with
# exact surfaces, 72 with near ones.
CONFIDENCE = {
    True: ((3.0, 0.45), (6.0, 0.8), (math.inf, 0.98)),
    False: ((1.5, 0.35), (2.0, 0.8), (math.inf, 0.95)),
}
RELATED = 0.97  # where answers of other parts are compared with
LEAST_SURE = 0.5  # a suspicion that is more likely wrong than right is none
PLAIN: tuple[Form, ...] = (monomial, sum_of_terms)
FORMS: tuple[Form, ...] = (*PLAIN, logarithm, exponential)


def judge_outliers(group: Group) -> tuple[list[Judgement], str]:
    """Suspicions among siblings, and what was fitted or why nothing can be said.

    Judgements are made of suspects alone, in the order of the group.
    """
    return judge_parts([group])[0]


def judge_parts(groups: Sequence[Group]) -> list[tuple[list[Judgement], str]]:
    """The same for several groups, parts of the same items among them: the keys of a part that
    follow no surface of its own may follow one in the answers of the other parts."""
    parts = [_part(group) for group in groups]
    relate(parts, partial(fitted, forms=PLAIN))
    mates: dict[int, list[Question]] = {}
    for group in groups:
        for question in group.questions:
            mates.setdefault(question.number, []).append(question)
    return [_told(part, mates) for part in parts]


def _part(group: Group) -> Part:
    """A group as a part: with the surface its keys follow by themselves, or why there is none."""
    if len(group) < FEWEST:
        return Part(group, reason=f"only {_siblings(len(group))}: {FEWEST} are needed")
    sample = sample_of(group)
    if len(sample) < FEWEST:
        said = f"only {_siblings(len(sample))} with a key and all numbers: {FEWEST} are needed"
        return Part(group, reason=said)
    if len(sample) > MOST_ROWS:
        said = f"{len(sample)} siblings: surfaces are fitted to at most {MOST_ROWS}"
        return Part(group, reason=said)
    if sample.x.shape[1] and np.ptp(sample.y) == 0:
        return Part(group, reason="all siblings have the same key")
    if sample.x.shape[1] == 0:
        return Part(group, sample, reason="no number differs among the siblings")
    part = Part(group, sample, reason="no simple surface holds a clear majority of the keys")
    surface = fitted(sample)
    if surface is not None:
        part.follow(Relation(0, (), sample, surface))
    return part


def _told(part: Part, mates: Mapping[int, Sequence[Question]]) -> tuple[list[Judgement], str]:
    if not part.relations:
        return [], part.reason
    found = {
        row: _judgement(part, row, *by, mates[part.group.questions[row].number])
        for row, by in part.suspects.items()
    }
    found |= {row: _torn(part, row, *by) for row, by in part.torn.items() if row not in found}
    return [found[row] for row in sorted(found)], _how(part.relations[0])


def _says(relation: Relation) -> str:
    surface = relation.surface
    start = "from the item's other answers: " if relation.others else ""
    return (
        f"{start}the keys follow {surface.says} within {_percent(surface)},"
        f" for {int(surface.inside.sum())} of {len(relation.sample)} siblings"
    )


def _how(relation: Relation) -> str:
    surface = relation.surface
    how = f"the keys follow {surface.says} within {_percent(surface)}"
    return f"{how}, from the item's other answers" if relation.others else how


def fitted(sample: Sample, forms: Sequence[Form] = FORMS) -> Surface | None:
    """The first form on which the keys lie within their rounding, the simplest tried first; one of
    many terms only if none is simpler; else the first that is near enough to be believed."""
    near: Surface | None = None
    exact: Surface | None = None
    for form in forms if len(sample) <= MOST_DEEP else PLAIN:
        surface = form(sample)
        if surface is not None and surface.exact:
            if surface.terms < MANY:
                return surface
            exact = exact if exact is not None and exact.terms < surface.terms else surface
        near = near or surface
    return exact or near


def _judgement(
    part: Part, row: int, relation: Relation, i: int, mates: Sequence[Question]
) -> Judgement:
    question, sample, surface = part.group.questions[row], relation.sample, relation.surface
    predicted = float(surface.predicted[i]) * sample.size
    unit = question.unit
    value = predicted if unit is None else float(unit.from_si(predicted))
    shown = "" if not math.isfinite(value) else f"about {_about(value, surface, question)}"
    how = _says(relation)
    cause = pasted(part.group, row, mates) or likely_cause(question.key, value, surface.scatter)
    limit = float(surface.limit[i]) * sample.size
    option = offered_there(question, part.group.key_unit, predicted, limit)
    if option is not None:
        shown = option.text
        how += f"; there lies the option '{option.text}'"
        cause = cause or Cause("wrong-option", "another option is the value", question.key)
    elif question.options:
        how += "; no option lies there alone"
    confidence = _confidence(relation, i)
    if confidence < LEAST_SURE:
        how += "; this one lies off by too little to be suspicious"
        return _unjudged(question, "off-a-little", Severity.NOTE, how)
    return Judgement(
        item=question.item,
        part=question.part,
        place=question.place,
        number=question.number,
        verdict=Verdict.SUSPECT,
        level=Level.OUTLIER,
        code="outlier",
        severity=Severity.WARNING,
        states=question.key_text,
        expected=shown,
        value=value,
        how=how,
        cause=cause,
        confidence=confidence,
        correct=() if option is None else (option.identifier,),
    )


def _confidence(relation: Relation, i: int) -> float:
    """How likely a suspicion is right, by how many of its kind were (see `CONFIDENCE`)."""
    surface, sample = relation.surface, relation.sample
    off = abs(float(sample.y[i] - surface.predicted[i])) / max(float(surface.limit[i]), 1e-300)
    confidence = next(c for most, c in CONFIDENCE[surface.exact] if off < most)
    confidence *= 0.75 + 0.25 * float(surface.inside.mean())
    return round(confidence * (RELATED if relation.others else 1.0), 3)


def _torn(part: Part, row: int, relation: Relation, _i: int) -> Judgement:
    """A key that does not fit that of another part, where either may be wrong."""
    question = part.group.questions[row]
    how = (
        f"{_says(relation)}; here they do not fit together, so a key of this item is wrong,"
        " but not certainly this one"
    )
    return _unjudged(question, "parts-disagree", Severity.WARNING, how)


def _unjudged(question: Question, code: str, severity: Severity, how: str) -> Judgement:
    return Judgement(
        item=question.item,
        part=question.part,
        place=question.place,
        number=question.number,
        verdict=Verdict.UNCHECKED,
        code=code,
        severity=severity,
        states=question.key_text,
        how=how,
    )


def _about(value: float, surface: Surface, question: Question) -> str:
    relative = max(surface.scatter, 1e-6)
    figures = max(2, min(6, math.ceil(-math.log10(relative))))
    text = format_number(value, NumberFormat(figures=figures))
    unit = "" if question.unit is None else question.unit.text
    return f"{text}{'' if unit == '°' else ' '}{unit}".strip()


def _percent(surface: Surface) -> str:
    return f"{max(100 * surface.scatter, 0.0001):.2g} %"


def _siblings(count: int) -> str:
    return "1 sibling" if count == 1 else f"{count} siblings"
