"""Families are found for banks in other words, with wrong keys among them; and for no others."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Sequence

import numpy as np
import pytest

from qbank.audit.grouping import group_questions
from qbank.audit.matching import MatchedGroup, Matching, match_groups
from qbank.audit.question import Question
from qbank.audit.reading import questions_of
from qbank.audit.verdict import Level
from qbank.formats.source import ReadItem
from qbank.generation import Generator
from qbank.place import Place
from qbank.rendering.renderer import Renderer
from tests.audit.matching.banks import STORIES, Bank, Story, bank, family, shipped, shown


def matched(questions: Sequence[Question]) -> Matching:
    return match_groups(group_questions(questions), shipped())


def accused(result: MatchedGroup) -> set[int]:
    pairs = zip(result.group.questions, result.agreeing, strict=True)
    return {question.number for question, fine in pairs if not fine}


def assert_found(made: Bank, story: Story, found: Matching) -> None:
    """Each part is matched as it was made, and exactly the altered keys disagree."""
    assert not found.unmatched
    assert len(found.matched) == len(made.parts)
    for result in found.matched:
        unknown = made.parts[result.group.questions[0].part]
        assert (result.family.name, result.unknown) == (story.family, unknown)
        assert accused(result) == {row for row, name in made.wrong if name == unknown}
        assert result.level is Level.MATCHED
        assert result.chance <= 1e-6


@pytest.mark.parametrize("name", STORIES)
@pytest.mark.parametrize(("n", "wrong"), [(8, 0.25), (30, 1 / 3)])
def test_family_is_found_and_wrong_keys_stand_out(name: str, n: int, wrong: float) -> None:
    made = bank(STORIES[name], n, wrong=wrong)
    assert made.wrong
    assert_found(made, STORIES[name], matched(made.questions))


@pytest.mark.parametrize("name", STORIES)
def test_values_are_those_the_items_were_made_from(name: str) -> None:
    made = bank(STORIES[name], 12)
    own = next(Generator(family(name)).generate(12, 5))
    for result in matched(made.questions).matched:
        for given, values in result.values.items():
            true = own.values[given]
            if true.ndim > 1:
                width = values.shape[1]
                np.testing.assert_allclose(values, true[:, :width], rtol=1e-12)
            else:
                np.testing.assert_allclose(values, true, rtol=1e-12, err_msg=given)


def test_the_answer_is_told_in_words() -> None:
    result = matched(bank(STORIES["stepped-drum"], 10).questions).matched[0]
    says = result.assignment.says
    assert any("is r, the radius of the small disc" in sentence for sentence in says)
    assert any("is g, the free-fall acceleration" in sentence for sentence in says)
    assert result.assignment.agreeing == result.assignment.questions == 10
    assert (result.confidence > 0.9).all()


def permuted(made: Bank, seed: int = 3) -> list[Question]:
    """Each part's keys exchanged among the siblings."""
    rng = np.random.default_rng(seed)
    out = []
    for part in made.parts:
        own = [question for question in made.questions if question.part == part]
        for question, other in zip(own, rng.permutation(len(own)), strict=True):
            donor = own[int(other)]
            out.append(dataclasses.replace(question, key=donor.key, key_text=donor.key_text))
    return out


@pytest.mark.parametrize("name", STORIES)
@pytest.mark.parametrize("n", [8, 40])
def test_keys_that_have_nothing_to_do_with_the_numbers_match_nothing(name: str, n: int) -> None:
    found = matched(permuted(bank(STORIES[name], n)))
    assert not found.matched
    assert {result.code for result in found.unmatched} <= {"none-fits", "no-family"}


@pytest.mark.parametrize(
    ("name", "slip"),
    [
        ("stepped-drum", "rings-for-discs"),
        ("stepped-drum", "weights-as-tensions"),
        ("thin-lens", "lengths-for-reciprocals"),
        ("resistor-bridge", "dividers-unloaded"),
        ("elastic-collision", "stuck-together"),
        ("mean-interval", "normal-quantile"),  # nearly the same answers
        ("elliptic-orbit", "heights-for-distances"),
    ],
)
def test_keys_by_another_law_match_nothing(name: str, slip: str) -> None:
    own = family(name)
    made = next(Generator(own).generate(40, 7))
    story = bank(STORIES[name], 40, seed=7)
    questions = []
    for question in story.questions:
        unknown = own.find[story.parts[question.part]]
        value = float(unknown.unit.from_si(made.wrong[slip][unknown.name][question.number]))
        if np.isfinite(value):
            text = shown(value, unknown.shown.figures, unknown.shown.decimals)
            questions.append(dataclasses.replace(question, key=float(text), key_text=text))
    assert len(questions) >= 20
    assert not matched(questions).matched


def test_order_plays_no_part() -> None:
    questions = [
        *bank(STORIES["line-throw"], 20, wrong=0.3).questions,
        *bank(STORIES["level-launch"], 20, wrong=0.2, first=100).questions,
    ]

    def seen() -> dict[tuple[int, str], object]:
        return {
            (q.number, q.part): (r.family.name, r.unknown, bool(r.agreeing[row]), r.chance)
            for r in matched(questions).matched
            for row, q in enumerate(r.group.questions)
        }

    whole = seen()
    assert len(whole) == 100
    for seed in range(3):
        random.Random(seed).shuffle(questions)
        assert seen() == whole


@pytest.mark.parametrize("g", [9.8, 9.81, 10.0])
def test_a_constant_the_stem_lacks_may_have_another_value(g: float) -> None:
    made = bank(STORIES["level-launch"], 40, wrong=0.3, constants={"g": g})
    found = matched(made.questions)
    assert_found(made, STORIES["level-launch"], found)
    for result in found.matched:
        assert result.constants.get("g", 9.81) == pytest.approx(g, rel=2e-4)


def test_a_constant_the_stem_states_counts() -> None:
    story = dataclasses.replace(
        STORIES["level-launch"],
        stem=STORIES["level-launch"].stem + " There, 3.71 m/s^2 is the pull of the planet.",
    )
    made = bank(story, 12, wrong=0.25, constants={"g": 3.71})
    found = matched(made.questions)
    assert_found(made, story, found)
    assert all("g" in result.columns for result in found.matched)


def test_numbers_that_play_no_part_do_no_harm() -> None:
    stem = "It is 14 °C on the 2 quays. " + STORIES["line-throw"].stem + " The ship is 80 m long."
    story = dataclasses.replace(STORIES["line-throw"], stem=stem)
    made = bank(story, 12, wrong=0.3)
    found = matched(made.questions)
    assert_found(made, story, found)
    assert any("is not used" in sentence for sentence in found.matched[0].assignment.says)


@pytest.mark.parametrize("scale", [1.0, 100.0, 1000.0])
def test_keys_without_a_unit_get_one(scale: float) -> None:
    made = bank(STORIES["level-launch"], 16, asks=["x"])
    questions = [
        dataclasses.replace(
            question,
            unit=None,
            key=question.key * scale,
            key_text=shown(question.key * scale, 3, None),
        )
        for question in made.questions
    ]
    result = matched(questions).matched[0]
    assert (result.family.name, result.unknown) == ("level-launch", "x")
    assert result.agreeing.all()
    assert result.key_unit.text == {1.0: "m", 100.0: "cm", 1000.0: "mm"}[scale]


def test_numbers_without_units_are_in_those_of_the_family() -> None:
    stem = STORIES["resistor-bridge"].stem
    made = bank(STORIES["resistor-bridge"], 12, wrong=0.25)
    bare = []
    for question in made.questions:
        kept = [
            dataclasses.replace(q, unit=None, end=q.start + len(q.text.split()[0]))
            if q.unit is not None and "Ω" in q.text
            else q
            for q in question.quantities
        ]
        bare.append(dataclasses.replace(question, quantities=tuple(kept)))
    assert "{R_g}" in stem
    assert_found(made, STORIES["resistor-bridge"], matched(bare))


def test_two_readings_that_fit_alike_are_ambiguous() -> None:
    """Two heights in each stem, the same in most; where they differ, the key fits neither."""
    story = Story(
        "level-launch",
        "One bench is {h} over the ground, another HEIGHT. A ball leaves flat with {v_0}.",
        {"x": "How far from the bench does it come down?"},
    )
    questions = []
    for question in bank(story, 12).questions:
        height = question.quantities[0]
        apart = question.number % 4 == 0
        shown_height = "7.25 m" if apart else height.text
        text = question.stem.replace("HEIGHT", shown_height)
        from tests.audit.grouping.texts import question as make

        key = question.key * (0.37 if apart else 1)
        key_text = shown(key, 3, None)
        questions.append(
            make(text, question.prompt, question.number, key=key, key_text=key_text, unit="m")
        )
    found = matched(questions)
    assert [result.code for result in found.unmatched] == ["ambiguous"]
    assert "number 1 as h" in found.unmatched[0].reason
    assert "number 2 as h" in found.unmatched[0].reason


def test_keys_of_two_parts_exchanged_in_some_items() -> None:
    made = bank(STORIES["line-throw"], 20, asks=["x", "H"])
    keys = {(q.number, q.part): q for q in made.questions}
    questions = []
    for question in made.questions:
        other = keys[question.number, {"R0": "R1", "R1": "R0"}[question.part]]
        swap = question.number < 5
        donor = other if swap else question
        questions.append(dataclasses.replace(question, key=donor.key, key_text=donor.key_text))
    for result in matched(questions).matched:
        assert result.unknown == made.parts[result.group.questions[0].part]
        assert accused(result) == set(range(5))


def test_more_than_a_third_wrong_is_not_judged() -> None:
    found = matched(bank(STORIES["line-throw"], 20, asks=["x"], wrong=0.5).questions)
    assert not found.matched
    assert "10 of 20" in found.unmatched[0].reason


def test_a_row_in_other_words_is_less_sure() -> None:
    made = bank(STORIES["line-throw"], 12, asks=["t"])
    odd = [
        dataclasses.replace(q, stem=q.stem.replace("over the sea", "under the sea"), key=q.key * 2)
        if q.number == 3
        else dataclasses.replace(q, key=q.key * 2)
        if q.number == 5
        else q
        for q in made.questions
    ]
    result = matched(odd).matched[0]
    rows = {q.number: row for row, q in enumerate(result.group.questions)}
    assert accused(result) == {3, 5}
    assert result.confidence[rows[3]] < 0.7 < result.confidence[rows[5]]


def test_rows_that_share_another_word_are_not_judged() -> None:
    """Thrown downwards in a third of the items: another problem, whose keys are right."""
    made = bank(STORIES["line-throw"], 24, asks=["t"])
    questions = [
        dataclasses.replace(q, stem=q.stem.replace("to the horizon", "below the horizon"), key=0.9)
        if q.number % 4 == 0
        else q
        for q in made.questions
    ]
    result = matched(questions).matched[0]
    rows = np.array([q.number % 4 == 0 for q in result.group.questions])
    assert not result.agreeing[rows].any()
    assert not result.usable[rows].any()
    assert result.usable[~rows].all()


# ---------------------------------------------------------------------------- a few siblings


def own_items(name: str, n: int) -> list[Question]:
    """Items in the family's own words, as a bank of anyone would be read."""
    made = next(Generator(family(name)).generate(n, 3))
    renderer = Renderer(family(name))
    reads = [ReadItem(renderer.item(made, row), Place("bank", 1, 1)) for row in range(n)]
    return [question for question in questions_of(reads) if not question.options]


@pytest.mark.parametrize("name", ["stepped-drum", "line-throw", "level-launch", "floor-beam"])
def test_the_text_alone_can_name_the_family_of_a_single(name: str) -> None:
    found = matched(own_items(name, 1))
    assert found.matched
    for result in found.matched:
        assert result.family.name == name
        assert result.agreeing.all()
        assert (result.confidence <= 0.9).all()


def test_a_single_is_accused_on_its_own_words_with_no_more_than_their_confidence() -> None:
    wrong = [
        dataclasses.replace(q, key=q.key * 1.7, key_text=shown(q.key * 1.7, 3, None))
        for q in own_items("line-throw", 1)
    ]
    for result in matched(wrong).matched:
        assert result.family.name == "line-throw"
        assert not result.agreeing.any()
        assert (result.confidence <= 0.9).all()


@pytest.mark.parametrize("name", STORIES)
def test_a_single_in_other_words_is_left_alone_or_read_rightly(name: str) -> None:
    made = bank(STORIES[name], 1, wrong=1.0)
    for result in matched(made.questions).matched:
        assert result.family.name == name
        assert {made.parts[question.part] for question in result.group.questions} == {
            result.unknown
        }
        own = next(Generator(family(name)).generate(1, 5))
        for given, values in result.values.items():
            np.testing.assert_allclose(values, own.values[given], rtol=1e-12, err_msg=given)


def test_reasons() -> None:
    from tests.audit.grouping.texts import question

    none = [question("How many moons has Mars?", number=i, key=2.0) for i in range(9)]
    lux = [question(f"A lamp gives {i} cd.", "Why?", 20 + i, unit="cd") for i in range(9)]
    words = [
        question(f"A lamp gives {i} cd. Is it bright?", number=i, key=np.nan) for i in range(9)
    ]
    found = matched([*none, *lux, *words])
    codes = [result.code for result in found.unmatched]
    assert codes == ["no-numbers", "no-family", "key-in-words"]
    assert match_groups([], shipped()).matched == ()
