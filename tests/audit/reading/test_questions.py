"""Items of anyone's making as questions."""

from __future__ import annotations

import math

import pytest

from qbank.audit.reading import questions_of
from qbank.formats.source import ReadItem
from qbank.item import (
    Choice,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Provenance,
    Tolerance,
)
from qbank.place import Place

NAN = math.nan
ORIGIN = Provenance("incline", "1", "ab" * 32, 7, 3)


def entry(key=15.0, text="15.0", unit="", prompt=(), shown="", low=NAN, high=NAN):
    return NumberEntry("a", prompt, key, text, shown, unit, Tolerance(low, high, ""), 1.0)


def read(stem, *parts, number=0):
    item = Item(f"i{number}", "", "en", (Paragraph((stem,)),), parts, provenance=ORIGIN)
    return ReadItem(item, Place("bank.csv", number + 2, 1))


def choice(*options, keyed=0, prompt=(), multiple=False):
    made = tuple(Option(f"o{n}", (text,), n == keyed) for n, text in enumerate(options))
    return Choice("c", prompt, made, 1.0, multiple)


def test_a_number_to_enter():
    part = entry(low=14.0, high=16.0, unit="N", prompt=("How hard, after 3.0 s?",))
    item = read("A block of 2.0 kg is pushed.", part)
    (one,) = questions_of([item])
    assert (one.item, one.part, one.number, one.place) == ("i0", "a", 0, item.place)
    assert (one.key, one.key_text, one.unit.text, one.low, one.high) == (15.0, "15.0", "N", 14, 16)
    assert [q.text for q in one.quantities] == ["2.0 kg", "3.0 s"]
    assert [one.text[q.start : q.end] for q in one.quantities] == ["2.0 kg", "3.0 s"]
    assert one.provenance == ORIGIN
    assert one.options == ()


@pytest.mark.parametrize(
    ("stem", "part", "unit"),
    [
        ("Find the force in newtons.", entry(), "N"),
        ("Find the force (in kN).", entry(), "kN"),
        ("Find the mass (kg).", entry(), "kg"),
        ("The force is ___ N.", entry(), "N"),
        ("Find the speed in m/s.", entry(), "m/s"),
        ("Find it in 3 s.", entry(text="15.0 J"), "J"),
        ("Find it.", entry(shown="15.0 W"), "W"),
        ("Give it in newtons.", entry(prompt=("Express your answer in kN.",)), "kN"),
        ("Give it in newtons.", entry(unit="metres per second"), "m/s"),
        ("How many moles are there?", entry(), "mol"),
        ("Give it in 1/s.", entry(), "1/s"),
        ("A box in a room.", entry(), None),
        ("A stone falls in a lift in an hour. How far?", entry(), None),
    ],
)
def test_where_the_unit_comes_from(stem, part, unit):
    (one,) = questions_of([read(stem, part)])
    assert (one.unit and one.unit.text) == unit


def test_a_key_that_only_stands_as_text():
    (one,) = questions_of([read("How far?", entry(key=NAN, text="approx. 1.5 x 10^3 m"))])
    assert (one.key, one.unit.text) == (1500.0, "m")
    (one,) = questions_of([read("How far?", entry(key=NAN, text="far"))])
    assert math.isnan(one.key)
    assert one.key_text == "far"


def test_a_choice():
    (one,) = questions_of([read("How far?", choice("A) 12 cm", "15 cm", "no idea", keyed=1))])
    assert (one.key, one.unit.text, one.key_text) == (15.0, "cm", "15 cm")
    assert [o.quantity and float(o.quantity.value) for o in one.options] == [12.0, 15.0, None]
    assert [o.keyed for o in one.options] == [False, True, False]


def test_a_choice_without_numbers_or_with_several_keys_has_no_number_for_key():
    (one,) = questions_of([read("Which?", choice("iron", "gold"))])
    assert math.isnan(one.key)
    several = Choice(
        "c", (), tuple(Option(f"o{n}", (f"{n} m",), True) for n in range(2)), 1.0, True
    )
    (one,) = questions_of([read("Which?", several)])
    assert math.isnan(one.key)


def test_parts_to_order_or_match_are_keyed_by_their_texts_and_numbers_count_items():
    first, second = Option("a", ("x",), False), Option("b", ("y",), False)
    ordering = Ordering("o", (), (second, first), 1.0)
    matching = Matching("m", (), (first, second), (first, second), (("b", "a"), ("a", "b")), 1.0)
    found = list(questions_of([read("a", ordering, matching), read("b", entry(), number=1)]))
    assert [(one.item, one.part, one.number) for one in found] == [
        ("i0", "o", 0), ("i0", "m", 0), ("i1", "a", 1),
    ]  # fmt: skip
    assert found[0].arranged == (("y",), ("x",))
    assert found[1].arranged == (("x", "y"), ("y", "x"))
    assert [one.key_text for one in found[:2]] == ["y → x", "x – y; y – x"]
    assert math.isnan(found[0].key)
    assert found[0].unit is None


def test_the_decimal_comma_of_a_bank_is_seen():
    items = [read(f"Ein Klotz von {n},500 kg und {n},25 m", entry(), number=n) for n in range(1, 9)]
    found = list(questions_of(items))
    assert [float(q.value) for q in found[0].quantities] == [1.5, 1.25]
    found = list(questions_of(items, decimal="."))
    assert [float(q.value) for q in found[0].quantities] == [1500.0, 1.25]


@pytest.mark.parametrize(
    ("stem", "unit"),
    [
        ("The columns are time (s) and height (in m). What is the coefficient of correlation?", ""),
        ("A sphere sinks at 2 m/s in oil. How fast does it sink in cm/s?", "cm/s"),
    ],
)
def test_bare_options_have_the_unit_of_the_question_alone(stem: str, unit: str) -> None:
    (one,) = questions_of([read(stem, choice("0.95", "0.20"))])
    assert (one.unit.text if one.unit else "") == unit
    assert one.key == 0.95
