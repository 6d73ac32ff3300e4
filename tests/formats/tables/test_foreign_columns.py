"""Columns as other people head them: long headers, credits, distractors, ranges, essays, totals."""

from __future__ import annotations

import math

import pytest

from qbank.audit.reading.unit_text import read_unit
from qbank.expressions.units import parse_unit
from qbank.formats.tables import read_table
from qbank.item import Choice, NumberEntry
from tests.formats.tables.test_tables import keys, table

ASKED = "How far does the trolley go in 3.0 s?"


@pytest.mark.parametrize(
    ("header", "cells", "roles"),
    [
        ("Aufgabe Nr.|Aufgabenstellung|Lösung|Toleranz (absolut)", f"1|{ASKED}|5.0|0.1",
         "id stem key tolerance"),
        ("ID|Frage|Antwortmöglichkeiten|Richtige Antwort Nr.", f"a|{ASKED}|1 m;2 m|2",
         "id stem options correct"),
        ("KENNUNG|FRAGETEXT|ANTWORT|EINHEIT|ABWEICHUNG", f"a|{ASKED}|5.0|m|3 %",
         "id stem key unit tolerance"),
        ("ID|Question|Key|Accepted range", f"a|{ASKED}|5.0|4.9 - 5.1", "id stem key tolerance"),
        ("Key ID|Task|Model answer|Grader notes", f"a|{ASKED}|5.0|look", "id stem key feedback"),
        ("Unique question identifier|The question as shown to students|The correct numerical answer"
         "|In which unit?|How far off may the answer be?|Explain to those who fail",
         f"a|{ASKED}|5.0|m|1 %|Distance is speed times time, and the speed is stated there.",
         "id stem key unit tolerance feedback"),
        ("Question|Answer (a)|Answer (b)", f"{ASKED}|5.0|6.0", "stem key key"),
        ("Question|Answer (m)|Answer (A)", f"{ASKED}|5.0|6.0", "stem key "),
        ("Question|Correct Answer|Incorrect Answer 1|Incorrect Answer 2", f"{ASKED}|1 m|2 m|3 m",
         "stem key wrong wrong"),
        ("Question|Distractor 1|Distractor 2|Correct letter", f"{ASKED}|2 m|3 m|B",
         "stem option option correct"),
        ("Question|Choice 1|Grade 1|Choice 2|Grade 2", f"{ASKED}|1 m|0%|2 m|100%",
         "stem option credit option credit"),
        ("Question|Option 1|Option 1 is correct|Option 2|Option 2 is correct",
         f"{ASKED}|1 m|no|2 m|yes", "stem option credit option credit"),
        ("Question|Answer 1|Answer 1 unit|Answer 2|Answer 2 unit", f"{ASKED}|5.0|m|6.0|s",
         "stem key unit key unit"),
        ("Question|Answer|Grade", f"{ASKED}|5.0|2", "stem key points"),
        ("Question|Answer|Option|Points", f"{ASKED}|5.0|calculator|1",
         "stem correct option points"),
        ("Chapter|Section|Exercise|Prompt|Numeric Answer|Sig Figs|Units|Author Notes",
         f"1|2|1.2.a|{ASKED}|5.0|2|m|ok", "ignored ignored id stem key ignored unit feedback"),
        ("Frage-ID|Kategorie|Fragentext|Antwort 1|Bewertung 1|Antwort 2|Bewertung 2",
         f"a|x|{ASKED}|1 m|0|2 m|100", "id ignored stem option credit option credit"),
        ("Num|Intitulé|Bonne réponse|Unité|Tolérance (%)|Barème", f"a|{ASKED}|5.0|m|2|1",
         "id stem key unit percent points"),
        ("Question|Answer|Accepted", f"{ASKED}|5.0|yes", "stem key "),
    ],
)  # fmt: skip
def test_headers(tmp_path, header, cells, roles):
    other = cells.replace("5.0", "7.0").replace("a|", "b|", 1)
    reading = table(tmp_path, f"{header}\n{cells}\n{other}\n")
    assert [column.role for column in reading.roles] == roles.split(" ")


@pytest.mark.parametrize(
    ("earned", "picked"),
    [(("0%", "100%", "0%"), [1]), (("-50", "50", "50"), [1, 2]), (("", "x", ""), [1]),
     (("FALSE", "TRUE", "FALSE"), [1]), (("0", "1", "0.5"), [1]), (("0,33", "33%", "34 %"), [1, 2]),
     (("0", "0", "0"), [])],
)  # fmt: skip
def test_what_each_option_earns_says_which_are_right(tmp_path, earned, picked):
    header = "question,choice 1,grade 1,choice 2,grade 2,choice 3,grade 3"
    cells = ",".join(f'{n} m,"{one}"' for n, one in enumerate(earned, 1))
    (read,) = table(tmp_path, f"{header}\n{ASKED},{cells}\n").items
    (part,) = read.item.parts
    assert isinstance(part, Choice)
    assert [n for n, option in enumerate(part.options) if option.correct] == picked
    assert [loss.code for loss in read.losses] == ([] if picked else ["key"])


def test_beside_distractors_the_key_is_an_option(tmp_path):
    text = f"question,correct answer,wrong answer 1,wrong answer 2\n{ASKED},2 m,3 m,\n"
    reading = table(tmp_path, text)
    (read,) = reading.items
    options = read.item.parts[0].options
    assert [(option.content[0], option.correct) for option in options] == [
        ("2 m", True),
        ("3 m", False),
    ]
    with pytest.raises(KeyError):  # to exchange it would put one text into two options
        reading.key_cell(read.item.identifier, "1")


@pytest.mark.parametrize(
    ("cell", "band"),
    [
        ("4.9 - 5.2", (4.9, 5.2)), ("4.9 to 5.2 m", (4.9, 5.2)), ("4.9..5.2", (4.9, 5.2)),
        ("[4.9; 5.2]", (4.9, 5.2)), ("between 4.9 and 5.2", (4.9, 5.2)), ("4.9–5.2", (4.9, 5.2)),
        ("±2%", (4.9, 5.1)), ("+/- 0.1", (4.9, 5.1)), ("0.1", (4.9, 5.1)), ("-0.1", (4.9, 5.1)),
        ("1e-1", (4.9, 5.1)),
    ],
)  # fmt: skip
def test_what_is_accepted(tmp_path, cell, band):
    (read,) = table(tmp_path, f'question,answer,accepted\n{ASKED},5.0,"{cell}"\n').items
    tolerance = read.item.parts[0].tolerance
    assert (tolerance.low, tolerance.high) == pytest.approx(band)
    assert read.losses == ()


@pytest.mark.parametrize(
    ("key", "band"),
    [("5.0 ± 0.1 m", (4.9, 5.1)), ("5.0 +/- 2 %", (4.9, 5.1)), ("5.0 m", None)],
)
def test_a_key_written_with_its_band(tmp_path, key, band):
    (read,) = table(tmp_path, f"question,answer\n{ASKED},{key}\n").items
    part = read.item.parts[0]
    assert (part.key, part.unit) == (5.0, "m" if "m" in key else "")
    if band is None:
        assert math.isnan(part.tolerance.low)
    else:
        assert (part.tolerance.low, part.tolerance.high) == pytest.approx(band)


@pytest.mark.parametrize(
    ("stem", "key", "kind", "asked"),
    [
        ("Explain why ice floats.", "", "", False),
        ("What is going on here?", "", "ESSAY", False),
        ("Which part of a cell holds the genes?", "the nucleus", "", False),
        ("Solve for t.", "sqrt(2*h/g)", "", False),
        ("Solve x^2 = 5 x - 6.", "2; 3", "", False),
        ("What is the boiling point of water in °C?", "", "", True),
        ("Explain why, and give the distance after 3.0 s.", "", "", True),
        (ASKED, "", "numeric", True), (ASKED, "five", "numeric", True), (ASKED, "1O.5 m", "", True),
        (ASKED, "12..3", "", True),
    ],
)  # fmt: skip
def test_where_no_number_is_asked_for_none_is_missing(tmp_path, stem, key, kind, asked):
    text = f'question,answer,type\n"{ASKED}",5,numeric\n"{stem}","{key}",{kind}\n'
    _, read = table(tmp_path, text).items
    if asked:
        assert isinstance(read.item.parts[0], NumberEntry)
        assert [loss.code for loss in read.losses] == ["key"]
    else:
        assert read.item.parts == ()
        assert [loss.code for loss in read.losses] == ["text-answer"]


def test_totals_and_headers_within_a_table_are_no_items(tmp_path):
    text = (
        f"id,question,answer,points\na,{ASKED},5,1\nPart two,,,\nid,question,answer,points\n"
        f"b,{ASKED},6,1\n,,,2\n"
    )
    reading = table(tmp_path, text)
    assert keys(reading) == [5.0, 6.0]
    assert [(loss.code, loss.place.line) for loss in reading.losses] == [
        ("row", 3), ("row", 4), ("row", 6),
    ]  # fmt: skip
    assert "Part two" in reading.losses[0].what
    assert "header again" in reading.losses[1].what


@pytest.mark.parametrize(
    ("stem", "common", "prompts"),
    [
        ("A cart rolls 5 m. (a) How fast is it? (b) How long does it take?", "A cart rolls 5 m.",
         [("How fast is it?",), ("How long does it take?",)]),
        ("A cart rolls 5 m.\na) How fast?\nb) How long?", "A cart rolls 5 m.",
         [("How fast?",), ("How long?",)]),
        ("How fast and how long?", "How fast and how long?", [(), ()]),
        ("(b) How fast? (a) How long?", "(b) How fast? (a) How long?", [(), ()]),
    ],
)  # fmt: skip
def test_parts_that_stand_in_the_stem(tmp_path, stem, common, prompts):
    (read,) = table(tmp_path, f'question,answer (a),answer (b)\n"{stem}",5,6\n').items
    assert read.item.stem[0].content == (common,)
    assert [part.prompt for part in read.item.parts] == prompts
    assert [part.identifier for part in read.item.parts] == ["a", "b"]


@pytest.mark.parametrize(
    ("cell", "wanted", "said"),
    [("b", "c", "c"), ("B)", "c", "C)"), ("(2)", "c", "(3)"), ("15 cm", "c", "18 cm"),
     (" B ", "a", " A "), ("Option B", "a", "Option A"), ("0.15 m", "c", "18 cm"),
     ("b", "x", None)],
)  # fmt: skip
def test_how_a_cell_says_another_option(tmp_path, cell, wanted, said):
    path = tmp_path / "t.csv"
    path.write_text(f"question,A,B,C,correct\n{ASKED},12 cm,15 cm,18 cm,{cell}\n")
    reading = read_table(path)
    assert reading.option_keyed("row-2", "1") == "b"
    assert reading.option_said("row-2", "1", cell, wanted) == said


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (f'question,answer\n"{ASKED},5\n"How far in 2 s?",6\n"How far in 4 s?",7\n', [2]),
        (f'question,answer\n{ASKED},5\n"How far in 2 s?,6\nHow far in 4 s?,7\n', [3]),
        (f'question,answer\n"A "fast" car. {ASKED}",5\n', [2]),
        (f'sep=,\r\nquestion,answer\r\n"A ""fast"",\r\ncar",5\r\n"{ASKED}"x,5\r\n', [5]),
        (f'question,answer\n"A ""fast"" car, 5 µm.\n{ASKED}",5\n', []),
        (f'question,answer\nA 5" disc. {ASKED},5\n', []),
    ],
)  # fmt: skip
def test_quotes_that_tear_or_join_records_are_told(tmp_path, text, lines):
    reading = table(tmp_path, text)
    list(reading.items)
    assert [loss.place.line for loss in reading.losses if loss.code == "quote"] == lines


@pytest.mark.parametrize("number", ["1e-400", "-1e-400", "1e400", "9" * 400, "10^-400"])
def test_numbers_beyond_a_double_are_no_fault_of_ours(tmp_path, number):
    text = f"question,answer,tolerance\n{ASKED},5,{number}\n{ASKED},{number},{number}\n"
    assert len(list(table(tmp_path, text).items)) == 2


CHOICES = [
    (f'id,question,answer\nq,"{ASKED} A) 1 m B) 2 m C) 3 m",B\n', "options in the stem"),
    (f'id,question,answer\nq,"{ASKED} <br>(a) 1 m<br>(b) 2 m<br>(c) 3 m",b\n', "in HTML"),
    (
        f"id,question,option,correct\nq,{ASKED},1 m,FALSE\nq,{ASKED},2 m,TRUE\n"
        f"q,{ASKED},3 m,FALSE\n",
        "an option a row",
    ),
    (
        f"no,question,answer option,right?\nq,{ASKED},1 m,\n,,2 m,x\n,,3 m,\n",
        "an option a row, cells merged",
    ),
]


@pytest.mark.parametrize(("text", "what"), CHOICES, ids=[what for _, what in CHOICES])
def test_options_wherever_they_stand(tmp_path, text, what):
    other = text.partition("\n")[2].replace("q,", "r,").replace("2 m", "5 m")
    first, second = table(tmp_path, text + other).items
    for read, right in ((first, "2 m"), (second, "5 m")):
        (part,) = read.item.parts
        assert [(o.content[0], o.correct) for o in part.options] == [
            ("1 m", False),
            (right, True),
            ("3 m", False),
        ], what
        assert read.item.stem[0].content[0].strip() == ASKED
        assert read.losses == ()


def test_parts_below_the_stem_they_share(tmp_path):
    text = (
        "no,stem,part,question,answer\n1,A cart rolls 5 m in 2 s.,,,\n"
        ",,a,How fast is it then?,2.5\n,,b,How fast would it be in 1 s?,5\n"
        "2,A cart rolls 6 m in 2 s.,,,\n,,a,How fast is it then?,3\n"
    )
    reading = table(tmp_path, text)
    first, second = reading.items
    assert first.item.stem[0].content == ("A cart rolls 5 m in 2 s.",)
    assert [(p.identifier, p.prompt[0], p.key) for p in first.item.parts] == [
        ("a", "How fast is it then?", 2.5),
        ("b", "How fast would it be in 1 s?", 5.0),
    ]
    assert [part.key for part in second.item.parts] == [3.0]
    assert first.losses == second.losses == ()
    assert reading.key_cell("1", "b") == (3, 4)


@pytest.mark.parametrize(
    ("cell", "key", "text", "band"),
    [
        ("v = g t = 9.81 m/s", 9.81, "9.81 m/s", None),
        ("t = 2.0 s, x = v t = 3.4 m", 3.4, "3.4 m", None),
        ("3.41|3,41", 3.41, "3.41", None), ("3.4 or 3.5", 3.4, "3.4", (3.4, 3.5)),
        ("3.4|7.2", None, "", None), ("x = 1; x = 2", None, "", None),
    ],
)  # fmt: skip
def test_keys_in_several_spellings_and_at_the_end_of_a_working(tmp_path, cell, key, text, band):
    (read,) = table(tmp_path, f'question,solution\n{ASKED},"{cell}"\n').items
    if key is None:
        assert [loss.code for loss in read.losses] == ["text-answer"]
        return
    part = read.item.parts[0]
    assert (part.key, part.key_text) == (key, text)
    if band is not None:
        assert (part.tolerance.low, part.tolerance.high) == band


@pytest.mark.parametrize("cell", ["5-Mar", "03. Mai", "Mar-05", "#REF!", "#DIV/0!", "#N/A"])
def test_what_a_spreadsheet_made_of_a_key_is_no_answer_in_words(tmp_path, cell):
    (read,) = table(tmp_path, f"question,answer\n{ASKED},{cell}\n").items
    assert math.isnan(read.item.parts[0].key)
    assert [loss.code for loss in read.losses] == ["key"]


def test_of_two_columns_headed_question_the_longer_is_it(tmp_path):
    text = f"Question,Question text,Answer\nQ1,{ASKED},5\nQ2,{ASKED},6\n"
    reading = table(tmp_path, text)
    assert [column.role for column in reading.roles] == ["id", "stem", "key"]


@pytest.mark.parametrize(
    "cell",
    ["m/s^2", "<i>m</i>/s<sup>2</sup>", "$m/s^2$", "\\(\\mathrm{m/s^{2}}\\)", "m s^{-2}", "m·s⁻²"],
)
def test_units_in_markup(tmp_path, cell):
    (read,) = table(tmp_path, f"question,answer,unit\n{ASKED},5,{cell}\n").items
    found = read_unit(read.item.parts[0].unit)
    assert found is not None
    assert found.dimension == parse_unit("m/s^2").dimension
    assert found.factor == 1.0
