"""A family with cases, friction of either sign and no solution text, read back from its items."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from qbank.family.model import Family
from qbank.generation import Generator, work
from qbank.instances import Instances
from qbank.item import Choice, Item, NumberEntry
from qbank.rendering.renderer import Renderer
from qbank.rendering.terminal import show_text
from tests.rendering.reading import NUMERAL, prose, sides, strings, table

COUNT = 60


@pytest.fixture(scope="module")
def instances(hopper: Family) -> Instances:
    (made,) = Generator(hopper).generate(COUNT, seed=3)
    return made


@pytest.fixture(scope="module")
def items(hopper: Family, instances: Instances) -> list[Item]:
    return list(Renderer(hopper).items(instances))


def si(instances: Instances, row: int) -> dict[str, float]:
    return {name: float(array[row]) for name, array in instances.values.items()}


def by_hand(v: dict[str, float]) -> tuple[str, float, float]:
    """Case, friction and acceleration from Coulomb's law, solved here a second time."""
    pull = v["F"] - v["m"] * v["g"] * math.sin(v["theta"])
    most = v["mu"] * v["m"] * v["g"] * math.cos(v["theta"])
    if abs(pull) <= most:
        return "stays", pull, 0.0
    friction = math.copysign(most, pull)
    return ("moves up" if pull > 0 else "moves down"), friction, (pull - friction) / v["m"]


def test_keys_are_what_the_shown_data_give(items: list[Item], instances: Instances) -> None:
    cases = set()
    for row, item in enumerate(items):
        case, friction, acceleration = by_hand(si(instances, row))
        cases.add(case)
        assert item.provenance is not None
        assert item.provenance.case == case
        f, a = item.parts[1], item.parts[5]
        assert isinstance(f, NumberEntry)
        assert isinstance(a, NumberEntry)
        assert f.key == pytest.approx(friction, rel=0.006)
        assert a.key == pytest.approx(acceleration, abs=0.00501)
        for entry in (f, a):
            assert entry.key == float(entry.key_text)
            assert entry.key_shown == f"{entry.key_text.replace('-', '−')} {entry.unit}"
            assert entry.tolerance.low <= entry.key <= entry.tolerance.high
    assert cases == {"moves up", "moves down", "stays"}


def test_a_negative_answer_is_shown_with_its_sign_and_a_word_about_it(items: list[Item]) -> None:
    negative = [item for item in items if item.parts[1].key < 0]  # type: ignore[union-attr]
    assert negative
    for item in items:
        friction = item.parts[1]
        assert isinstance(friction, NumberEntry)
        said = "f comes out negative" in prose(item.solution)
        assert said == (friction.key < 0)
        assert friction.key_shown.startswith("−") == (friction.key < 0)


def test_the_stem_shows_data_and_no_answer(items: list[Item], instances: Instances) -> None:
    for item in items:
        stem = prose(item.stem)
        data = [row[2] for row in table(item, "Data")]
        shown = {NUMERAL.search(text)[0] for text in data}  # type: ignore[index]
        assert set(NUMERAL.findall(stem)) == shown
        word = next(o for o in item.parts[0].options if o.correct).content[0]  # type: ignore[union-attr]
        assert word not in stem


def test_words_come_from_the_setting(items: list[Item], instances: Instances) -> None:
    for item, setting in zip(items, instances.setting.tolist(), strict=True):
        assert prose(item.stem).startswith(("At an oat mill,", "At a farm,")[setting])


def test_which_way_is_told_with_both_sides_in_numbers(
    items: list[Item], instances: Instances
) -> None:
    for row, item in enumerate(items):
        v = si(instances, row)
        pull = v["F"] - v["m"] * v["g"] * math.sin(v["theta"])
        most = v["mu"] * v["m"] * v["g"] * math.cos(v["theta"])
        text = prose(item.solution)
        case = by_hand(v)[0]
        if case == "stays":
            assert "No other case fits the data, so this is the case “stays”." in text
            assert text.count("would need") == 2
            line = next(line for line in text.split("\n") if "would need" in line)
            numbers = [number.replace("−", "-") for number in NUMERAL.findall(line)]
            assert [float(number) for number in numbers] == pytest.approx(
                [pull, most, -pull, most], rel=5e-4
            )
            assert line.count("≤") == 2
        else:
            sign = 1 if case == "moves up" else -1
            line = next(line for line in text.split("\n") if "which way it goes" in line)
            assert line.endswith(
                f"So this is the case “{case}”, with s = {sign}.".replace("-", "−")
            )
            numbers = [number.replace("−", "-") for number in NUMERAL.findall(line)]
            assert [float(number) for number in numbers[:2]] == pytest.approx(
                [sign * pull, most], rel=5e-4
            )


def test_equations_with_numbers_hold_when_read_back(
    items: list[Item], instances: Instances
) -> None:
    checked = 0
    for row, item in enumerate(items):
        v = si(instances, row)
        for line in prose(item.solution).split("\n"):
            if " = " not in line or line.startswith(("The ", "Check", "No ", "f comes", "a comes")):
                continue
            steps = line.split(" = ")
            for left, right in itertools.pairwise(steps):
                a, b = sides(f"{left} = {right}", v | {"s": float(np.sign(v["f"]))})
                scale = v["m"] * v["g"]
                assert abs(a - b) <= 5e-4 * scale, line  # values are shown with four figures
                checked += 1
    assert checked > 4 * COUNT


def test_answers_put_back_show_the_differences(items: list[Item], instances: Instances) -> None:
    for row, item in enumerate(items):
        v = si(instances, row)
        f, a = item.parts[1].key, item.parts[5].key  # type: ignore[union-attr]
        left = v["F"] - v["m"] * v["g"] * math.sin(v["theta"]) - f
        right = v["m"] * a
        ramp = table(item, "The rounded answers put back into the equations")[0]
        assert ramp[0] == "ramp"
        shown = [float(NUMERAL.search(cell)[0].replace("−", "-")) for cell in ramp[1:4]]  # type: ignore[index]
        assert shown[:2] == pytest.approx([left, right], rel=5e-4, abs=1e-12)
        assert shown[2] == pytest.approx(abs(left - right), rel=0.05, abs=1e-9)
        assert "no more than rounding explains" in prose(item.solution)


def test_answers_that_rounding_does_not_explain_are_said_to_be_wrong(
    hopper: Family, instances: Instances
) -> None:
    one = instances.take(np.array([0]))
    one.rounded["f"][0] += 5.0
    item = Renderer(hopper).item(one, 0)
    assert "Rounding does not explain all of the difference" in prose(item.solution)


def test_wrong_values_are_the_slips_answers_and_stay_clear_of_the_key(
    items: list[Item], instances: Instances, hopper: Family
) -> None:
    count = 0
    for row, item in enumerate(items):
        entry = item.parts[1]
        assert isinstance(entry, NumberEntry)
        bands = [(entry.tolerance.low, entry.tolerance.high)]
        for wrong in entry.wrong_values:
            exact = instances.wrong[wrong.slip]["f"][row]
            assert wrong.value == pytest.approx(exact, rel=0.006)
            assert wrong.low <= wrong.value <= wrong.high
            assert wrong.feedback == (hopper.slips[wrong.slip].says,)
            assert all(wrong.high < low or wrong.low > high for low, high in bands)
            bands.append((wrong.low, wrong.high))
            count += 1
    assert count > COUNT


def test_choices(items: list[Item], hopper: Family, instances: Instances) -> None:
    places = set()
    for row, item in enumerate(items):
        word, value, law, marks = (item.parts[k] for k in (0, 2, 3, 4))
        for part in (word, value, law, marks):
            assert isinstance(part, Choice)
            assert [o.identifier for o in part.options] == [
                f"C{k}" for k in range(1, len(part.options) + 1)
            ]
            assert len({tuple(strings(o.content)) for o in part.options}) == len(part.options)
            assert part.multiple or sum(o.correct for o in part.options) == 1
            for option in part.options:
                if option.slip:
                    assert not option.correct
                    assert option.feedback == (hopper.slips[option.slip].says,)
        assert word.inline
        numbers = [float(str(o.content[0]).split()[0].replace("−", "-")) for o in value.options]
        assert numbers == sorted(numbers)
        assert not value.shuffle
        key = next(o for o in value.options if o.correct)
        assert key.content == (item.parts[1].key_shown,)  # type: ignore[union-attr]
        places.add(next(o.identifier for o in law.options if o.correct))
        v = si(instances, row)
        assert [o.correct for o in marks.options] == [v["f"] > 0, v["N"] > 100]
        assert marks.options[1].content == ("The normal force is greater than 100 N.",)
    assert len(places) > 1  # the right equation does not always stand in the same place


def test_a_wrong_direction_gets_the_feedback_of_the_slip_that_leads_there(
    items: list[Item],
) -> None:
    for item in items:
        assert item.provenance is not None
        up = next(o for o in item.parts[0].options if o.content == ("moves up",))  # type: ignore[union-attr]
        expected = None if item.provenance.case == "moves up" else "always-up"
        assert up.slip == expected


def test_prompts_name_quantity_unit_and_rounding(items: list[Item]) -> None:
    prompts = ["".join(strings(part.prompt)) for part in items[0].parts]
    assert prompts == [
        "Choose what is right here: motion …",
        "Calculate the friction force f in N, rounded to 3 significant figures.",
        "Choose the value of the friction force f.",
        "Choose the equation that is right here: ramp.",
        "Mark every statement that is true.",
        "Calculate the acceleration a in m/s², rounded to 2 decimal places.",
    ]


def test_an_item_is_the_same_alone_and_among_others(
    hopper: Family, instances: Instances, items: list[Item]
) -> None:
    fresh = Renderer(hopper)
    for row in (0, 7, COUNT - 1):
        assert fresh.item(instances, row) == items[row]
    halves = [instances.take(slice(0, 25)), instances.take(slice(25, None))]
    assert [item for half in halves for item in fresh.items(half)] == items
    with pytest.raises(IndexError):
        fresh.item(instances, COUNT)


def test_identifiers_are_names_and_differ(items: list[Item], hopper: Family) -> None:
    assert len({item.identifier for item in items}) == COUNT
    for k, item in enumerate(items):
        stem, _, index = item.identifier.rpartition("-")
        assert len(stem) == 11
        assert stem[0] == "i"
        assert int(index) == k
        assert len(item.identifier) <= 32
    assert items[0].provenance is not None
    assert items[0].provenance.digest == hopper.digest


def test_hand_given_data_are_printed_as_typed(hopper: Family) -> None:
    data = {"m": "33.25 kg", "F": "211 N", "theta": "12.5 deg", "mu": "0.3333"}
    worked = work(hopper, data)
    item = Renderer(hopper).item(worked.instances, 0)
    rows = {row[1]: row[2] for row in table(item, "Data")}
    assert rows["m"] == "33.25 kg"
    assert rows["θ"] == "12.5°"
    assert rows["μ"] == "0.3333"
    assert "(33.25 kg)·(9.81 m/s²)·sin(12.5°)" in prose(item.solution)
    assert item.identifier.endswith("-given")
    assert "data given by hand" in show_text(item)
