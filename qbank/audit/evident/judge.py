"""All that one item, or a bank as a whole, shows by itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import islice

from qbank.audit.evident import numbers, selections, wording
from qbank.audit.evident.telling import alike
from qbank.audit.question import Question
from qbank.audit.reading.shown import Shown
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.finding import Severity

# Each check yields judgements under the codes its docstring opens with.
CHECKS: tuple[Callable[[Shown], Iterator[Judgement]], ...] = (
    *wording.CHECKS,
    *numbers.CHECKS,
    *selections.CHECKS,
)
MOST_LISTED = 5  # items named in one finding
SAME_TEXT = "same-text-other-key"


def judge_evident(shown: Shown, number: int = 0) -> list[Judgement]:
    """The defects an item shows by itself; `number` is its position in the bank."""
    found = [judgement for check in CHECKS for judgement in check(shown)]
    return [replace(judgement, number=number) for judgement in found] if number else found


def judge_duplicates(questions: Sequence[Question]) -> list[Judgement]:
    """What items show beside each other, in the order of the bank."""
    found = [j for check in BANK_CHECKS for j in check(questions)]
    return sorted(found, key=lambda judgement: judgement.number)


def identifier_twice(questions: Sequence[Question]) -> Iterator[Judgement]:
    """item-identifier-twice: two items share an identifier."""
    numbers_of: dict[str, dict[int, Question]] = defaultdict(dict)
    for question in questions:
        numbers_of[question.item].setdefault(question.number, question)
    for name, holders in numbers_of.items():
        if name and len(holders) > 1:
            first, *others = holders.values()
            for other in others:
                how = f"The item at {first.place} has the same identifier, '{name}'."
                yield _of(other, "item-identifier-twice", Severity.ERROR, how)


def same_text(questions: Sequence[Question]) -> Iterator[Judgement]:
    """same-text-other-key, item-twice: two items are worded alike, number for number; their keys
    contradict each other, or agree."""
    groups: dict[tuple[str, str, str, frozenset[str]], list[Question]] = defaultdict(list)
    number, stem = -1, ""
    for question in questions:
        if question.number != number:  # the parts of an item share their stem
            number, stem = question.number, alike(question.stem)
        prompt = _alike(question.prompt)
        if stem or prompt:
            options = frozenset(map(_alike, question.offered))
            unit = "" if question.unit is None else question.unit.text
            groups[stem, prompt, unit, options].append(question)
    for same in groups.values():
        # parts of one item may ask alike; only items are compared
        by_item = list({question.number: question for question in reversed(same)}.values())[::-1]
        if len(by_item) < 2 or len({q.number for q in same}) != len(same):
            continue
        by_key: dict[object, list[Question]] = defaultdict(list)
        for question in by_item:
            by_key[_key(question)].append(question)
        if len(by_key) == 1:
            for question in by_item[1:]:
                how = f"The same question stands in {_list(by_item, 1)}."
                yield _of(question, "item-twice", Severity.NOTE, how)
            continue
        for key, alike_keyed in by_key.items():
            others = (q for other, held in by_key.items() if other != key for q in held)
            some = list(islice(others, MOST_LISTED))
            named = _list(some, len(by_item) - len(alike_keyed))
            for question in alike_keyed:
                how = (
                    f"The same question stands in {named} with the key '{_shown(some[0])}', here"
                    f" with '{_shown(question)}'."
                )
                yield _of(question, SAME_TEXT, Severity.ERROR, how)


BANK_CHECKS: tuple[Callable[[Sequence[Question]], Iterator[Judgement]], ...] = (
    identifier_twice,
    same_text,
)


_alike = lru_cache(maxsize=4096)(alike)  # siblings share their prompts and options


def _key(question: Question) -> object:
    if question.arranged:
        return tuple(tuple(map(alike, entry)) for entry in question.arranged)
    if question.options:
        return frozenset(alike(option.text) for option in question.options if option.keyed)
    return f"{question.key:.12e}"


def _shown(question: Question) -> str:
    keyed = [option.text for option in question.options if option.keyed]
    return ", ".join(keyed) if keyed else question.key_text


def _list(questions: Sequence[Question], count: int) -> str:
    """The first few of so many."""
    few = questions[: min(count, MOST_LISTED)]
    names = [question.item or str(question.place) for question in few]
    more = count - len(few)
    return ", ".join(names) + (f" and {more} more" if more > 0 else "")


def _of(question: Question, code: str, severity: Severity, how: str) -> Judgement:
    return Judgement(
        item=question.item,
        part=question.part,
        place=question.place,
        number=question.number,
        verdict=Verdict.DEFECT if severity is Severity.ERROR else Verdict.REMARK,
        level=Level.SELF_EVIDENT,
        code=code,
        severity=severity,
        states=_shown(question),
        how=how,
    )
