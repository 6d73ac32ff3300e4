"""Which option is right for a recomputed value, in whatever unit the options are written."""

from __future__ import annotations

import math

import numpy as np
import pytest

from qbank.audit.options import (
    counted_place,
    judge_choices,
    judge_option_group,
    judge_options,
    with_number,
)
from qbank.audit.question import OptionValue, Question
from qbank.audit.reading.quantities import read_quantities
from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.expressions.units import Unit, parse_unit
from qbank.finding import Severity
from qbank.place import Place

METRE = parse_unit("m")


def choice(texts: list[str], keyed: str | list[str], unit: Unit | None = METRE) -> Question:
    keys = [keyed] if isinstance(keyed, str) else keyed
    options = []
    for name, text in zip("abcdefgh", texts, strict=False):
        found = read_quantities(text)
        options.append(OptionValue(name, text, found[0] if found else None, name in keys))
    return Question(
        "one", "C", 0, Place("bank", 1, 1), "How long?", "", (), math.nan, "", unit,
        math.nan, math.nan, tuple(options),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("texts", "keyed", "right", "slack", "code", "correct"),
    [
        (["1.2 m", "2.4 m", "3.6 m"], "b", 2.43, 0.0, "right", "b"),
        (["1.2 m", "2.4 m", "3.6 m"], "a", 2.43, 0.0, "wrong-option", "b"),
        (["12 cm", "0.24 m", "36 cm"], "a", 0.24, 0.0, "wrong-option", "b"),
        (["12 cm", "0.12 m", "36 cm"], "a", 0.12, 0.0, "two-options-right", "ab"),
        (["12 cm", "12.3 cm", "36 cm"], "b", 0.1232, 0.0, "two-options-right", "ab"),
        (["1.2 m", "2.4 m", "3.6 m"], "a", 5.0, 0.0, "no-option-right", ""),
        (["1.2 m", "2.4 m", "3.6 m"], "b", 2.46, 0.02, "no-option-right", ""),
        (["1.2 m", "2.4 m", "3.6 m"], "b", 2.46, 0.07, "right", "b"),
        (["1.2 m", "2.4 m", "3.6 m"], ["b", "c"], 2.4, 0.0, "wrong-option-too", "b"),
        (["1.2", "2.4", "3.6"], "c", 2.4, 0.0, "wrong-option", "b"),
        (["2.4 s", "2.4 m", "3.6 m"], "b", 2.4, 0.0, "right", "b"),
        (["1.2 m", "2.4 m", "none of these"], "c", 5.0, 0.0, "option-in-words", ""),
        (["1.2 m", "2.4 m", "none of these"], "c", 2.4, 0.0, "wrong-option", "b"),
        (["1.2 m", "2.4 m"], [], 2.4, 0.0, "no-key", ""),
        (["up", "down"], "a", 2.4, 0.0, "options-no-number", ""),
        (["1.2 m", "2.4 m"], "b", math.nan, 0.0, "no-answer", ""),
        (["-2.4 m", "2.4 m"], "b", -2.4, 0.0, "wrong-option", "a"),
        (["0 m", "10 m", "3.0 m"], "c", 3.0, 0.0, "right", "c"),
        # 2.45 lies halfway: it may have been rounded either way
        (["2.4 m", "2.9 m"], "a", 2.45, 0.0, "right", "a"),
        (["2.5 m", "2.9 m"], "a", 2.45, 0.0, "right", "a"),
        # zeros at the end of whole numbers hold the place where no option has more figures
        (["460 m", "45 m", "910 m"], "a", 456.2, 0.0, "right", "a"),
        (["460 m", "45 m", "910 m"], "b", 456.2, 0.0, "wrong-option", "a"),
        (["460 m", "455 m", "910 m"], "a", 457.2, 0.0, "no-option-right", ""),
        (["460 m", "45.1 m", "910 m"], "a", 456.2, 0.0, "no-option-right", ""),
    ],
)
def test_options(
    texts: list[str], keyed: str | list[str], right: float, slack: float, code: str, correct: str
) -> None:
    judgement = judge_options(choice(texts, keyed), right, METRE, slack)
    assert judgement.code == code
    assert judgement.correct == tuple(correct)
    accused = {"wrong-option", "two-options-right", "no-option-right", "wrong-option-too"}
    assert judgement.accuses == (code in accused)
    assert judgement.verdict.right == (code == "right")


def test_the_value_is_told_in_the_options_unit() -> None:
    judgement = judge_options(choice(["12 cm", "24 cm"], "a"), 0.36, METRE)
    assert "36.0 cm" in judgement.how
    assert "'24 cm'" in judgement.how
    assert judgement.value == pytest.approx(0.36)
    assert judgement.level is Level.MATCHED
    assert judgement.proved


def test_temperatures_are_compared_with_their_zero() -> None:
    kelvin = parse_unit("K")
    question = choice(["20 °C", "293 K", "40 °C"], "c", kelvin)
    judgement = judge_options(question, 293.15, kelvin)
    assert judgement.correct == ("a", "b")
    assert judgement.verdict is Verdict.WRONG


def test_a_key_that_is_the_neighbour_throughout() -> None:
    rows = [
        choice([f"{k + 1}.0 m", f"{k + 2}.0 m", f"{k + 3}.0 m", f"{k + 4}.0 m"], "b")
        for k in range(6)
    ]
    right = np.array([k + 1.0 for k in range(6)])
    right[5] = 7.0  # the key of this one is right
    found = judge_option_group(rows, right, METRE)
    assert [j.code for j in found] == ["wrong-option"] * 5 + ["right"]
    causes = [j.cause for j in found]
    assert all(cause is not None and cause.code == "options-shifted" for cause in causes[:5])
    assert causes[0] is not None
    assert "1 place after" in causes[0].says
    assert causes[5] is None


def test_wrong_keys_without_a_pattern_have_no_cause() -> None:
    rows = [choice(["1.0 m", "2.0 m", "3.0 m"], key) for key in "bca"]
    found = judge_option_group(rows, np.array([1.0, 1.0, 2.0]), METRE)
    assert [j.code for j in found] == ["wrong-option"] * 3
    assert [j.cause for j in found] == [None] * 3


@pytest.mark.parametrize(
    ("texts", "places"),
    [
        (["460", "45", "1200"], [1, 0, 2]),
        (["460", "455", "1200"], [0, 0, 1]),
        (["5", "10", "20"], [0, 0, 0]),
        (["0", "100"], [0, 1]),
        (["1.20e3", "300"], [1, 0]),
        (["4.60", "45.0"], [-2, -1]),
    ],
)
def test_which_zeros_of_an_option_count(texts: list[str], places: list[int]) -> None:
    options = choice(texts, "a").options
    found = [counted_place(o.quantity, options) for o in options if o.quantity is not None]
    assert found == places


# ---------------------------------------------------------------------------- with the number

SLIP = Cause("slip:twice", "taken twice", 2.0)
OTHER_G = Cause("constant", "with g = 10 m/s²", 2.4)


def number(verdict: Verdict, cause: Cause | None = None) -> Judgement:
    severity = None if verdict is Verdict.RIGHT else Severity.ERROR
    return Judgement(
        "one", "C", Place("bank", 1, 1), 0, verdict, Level.MATCHED, "code", severity,
        cause=cause, how="Solved.", confidence=0.9, family="lift",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("right", "stated", "verdict", "code"),
    [
        (2.4, number(Verdict.RIGHT), Verdict.RIGHT, "right"),
        (3.6, number(Verdict.WRONG, SLIP), Verdict.WRONG, "wrong-option"),
        (5.0, number(Verdict.WRONG, SLIP), Verdict.WRONG, "no-option-right"),
        (2.47, number(Verdict.OTHER_CONSTANT, OTHER_G), Verdict.OTHER_CONSTANT, "code"),
        (2.47, number(Verdict.ROUNDED), Verdict.ROUNDED, "code"),
        # the answer is offered, and so is that with another constant, which is keyed
        (3.6, number(Verdict.OTHER_CONSTANT, OTHER_G), Verdict.DEFECT, "two-options-right"),
        # who rounds badly picks the other option
        (3.6, number(Verdict.ROUNDED), Verdict.WRONG, "wrong-option"),
    ],
)
def test_what_is_known_of_the_keyed_number_counts(
    right: float, stated: Judgement, verdict: Verdict, code: str
) -> None:
    option = judge_options(choice(["1.2 m", "2.4 m", "3.6 m"], "b"), right, METRE)
    found = with_number(option, stated)
    assert (found.verdict, found.code) == (verdict, code)
    assert found.family == "lift"
    if verdict is Verdict.WRONG:
        assert found.cause == stated.cause
    assert found.proved == (verdict is Verdict.WRONG)


@pytest.mark.parametrize("alike", [True, False])
def test_one_mistake_in_all_siblings_is_no_shift(alike: bool) -> None:
    rows = [choice([f"{k + 1}.0 m", f"{k + 2}.0 m", f"{k + 9}.0 m"], "b") for k in range(5)]
    right = np.array([k + 1.0 for k in range(5)])
    numbers = [
        number(Verdict.WRONG, SLIP if alike or not k else Cause(f"slip:{k}", "", 1.0))
        for k in range(5)
    ]
    found = judge_choices(rows, right, METRE, numbers, level=Level.BOUND)
    codes = [j.cause.code if j.cause else "" for j in found]
    assert codes == ["slip:twice" if alike else "options-shifted"] * 5
    assert {j.level for j in found} == {Level.BOUND}
