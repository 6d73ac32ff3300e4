"""Tables of anyone's making: the cell of the key and of its band, in any encoding and dialect."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from qbank.audit.correction.correcting import correct_bank
from qbank.formats.tables.reading import read_table
from tests.audit.correction.test_foreign_documents import WRONG
from tests.audit.correction.wrong import audit_of


@dataclass
class Dialect:
    encoding: str = "utf-8"
    delimiter: str = ","
    escape: str = ""
    skipped: int = 0


@dataclass
class Column:
    at: int
    role: str
    mark: str = ""


@dataclass
class Read:
    """How a table was read; the key of "ramp" stands in one cell."""

    place: tuple[int, int]
    dialect: Dialect
    roles: tuple[Column, ...]
    decimal: str = "."

    def option_keyed(self, item: str, part: str) -> str:
        return "c"

    def option_said(self, item: str, part: str, said: str, wanted: str) -> str | None:
        return said.replace("C", wanted.upper()) if said.strip() == "C" else None

    def stated_range(self, text: str) -> None:
        return None

    def key_cell(self, item: str, part: str) -> tuple[int, int]:
        return {("ramp", "RESPONSE"): self.place}[item, part]


KEY, LOW, HIGH = Column(1, "key"), Column(2, "low"), Column(3, "high")
CASES = {
    "semicolons, decimal commas, Windows-1252": (
        "Frage;Antwort;von;bis\r\nWie groß? 12,5;12,5 m/s;12,1;12,9\r\nzwei;12,5;;\r\n",
        Dialect("cp1252", ";"), (KEY, LOW, HIGH), {},
        [("12,5 m/s;12,1;12,9", "7,25 m/s;6,85;7,65")],
    ),
    "a byte order mark of UTF-16": (
        "q\tkey\nWie groß?\t 12.5 \n",
        Dialect("utf-16", "\t"), (KEY,), {}, [("\t 12.5 \n", "\t 7.25 \n")],
    ),
    "a byte order mark of UTF-8 and a line that names the delimiter": (
        'sep=;\nq;key\n"so; ""12.5""";"12.5"\n',
        Dialect("utf-8-sig", ";", skipped=1), (KEY,), {}, [(';"12.5"', ';"7.25"')],
    ),
    "a comma comes into an unquoted cell": (
        'q,key\nso,"12,5"\n', Dialect(), (KEY,), {}, [('"12,5"', '"7,25"')],
    ),
    "an apostrophe that guards": (
        "q,key\nso,'-12.5 m/s\n", Dialect(), (KEY,),
        {"states": "-12.5 m/s", "expected": "-7.25 m/s", "value": -7.25},
        [("'-12.5 m/s", "'-7.25 m/s")],
    ),
    "a letter": (
        "q,key\nso, C\n", Dialect(), (KEY,), {"correct": ("b",)}, [(" C\n", " B\n")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_only_the_cells_of_the_key_change(tmp_path, name):
    text, dialect, columns, given, pairs = CASES[name]
    path = tmp_path / "bank.csv"
    path.write_bytes(text.encode(dialect.encoding))
    table = Read((1, 1), dialect, columns, "," if "12,5" in text else ".")
    report = _correct(path, given, tmp_path, table)
    assert report.left == []
    expected = text
    for old, new in pairs:
        assert expected.count(old) == 1
        expected = expected.replace(old, new)
    assert (tmp_path / "m.csv").read_bytes() == expected.encode(dialect.encoding)


def _correct(path, given, folder, table):
    return correct_bank(path, audit_of(replace(WRONG, **given)), folder / "m.csv", table=table)


@pytest.mark.parametrize(
    ("text", "dialect", "place", "given", "why"),
    [
        ("q,key\nso,12.6\n", Dialect(), (1, 1), {}, "not the number that was judged"),
        ("q,key\nso\n", Dialect(), (1, 1), {}, "not found in a cell"),
        ("q,key\nso,12.5\n", Dialect(), (9, 1), {}, "not found in a cell"),
        ("q,key\nso,12.5\n", Dialect(escape="\\"), (1, 1), {}, "escape sign"),
        ("q,key\nso,12.5\n", Dialect("utf-16"), (1, 1), {}, "not written back|encoding"),
        ("q,key,low,high\nso,12.5,12,\n", Dialect(), (1, 1), {}, "one bound only"),
        ("q,key\nso,first\n", Dialect(), (1, 1), {"correct": ("b",)}, "not sure how its cell"),
        ('q,key\nso,"12.5\n', Dialect(), (1, 1), {}, "quote that is not closed"),
    ],
)  # fmt: skip
def test_in_doubt_the_table_stays(tmp_path, text, dialect, place, given, why):
    path = tmp_path / "bank.csv"
    path.write_bytes(text.encode("utf-8"))
    report = _correct(path, given, tmp_path, Read(place, dialect, (KEY, LOW, HIGH)))
    assert report.changes == []
    assert any(said in report.left[0].why for said in why.split("|"))
    assert (tmp_path / "m.csv").read_bytes() == path.read_bytes()


def test_a_table_as_the_reader_of_tables_reads_it(tmp_path):
    text = (
        "Nr;Frage;Antwort;Einheit;Untergrenze;Obergrenze\r\n\r\n"
        'a1;"Ein Wagen; wie schnell?";3,50;m/s;3,4;3,6\r\n'
        'a2;"Noch ein ""Wagen""; wie schnell?";12,5;m/s;12,4;12,6\r\n'
    )
    path = tmp_path / "bank.csv"
    path.write_bytes(text.encode("cp1252"))
    table = read_table(path)
    wrong = list(table.items)[1].item
    part = wrong.parts[0]
    judgement = replace(WRONG, item=wrong.identifier, part=part.identifier, states=part.key_shown)

    def read(bank):
        return [read.item for read in read_table(bank).items]

    report = correct_bank(
        path, audit_of(judgement), tmp_path / "m.csv", table=table, read=read
    )  # fmt: skip
    assert report.left == []
    expected = text.replace("12,5;m/s;12,4;12,6", "7,25;m/s;7,15;7,35")
    assert (tmp_path / "m.csv").read_bytes() == expected.encode("cp1252")


def test_a_table_that_nobody_read_stays(tmp_path):
    path = tmp_path / "bank.csv"
    path.write_text("q,key\nso,12.5\n")
    report = _correct(path, {}, tmp_path, None)
    assert "was not found" in report.left[0].why


ASKED = "A crate slides 3.0 m down a ramp and then 2.0 m on. How fast is it then?"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(
    ("header", "old", "new", "given"),
    [
        ("key,accepted range", "12.5 m/s,12.1 - 12.9", "7.25 m/s,6.85 - 7.65", {}),
        ("key,accepted range", "12.5 m/s,12.1 to 12.9 m/s", "7.25 m/s,6.85 to 7.65 m/s", {}),
        ("key,accepted range", "12.5 m/s,12.1..12.9", "7.25 m/s,6.85..7.65", {}),
        ("key,tolerance", "12.5 m/s,2 %", "7.25 m/s,2 %", {}),
        ("key,tolerance", "12.5 m/s,±0.2", "7.25 m/s,±0.2", {}),
        ("key", "v = 12.5 ± 0.2 m/s", "v = 7.25 ± 0.2 m/s", {}),
        ("key", '"12,500 m/s"', '"7,250 m/s"',
         {"states": "12,500 m/s", "value": 7250.2, "expected": "7250 m/s"}),
        ("key", "1.25 x 10^-3 m/s", "7.25 x 10^-4 m/s",
         {"states": "1.25 x 10^-3 m/s", "value": 7.2502e-4, "expected": "7.25 × 10⁻⁴ m/s"}),
        ("A,B,C,correct answer", "1 m/s,2 m/s,3 m/s,B", "1 m/s,2 m/s,3 m/s,C", {"correct": ("c",)}),
        ("A,B,C,correct answer", "1 m/s,2 m/s,3 m/s,2", "1 m/s,2 m/s,3 m/s,3", {"correct": ("c",)}),
        ("A,B,C,correct answer", "1 m/s,2 m/s,3 m/s,2 m/s", "1 m/s,2 m/s,3 m/s,3 m/s",
         {"correct": ("c",)}),
    ],
)  # fmt: skip
def test_all_around_the_key_stays(tmp_path, header, old, new, given, encoding):
    filler = "".join(f"f{n},{'A crate, of 5 µm. '.replace(',', '') * 150}\n" for n in range(3))
    text = f"id,question,{header}\n{filler}ramp,{ASKED},{old}\n"
    path = tmp_path / "bank.csv"
    path.write_bytes(text.encode(encoding))
    table = read_table(path)
    changed = replace(WRONG, part="1", **given)

    def read(bank):
        return [read.item for read in read_table(bank).items]

    report = correct_bank(path, audit_of(changed), tmp_path / "m.csv", table=table, read=read)
    assert report.left == []
    assert (tmp_path / "m.csv").read_bytes() == text.replace(old, new).encode(encoding)


@pytest.mark.parametrize(
    ("header", "cells", "given", "why"),
    [
        ("key,accepted range", "12.5 m/s,13 - 14", {}, "does not hold the key"),
        ("key", "12.5 or 13 m/s", {}, "cannot be told apart"),
        ("right answer,wrong answer", "2 m/s,3 m/s", {"correct": ("wrong 1",)},
         "no one cell says"),
        ("option 1,grade 1,option 2,grade 2", "2 m/s,1,3 m/s,0", {"correct": ("2",)},
         "no one cell says"),
    ],
)  # fmt: skip
def test_what_a_cell_cannot_say_is_left(tmp_path, header, cells, given, why):
    path = tmp_path / "bank.csv"
    path.write_text(f"id,question,{header}\nramp,{ASKED},{cells}\n")
    audit = audit_of(replace(WRONG, part="1", **given))
    report = correct_bank(path, audit, tmp_path / "m.csv", table=read_table(path))
    assert why in report.left[0].why
    assert (tmp_path / "m.csv").read_bytes() == path.read_bytes()


@pytest.mark.parametrize(
    ("header", "cells", "given", "notes"),
    [
        ("key,feedback", "12.5 m/s,It is 12.5 m/s.", {}, 1),
        ("key,feedback", "12.5 m/s,It is 112.5 m/s.", {}, 0),
        ("key,feedback", "12.5 m/s,", {}, 0),
        ("A,B,correct,feedback", "1 m/s,2 m/s,A,Well done.", {"correct": ("b",)}, 1),
        ("A,B,correct", "1 m/s,2 m/s,A", {"correct": ("b",)}, 0),
    ],
)
def test_feedback_that_may_state_the_old_key_is_told(tmp_path, header, cells, given, notes):
    path = tmp_path / "bank.csv"
    path.write_text(f"id,question,{header}\nramp,{ASKED},{cells}\n")
    audit = audit_of(replace(WRONG, part="1", **given))
    report = correct_bank(path, audit, tmp_path / "m.csv", table=read_table(path))
    assert [len(change.notes) for change in report.changes] == [notes]
