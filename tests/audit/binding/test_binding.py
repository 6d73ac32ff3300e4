"""Binding files: written from what matching found, read again, and refused with a place."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from qbank.audit.binding import Bound, bind, binding_text, read_bindings
from qbank.audit.binding.file import FILE
from qbank.audit.grouping import group_questions
from qbank.audit.matching import match_groups
from qbank.audit.question import Question
from qbank.audit.verdict import Level
from qbank.errors import FamilyError
from tests.audit.grouping.texts import question
from tests.audit.matching.banks import STORIES, bank, family, shipped

LAUNCH = """\
bindings:
  - family: level-launch
    wording: A ball rolls off a shelf {h} high, at {v_0}.
    answers:
      - {find: x, prompt: "How far does it get?"}
      - {find: t, prompt: "How long does it fall, in s?"}
"""
STEM = "A ball rolls off a shelf {} m high, at {} m/s here."


def launch(
    stem: str = STEM.format("1.25", "2.0"), prompt: str = "How far does it get?", key: float = 1.01
) -> Question:
    return question(stem, prompt, key=key, key_text=str(key), unit="m")


def bound(*questions: Question, text: str = LAUNCH) -> Bound:
    return bind(questions, read_bindings(text, "bank.yaml", shipped()))


# ---------------------------------------------------------------------------- round trip


@pytest.mark.parametrize("name", STORIES)
def test_what_matching_found_is_read_again_alike(name: str) -> None:
    made = bank(STORIES[name], 20, wrong=0.3)
    found = match_groups(group_questions(made.questions), shipped()).matched
    text = binding_text(found)
    again = bind(made.questions, read_bindings(text, "bank.yaml", shipped()))
    assert not again.left
    assert len(again.matched) == len(found)
    for one, two in zip(found, again.matched, strict=True):
        assert two.level is Level.BOUND
        assert (one.family.name, one.unknown) == (two.family.name, two.unknown)
        assert one.values.keys() == two.values.keys()
        for given, values in one.values.items():
            np.testing.assert_array_equal(values, two.values[given])
        np.testing.assert_array_equal(one.answers, two.answers)
        np.testing.assert_array_equal(one.agreeing, two.agreeing)
        assert (two.confidence == 1).all()
    assert binding_text(again.matched) == text


def test_constants_and_units_are_written_and_read() -> None:
    made = bank(STORIES["level-launch"], 40, asks=["x"], constants={"g": 10.0})
    questions = [
        dataclasses.replace(q, unit=None, key=q.key * 100, key_text=f"{q.key * 100:.0f}")
        for q in made.questions
    ]
    found = match_groups(group_questions(questions), shipped()).matched
    text = binding_text(found)
    assert 'g: "10 m/s^2"' in text
    assert 'unit: "cm"' in text
    (again,) = bound(*questions, text=text).matched
    assert again.constants == {"g": 10.0}
    assert again.key_unit.text == "cm"
    assert again.agreeing.all()


def test_marks_of_yaml_and_hidden_characters_survive() -> None:
    stem = "Note: {{a}} #1 'x' \"y\" \\ \u202e {h} from the top, then off at {v_0} - ok"
    story = dataclasses.replace(STORIES["level-launch"], stem=stem)
    made = bank(story, 20)
    found = match_groups(group_questions(made.questions), shipped()).matched
    assert found
    text = binding_text(found)
    assert "\u202e" not in text
    assert not bound(*made.questions, text=text).left
    assert binding_text([]) == ""


def test_no_line_is_long() -> None:
    made = bank(STORIES["stepped-drum"], 12)
    text = binding_text(match_groups(group_questions(made.questions), shipped()).matched)
    assert max(map(len, text.splitlines())) <= 100
    assert "{M_r}" in text


# ---------------------------------------------------------------------------- patterns


def test_numbers_are_read_in_si_and_the_key_recomputed() -> None:
    found = bound(launch("A ball rolls off a shelf 125 cm high, at 2.0 m/s."))
    (result,) = found.matched
    assert result.values["h"].tolist() == [1.25]
    # x = v sqrt(2 h / g), by hand
    assert result.answers[0] == pytest.approx(2.0 * (2 * 1.25 / 9.81) ** 0.5)
    assert result.agreeing.all()


@pytest.mark.parametrize(
    "stem",
    [
        "A  ball rolls off a\tshelf 1.25 m high, at 2.0 m/s.",
        "A marble rolls off a shelf 1.25 m high, at 2.0 m/s.",
        "A ball rolls off a shelf of 1.25 m, at 2.0 m/s.",
    ],
)
def test_small_edits_are_read(stem: str) -> None:
    (result,) = bound(launch(stem)).matched
    assert result.values["v_0"].tolist() == [2.0]


@pytest.mark.parametrize(
    ("stem", "prompt", "says"),
    [
        ("A ball rolls off a shelf 1.25 m high, at 2.0 m/s, in 3 s.", None, "no field for '3 s'"),
        ("A ball rolls off a shelf, at 2.0 m/s.", None, "{h}"),
        (None, "How fast does it get?", "asks for something else"),
        (None, "", "asks for something else"),
        (
            "A ball on a low shelf is let go; it rolls off a shelf 1.25 m high, and leaves flat, at"
            " 2.0 m/s.",
            None,
            "words differ",
        ),
    ],
)
def test_what_only_nearly_fits_is_left_with_the_reason(
    stem: str | None, prompt: str | None, says: str
) -> None:
    given = launch() if stem is None else launch(stem)
    if prompt is not None:
        given = dataclasses.replace(given, prompt=prompt)
    found = bound(given)
    assert not found.matched
    assert found.left == (given,)
    assert says in found.reasons[0]
    assert "bank.yaml:5:" in found.reasons[0] or "bank.yaml:6:" in found.reasons[0]


def test_another_problem_is_left_without_a_reason() -> None:
    found = bound(question("How many legs have 3 spiders?", "Count."))
    assert found.left
    assert not found.reasons


def test_a_number_of_another_kind_is_not_read() -> None:
    found = bound(launch("A ball rolls off a shelf 1.25 kg high, at 2.0 m/s."), launch())
    assert [len(result.group) for result in found.matched] == [1]
    assert "'1.25 kg' stands where the pattern has {h}" in found.reasons[0]


def test_a_number_without_a_unit_is_in_that_of_the_family() -> None:
    (result,) = bound(launch("A ball rolls off a shelf 1.25 high, at 2.0 m/s.")).matched
    unit = family("level-launch").given["h"].unit
    assert result.values["h"][0] == unit.to_si(1.25)


def test_a_part_may_be_named_by_its_identifier() -> None:
    text = LAUNCH.replace('{find: x, prompt: "How far does it get?"}', "{find: x, part: R7}")
    one = dataclasses.replace(launch(prompt="Anything?"), part="R7")
    found = bound(one, launch(prompt="Anything?"), text=text)
    assert len(found.matched) == 1
    assert len(found.left) == 1


def test_a_data_list_is_one_field() -> None:
    text = """\
bindings:
  - family: mean-interval
    wording: "Pieces measured: {x}. Promised: {m_0}. Level: {C}."
    answers: [{find: low, prompt: "From where?"}]
"""
    stem = "Pieces measured: 39.2, 39.4, 39.8, 40.4, 39.9 mm. Promised: 39.9 mm. Level: 95 %."
    (result,) = bound(question(stem, "From where?", key=39.31, unit="mm"), text=text).matched
    assert result.values["x"].shape == (1, 5)
    data = np.array([39.2, 39.4, 39.8, 40.4, 39.9])
    from scipy.stats import t  # type: ignore[import-untyped]

    low, _ = t.interval(0.95, 4, data.mean(), data.std(ddof=1) / 5**0.5)
    assert result.answers[0] * 1000 == pytest.approx(low, rel=1e-9)


# ---------------------------------------------------------------------------- bad files


@pytest.mark.parametrize(
    ("old", "new", "says", "hint", "line"),
    [
        ("family: level-launch", "family: level-lunch", "no family", "level-launch", 2),
        ("{v_0}", "{v0}", "'v0' is no given", "v_0", 3),
        ("{v_0}", "{h}", "a second time", "{*}", 3),
        ("{v_0}", "{v_0", "a single {", "{{", 3),
        ("{v_0}", "{*}", "x hangs on v_0", "constants", 5),
        ("find: x,", "find: range,", "no unknown", "known", 5),
        ("{find: x, prompt", "{find: x, promt", "not known here", "prompt", 5),
        ('prompt: "How far does it get?"', "part: A, prompt: B", "both", "one", 5),
        ('get?"}', 'get?", unit: kg}', "is a length", "m", 5),
        ('get?"}', 'get?", unit: mx}', "mx", "", 5),
        ("{find: x, prompt", "{prompt", "'find' is missing", "find", 5),
        ("wording: A", "wordin: A", "not known here", "wording", 3),
        ("bindings:", "binding:", "not known here", "bindings", 1),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_place_and_mend(
    old: str, new: str, says: str, hint: str, line: int
) -> None:
    text = LAUNCH.replace(old, new, 1)
    assert text != LAUNCH
    with pytest.raises(FamilyError) as caught:
        read_bindings(text, "bank.yaml", shipped())
    assert says in caught.value.message
    assert hint in (caught.value.hint or "")
    assert caught.value.place is not None
    assert (caught.value.place.file, caught.value.place.line) == ("bank.yaml", line)


@pytest.mark.parametrize(
    ("constants", "says"),
    [
        ("{g: 9.8}", "has no unit"),
        ("{g: 9.8 m}", "expected"),
        ("{k: 9.8 m}", "no single given"),
        ("{h: 2 m}", "states h already"),
        ("{g: fast}", "g"),
    ],
)
def test_a_bad_constant_is_refused(constants: str, says: str) -> None:
    with pytest.raises(FamilyError, match=says):
        read_bindings(LAUNCH + f"    constants: {constants}\n", "bank.yaml", shipped())


def test_hostile_patterns_are_only_words() -> None:
    text = LAUNCH.replace("A ball rolls", "(a+)+$ [^]* A ball rolls")
    found = bound(launch(), text=text)
    assert len(found.left) + len(found.matched) == 1
    with pytest.raises(FamilyError, match="more than"):
        read_bindings(LAUNCH.replace("{v_0}", "{v_0} " + "{*} " * 500), "bank.yaml", shipped())


def test_family_is_that_of_the_caller() -> None:
    with pytest.raises(FamilyError, match="no family"):
        read_bindings(LAUNCH, "bank.yaml", [family("thin-lens")])


def test_the_example_of_the_reference_is_read() -> None:
    (binding,) = read_bindings(FILE.example, "bank.yaml", shipped())
    assert [answer.unknown for answer in binding.answers] == ["alpha", "T_a"]
    assert binding.constants == {"g": 9.8}


def test_words_are_needed_in_the_wording_or_in_the_prompt() -> None:
    prompts = 'bindings:\n  - {family: level-launch, answers: [{find: t, prompt: "Falls {h}."}]}\n'
    (binding,) = read_bindings(prompts, "b.yaml", shipped())
    assert binding.answers[0].pattern.fields == ("h",)
    nothing = "bindings:\n  - {family: carnot-engine, answers: [{find: T_h}]}\n"
    with pytest.raises(FamilyError, match="neither a wording nor a prompt") as caught:
        read_bindings(nothing, "b.yaml", shipped())
    assert caught.value.place is not None
