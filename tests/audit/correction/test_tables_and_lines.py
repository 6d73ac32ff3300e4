"""Cells of a table and values of a JSON line, with the bytes they stand in."""

from __future__ import annotations

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.correction.changes import LeftAlone
from qbank.audit.correction.correcting import correct_bank
from qbank.audit.correction.line_keys import Value, read_value
from qbank.audit.correction.table_keys import iter_rows
from tests.audit.correction.test_foreign_documents import WRONG
from tests.audit.correction.wrong import audit_of

CELLS = st.text(st.sampled_from('a",;\n\r é12.5'), max_size=8)


@given(st.lists(st.lists(CELLS, min_size=2, max_size=4), min_size=1, max_size=4))
def test_cells_are_those_of_the_standard_reader(rows):
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    found = list(iter_rows(text.getvalue()))
    assert [[cell.text for cell in cells] for cells in found] == rows
    for cells in found:
        for cell in cells:
            raw = text.getvalue()[cell.start : cell.end]
            assert (raw[1:-1].replace('""', '"') if cell.quoted else raw) == cell.text


def test_an_open_quote_is_refused():
    with pytest.raises(LeftAlone):
        list(iter_rows('a,"b'))


def test_only_the_cells_of_the_key_change(tmp_path):
    table = (
        "\ufeffitem_id,note,part1_id,part1_key,part1_key_shown,part1_tolerance_low,"
        "part1_tolerance_high,solution_html\r\n"
        'other,"12.5, or ""so""",RESPONSE,12.5,12.5 m/s,12,13,\n'
        'ramp,"é, 12.5\r\nnext",RESPONSE,"12.5",12.5 m/s,12.4,"12.6",is <b>12.5</b> m/s\r\n'
        "last,,,,,,,"
    )
    path = tmp_path / "items.csv"
    path.write_bytes(table.encode())
    report = correct_bank(path, audit_of(WRONG), tmp_path / "mended.csv")
    assert report.left == []
    expected = table.replace(
        '"12.5",12.5 m/s,12.4,"12.6"', '"7.25",7.25 m/s,7.15,"7.35"'
    )  # fmt: skip
    assert expected != table
    assert (tmp_path / "mended.csv").read_bytes().decode() == expected
    assert "may still state" in report.changes[0].notes[0]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | st.text(max_size=5)
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner,
                                                                 max_size=3),
    max_leaves=8,
)  # fmt: skip


def plain(value: Value, text: str):
    if text[value.start] == "{":
        return {name: plain(entry, text) for name, entry in value.fields.items()}
    if text[value.start] == "[":
        return [plain(entry, text) for entry in value.entries]
    assert json.loads(text[value.start : value.end]) == value.plain
    return value.plain


@given(JSON, st.sampled_from([None, 1]), st.booleans())
def test_values_are_those_of_the_standard_reader(value, indent, ascii_only):
    text = json.dumps(value, indent=indent, ensure_ascii=ascii_only)
    assert plain(read_value(text), text) == value


@pytest.mark.parametrize(
    "text", ["", "{", "[1", '{"a" 1}', "{1: 2}", '{"a": 1, "a": 2}', "[1 2]", "1 2", "NaN",
             "[" * 10_000, '"open'],
)  # fmt: skip
def test_what_is_no_json(text):
    with pytest.raises(ValueError):
        read_value(text)


def test_a_line_is_edited_and_the_others_stay(tmp_path):
    part = {
        "type": "number", "identifier": "RESPONSE", "key": 12.5, "key_text": "12.5",
        "key_shown": "12.5 m/s", "tolerance": {"low": 12.4, "high": 12.6}, "wrong_values": [],
    }  # fmt: skip
    item = {"identifier": "ramp", "title": "12.5 é", "parts": [part], "solution": ["is 12.5"]}
    lines = ['{"format": "x"}', json.dumps({**item, "identifier": "ramp2"}), json.dumps(item)]
    text = "\n".join(lines) + "\n"
    path = tmp_path / "bank.jsonl"
    path.write_text(text, encoding="utf-8")
    report = correct_bank(path, audit_of(WRONG), tmp_path / "mended.jsonl")
    assert report.left == []
    mended = (
        lines[2].replace('"key": 12.5', '"key": 7.25').replace('_text": "12.5', '_text": "7.25')
    )
    mended = mended.replace('"12.5 m/s"', '"7.25 m/s"').replace("12.4", "7.15")
    mended = mended.replace("12.6", "7.35")
    assert (tmp_path / "mended.jsonl").read_text("utf-8") == "\n".join([*lines[:2], mended]) + "\n"
    assert report.changes[0].notes
