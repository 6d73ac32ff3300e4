"""Questions of a bank read by the patterns of a binding file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from qbank.audit.binding.file import Answer, Binding
from qbank.audit.binding.pattern import ANY
from qbank.audit.grouping.alignment import aligned
from qbank.audit.grouping.asked import same_question
from qbank.audit.grouping.columns import Worded, assemble
from qbank.audit.grouping.similar import ALIKE, features, similarity
from qbank.audit.grouping.wording import asking, wordings_of
from qbank.audit.matching.agreement import widths
from qbank.audit.matching.bundles import BARE, PURE, Part, kind
from qbank.audit.matching.match import finish
from qbank.audit.matching.model import MatchedGroup
from qbank.audit.matching.readings import fits
from qbank.audit.matching.text_units import without_text_unit
from qbank.audit.question import Floats, Group, Question
from qbank.audit.verdict import Level
from qbank.expressions.units import Unit

NEARLY = 0.5  # a stem as like as this to a pattern is told about


@dataclass(frozen=True, slots=True, eq=False)
class Bound:
    """Questions that binding could read, and the rest.

    matched  groups of level BOUND, one for each answer of a binding that reads some question
    left     questions that no pattern reads, in their order
    reasons  for those that one nearly reads: position in `left` -> why not, in a sentence
    """

    matched: tuple[MatchedGroup, ...]
    left: tuple[Question, ...]
    reasons: dict[int, str]


@dataclass(frozen=True, slots=True)
class _Read:
    """A question read by a pattern: for each field the positions of its quantities."""

    question: Question
    numbers: tuple[tuple[int, ...], ...]


def bind(questions: Sequence[Question], bindings: Sequence[Binding]) -> Bound:
    """Read questions by the first pattern that fits each.

    A pattern fits when stem and prompt have its words, save small edits; when they ask for the
    same in all but fillers and slips of the pen; and when each field, and nothing else, finds a
    number, of its dimension or without a unit.
    """
    patterns = [(binding, answer) for binding in bindings for answer in binding.answers]
    bags = [features(answer.pattern.worded.wording.tokens) for _, answer in patterns]
    read: dict[int, list[_Read]] = {}
    left: list[Question] = []
    reasons: dict[int, str] = {}
    alike: dict[tuple[str, ...], list[float]] = {}
    for question in questions:
        worded = Worded(question, wordings_of(question)[1])
        tokens = worded.wording.tokens
        if tokens not in alike:
            own = features(tokens)
            alike[tokens] = [similarity(own, bag) for bag in bags]
        at, found = _first(worded, [answer for _, answer in patterns], alike[tokens])
        if isinstance(found, _Read):
            read.setdefault(at, []).append(found)
            continue
        if found:
            reasons[len(left)] = found
        left.append(question)
    matched = tuple(_matched(*patterns[at], members) for at, members in sorted(read.items()))
    return Bound(matched, tuple(left), reasons)


def _first(
    worded: Worded, answers: Sequence[Answer], shares: Sequence[float]
) -> tuple[int, _Read | str]:
    """The first answer whose pattern reads a question, those most alike tried first; else the
    reason why the likest does not, empty where none comes near."""
    why = ""
    for at in sorted(range(len(answers)), key=lambda at: (-shares[at], at)):
        if shares[at] < NEARLY and not answers[at].part:
            continue
        found = _read(worded, answers[at], shares[at])
        if isinstance(found, _Read):
            return at, found
        why = why or (f"{answers[at].place}: {found}" if shares[at] >= NEARLY else "")
    return -1, why


def _read(worded: Worded, answer: Answer, share: float) -> _Read | str:
    """The question as the pattern reads it, or why it does not."""
    question, pattern = worded.question, answer.pattern
    own = pattern.worded
    if answer.part:
        if question.part != answer.part:
            return "it is another part of the item"
    elif bool(question.prompt.strip()) != bool(own.question.prompt.strip()) or not same_question(
        asking(question), pattern.asked
    ):
        return "the question asks for something else"
    if answer.part:  # its prompt is not in the pattern
        share = similarity(features(_stem(question)), features(_stem(own.question)))
    if share < ALIKE:
        return f"the words differ too much ({share:.0%} in common, {ALIKE:.0%} are needed)"
    pairs = aligned(own.wording.tokens, worded.wording.tokens, own.kinds(), worded.kinds())
    numbers: list[tuple[int, ...]] = [()] * len(pattern.fields)
    for token, other in pairs:
        fields, found = own.wording.numbers[token], worded.wording.numbers[other]
        if len(fields) == 1:
            numbers[fields[0]] = found
        elif len(fields) == len(found):
            for field, position in zip(fields, found, strict=True):
                numbers[field] = (position,)
    used = {position for found in numbers for position in found}
    for position in sorted(set(chain(*worded.wording.numbers)) - used):
        said = question.quantities[position].text[:40]
        return f"the pattern has no field for '{said}'; write {{{ANY}}} there if it plays no part"
    for position, (name, found) in enumerate(zip(pattern.fields, numbers, strict=True)):
        if not found:
            return f"no number stands where the pattern has {{{name}}}"
        wanted = kind(own.question.quantities[position].unit)
        for quantity in (question.quantities[number] for number in found):
            if name != ANY and not _can_be(quantity.unit, wanted):
                return f"'{quantity.text[:40]}' stands where the pattern has {{{name}}}"
    return _Read(question, tuple(numbers))


def _can_be(unit: Unit | None, wanted: str) -> bool:
    """Whether a number can be a quantity of a kind; without a unit it is in the family's."""
    found = kind(unit)
    return found in (BARE, wanted) or (wanted == BARE and fits(found, PURE))


def _stem(question: Question) -> tuple[str, ...]:
    return wordings_of(question)[0].tokens


def _matched(binding: Binding, answer: Answer, members: Sequence[_Read]) -> MatchedGroup:
    pattern, resolver = answer.pattern, binding.resolver
    spans: list[tuple[int, int]] = []
    columns: dict[str, tuple[int, ...]] = {}
    at = 0
    for position, name in enumerate(pattern.fields):
        width = max(len(member.numbers[position]) for member in members)
        if name not in resolver.lists:
            width = 1
        if name != ANY:
            columns[name] = tuple(range(at, at + width))
        spans.append((at, width))
        at += width
    holds = [[-1] * at for _ in members]
    for row, member in enumerate(members):
        for (start, width), found in zip(spans, member.numbers, strict=True):
            if width == 1 and len(found) > 1:
                continue  # a list where one number is meant
            for offset, number in enumerate(found):
                holds[row][start + offset] = number
    questions = [member.question for member in members]
    group = assemble(questions, holds, _wording(answer, spans), spans)
    if group.key_unit is not None and group.key_unit.dimension != answer.unit.dimension:
        group = without_text_unit(group) or group
    values = {name: _values(group, own, resolver.scalars[name].unit if name in resolver.scalars
                            else resolver.lists[name].unit, name in resolver.lists)
              for name, own in columns.items()}  # fmt: skip
    n = len(group)
    values.update({name: np.full(n, value) for name, value in binding.constants.items()})
    unit = group.key_unit if group.key_unit is not None else answer.unit
    keys = group.keys if group.key_unit is not None else answer.unit.to_si(group.keys)
    if unit.dimension != answer.unit.dimension:
        keys = np.full(n, np.nan)
    rows = np.arange(n)
    return finish(
        Part(group, rows, group.keys, widths(group), ""),
        resolver,
        answer.unknown,
        columns=columns,
        constants=binding.constants,
        values=values,
        keys=keys,
        key_unit=unit,
        factor=1.0 if group.key_unit is not None else answer.unit.factor,
        level=Level.BOUND,
        chance=0.0,
        confidence=1.0,
    )


def _shares(values: Floats, unit: Unit) -> bool:
    """Whether bare numbers are shares of one, of a given that its family states in percent."""
    return kind(unit) == PURE and bool(np.abs(np.nan_to_num(values)).max(initial=0.0) <= 1.0)


def _values(group: Group, columns: tuple[int, ...], unit: Unit, listed: bool) -> Floats:
    """A given's values, (n,) or (n, m), SI."""
    bare = unit.to_si if unit.text else np.asarray
    parts = [
        bare(group.values[:, column])
        if kind(group.units[column]) == BARE and not _shares(group.values[:, column], unit)
        else group.values[:, column]
        for column in columns
    ]
    return np.stack(parts, axis=1) if listed else parts[0]


def _wording(answer: Answer, spans: Sequence[tuple[int, int]]) -> str:
    """The pattern's text with "{0}", "{1}" .. for its numbers."""
    question = answer.pattern.worded.question
    parts = []
    at = 0
    for quantity, (start, width) in zip(question.quantities, spans, strict=True):
        parts.append(question.text[at : quantity.start].replace("{", "{{").replace("}", "}}"))
        parts.append(", ".join("{" + str(start + i) + "}" for i in range(width)))
        at = quantity.end
    parts.append(question.text[at:].replace("{", "{{").replace("}", "}}"))
    return "".join(parts)


__all__ = ["NEARLY", "Bound", "bind"]
