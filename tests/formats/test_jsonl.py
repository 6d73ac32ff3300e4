"""JSON Lines: items come back exactly, every line satisfies the published schema, and a file from
anyone is refused with the line at fault.

Sources: RFC 8259 (JSON: no NaN, no infinity), JSON Schema draft 2020-12 as the `jsonschema`
package judges it.
"""

from __future__ import annotations

import dataclasses
import json
import math
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.errors import CheckFailed, OutputError, QbankError
from qbank.formats import jsonl_codec, jsonl_skim
from qbank.formats.archive import FileArchive
from qbank.formats.jsonl_codec import ITEM, NUMBER, Record, ValueFault, required
from qbank.formats.jsonl_readback import iter_items, parse_line, read_info
from qbank.formats.jsonl_skim import skim
from qbank.formats.readback import read_items
from qbank.formats.skimming import skimmed
from qbank.formats.validate import open_package, validate_package
from qbank.formats.writing import write_bank
from qbank.item import (
    BankInfo,
    Image,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Pool,
    Tolerance,
)
from tests.formats.samples import bank, simple, winch

SCHEMA = json.loads(
    (Path(jsonl_codec.__file__).parent / "schemas" / "items.schema.json").read_text("utf-8")
)
RECORDS = {
    name.lower(): value for name, value in vars(jsonl_codec).items() if isinstance(value, Record)
}


def written(folder: Path, items: list[Item], name: str = "bank.jsonl") -> Path:
    pool = Pool("all", "All", len(items), max(len(item.parts) for item in items))
    write_bank(BankInfo("b", "B", "en", (pool,)), items, folder / name, "jsonl")
    return folder / name


def everything() -> Item:
    """An item with each kind of part and block, and texts that are awkward in a line."""
    entries = (
        Option("E1", ("lower the hook",), False),
        Option("E2", ("lift\u2028\n",), False, ("no",), "early"),
    )
    image = Image(
        "hook.svg", "image/svg+xml", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "a hook"
    )
    item = winch(hints=True)
    return replace(
        item,
        caution='Stand clear of the load.\r\t"\\\x00\x7f🏗',
        stem=(*item.stem, replace(image, description="seen from the quay", width=40, height=30)),
        parts=(
            *item.parts,
            Ordering("o", ("In which order?",), entries, 2.0, partial=True),
            Matching("m", (), entries, entries, (("E1", "E2"), ("E2", "E1")), 0.1 + 0.2),
        ),
    )


def unkeyed() -> Item:
    open_band = Tolerance(math.nan, math.nan, "")
    entry = NumberEntry("a", ("How far?",), float("nan"), "", "", "m", open_band, 1.0)
    return replace(simple(), parts=(entry,))


def test_items_come_back_exactly(tmp_path):
    items = [everything(), simple()]
    path = written(tmp_path, items)
    assert list(read_items(path)) == items
    assert validate_package(path) == []
    lines = path.read_bytes().split(b"\n")
    assert len(lines) == 4
    assert lines[-1] == b""
    with open_package(path) as package:
        assert read_info(package).pools == (Pool("all", "All", 2, 7),)


# ---------------------------------------------------------------------------- stems and keys only


@pytest.mark.parametrize("make", [everything, unkeyed, simple, lambda: winch(hints=True)])
def test_skimming_leaves_what_it_should(tmp_path, make):
    path = written(tmp_path, [make()])
    line = path.read_bytes().split(b"\n")[1]
    assert repr(skim(line)) == repr(skimmed(make()))  # not equal where a key is not a number


@pytest.mark.parametrize("change", [
    lambda record: record.update(key=1),
    lambda record: record.pop("stem"),
    lambda record: record.update(stem="text"),
    lambda record: record["parts"][0].update(points="1"),
    lambda record: record["parts"][0].update(type="essay"),
    lambda record: record["parts"][0]["tolerance"].pop("low"),
])  # fmt: skip
def test_skimming_refuses_what_reading_refuses(tmp_path, change):
    path = written(tmp_path, [simple()])
    header, line, _ = path.read_text("utf-8").split("\n")
    record = json.loads(line)
    change(record)
    path.write_text(f"{header}\n{json.dumps(record)}\n", "utf-8")
    assert skim(json.dumps(record).encode()) is None
    said = []
    for whole in (True, False):
        with open_package(path) as package, pytest.raises(QbankError) as fault:
            list(iter_items(package, whole=whole))
        said.append((fault.value.message, fault.value.place))
    assert said[0] == said[1]


def test_skimming_reads_what_only_the_exact_reader_takes(tmp_path):
    path = written(tmp_path, [simple()])
    text = path.read_text("utf-8").replace('"title":"', '"title":"\\ud800')  # half a pair
    path.write_text(text, "utf-8")
    assert skim(path.read_bytes().split(b"\n")[1]) is None
    with open_package(path) as package:
        (item,) = iter_items(package, whole=False)
    assert item.title == "\ud800" + simple().title


def test_skimming_knows_the_same_fields():
    """The records of the two readers cannot part ways."""
    skims = {
        name.removeprefix("_").lower(): set(value.__struct_fields__)
        for name, value in vars(jsonl_skim).items()
        if isinstance(value, type) and issubclass(value, msgspec.Struct) and value.__struct_fields__
    }
    names = {"number": "number_entry", "wrongvalue": "wrong_value"}
    unread = {"unread": "paragraph", "unreaddisplay": "display", "unreadtable": "table"}
    for name, fields in skims.items():
        record = RECORDS[names.get(name) or unread.get(name) or name]
        assert fields == set(record.fields), name
    assert len(skims) == len(RECORDS) - len({"pool", "bank", "metadata"}) + len(unread)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_floats_come_back_bit_for_bit(number):
    back = NUMBER.read(parse_line(json.dumps(NUMBER.write(number)).encode()), "")
    assert math.copysign(1, back) == math.copysign(1, number)
    assert back == number


def test_a_key_nobody_stated_is_null(tmp_path):
    path = written(tmp_path, [unkeyed()])
    part = json.loads(path.read_text("utf-8").splitlines()[1])["parts"][0]
    assert part["key"] is part["tolerance"]["low"] is part["tolerance"]["high"] is None
    (item,) = read_items(path)
    assert math.isnan(item.parts[0].key)
    assert replace(item, parts=()) == replace(unkeyed(), parts=())
    assert validate_package(path) == []
    info = BankInfo("b", "B", "en", (Pool("p", "P", 1, 1),))
    with pytest.raises(CheckFailed):
        write_bank(info, [unkeyed()], tmp_path / "b.zip", "qti-2.1")
    assert not (tmp_path / "b.zip").exists()


def test_every_line_satisfies_the_published_schema(tmp_path):
    jsonschema = pytest.importorskip("jsonschema")
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    judge = jsonschema.Draft202012Validator(SCHEMA)
    _, items = bank(4)
    path = written(
        tmp_path,
        [everything(), unkeyed(), *(replace(i, identifier=f"x{n}") for n, i in enumerate(items))],
    )
    for line in path.read_text("utf-8").split("\n")[:-1]:
        judge.validate(json.loads(line))
    record = ITEM.write(everything())
    for edit in (
        {"points": 3}, {"title": None}, {"title": ""}, {"parts": [{"type": "essay"}]},
        {"identifier": "1st"}, {"hints": "no"},
    ):  # fmt: skip
        assert not judge.is_valid({**record, **edit}), edit


def test_the_schema_and_the_codec_name_the_same_fields():
    described = {name: d for name, d in SCHEMA["$defs"].items() if "properties" in d}
    assert set(described) - {"header", "number"} == set(RECORDS) - {"bank", "number_entry"}
    for name, schema in described.items():
        record = RECORDS[{"header": "bank", "number": "number_entry"}.get(name, name)]
        extra = ["format", "version"] if name == "header" else ["type"] if record.tag else []
        assert list(schema["properties"]) == [*extra, *record.fields]
        assert [f.name for f in dataclasses.fields(record.made)] == list(record.fields)
        assert schema["required"] == [*extra, *required(record.made)]
        assert all(p.get("description") for p in schema["properties"].values()), name
        for field, p in schema["properties"].items():
            assert ("default" in p) == (field not in schema["required"]), (name, field)


HEADER = '{"format":"qbank-items","version":1,"identifier":"b","title":"B","language":"en","pools":[{"identifier":"p","title":"P","count":1,"parts":1}]}'  # noqa: E501
LINE = json.dumps(ITEM.write(simple()))


@pytest.mark.parametrize(
    ("lines", "where", "said"),
    [
        ([HEADER, LINE.replace('"title"', '"titel"', 1)], 2, "titel: unknown"),
        ([HEADER, LINE.replace('"title": ', '"title": 3, "x": ', 1)], 2, "x: unknown"),
        ([HEADER, "", LINE[:-5]], 3, "no JSON"),
        ([HEADER, "[" * 100_000], 2, "nested too deep"),
        ([HEADER, "7"], 2, "expected an object"),
        ([HEADER, '{"identifier": "a", "identifier": "b"}'], 2, "stands twice"),
        ([HEADER, LINE.replace('"points": 1.0', '"points": NaN')], 2, "no number of JSON"),
        ([HEADER, LINE.replace('"points": 1.0', '"points": 1e999')], 2, "beyond the range"),
        ([HEADER, LINE.replace('"points": 1.0', '"points": true')], 2, "points: found true"),
        ([HEADER, LINE.replace('"points": 1.0', '"points": ' + "9" * 5000)], 2, "no JSON"),
        ([HEADER, LINE.replace('"points": 1.0', '"points": ' + "9" * 400)], 2, "beyond the range"),
        ([HEADER, LINE.replace('"type": "paragraph"', '"type": "essay"')], 2, "stem[0].type"),
        ([HEADER, LINE.replace('"language": "de", ', "", 1)], 2, "language: missing"),
        ([HEADER.replace('"version":1', '"version":2'), LINE], 1, "version 2"),
        ([HEADER.replace('"pools"', '"pool"'), LINE], 1, "pool: unknown"),
        ([HEADER, b'{"title": "\xff"}'], 2, "no UTF-8"),
        ([HEADER, '{"a": "' + "x" * (17 << 20) + '"}'], 2, "longer than 16 MB"),
    ],
    ids=lambda value: str(value)[:24] if isinstance(value, str) else "",
)  # fmt: skip
def test_a_broken_file_is_refused_with_its_line(tmp_path, lines, where, said):
    path = tmp_path / "bank.jsonl"
    path.write_bytes(b"\n".join(x if isinstance(x, bytes) else x.encode() for x in lines) + b"\n")
    with pytest.raises(QbankError) as caught:
        list(read_items(path))
    assert said in caught.value.message
    assert caught.value.place is not None
    assert caught.value.place[:2] == (str(path), where)
    assert [f.line for f in validate_package(path)] == [where]


def test_a_cut_file_and_a_strange_one_are_refused(tmp_path):
    path = tmp_path / "bank.jsonl"
    path.write_text(HEADER + "\n", "utf-8")
    with pytest.raises(QbankError, match="promises 1 items, 0 follow"):
        list(read_items(path))
    path.write_text('{"some": "log"}\n', "utf-8")
    with pytest.raises(QbankError, match="cannot tell the format"):
        list(read_items(path))
    twice = HEADER.replace('"count":1', '"count":2')
    path.write_text(f"{twice}\n{LINE}\n{LINE}\n", "utf-8")
    assert [f.rule for f in validate_package(path)] == ["jsonl.unique"]


def test_what_cannot_be_written_is_said_and_nothing_stays(tmp_path):
    endless = replace(simple(), parts=(replace(simple().parts[0], points=1.0),), caution="\ud800")
    with pytest.raises(CheckFailed):
        written(tmp_path, [endless])
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(ValueFault):
        NUMBER.write(math.inf)


def test_a_file_that_was_there_stays_until_the_new_one_is_whole(tmp_path):
    path = written(tmp_path, [simple()])
    before = path.read_bytes()
    with pytest.raises(CheckFailed):
        written(tmp_path, [simple(), replace(simple(), title="")])
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["bank.jsonl"]
    (tmp_path / "folder.jsonl").mkdir()
    with pytest.raises(OutputError):
        written(tmp_path, [simple()], "folder.jsonl")
    with FileArchive(tmp_path / "two") as archive:
        archive.add("a", b"1")
        with pytest.raises(CheckFailed):
            archive.add("b", b"2")
    assert not (tmp_path / "two").exists()
