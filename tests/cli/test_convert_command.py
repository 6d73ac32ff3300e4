"""`qbank convert`: exit codes, what goes to which stream, JSON, bad input."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from qbank.cli.main import exit_code_of
from qbank.formats.readback import read_items
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Pool
from tests.formats.samples import simple, winch


@pytest.fixture
def source(tmp_path):
    path = tmp_path / "winch-qti-2.1.zip"
    info = BankInfo("winch", "Winches", "en", (Pool("quay-winch", "Winches", 2, 5),))
    write_bank(info, [winch(0), winch(1)], path, "qti-2.1")
    return path


def run(capsys, *arguments):
    code = exit_code_of(["convert", *map(str, arguments)])
    return code, *capsys.readouterr()


def test_nothing_lost_exits_with_0_and_prints_the_path(capsys, source, tmp_path):
    out = tmp_path / "out"
    code, printed, told = run(capsys, source, "--to", "qti-2.2", "--out", out)
    assert (code, printed) == (0, f"{out / 'winch-qti-2.2.zip'}\n")
    assert told.splitlines() == [
        f"{source}: 2 items read as qti-2.1.",
        f"{out / 'winch-qti-2.2.zip'}: 2 items written as qti-2.2; nothing was lost.",
    ]


def test_something_lost_exits_with_1_and_says_what(capsys, source, tmp_path):
    code, printed, told = run(capsys, source, "--to", "csv", "--out", tmp_path)
    assert (code, printed) == (1, f"{tmp_path / 'winch-csv'}\n")
    assert "the format has no test that shows one item of a pool\n" in told
    assert "something was lost" in told
    assert (tmp_path / "winch-csv" / "items.csv").is_file()


def test_json_is_the_report_alone(capsys, source, tmp_path):
    code, printed, told = run(
        capsys, source, "--to", "cartridge-1.3", "--out", tmp_path, "--json", "--name", "moved"
    )
    report = json.loads(printed)
    assert (code, told) == (1, "")
    assert report["package"]["path"] == str(tmp_path / "moved-cartridge-1.3.imscc")
    assert report["lossless"] is False
    kinds = {one["kind"]: one["items"] for one in report["unsaid"]}
    both = ["i0123456789-0", "i0123456789-1"]
    assert kinds == {"tolerance": both, "several_parts": both, "pools": []}


def test_left_out_items_have_their_place_and_reason(capsys, tmp_path):
    entry = replace(simple().parts[0], key=math.nan, key_text="")
    items = [simple(), *(replace(simple(k, f"n{k}"), parts=(entry,)) for k in range(30))]
    info = BankInfo("b", "B", "en", (Pool("p", "P", len(items), 1),))
    path = write_bank(info, items, tmp_path / "b.jsonl", "jsonl").path
    code, _, told = run(capsys, path, "--to", "qti-3.0", "--out", tmp_path)
    assert code == 1
    assert "item 'n0' is left out: part 'h' has no key" in told
    assert told.count("is left out") == 20
    assert "... and 10 more; --json lists them all" in told
    _, printed, _ = run(capsys, path, "--to", "qti-3.0", "--out", tmp_path, "--json")
    assert [left["item"] for left in json.loads(printed)["left_out"]] == [
        f"n{k}" for k in range(30)
    ]


def test_unpacked(capsys, source, tmp_path):
    code, printed, _ = run(capsys, source, "--to", "jsonl", "--unpacked", "--out", tmp_path)
    assert (code, printed) == (0, f"{tmp_path / 'winch-jsonl'}\n")
    assert [path.name for path in (tmp_path / "winch-jsonl").iterdir()] == ["items.jsonl"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["{source}", "--to", "qti-2.3"], "did you mean"),
        (["{source}"], "--to"),
        (["{source}", "--to", "csv", "--column", "key"], "ROLE=HEADER"),
        (["absent.zip", "--to", "csv"], "absent.zip"),
        (["{folder}/text.zip", "--to", "csv"], "zip"),
        (["{source}", "--to", "csv", "--out", "{folder}/text.zip"], "output folder"),
        (["{source}", "--to", "qti-2.1", "--out", "{folder}"], "is the bank that is read"),
    ],
)
def test_bad_input_exits_with_2_and_writes_nothing(capsys, source, tmp_path, arguments, said):
    (tmp_path / "text.zip").write_text("no package")
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    given = [one.format(source=source, folder=tmp_path) for one in arguments]
    code, printed, told = run(capsys, *given)
    assert (code, printed) == (2, "")
    assert said in told
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_table_of_anyones(capsys, tmp_path):
    table = tmp_path / "harbour.csv"
    table.write_text(
        "No,Task,Result,Tol\n1,A winch lifts a crate of 40 kg at 0.50 m/s. Power in W?,196.2,2\n"
        "2,A crate of 30 kg hangs at rest. Pull in N?,294.3,2\n"
    )
    arguments = ["--to", "jsonl", "--out", tmp_path / "out", "--json"]
    code, printed, _ = run(
        capsys, table, *arguments, "--column", "key=Result", "--column", "stem=Task"
    )
    report = json.loads(printed)
    assert report["source"] == {"path": str(table), "format": "csv", "items": 2}
    items = list(read_items(tmp_path / "out" / "harbour.jsonl"))
    assert [item.parts[0].key for item in items] == [196.2, 294.3]
    assert code == (0 if report["lossless"] else 1)
