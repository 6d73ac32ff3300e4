"""Choices among words: suspicious where the case that solving finds goes with another text."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import qbank
from qbank.audit.case_words import LEAST_OTHERS, cases_of, judge_case_words
from qbank.audit.check import check_bank
from qbank.audit.grouping import group_questions
from qbank.audit.question import OptionValue
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.finding import Severity
from qbank.generation import Generator
from qbank.item import BankInfo, Choice, Item, Pool
from qbank.place import Place
from qbank.rendering.renderer import Renderer
from tests.audit.grouping.texts import question

N = 40


@cache
def foreign(name: str) -> tuple[Item, ...]:
    """Items that do not say where they come from."""
    family = load_family(find_family(name))
    renderer = Renderer(family)
    made = Generator(family).generate(N, 5)
    items = (item for instances in made for item in renderer.items(instances))
    return tuple(replace(item, provenance=None) for item in items)


def words(item: Item) -> list[int]:
    """Parts in which one option of several words is picked."""
    return [i for i, p in enumerate(item.parts) if isinstance(p, Choice) and not p.multiple]


def miskeyed(item: Item, at: int) -> Item:
    part = item.parts[at]
    assert isinstance(part, Choice)
    keyed = next(i for i, one in enumerate(part.options) if one.correct)
    other = (keyed + 1) % len(part.options)
    options = tuple(replace(one, correct=i == other) for i, one in enumerate(part.options))
    return replace(item, parts=(*item.parts[:at], replace(part, options=options),
                                *item.parts[at + 1 :]))  # fmt: skip


def suspected(folder: Path, items: tuple[Item, ...]) -> list[Judgement]:
    info = BankInfo("b", "b", "en", (Pool("p", "p", len(items), 9),))
    path = qbank.write_bank(info, list(items), folder / "bank.jsonl", "jsonl").path
    return [judgement for judgement in check_bank(path).judgements if judgement.accuses]


@pytest.mark.parametrize("name", ["stepped-drum", "thin-lens", "pulled-crate"])
def test_a_word_of_another_case_is_suspicious(tmp_path: Path, name: str) -> None:
    items = foreign(name)
    assert suspected(tmp_path, items) == []
    at = words(items[0])[0]
    wrong = miskeyed(items[7], at)
    (found,) = suspected(tmp_path, (*items[:7], wrong, *items[8:]))
    assert (found.item, found.part) == (wrong.identifier, wrong.parts[at].identifier)
    assert (found.verdict, found.level) == (Verdict.SUSPECT, Level.OUTLIER)
    assert not found.proved
    part = items[7].parts[at]
    assert isinstance(part, Choice)
    right = next(one for one in part.options if one.correct)
    assert found.expected in str(right.content)
    assert found.family == name
    assert 0.7 < found.confidence < 1


def rows(keys: str, cases: str) -> tuple[list[Judgement], dict[tuple[int, str], str]]:
    """One choice a letter of `keys`, "l" for left and "r" for right, in the cases given."""
    asked = [
        question(f"A crate of {k + 2} kg is pulled. Which way does it go?", number=k,
                 key=float("nan"), options=(OptionValue("a", "left", None, key == "l"),
                                            OptionValue("b", "right", None, key == "r")))
        for k, key in enumerate(keys)
    ]  # fmt: skip
    (group,) = group_questions(asked)
    known = {q.stem: ("crate", case) for q, case in zip(asked, cases, strict=True)}
    return judge_case_words(group, known)


def test_what_is_compared() -> None:
    suspects, beside = rows("l" * 15 + "r" * 15, "a" * 15 + "b" * 15)
    assert not suspects
    assert len(beside) == 30
    suspects, beside = rows("l" * 14 + "r" * 16, "a" * 15 + "b" * 15)
    assert [(j.number, j.expected, j.severity) for j in suspects] == [
        (14, "left", Severity.WARNING)
    ]
    assert "14 of 14 siblings key 'left'" in suspects[0].how


@pytest.mark.parametrize(
    ("keys", "cases"),
    [
        ("l" * 30, "a" * 15 + "b" * 15),  # the text is the same in all cases
        ("lr" * 15, "a" * 15 + "b" * 15),  # it has nothing to do with them
        ("l" * 12 + "r" * 18, "a" * 15 + "b" * 15),  # it hangs on more than the case
        ("l" * 5 + "r" * 5, "a" * 5 + "b" * 5),  # too few to be no accident
    ],
)
def test_what_is_left_alone(keys: str, cases: str) -> None:
    assert rows(keys, cases) == ([], {})


def test_a_case_of_few_siblings_is_left_alone() -> None:
    enough, few = LEAST_OTHERS + 1, LEAST_OTHERS
    keys = "l" * 20 + "r" * 19
    suspects, _ = rows(keys + "r" * (enough - 1) + "l", "a" * 20 + "b" * 19 + "c" * enough)
    assert [j.number for j in suspects] == [39 + enough - 1]
    suspects, beside = rows(keys + "r" * (few - 1) + "l", "a" * 20 + "b" * 19 + "c" * few)
    assert not suspects
    assert {number for number, _ in beside} == set(range(39))


def test_the_case_is_known_by_right_keys_that_agree() -> None:
    asked = [question(f"A stem with {k}.", number=k) for k in range(3)]

    def judged(number: int, verdict: Verdict, case: str) -> Judgement:
        place = Place("b", 1, 1)
        return Judgement("", "RESPONSE", place, number, verdict, family="crate", case=case)

    told = [judged(0, Verdict.RIGHT, "a"), judged(1, Verdict.WRONG, "a"),
            judged(2, Verdict.RIGHT, "a"), judged(2, Verdict.RIGHT, "b")]  # fmt: skip
    assert cases_of(told, asked) == {"A stem with 0.": ("crate", "a")}
