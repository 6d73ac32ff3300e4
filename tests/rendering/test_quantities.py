"""Temperatures, powers of ten, data lists and units in formulas, on families made for it."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from qbank.expressions.numbers import NumberFormat
from qbank.expressions.parser import parse_value
from qbank.family.model import Family
from qbank.generation import Generator, work
from qbank.item import Item, NumberEntry, Table
from qbank.rendering.batch import told_apart
from qbank.rendering.renderer import Renderer
from qbank.rendering.shown_units import ShownUnits
from qbank.rendering.terminal import show_text
from tests.rendering.reading import prose, strings, table


@pytest.fixture(scope="module")
def mixed(coolant: Family) -> Item:
    data = {
        "q_1": "1.4 L/min",
        "q_2": "1.7 L/min",
        "T_1": "78 °C",
        "T_2": "-4 °C",
        "k": "6.30e-4 1/s",
    }
    return Renderer(coolant).item(work(coolant, data).instances, 0)


def test_temperatures_keep_their_scale_where_subtracted_and_are_kelvin_elsewhere(
    mixed: Item,
) -> None:
    text = prose(mixed.solution)
    assert "(1.4 L/min)·(78 °C − T) = (1.7 L/min)·(T − (−4 °C))" in text
    assert "r = (351.15 K)/(269.15 K)" in text


def test_numbers_written_as_powers_of_ten_are_shown_as_such(mixed: Item) -> None:
    assert "6.30 × 10⁻⁴ 1/s" in prose(mixed.stem)
    assert "(6.30 × 10⁻⁴ 1/s)·(60 s)" in prose(mixed.solution)
    decay = mixed.parts[2]
    assert isinstance(decay, NumberEntry)
    assert (decay.key_text, decay.key_shown) == ("3.8e-2", "3.8 × 10⁻²")


def test_keys_of_the_mixture_by_hand(mixed: Item) -> None:
    # (1.4*78 - 1.7*4)/3.1 = 33.0323, 351.15/269.15 = 1.30466, 6.3e-4*60 = 0.0378
    assert [part.key for part in mixed.parts] == [33.0, 1.30, 0.038]  # type: ignore[union-attr]
    rows = {row[1]: row[2:] for row in table(mixed, "Answers")}
    assert rows == {
        "T": ["33.0323 °C", "33.0 °C"],
        "r": ["1.30466", "1.30"],
        "d": ["3.78000 × 10⁻²", "3.8 × 10⁻²"],
    }


def test_tolerances_are_stated_as_the_author_wrote_them(mixed: Item) -> None:
    stated = [part.tolerance.stated for part in mixed.parts]  # type: ignore[union-attr]
    assert stated == ["0.2 K", "2 %", "1.5 units in the last place"]


def test_prompts_keep_an_article_the_author_wrote(mixed: Item) -> None:
    prompts = ["".join(strings(part.prompt)) for part in mixed.parts]
    assert prompts == [
        "Calculate the mixed temperature T in °C, rounded to 1 decimal place.",
        "Calculate the ratio of absolute temperatures r, rounded to 3 significant figures.",
        "Calculate the decay in a minute d, rounded to 2 significant figures.",
    ]


@pytest.mark.parametrize(
    ("shown", "words"),
    [
        (NumberFormat(figures=1), "to 1 significant figure."),
        (NumberFormat(decimals=0), "to a whole number."),
        (NumberFormat(decimals=2), "to 2 decimal places."),
        (NumberFormat(decimals=-2), "to a multiple of 100."),
    ],
)
def test_how_to_round_is_said_in_words(coolant: Family, shown: NumberFormat, words: str) -> None:
    other = replace(coolant, find=coolant.find | {"r": replace(coolant.find["r"], shown=shown)})
    (drawn,) = Generator(coolant).generate(1)
    instances = replace(drawn, family=other)
    prompt = "".join(strings(Renderer(other).item(instances, 0).parts[1].prompt))
    assert prompt.endswith(words)


def test_data_lists_are_tables_with_units_in_the_header(springs: Family) -> None:
    (instances,) = Generator(springs).generate(40)
    sizes = set()
    for row, item in enumerate(Renderer(springs).items(instances)):
        (shown,) = [block for block in item.stem if isinstance(block, Table)]
        assert ["".join(strings(cell)) for cell in shown.header] == ["no.", "x / mm", "F / N"]
        size = int(instances.sizes["x"][row])
        sizes.add(size)
        assert len(shown.rows) == size
        cells = [["".join(strings(cell)) for cell in line] for line in shown.rows]
        assert [line[0] for line in cells] == [str(k + 1) for k in range(size)]
        x = np.array([float(line[1]) for line in cells])
        force = np.array([float(line[2].replace("−", "-")) for line in cells])
        assert x / 1000 == pytest.approx(instances.values["x"][row, :size], rel=1e-15)
        assert all(re.fullmatch(r"\d+\.\d", line[1]) for line in cells)
        again = ", ".join(line[1] for line in cells)
        assert f"The extensions again: {again} mm." in prose(item.stem)
        rate = float(x @ force / (x @ x))  # least squares through the origin
        key = item.parts[0]
        assert isinstance(key, NumberEntry)
        assert key.key == pytest.approx(rate, rel=0.006)
        assert "S = ∑(x·F) = " in prose(item.solution)
        assert "true rate" not in show_text(item)  # hidden data stay hidden
    assert len(sizes) > 1


def test_sides_of_a_comparison_get_as_many_figures_as_tell_them_apart() -> None:
    left = np.array([1.0, 20.123456, 7.0, 3.00000000000001])
    right = np.array([2.0, 20.123356, 7.0, 3.0])
    texts = told_apart([left, right], NumberFormat(figures=4))
    assert texts[0] == ["1.000", "20.1235", "7.000", "3.000"]
    assert texts[1] == ["2.000", "20.1234", "7.000", "3.000"]


@pytest.mark.parametrize(
    ("expression", "unit"),
    [
        ("T_1", "°C"),  # a bare temperature keeps its scale
        ("T_1 - T_2", "K"),
        ("q_1 + q_2", "L/min"),  # the family's own unit
        ("1/q_1^2", "s²/m⁶"),
        ("k^2", "1/s²"),
        ("q_1/k", "m³"),
        ("r + 1", ""),
        ("q_1*1 Pa", "W"),
    ],
)
def test_units_of_computed_values(coolant: Family, expression: str, unit: str) -> None:
    units = ShownUnits(coolant, coolant.cases[0], frozenset())
    assert units.common(parse_value(expression)).text == unit


def test_torque_is_in_newton_metres_and_energy_in_joules(coolant: Family, hopper: Family) -> None:
    torque = ShownUnits(hopper, hopper.cases[0], frozenset()).common(parse_value("F*1 m"))
    heat = ShownUnits(coolant, coolant.cases[0], frozenset()).common(parse_value("q_1*1 Pa*1 s"))
    assert (torque.text, heat.text) == ("N·m", "J")


def test_instances_of_another_family_are_refused(coolant: Family, hopper: Family) -> None:
    (instances,) = Generator(hopper).generate(1)
    with pytest.raises(ValueError, match="expected instances of coolant-mix"):
        Renderer(coolant).item(instances, 0)
