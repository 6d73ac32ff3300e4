"""Tables of anyone's making: dialects, roles, keys, bounds. The data is invented."""

from __future__ import annotations

import math

import pytest

from qbank.audit.reading import questions_of
from qbank.errors import QbankError
from qbank.formats.tables import read_table
from qbank.item import Choice, NumberEntry

PLAIN = (
    "Question,Answer,Unit,Tolerance\n"
    'What force gives 2.0 kg, "at rest", 3.0 m/s²?,6.0,N,2%\n'
    '"A car goes 30 m, in 2.0 s.\nHow fast?",15,m/s,0.5\n'
)
GERMAN = (
    "Nr;Frage;Lösung;Einheit\n1;Ein Klotz von 2,0 kg wird mit 3,0 m/s² bewegt.;6,0;N\n"
    "2;Ein Auto fährt 1.500 m weit.;1.500,5;m\n"
)


def table(tmp_path, text, encoding="utf-8", name="t.csv", columns=None):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return read_table(path, columns)


def keys(reading):
    return [part.key for read in reading.items for part in read.item.parts]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_dialects(tmp_path, encoding, delimiter, end):
    rows = [
        ["Question", "Answer"],
        ["What is ½ of 30° and 5 µm?", "2.50"],
        ["Wie groß, fünf?", "3"],
    ]
    text = end.join(delimiter.join(f'"{cell}"' for cell in row) for row in rows) + end
    reading = table(tmp_path, text, encoding)
    assert reading.dialect.encoding == encoding
    assert reading.dialect.delimiter == delimiter
    assert keys(reading) == [2.5, 3.0]
    first = next(reading.items).item
    assert first.stem[0].content == ("What is ½ of 30° and 5 µm?",)


def test_a_plain_table(tmp_path):
    reading = table(tmp_path, PLAIN.replace(', "at rest", 3', " and 3"))
    first, second = reading.items
    part = first.item.parts[0]
    assert (part.key, part.key_text, part.unit) == (6.0, "6.0", "N")
    assert (part.tolerance.low, part.tolerance.high) == (5.88, 6.12)
    part = second.item.parts[0]
    assert (part.key, part.tolerance.low, part.tolerance.high) == (15.0, 14.5, 15.5)
    assert second.place.line == 3
    assert reading.key_cell(second.item.identifier, part.identifier) == (2, 1)
    assert reading.columns[0] == "column 1 'Question': the question, by its header"
    assert not reading.losses


def test_a_row_with_a_delimiter_too_many_is_left_out_and_told(tmp_path):
    reading = table(tmp_path, PLAIN)
    assert len(list(reading.items)) == 1
    (loss,) = reading.losses
    assert loss.code == "row-length"
    assert loss.place.line == 2
    assert "6 cells for 4 columns" in loss.what


def test_decimal_commas(tmp_path):
    reading = table(tmp_path, GERMAN, "cp1252")
    assert reading.decimal == ","
    assert keys(reading) == [6.0, 1500.5]
    assert [read.item.identifier for read in reading.items] == ["1", "2"]
    question = next(questions_of(reading.items))
    assert [float(q.value) for q in question.quantities] == [2.0, 3.0]
    assert question.unit.text == "N"


@pytest.mark.parametrize(
    "columns", [{"stem": "Spalte X", "key": "Spalte Y"}, {"stem": "1", "key": "2"}]
)
def test_columns_named_by_the_user(tmp_path, columns):
    reading = table(
        tmp_path, "Spalte X,Spalte Y,Spalte Z\nHow far is it then?,5,7\n", columns=columns
    )
    assert keys(reading) == [5.0]
    assert "as you say" in reading.columns[1]


@pytest.mark.parametrize(
    ("columns", "said"),
    [({"steam": "1"}, "no columns of the kind"), ({"stem": "nope"}, "no column 'nope'"),
     ({"stem": "99"}, "no column '99'")],
)  # fmt: skip
def test_columns_that_are_not_there(tmp_path, columns, said):
    with pytest.raises(QbankError, match=said):
        table(tmp_path, PLAIN, columns=columns)


@pytest.mark.parametrize(
    ("header", "roles"),
    [
        ("question,answer", "stem key"), ("Frage,Antwort", "stem key"),
        ("énoncé,réponse", "stem key"),
        ("ID,Stem,Correct Answer,Units", "id stem key unit"), ("Pregunta,Respuesta", "stem key"),
        ("QuestionText,AnswerValue,Tol (%)", "stem key percent"),
        ("stem,answer (kN),low,high", "stem key low high"),
        ("question,A,B,C,correct", "stem option option option correct"),
        ("question,option 1,option 2,answer", "stem option option correct"),
        ("question,Answer A,Answer B,Answer C,Correct Option", "stem option option option correct"),
        ("question,options,correct answer,explanation", "stem options correct feedback"),
        ("question,answer a,answer b", "stem key key"),
        ("question,answer,family,seed,index,points", "stem key family seed index points"),
        ("question,correct", "stem key"),
    ],
)  # fmt: skip
def test_headers(tmp_path, header, roles):
    width = header.count(",")
    row = "How far does the thing go?" + ",5" * width
    reading = table(tmp_path, f"{header}\n{row}\n")
    assert [column.role for column in reading.roles] == roles.split()


def test_a_table_without_header(tmp_path):
    rows = "".join(
        f"{n},A block of {n}.0 kg moves at 3 m/s². Force?,{n * 3}.0,N\n" for n in (1, 2, 5)
    )
    reading = table(tmp_path, rows)
    assert not reading.header
    assert [c.role for c in reading.roles] == ["id", "stem", "key", "unit"] or keys(reading) == [
        3,
        6,
        15,
    ]
    assert keys(reading) == [3.0, 6.0, 15.0]
    assert next(reading.items).item.parts[0].unit == "N"


def test_unknown_headers_fall_back_on_the_cells(tmp_path):
    text = "alpha,beta,gamma\n1,How far does it go in 3 s?,5.5\n2,How far does it go in 4 s?,6.5\n"
    reading = table(tmp_path, text)
    assert keys(reading) == [5.5, 6.5]
    assert "numbers that vary" in reading.columns[2]


@pytest.mark.parametrize(
    ("correct", "picked"),
    [("B", [1]), ("b)", [1]), ("2", [1]), ("15 cm", [1]), ("15.0 cm", [1]), ("0.15 m", [1]),
     ("A,C", [0, 2]), ("AC", [0, 2]), ("option B", [1]), ("Z", []), ("", []), ("99 cm", [])],
)  # fmt: skip
def test_the_option_that_is_right(tmp_path, correct, picked):
    text = f'question,A,B,C,correct\nHow long is it?,12 cm,15 cm,18 cm,"{correct}"\n'
    reading = table(tmp_path, text)
    (read,) = reading.items
    (part,) = read.item.parts
    assert isinstance(part, Choice)
    assert [n for n, option in enumerate(part.options) if option.correct] == picked
    assert part.multiple == (len(picked) > 1)
    assert bool([loss for loss in read.losses if loss.code == "key"]) == (not picked)
    assert reading.key_cell(read.item.identifier, part.identifier) == (1, 4)


def test_numbers_of_options_from_zero(tmp_path):
    reading = table(
        tmp_path, "question,A,B,correct\nHow long?,12 cm,15 cm,1\nHow wide?,1 m,2 m,0\n"
    )
    picked = [[o.correct for o in read.item.parts[0].options] for read in reading.items]
    assert picked == [[False, True], [True, False]]


@pytest.mark.parametrize("cell", ["12 cm|15 cm|18 cm", "12 cm; 15 cm; 18 cm",
                                  "A) 12 cm B) 15 cm C) 18 cm", "12 cm\n15 cm\n18 cm"])  # fmt: skip
def test_options_in_one_cell(tmp_path, cell):
    (read,) = table(tmp_path, f'question,options,correct\nHow long?,"{cell}",B\n').items
    options = read.item.parts[0].options
    assert [o.content[0] for o in options] == ["12 cm", "15 cm", "18 cm"]
    assert [o.correct for o in options] == [False, True, False]


def test_several_answers_are_parts(tmp_path):
    text = "question,answer a,unit a,answer b,unit b\nForce and mass?,6.0,N,2.0,kg\nForce?,5,N,,\n"
    reading = table(tmp_path, text)
    first, second = reading.items
    assert [(p.identifier, p.key, p.unit) for p in first.item.parts] == [
        ("a", 6, "N"),
        ("b", 2, "kg"),
    ]
    assert [p.identifier for p in second.item.parts] == ["a"]
    assert reading.key_cell(first.item.identifier, "b") == (1, 3)


def test_rows_of_one_item_are_its_parts(tmp_path):
    text = "id,part,question,answer\nq1,a,How far?,5\nq1,b,How fast?,6\nq2,a,How long?,7\n"
    reading = table(tmp_path, text)
    first, second = reading.items
    assert [(p.identifier, p.prompt, p.key) for p in first.item.parts] == [
        ("a", ("How far?",), 5.0), ("b", ("How fast?",), 6.0)]  # fmt: skip
    assert len(second.item.parts) == 1
    assert reading.key_cell("q1", "b") == (2, 3)


def test_unit_of_a_header_and_of_a_key(tmp_path):
    (read,) = table(tmp_path, "question,answer (kN)\nWhat force?,5.0\n").items
    assert read.item.parts[0].unit == "kN"
    (read,) = table(tmp_path, "question,answer\nWhat force?,5.0 kN\n").items
    assert (read.item.parts[0].unit, read.item.parts[0].key_text) == ("kN", "5.0 kN")


def test_provenance(tmp_path):
    text = "question,answer,family,seed,index\nHow far?,5,incline,7,3\nHow far?,5,,,\n"
    first, second = table(tmp_path, text).items
    assert (first.item.provenance.family, first.item.provenance.seed) == ("incline", 7)
    assert second.item.provenance is None


def test_keys_that_cannot_be_read_stay_as_text(tmp_path):
    text = "question,answer\nHow far?,5\nHow far?,1O5 m\nHow far?,\n"
    reads = list(table(tmp_path, text).items)
    parts = [read.item.parts[0] for read in reads]
    assert all(isinstance(part, NumberEntry) for part in parts)
    assert [part.key_text for part in parts] == ["5", "1O5 m", ""]
    assert [math.isnan(part.key) for part in parts] == [False, True, True]
    assert [loss.code for read in reads for loss in read.losses] == ["key", "key"]


def test_ragged_and_empty_rows(tmp_path):
    text = "question,answer,unit\n\nHow far?,5\n,,\nHow far?,5,m,,\nHow far?,5,m,x\n"
    reading = table(tmp_path, text)
    reads = list(reading.items)
    assert [read.place.line for read in reads] == [3, 5]
    assert [loss.code for read in reads for loss in read.losses] == ["row-length"]
    assert [loss.place.line for loss in reading.losses] == [6]


def test_identifiers_that_stand_twice(tmp_path):
    reading = table(tmp_path, "id,question,answer\na,How far?,5\na,How fast?,6\n")
    names = [read.item.identifier for read in reading.items]
    assert len(set(names)) == 2
    assert keys(reading) == [5.0, 6.0]
    assert [reading.key_cell(name, "1") for name in names] == [(1, 2), (2, 2)]


@pytest.mark.parametrize(
    ("text", "roles", "found"),
    [
        ("Question Type,Question,Option 1,Option 2,Correct Answer,Points\n"
         "MC,What is 3 m + 2 m?,5 m,6 m,1,2\nNUM,Force on 2.0 kg at 3.0 m/s^2 in N?,,,6.0,1\n",
         "type stem option option correct points", [(5, "m"), (6, "N")]),
        ("Physics midterm,,\nWhat force in newtons?,6.0,N\nWhat speed?,7.0,m/s\n",
         "stem key unit", [(6, "N"), (7, "m/s")]),
        ("stem;answer_value;answer_unit;tolerance_percent\nHow far?;1,5;m;2\nHow far?;2,5;m;2\n",
         "stem key unit percent", [(1.5, "m"), (2.5, "m")]),
        ("#,Problem,Solution\n1,Find the force,12 N\n2,Find the speed,4 m/s\n",
         "id stem key", [(12, "N"), (4, "m/s")]),
        ("q,a,b,c,d,ans\nHow far goes it?,1 m,2 m,3 m,4 m,b\n",
         "stem option option option option correct", [(2, "m")]),
        ("Numéro;Énoncé;Réponse;Unité\n1;Quelle force ?;1,5;N\n", "id stem key unit", [(1.5, "N")]),
    ],
)  # fmt: skip
def test_tables_as_people_keep_them(tmp_path, text, roles, found):
    reading = table(tmp_path, text)
    assert [column.role for column in reading.roles] == roles.split()
    questions = list(questions_of(reading.items))
    assert [(one.key, one.unit.text) for one in questions] == found
    for question in questions:
        row, column = reading.key_cell(question.item, question.part)
        assert reading.roles[column].role in ("key", "correct")
        assert row == question.place.line - 1


def test_a_title_before_the_table_is_told(tmp_path):
    reading = table(tmp_path, "Midterm\n\nquestion,answer\nHow far?,5\n")
    assert keys(reading) == [5.0]
    assert [(loss.code, loss.place.line) for loss in reading.losses] == [("preamble", 1)]


def test_escaped_quotes_and_a_line_that_names_the_delimiter(tmp_path):
    reading = table(tmp_path, 'question,answer\n"A \\"fast\\" car, how far?",5\n')
    assert next(reading.items).item.stem[0].content == ('A "fast" car, how far?',)
    reading = table(tmp_path, "sep=;\nquestion;answer\nHow far, then?;5\n")
    assert keys(reading) == [5.0]
    assert next(reading.items).place.line == 3


def test_a_bare_table_of_ours(tmp_path):
    from qbank.formats.csv_columns import columns_for

    names = [column.name for column in columns_for(1)]
    cells = dict.fromkeys(names, "")
    cells |= {
        "item_id": "i1", "lang": "en", "title": "t", "stem_html": "<p>A block of 2.0 kg.</p>",
        "points": "1", "part1_id": "a", "part1_type": "number", "part1_points": "1",
        "part1_unit": "N", "part1_key": "6.0", "part1_key_shown": "6.0 N",
        "part1_tolerance_low": "5.9", "part1_tolerance_high": "6.1", "part1_tolerance": "0.1 N",
    }  # fmt: skip
    text = ",".join(names) + "\r\n" + ",".join(cells[name] for name in names) + "\r\n"
    reading = table(tmp_path, text, name="items.csv")
    (read,) = reading.items
    part = read.item.parts[0]
    assert (read.item.identifier, part.key, part.unit, part.tolerance.low) == ("i1", 6.0, "N", 5.9)
    assert reading.key_cell("i1", "a") == (1, names.index("part1_key"))
    cells["part1_key"] = "six"
    text = ",".join(names) + "\r\n" + ",".join(cells[name] for name in names) + "\r\n"
    (read,) = table(tmp_path, text, name="items.csv").items
    assert [loss.code for loss in read.losses] == ["row"]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"), (b"\n\n\n", "is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00" * 50, "binary"),
        (b"question,answer\nHow far\x00?,5\n", "binary"), (bytes(range(256)) * 100, "binary"),
        (b"question,answer\n" + b"x" * (1 << 21) + b",5\n", "more than 1048576 characters"),
        (b"," * 1_000_000, "columns, at most 1000"), (b"PK\x03\x04" + b"\x00" * 99, "binary"),
        (b"\xff\xfea", "not in utf-16"), (b"question\nHow far?\n", "no column of the table holds"),
        (b"a,b\n1,2\n", "no column of the table holds"),
        (b'question,answer\n"' + b"x\n" * 600_000, "1048576 characters"),
    ],
    ids=str,
)  # fmt: skip
def test_what_is_no_table(tmp_path, data, said):
    path = tmp_path / "t.csv"
    path.write_bytes(data)
    with pytest.raises(QbankError, match=said):
        list(read_table(path).items)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(QbankError, match="cannot read the table"):
        read_table(tmp_path / "none.csv")


def test_the_records_named_by_key_cell_are_those_of_the_file(tmp_path):
    import csv

    text = 'question,answer\n\n"How\nfar?",5\n\nHow fast?,6\n'
    reading = table(tmp_path, text)
    records = list(csv.reader(text.splitlines(keepends=True)))
    for read in reading.items:
        row, column = reading.key_cell(read.item.identifier, read.item.parts[0].identifier)
        assert records[row][column] == read.item.parts[0].key_text
