"""Each defect is seen in a broken item and not in the sound one it was made of."""

from __future__ import annotations

import inspect
import math
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from qbank.audit.evident.judge import BANK_CHECKS, CHECKS, judge_duplicates, judge_evident
from qbank.audit.evident.scored import score_findings
from qbank.audit.question import OptionValue, Question
from qbank.audit.reading.shown import Shown
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.expressions.units import parse_unit
from qbank.finding import Severity
from qbank.formats.source import Loss, ReadItem
from qbank.item import (
    Choice,
    Image,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Tolerance,
    WrongValue,
)
from qbank.place import Place

PLACE = Place("bank.zip/one.xml", 1, 1)


def option(name: str, text: str, correct: bool = False) -> Option:
    return Option(name, (text,), correct)


ENTRY = NumberEntry(
    "W", ("Enter the work in J.",), 12.5, "12.5", "12.5 J", "J", Tolerance(12.3, 12.7, ""), 2.0,
    decimals=1, wrong_values=(WrongValue("half", 6.25, 6.2, 6.3, ()),),
)  # fmt: skip
CHOICE = Choice(
    "C",
    ("How long is it?",),
    (option("a", "1 m", True), option("b", "10 cm"), option("c", "2 m")),
    1.0,
)
ORDER = Ordering("O", ("Order them.",), (option("a", "first"), option("b", "second")), 1.0)
MATCH = Matching(
    "M", ("Match them.",), (option("s", "force"), option("t", "work")),
    (option("n", "N"), option("j", "J")), (("s", "n"), ("t", "j")), 1.0,
)  # fmt: skip
STEM = Paragraph(("A crate of 25 kg is pushed 2.0 m along the quay.",))
PICTURE = Image("crate.svg", "image/svg+xml", b"<svg/>", "A crate on a quay.")
SOUND = Item("one", "A crate", "en", (STEM, PICTURE), (ENTRY, CHOICE, ORDER, MATCH))


def read(**changes: Any) -> ReadItem:
    return ReadItem(replace(SOUND, **changes), PLACE)


def entry(**changes: Any) -> ReadItem:
    return read(parts=(replace(ENTRY, **changes),))


def defects(item: ReadItem, number: int = 0) -> list[Judgement]:
    return judge_evident(Shown(item), number)


def band(low: float, high: float) -> ReadItem:
    return entry(tolerance=Tolerance(low, high, ""), wrong_values=())


def choice(*options: Option, **changes: Any) -> ReadItem:
    return read(parts=(replace(CHOICE, options=options, **changes),))


def stem(text: str, **changes: Any) -> ReadItem:
    return read(stem=(Paragraph((text,)),), **changes)


BROKEN: dict[str, tuple[ReadItem, Severity]] = {
    "no-key": (entry(key=math.nan, key_text=""), Severity.ERROR),
    "key-no-number": (entry(key=math.nan, key_text="N/A"), Severity.ERROR),
    "band-inverted": (band(12.7, 12.3), Severity.ERROR),
    "band-rejects-key": (band(13.0, 14.0), Severity.ERROR),
    "band-rejects-rounding": (
        entry(key=12.46, tolerance=Tolerance(12.45, 12.47, "")),
        Severity.ERROR,
    ),
    "band-no-width": (band(12.5, 12.5), Severity.WARNING),
    "band-holds-wrong": (entry(tolerance=Tolerance(6.0, 20.0, "")), Severity.ERROR),
    "unit-not-asked": (
        replace(entry(prompt=("Enter the work.",)), place=Place("bank.csv", 2, 1)),
        Severity.WARNING,
    ),
    "answer-in-stem": (stem("The work is 12.5 J.", parts=(ENTRY,)), Severity.NOTE),
    "choice-no-key": (choice(option("a", "up"), option("b", "down")), Severity.ERROR),
    "choice-several-keys": (
        choice(option("a", "up", True), option("b", "down", True)),
        Severity.ERROR,
    ),
    "choice-few-options": (choice(option("a", "up", True)), Severity.ERROR),
    "options-equal": (choice(option("a", "100 cm", True), option("b", "1 m")), Severity.ERROR),
    "option-identifier-twice": (
        choice(option("a", "up", True), option("a", "down")),
        Severity.ERROR,
    ),
    "option-empty": (choice(option("a", "up", True), option("b", " ")), Severity.WARNING),
    "order-broken": (
        read(parts=(replace(ORDER, entries=(option("a", "x"), option("b", "X "))),)),
        Severity.ERROR,
    ),
    "pairs-broken": (read(parts=(replace(MATCH, pairs=(("s", "n"),)),)), Severity.ERROR),
    "stem-empty": (read(stem=(), parts=(replace(ORDER, prompt=()),)), Severity.ERROR),
    "item-asks-nothing": (read(parts=()), Severity.ERROR),
    "text-left-over": (stem("A crate of {m} is pushed."), Severity.ERROR),
    "figure-missing": (stem("See the figure below."), Severity.WARNING),
    "picture-missing": (read(stem=(STEM, replace(PICTURE, data=b""))), Severity.ERROR),
    "picture-no-text": (read(stem=(STEM, replace(PICTURE, alt=" "))), Severity.NOTE),
    "points-none": (entry(points=0.0), Severity.WARNING),
    "points-negative": (entry(points=-1.0), Severity.ERROR),
}


def codes_of(check: Callable[..., object]) -> list[str]:
    return (
        " ".join((inspect.getdoc(check) or "").split("\n\n")[0].split()).split(": ")[0].split(", ")
    )


def test_a_sound_item_is_left_alone() -> None:
    assert defects(ReadItem(SOUND, PLACE)) == []


@pytest.mark.parametrize("code", BROKEN)
def test_a_broken_item_is_named(code: str) -> None:
    item, severity = BROKEN[code]
    found = {j.code: j for j in defects(item, 7)}
    assert set(found) == {code}
    judgement = found[code]
    assert judgement.severity is severity
    assert judgement.level is Level.SELF_EVIDENT
    assert judgement.number == 7
    assert (judgement.verdict is Verdict.DEFECT) == (severity is Severity.ERROR)
    assert judgement.accuses == (severity is Severity.ERROR)


def test_every_code_of_every_check_has_a_broken_item() -> None:
    assert sorted(code for check in CHECKS for code in codes_of(check)) == sorted(BROKEN)


@pytest.mark.parametrize(
    "text",
    [
        "[[x]] is given.",
        "The mass is NaN.",
        "It weighs undefined kg.",
        "TODO: words",
        "How far???",
        "A mass of {{ mass }}.",
        "${speed} is given.",
    ],
)
def test_fields_left_over(text: str) -> None:
    assert [j.code for j in defects(stem(text))] == ["text-left-over"]


@pytest.mark.parametrize(
    "text",
    [
        "The expression is undefined at 0.",
        "The set {1, 2} has two members.",
        "Take \\frac{m}{n} of it.",
        "Banana, NaNo and Nan.",
        "Figure skating is done on ice.",
        "What is meant by the picture of health?",
    ],
)
def test_words_that_only_look_like_defects(text: str) -> None:
    assert defects(stem(text)) == []


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [
        ("1 m", "100 cm", True),
        ("0.50 kg", "500 g", True),
        ("Falls", " falls ", True),
        ("2", "2.0", True),
        ("1 m", "1 s", False),
        ("1", "1 m", False),
        ("3 m to the left", "3 m to the right", False),
        ("-2 m", "2 m", False),
    ],
)
def test_options_are_compared_in_words_and_as_quantities(one: str, other: str, equal: bool) -> None:
    item = choice(option("a", one, True), option("b", other))
    assert [j.code for j in defects(item)] == ["options-equal"] * equal


@pytest.mark.parametrize("pairs", [(("s", "n"), ("s", "j")), (("s", "n"), ("t", "x")), ()])
def test_pairs(pairs: tuple[tuple[str, str], ...]) -> None:
    item = read(parts=(replace(MATCH, pairs=pairs),))
    assert [j.code for j in defects(item)] == ["pairs-broken"]


@pytest.mark.parametrize("prompt", ["Enter the work in J.", "W (J):", "How many J is it?"])
def test_a_unit_that_is_asked_for(prompt: str) -> None:
    assert defects(entry(prompt=(prompt,))) == []


def test_a_unit_with_powers_is_found_in_other_spellings() -> None:
    for prompt in ("Enter a in m/s².", "Enter a in m/s^2.", "a (m/s2)"):
        assert defects(entry(unit="m/s^2", prompt=(prompt,))) == []


# ---------------------------------------------------------------------------- banks


def question(number: int, text: str, key: float, item: str = "") -> Question:
    return Question(
        item or f"i{number}", "W", number, PLACE, text, "", (), key, f"{key:g}", parse_unit("J"),
        math.nan, math.nan,
    )  # fmt: skip


def test_items_that_contradict_each_other() -> None:
    bank = [question(0, "Push 2 m.", 4), question(1, "Push  2 M.", 5), question(2, "Push 3 m.", 6)]
    found = judge_duplicates(bank)
    assert [(j.number, j.code, j.severity) for j in found] == [
        (0, "same-text-other-key", Severity.ERROR),
        (1, "same-text-other-key", Severity.ERROR),
    ]
    assert "i1" in found[0].how
    assert "i0" in found[1].how


def test_of_many_that_contradict_each_other_a_few_are_named() -> None:
    bank = [question(k, "Push 2 m.", k % 3) for k in range(3000)]
    start = time.process_time()
    found = judge_duplicates(bank)
    assert time.process_time() - start < 5  # would be a minute if each were held against each
    assert len(found) == 3000
    assert "i1, i4, i7, i10, i13 and 1995 more with the key '1', here with '0'" in found[0].how


def test_an_item_that_stands_twice() -> None:
    found = judge_duplicates([question(0, "Push 2 m.", 4), question(1, "Push 2 m.", 4)])
    assert [(j.number, j.code, j.accuses) for j in found] == [(1, "item-twice", False)]


def test_an_identifier_that_stands_twice() -> None:
    found = judge_duplicates([question(0, "Push", 4, "x"), question(1, "Pull", 4, "x")])
    assert [(j.number, j.code) for j in found] == [(1, "item-identifier-twice")]


def test_parts_of_one_item_are_not_compared() -> None:
    one = question(0, "Push 2 m.", 4)
    assert judge_duplicates([one, replace(one, part="V", key=5.0)]) == []


def test_choices_are_the_same_only_with_the_same_options() -> None:
    def pick(number: int, texts: tuple[str, ...], keyed: int) -> Question:
        options = tuple(
            OptionValue(f"o{k}", text, None, k == keyed) for k, text in enumerate(texts)
        )
        return replace(question(number, "Which way?", math.nan), options=options)

    assert judge_duplicates([pick(0, ("up", "down"), 0), pick(1, ("left", "right"), 1)]) == []
    found = judge_duplicates([pick(0, ("up", "down"), 0), pick(1, ("down", "up"), 0)])
    assert [j.code for j in found] == ["same-text-other-key"] * 2


def test_the_bank_checks_tell_their_codes() -> None:
    assert [code for check in BANK_CHECKS for code in codes_of(check)] == [
        "item-identifier-twice",
        "same-text-other-key",
        "item-twice",
    ]


# ---------------------------------------------------------------------------- scoring

QTI = """<assessmentItem xmlns="http://www.imsglobal.org/xsd/imsqti_v2p1" identifier="one"
 title="one" adaptive="false" timeDependent="false">
<responseDeclaration identifier="RESPONSE" cardinality="single" baseType="identifier">
<correctResponse><value>{key}</value></correctResponse></responseDeclaration>
<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float"
 normalMaximum="{most}"/>
<itemBody><choiceInteraction responseIdentifier="RESPONSE" shuffle="false" maxChoices="1">
<simpleChoice identifier="a">up</simpleChoice><simpleChoice identifier="b">down</simpleChoice>
</choiceInteraction></itemBody>
<responseProcessing><responseCondition><responseIf><match><variable identifier="RESPONSE"/>
<baseValue baseType="identifier">{scored}</baseValue></match>
<setOutcomeValue identifier="SCORE"><baseValue baseType="float">1</baseValue></setOutcomeValue>
</responseIf></responseCondition></responseProcessing></assessmentItem>"""


@pytest.mark.parametrize(
    ("key", "scored", "most", "codes"),
    [
        ("a", "a", "1", []),
        ("a", "b", "1", ["score-unreachable"]),
        ("a", "a", "2", ["score-unreachable"]),
        ("c", "c", "1", ["key-not-an-option"]),
    ],
)
def test_an_item_is_scored_by_its_own_rules(
    key: str, scored: str, most: str, codes: list[str]
) -> None:
    document = QTI.format(key=key, scored=scored, most=most).encode()
    assert [j.code for j in score_findings(Shown(ReadItem(SOUND, PLACE)), document)] == codes


def test_a_document_that_cannot_be_run_is_left_alone() -> None:
    assert score_findings(Shown(ReadItem(SOUND, PLACE)), b"<assessmentItem") == []
    assert score_findings(Shown(ReadItem(SOUND, PLACE)), b"<html/>") == []


def test_a_unit_beside_the_field_of_a_package_need_not_be_asked_for() -> None:
    found = defects(entry(prompt=("Enter the work.",)))
    assert "unit-not-asked" not in {judgement.code for judgement in found}


def test_an_essay_is_answered_though_it_has_no_part() -> None:
    loss = Loss("text-answer", PLACE, "one", "'R' takes a free text, not a number")
    found = defects(replace(read(parts=()), losses=(loss,)))
    assert "item-asks-nothing" not in {judgement.code for judgement in found}
