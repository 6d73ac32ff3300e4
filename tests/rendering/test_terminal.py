"""The terminal's text and the JSON of items made by hand, of every kind of block and part."""

from __future__ import annotations

import json
import re

import qbank
from qbank.item import (
    Choice,
    Display,
    Image,
    Item,
    Matching,
    Math,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Provenance,
    Table,
    Tolerance,
    WrongValue,
)
from qbank.rendering.plain import inline_text, item_as_json
from qbank.rendering.terminal import show_text

SPEED = Math("<math><mi>v</mi></math>", "v")
ITEM = Item(
    identifier="i0123456789-4",
    title="A barge",
    language="en",
    stem=(
        Paragraph(("A barge moves at a speed ", SPEED, ".")),
        Display(Math("<math><mi>v</mi><mo>=</mo><mi>s</mi></math>", "v = s/t")),
        Table("Log", (("t / s",), (SPEED, " / (m/s)")), ((("0",), ("1.5",)), (("10",), ()))),
        Image("barge.svg", "image/svg+xml", b"<svg/>", "A barge on a canal", "Seen from above."),
    ),
    parts=(
        NumberEntry(
            "R1",
            ("Its speed, in m/s",),
            -1.5,
            "-1.50",
            "−1.50 m/s",
            "m/s",
            Tolerance(-1.515, -1.485, "1 %"),
            2.0,
            figures=3,
            wrong_values=(WrongValue("minutes", -0.000025, -0.000026, -0.000024, ("Seconds.",)),),
        ),
        Choice(
            "R2",
            ("Which way?",),
            (Option("C1", ("east",), correct=True), Option("C2", ("west",), False, ("No.",), "s")),
            1.0,
        ),
        Ordering("R3", ("Put in order.",), (Option("E1", ("first",), True),) * 1, 1.0),
        Matching(
            "R4",
            ("Match.",),
            (Option("S1", ("bow",), correct=True),),
            (Option("T1", ("front",), correct=True), Option("T2", ("back",), correct=False)),
            (("S1", "T1"),),
            1.0,
        ),
    ),
    solution=(Paragraph(("word " * 30 + "end.",)),),
    caution="Wear a life jacket.",
    hints=(("Look at the log.",),),
    provenance=Provenance("barge", "1.0.0", "00", 7, 4),
)

EXPECTED = """\
A barge
=======

A barge moves at a speed v.

    v = s/t

Log
t / s  v / (m/s)
-----  ---------
0      1.5
10

[barge.svg: A barge on a canal] Seen from above.

1. Its speed, in m/s (2 points)
    Answer: −1.50 m/s
    accepted −1.515 to −1.485 (1 %)
    - −2.50 × 10⁻⁵ m/s would be minutes: Seconds.

2. Which way? (1 point)
    C1 right: east
    C2 wrong: west
        s: No.

3. Put in order. (1 point)
    E1 1. first

4. Match. (1 point)
    S1 T1 bow → front
    T2 nothing → back

Hint 1: Look at the log.

Worked solution
---------------

word word word word word word word word word word word
word word word word word word word word word word word
word word word word word word word word end.

Caution: Wear a life jacket.

i0123456789-4: barge 1.0.0, seed 7, index 4"""


def test_every_kind_of_block_and_part_is_shown() -> None:
    assert show_text(ITEM, 55) == EXPECTED


def test_a_table_too_wide_is_wrapped_within_its_cells() -> None:
    wide = Table("T", (("quantity",), ("value",)), ((("a long name of a quantity",), ("1 m",)),))
    item = Item("i1", "T", "en", (wide,), ())
    assert show_text(item, 20).split("\n")[3:] == [
        "T",
        "quantity       value",
        "-------------  -----",
        "a long name    1 m",
        "of a quantity",
        "",
        "i1",
    ]


def test_json_keeps_every_value_and_names_kinds() -> None:
    plain = json.loads(json.dumps(item_as_json(ITEM)))
    assert [block["kind"] for block in plain["stem"]] == ["paragraph", "formula", "table", "image"]
    assert [part["kind"] for part in plain["parts"]] == ["number", "choice", "ordering", "matching"]
    assert plain["stem"][0]["content"][1] == {"mathml": SPEED.mathml, "plain": "v"}
    assert plain["stem"][3]["data"] == "PHN2Zy8+"
    assert plain["parts"][0]["tolerance"]["stated"] == "1 %"
    assert plain["provenance"]["digest"] == "00"


def test_inline_text_joins_text_and_formulas() -> None:
    assert inline_text(("at ", SPEED, "!")) == "at v!"


def test_small_bounds_are_written_as_people_write_them():
    family = qbank.load_family(qbank.find_family("common-ion"))
    shown = show_text(qbank.Renderer(family).item(qbank.instance(family, 0, 0), 0), 100)
    assert re.search(r"accepted \d\.\d+ × 10⁻⁶ to \d\.\d+ × 10⁻⁶ \(1 %\)", shown)
    assert not re.search(r"\de[-−+]?\d", shown)


def test_numbers_are_those_of_the_language():
    family = qbank.load_family(qbank.find_family("thin-lens"), "de")
    shown = show_text(qbank.Renderer(family).item(qbank.instance(family, 0, 0), 0), 100)
    told = shown[shown.index("Answer:") : shown.index("\n4.")]
    assert re.search(r"accepted \d+,\d+ to \d+,\d+", told)
    assert not re.search(r"\d\.\d", told)
