"""Siblings are found by their wording, and their numbers stand in the right columns."""

from __future__ import annotations

import random

import numpy as np
import pytest

from qbank.audit.grouping import group_questions
from qbank.audit.grouping.alignment import aligned
from qbank.audit.question import Group, OptionValue, Question
from tests.audit.grouping.texts import question

STEM = (
    "A sledge with a mass of {} kg starts from rest and slides {} m down a slope of {} °. "
    "Friction can be neglected, and the hill ends in a level meadow."
)
OTHER = (
    "A kettle holds {} kg of water at {} °C. How much energy does a heating coil have to supply "
    "before the water boils at {} °C?"
)
ASKS = "How fast is the sledge at the foot of the slope?"


def sledges(count: int = 6, first: int = 0) -> list[Question]:
    return [
        question(STEM.format(20 + i, 30 + i, 10 + i), ASKS, first + i, key=5.0 + i, unit="m/s")
        for i in range(count)
    ]


def only(groups: list[Group]) -> Group:
    assert len(groups) == 1
    return groups[0]


def test_numbers_become_columns_in_si() -> None:
    group = only(group_questions(sledges(3)))
    assert (
        group.wording
        == STEM.format("{0}", "{1}", "{2}")
        .replace("{0} kg", "{0}")
        .replace("{1} m", "{1}")
        .replace("{2} °", "{2}")
        + "\n"
        + ASKS
    )
    np.testing.assert_allclose(group.values[:, 0], [20, 21, 22])
    np.testing.assert_allclose(group.values[:, 2], np.radians([10, 11, 12]))
    assert [unit.text for unit in group.units if unit] == ["kg", "m", "°"]
    assert group.figures.tolist() == [[2, 2, 2]] * 3
    np.testing.assert_allclose(group.keys, [5, 6, 7])
    assert group.key_unit is not None


@pytest.mark.parametrize(
    ("says", "changed"),
    [
        ("another word", STEM.replace("sledge", "sled")),
        ("another name", STEM.replace("A sledge", "Martha's sledge")),
        ("a slip of the pen", STEM.replace("neglected", "negelcted")),
        ("a sentence more", STEM + " The snow has been there for a week."),
        ("a word left out", STEM.replace("level ", "")),
        ("another spelling of a unit", STEM.replace("{} m down", "{} cm down")),
    ],
)
def test_small_edits_keep_siblings_together(says: str, changed: str) -> None:
    odd = question(changed.format(77, 88, 99), ASKS, 9, unit="m/s")
    group = only(group_questions([*sledges(), odd]))
    scale = 0.01 if " cm " in changed else 1
    np.testing.assert_allclose(group.values[-1], [77, 88 * scale, np.radians(99)], err_msg=says)


def test_a_number_more_or_less_does_not_shift_the_others() -> None:
    more = STEM.replace("A sledge", "In 3 minutes a sledge").format(77, 88, 99)
    less = STEM.replace(" with a mass of {} kg", "").format(66, 55)
    group = only(
        group_questions([*sledges(), question(more, ASKS, 7, unit="m/s"), question(less, ASKS, 8)])
    )
    np.testing.assert_allclose(group.values[-2], [77, 88, np.radians(99)])
    np.testing.assert_allclose(group.values[-1], [np.nan, 66, np.radians(55)])
    assert group.figures[-1].tolist() == [0, 2, 2]


def test_other_problems_and_other_questions_stay_apart() -> None:
    kettles = [question(OTHER.format(1 + i, 20, 100), number=20 + i) for i in range(4)]
    parts = [
        question(STEM.format(1 + i, 2, 3), prompt, 40 + i, part=f"R{j}")
        for i in range(4)
        for j, prompt in enumerate(("How large is v_a?", "How large is v_b?", "How large is v_a?"))
    ]
    groups = group_questions([*sledges(), *kettles, *parts])
    assert sorted(map(len, groups)) == [4, 4, 4, 4, 6]
    for group in groups:
        assert len({q.number for q in group.questions}) == len(group)


def test_the_question_in_a_stem_decides_too() -> None:
    left, right = (
        STEM + f" Find the force on the {side} runner of the sledge." for side in ("left", "right")
    )
    questions = [question((left, right)[i % 2].format(1 + i, 2, 3), number=i) for i in range(8)]
    assert [len(group) for group in group_questions(questions)] == [4, 4]


def test_choices_and_numbers_and_other_dimensions_stay_apart() -> None:
    option = OptionValue("A", "5 m/s", None, True)
    choice = question(STEM.format(1, 2, 3), ASKS, 8, options=(option,))
    other = question(STEM.format(1, 2, 3), ASKS, 9, unit="s")
    assert [len(group) for group in group_questions([*sledges(), choice, other])] == [6, 1, 1]
    without = question(STEM.format(1, 2, 3), ASKS, 9)
    assert [len(group) for group in group_questions([*sledges(), without])] == [7]


def test_lists_of_several_lengths_share_columns() -> None:
    stems = [
        f"A joiner measured the rods of a delivery: {', '.join(map(str, range(1, 4 + i)))} mm. "
        f"The nominal length is {i} cm."
        for i in range(4)
    ]
    group = only(group_questions([question(stem, number=i) for i, stem in enumerate(stems)]))
    assert group.values.shape == (4, 7)
    assert np.isnan(group.values[0, 3:6]).all()
    np.testing.assert_allclose(group.values[3, :6], np.arange(1, 7) / 1000)
    np.testing.assert_allclose(group.values[:, 6], np.arange(4) / 100)
    assert "{0}, {1}, {2}, {3}, {4}, {5}" in group.wording


def test_order_plays_no_part() -> None:
    pool = sledges(5)
    pool.append(question((STEM + " It is cold.").format(1, 2, 3), ASKS, 5, unit="m/s"))
    pool += [question(OTHER.format(1 + i, 20, 100), number=20 + i) for i in range(4)]
    pool += [question(f"How many legs have {i} spiders?", number=40 + i) for i in range(3)]

    def seen(questions: list[Question]) -> dict[int, object]:
        return {
            q.number: (group.wording, group.values[row].tolist(), len(group))
            for group in group_questions(questions)
            for row, q in enumerate(group.questions)
        }

    whole = repr(sorted(seen(pool).items()))
    for seed in range(5):
        random.Random(seed).shuffle(pool)
        assert repr(sorted(seen(pool).items())) == whole


def test_alignment_prefers_numbers_of_one_kind() -> None:
    one = ("from", "#", "to", "#", "and", "#")
    two = ("to", "#", "and", "#")
    kinds = (None, "kg", None, "m", None, "s")
    assert aligned(one, two, kinds, (None, "m", None, "s")) == [(3, 1), (5, 3)]


def test_texts_without_words_or_numbers() -> None:
    groups = group_questions(
        [question("", number=0), question("?", number=1), question("7", "", 2)]
    )
    assert sum(map(len, groups)) == 3
    assert group_questions([]) == []


def test_time_grows_about_as_the_number_of_questions() -> None:
    """Counts comparisons rather than seconds: each wording is compared with few others."""
    from qbank.audit.grouping import similar

    calls = 0
    plain = similar.similarity

    def counted(one: object, two: object) -> float:
        nonlocal calls
        calls += 1
        return plain(one, two)  # type: ignore[arg-type]

    random.seed(1)
    names = [f"Name{i}" for i in range(1000)]
    stems = [STEM.replace("A sledge", f"{name}'s sledge").format(1, 2, 3) for name in names]
    similar.similarity = counted
    try:
        groups = group_questions([question(stem, ASKS, i) for i, stem in enumerate(stems)])
    finally:
        similar.similarity = plain
    assert len(groups) == 1
    assert calls < 20 * len(names)
