"""The CSV table: RFC 4180, its W3C description, and cells that no spreadsheet runs."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.errors import QbankError
from qbank.formats.csv_readback import unguarded
from qbank.formats.csvtable import FORMULA_STARTS, guarded
from qbank.formats.readback import read_items
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Choice, Item, NumberEntry, Option, Paragraph, Pool, Tolerance
from tests.formats.packages import change, swap, write_sample

TABLE, SIDECAR = "items.csv", "items.csv-metadata.json"


@pytest.fixture
def table(tmp_path):
    return write_sample(tmp_path, "csv")


def rows_of(folder):
    text = (folder / TABLE).read_bytes().decode()
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_lines_end_with_crlf_and_every_row_has_all_cells(table):
    """RFC 4180, section 2: rules 1, 3, 4 and 7."""
    data = (table / TABLE).read_bytes()
    assert data.endswith(b"\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert not data.startswith(b"\xef\xbb\xbf")
    rows = rows_of(table)
    assert len(rows) == 1 + 5
    assert {len(row) for row in rows} == {len(rows[0])}
    assert b'""' in data  # quotes within cells are doubled


def test_the_description_names_every_column_in_order(table):
    described = json.loads((table / SIDECAR).read_text(encoding="utf-8"))
    columns = described["tableSchema"]["columns"]
    assert [c["name"] for c in columns] == rows_of(table)[0]
    assert described["@context"][0] == "http://www.w3.org/ns/csvw"
    assert described["url"] == TABLE
    assert described["tableSchema"]["primaryKey"] == "item_id"
    assert all(c["dc:description"] and c["titles"] and "required" in c for c in columns)
    # Names as CSVW wants them (Metadata Vocabulary, 6.3): no spaces, none that starts with "_".
    assert all(re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_]*", c["name"]) for c in columns)


def test_every_cell_has_the_datatype_its_column_states(table):
    """Judged by Python's own readers, not by those of the writer."""
    readers = {
        "double": float,
        "integer": int,
        "boolean": ["true", "false"].index,
        "string": str,
        "html": str,
    }
    described = json.loads((table / SIDECAR).read_text(encoding="utf-8"))
    columns = described["tableSchema"]["columns"]
    filled = 0
    for row in rows_of(table)[1:]:
        for column, cell in zip(columns, row, strict=True):
            assert cell or not column["required"]
            for value in cell.split(column["separator"]) if "separator" in column else [cell]:
                if value:
                    readers[column["datatype"]](value)
                    filled += 1
    assert filled > 150


def test_the_numbers_of_the_sample_stand_where_the_description_says(table):
    first = dict(zip(*rows_of(table)[:2], strict=True))
    assert first["item_id"] == "i0123456789-0"
    assert (first["part1_key"], first["part1_unit"], first["part1_figures"]) == ("196.2", "W", "4")
    assert (float(first["part1_tolerance_low"]), float(first["part1_tolerance_high"])) == (
        196.2 * 0.99,
        196.2 * 1.01,
    )
    assert first["part1_wrong_slips"].split("|") == ["weight-as-mass", "no feedback"]
    assert first["part3_key_ids"] == "C2"
    assert first["part4_option_slips"].split("|") == ["", "solved for P", "multiplied", ""]
    assert first["points"] == "7.5"
    assert (first["family_id"], first["seed"], first["index"]) == ("quay-winch", "7", "0")


# ---------------------------------------------------------------------------- formulas


@pytest.mark.parametrize("start", FORMULA_STARTS)
def test_no_cell_starts_as_a_formula(tmp_path, start):
    """A cell that starts with = + - @ tab or return runs in spreadsheets (common practice, no
    source); numbers may start with a minus."""
    text = f'{start}HYPERLINK("http://example.org")'
    # As an option's content a tab or a line break alone would be white space.
    item = Item(
        "i1",
        text,
        "en",
        (Paragraph((text,)),),
        (
            NumberEntry("a", (text,), -2.5, "-2.5", text, text, Tolerance(-3.0, -2.0, text), 1.0),
            Choice("b", (text,), (Option("A", (text,), True), Option("B", ("x",), False)), 1.0),
        ),
        caution=text,
        hints=((text,),),
    )
    info = BankInfo("b", "B", "en", (Pool("p", text, 1, 2),))
    write_bank(info, [item], tmp_path / "bank", "csv", unpacked=True)
    header, row = rows_of(tmp_path / "bank")
    runs = {n for n, cell in zip(header, row, strict=True) if cell.startswith(FORMULA_STARTS)}
    assert runs <= {"part1_key", "part1_tolerance_low", "part1_tolerance_high"}
    assert validate_package(tmp_path / "bank") == []
    back = next(read_items(tmp_path / "bank"))
    assert (back.title, back.caution, back.parts[0].unit) == (text, text, text)
    assert back.parts[1].options[0].content == (text,)


@given(st.text(st.sampled_from("'=+-@\t\rx1"), max_size=5))
def test_a_guarded_text_comes_back(text):
    cell = guarded(text)
    assert unguarded(cell) == text
    assert not cell.startswith(FORMULA_STARTS) or float(cell) is not None


# ---------------------------------------------------------------------------- broken tables


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ("i0123456789-0,", "i0123456789-1,", "row.unique"),
        ("i0123456789-0,", ",", "cell.required"),
        (",7.5,", ',"7,5",', "cell.datatype"),
        ("item_id,", "item,", "table.header"),
        (",196.2,", ",300,", "part.band"),
        (",196.2,", ",,", "part.key"),
        ("weight-as-mass|", "", "part.lists"),
        (",C2,|,", ",C9,|,", "part.options"),
        (",C2,|,", ",C1|C2,|,", "part.keys"),
        ("<p>A winch", "<p><i>A winch", "cell.html"),
        (",A winch on the quay,", ",=1+1,", "cell.formula"),
        ("i0123456789-0,", "i0123456789-0,,", "row.length"),
    ],
)
def test_a_broken_table_is_caught_by_name(table, old, new, rule):
    # newline="" in packages.change would be needed for CRLF; the rule does not hang on it.
    change(table, TABLE, swap(old, new))
    findings = validate_package(table)
    assert rule in {f.rule for f in findings}
    assert all(f.member == TABLE for f in findings)


def test_a_table_that_is_none_is_an_error(table):
    change(table, SIDECAR, swap("tableSchema", "schema"))
    with pytest.raises(QbankError, match="does not describe a table"):
        validate_package(table)
    (table / TABLE).write_bytes(b'item_id\r\n"open\r\n')
    with pytest.raises(QbankError, match="no table in UTF-8"):
        list(read_items(table))
    (table / TABLE).write_bytes(b"item_id\r\n\xff\xfe\r\n")
    with pytest.raises(QbankError, match="no table in UTF-8"):
        list(read_items(table))
