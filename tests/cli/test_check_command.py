"""`qbank check`: exit codes, what goes where, and refusals before the work. The check itself is
put in place of by audits made here; it has tests of its own."""

from __future__ import annotations

import csv
import json
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

import qbank.cli.check as command
from qbank.audit.verdict import Audit
from qbank.cli.main import cli, exit_code_of
from qbank.errors import CheckFailed, QbankError
from qbank.formats.readback import read_items
from qbank.item import NumberEntry
from tests.audit.correction.test_foreign_documents import EDITED, WRONG
from tests.audit.correction.wrong import audit_of, items_of, spoiled, write
from tests.audit.report.made import full, judgement, unchecked


@pytest.fixture
def check(monkeypatch, capsys):
    """Runs the command on a given audit; what the check was asked for is in `asked`."""
    if "check" not in cli.commands:
        monkeypatch.setitem(cli.commands, "check", command.check_command)

    def run(audit: Audit, *arguments: str):
        def checked(bank, families, bind, columns, advance):
            run.asked = (bank, families, bind, columns)
            if advance is not None:
                advance(1, 2)
            return audit

        monkeypatch.setattr(command, "_check", checked)
        monkeypatch.setattr(command, "_read", lambda path, columns: read_items(path))
        code = exit_code_of(["check", *map(str, arguments)])
        return code, *capsys.readouterr()

    return run


CLEAN = Audit("bank.zip", "QTI 2.1 package", 2, [judgement(0), judgement(1)])


@pytest.mark.parametrize(
    ("audit", "code"),
    [
        (CLEAN, 0),
        (full(), 1),
        (Audit("b", "f", 1, [judgement(0), unchecked(1)]), 0),
        (Audit("b", "f", 1, [unchecked(0)]), 2),
        (Audit("b", "f"), 2),
    ],
    ids=["clean", "findings", "partly checked", "nothing checkable", "no keys"],
)
@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
def test_the_exit_code_says_what_was_found(check, audit, code, as_json):
    got, out, err = check(audit, "bank.zip", *(["--json"] if as_json else []))
    assert (got, err) == (code, "")
    assert out
    if not as_json and code == 2:
        assert "NOTHING WAS CHECKED" in out


def test_the_summary_is_the_data(check):
    _, out, err = check(full(), "bank.zip")
    assert out.startswith("midterm.zip (QTI 2.1 package): 40 items, 40 keys\n")
    assert err == ""


def test_a_copy_that_fails_its_proof_keeps_no_finding_back(check, monkeypatch, tmp_path):
    def fails(*_args, **_named):
        raise CheckFailed("the corrected copy reads otherwise than it should")

    monkeypatch.setattr("qbank.audit.correction.correcting.correct_bank", fails)
    target, report = tmp_path / "m.zip", tmp_path / "r.csv"
    code, out, err = check(full(), "bank.zip", "--corrected", target, "--report", report)
    assert code == 3
    assert out.startswith("midterm.zip (QTI 3.0 package)") or "40 items" in out
    assert "reads otherwise" in err
    assert report.exists()
    assert not target.exists()


def test_all_shows_all(check):
    many = full()
    many.judgements = [judgement(k, verdict=WRONG.verdict, states="1 N") for k in range(30)]
    assert check(many, "bank.zip")[1].count("states     1 N") == 20
    assert check(many, "bank.zip", "--all")[1].count("states     1 N") == 30


def test_json_is_one_document(check):
    _, out, _ = check(full(), "bank.zip", "--json")
    found = json.loads(out)
    assert found["accused"] == 6
    assert found["correction"] is None


def test_what_is_asked_of_the_check(check):
    check(
        CLEAN, "bank.csv", "--family", "a.yaml", "--family", "thin-lens", "--bind", "b.yaml",
        "--column", "key=The answer", "--column", " stem = Q",
    )  # fmt: skip
    assert check.asked == (
        Path("bank.csv"), ("a.yaml", "thin-lens"), Path("b.yaml"),
        {"key": "The answer", "stem": "Q"},
    )  # fmt: skip


def test_reports_are_written_by_their_ending(check, tmp_path):
    names = ("found.html", "found.csv", "found.JSON")
    arguments = [word for name in names for word in ("--report", str(tmp_path / name))]
    code, _, _ = check(full(), "bank.zip", *arguments)
    assert code == 1
    html, table, plain = (tmp_path / name for name in names)
    assert html.read_text("utf-8").startswith("<!DOCTYPE html>")
    with table.open(encoding="utf-8", newline="") as rows:
        assert len(list(csv.DictReader(rows))) == 40
    assert b"\r\r" not in table.read_bytes()
    assert json.loads(plain.read_text("utf-8"))["items"] == 40
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(names)


def test_a_binding_is_saved_where_there_is_one(check, tmp_path):
    target = tmp_path / "bindings.yaml"
    check(full(), "bank.zip", "--save-binding", target)
    assert target.read_text("utf-8") == "bindings: []\n"
    target.unlink()
    _, _, err = check(CLEAN, "bank.zip", "--save-binding", target)
    assert "was not written" in err
    assert not target.exists()


@pytest.mark.parametrize("option", ["--report", "--save-binding"])
def test_a_family_is_not_overwritten(check, monkeypatch, tmp_path, option):
    monkeypatch.chdir(tmp_path)
    family = tmp_path / "own.json"
    family.write_text("mine", "utf-8")
    code, _, err = check(full(), "bank.zip", "--family", "own.json", option, "own.json")
    assert code == 2
    assert "that is a family's file" in err
    assert family.read_text("utf-8") == "mine"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--report", "found.txt"), "expected --report to end in .html, .csv, .json"),
        (("--report", "no/such/found.html"), "there is no folder"),
        (("--save-binding", "no/such/b.yaml"), "there is no folder"),
        (("--corrected", "no/such/m.xml"), "there is no folder"),
        (("--report", "a.csv", "--report", "a.csv"), "name each once"),
        (("--report", "ramp.html"), "that is the bank itself"),
        (("--corrected", "ramp.html"), "that is the bank itself"),
        (("--family", "ramp.html", "--save-binding", "ramp.html"), "that is the bank itself"),
        (("--column", "key"), "expected --column ROLE=HEADER"),
        (("--column", "key="), "expected --column ROLE=HEADER"),
        (("--column", "key=A", "--column", "key=B"), "names 'key' twice"),
    ],
)
def test_what_cannot_be_written_is_refused_before_the_work(
    check, monkeypatch, tmp_path, arguments, said
):
    monkeypatch.chdir(tmp_path)
    bank = tmp_path / "ramp.html"
    bank.write_text("x")
    check.asked = None
    code, out, err = check(full(), "ramp.html", *arguments)
    assert (code, out) == (2, "")
    assert said in " ".join(err.split())
    assert check.asked is None
    assert [p.name for p in tmp_path.iterdir()] == ["ramp.html"]


def test_a_corrected_copy(check, tmp_path, monkeypatch):
    bank = tmp_path / "ramp.xml"
    bank.write_bytes(EDITED["odd spaces"][0].encode())
    monkeypatch.setattr(command, "_read", None)
    import qbank.audit.correction.correcting as correcting

    real = correcting.correct_bank
    monkeypatch.setattr(
        correcting, "correct_bank", lambda path, audit, to, read, table: real(path, audit, to)
    )
    code, out, _ = check(audit_of(WRONG), str(bank), "--corrected", tmp_path / "mended.xml")
    assert code == 1
    assert "1 key replaced, all else as it was" in " ".join(out.split())
    assert "ramp, RESPONSE: 12.5 is now 7.25" in out
    assert b"7.25" in (tmp_path / "mended.xml").read_bytes()
    code, out, _ = check(
        audit_of(WRONG), str(bank), "--corrected", tmp_path / "again.xml", "--json"
    )
    assert json.loads(out)["correction"]["changes"][0]["new"] == "7.25"


def test_a_bank_that_cannot_be_read(check, monkeypatch, capsys):
    def refuse(*_):
        raise QbankError("cannot read 'bank.zip': no such file")

    check(CLEAN, "bank.zip")
    monkeypatch.setattr(command, "_check", refuse)
    assert exit_code_of(["check", "bank.zip", "--json"]) == 2
    out, err = capsys.readouterr()
    assert (out, err) == ("", "Error: cannot read 'bank.zip': no such file\n")


def test_help_has_an_example(check, capsys):
    check(CLEAN, "bank.zip")
    assert exit_code_of(["check", "--help"]) == 0
    said = capsys.readouterr().out
    assert "Example:  qbank check" in said
    assert max(map(len, said.splitlines())) <= 100


# ---------------------------------------------------------------------------- the whole way


@pytest.mark.parametrize("name", ["qti-2.1", "cartridge-1.3", "csv"])
def test_a_wrong_key_is_found_and_mended_and_the_copy_is_clean(monkeypatch, capsys, tmp_path, name):
    monkeypatch.setitem(cli.commands, "check", command.check_command)
    items = list(items_of("thin-lens", 12))
    at, part = next((k, p) for k, p in enumerate(items[7].parts) if isinstance(p, NumberEntry))
    parts = (*items[7].parts[:at], spoiled(part), *items[7].parts[at + 1 :])
    items[7] = replace(items[7], parts=parts)
    bank = write(items, tmp_path, name)
    mended = tmp_path / f"mended{bank.suffix}"
    code = exit_code_of(
        ["check", str(bank), "--family", "thin-lens", "--corrected", str(mended), "--json"]
    )
    found = json.loads(capsys.readouterr().out)
    assert code == 1
    (change,) = found["correction"]["changes"]
    assert change["item"].startswith(items[7].identifier)
    assert (change["old"], change["new"]) == (parts[at].key_text, part.key_text)
    assert exit_code_of(["check", str(mended), "--family", "thin-lens"]) == 0


# Focal length and distance of the object, in cm.
LENSES = [
    (5.0, 12.0), (6.5, 14.0), (7.5, 31.0), (8.0, 22.5), (9.5, 40.0), (10.5, 26.0), (11.0, 35.0),
    (12.5, 52.0), (13.0, 30.5), (14.5, 60.0), (15.0, 48.0), (16.5, 41.0),
]  # fmt: skip


def test_a_table_of_a_stranger_is_mended_cell_by_cell(monkeypatch, capsys, tmp_path):
    """Image distances by 1/f = 1/d_o + 1/d_i, worked out here; one key is doubled."""
    monkeypatch.setitem(cli.commands, "check", command.check_command)
    bank = tmp_path / "bank.csv"
    rows = [(f"{f} cm", f"{d} cm", f * d / (d - f)) for f, d in LENSES]
    lines = ["id;Question;Answer;Unit"]
    for n, (f, d, image) in enumerate(rows):
        shown = f"{2 * image if n == 6 else image:#.4g}".rstrip(".").replace(".", ",")
        lines.append(
            f'q{n};"A thin converging lens of focal length {f} stands {d} from a candle – how far '
            f'from the lens is the image?";{shown};cm'
        )
    bank.write_bytes(("\r\n".join(lines) + "\r\n").encode("cp1252"))
    mended = tmp_path / "mended.csv"
    code = exit_code_of(
        ["check", str(bank), "--family", "thin-lens", "--corrected", str(mended), "--json"]
    )
    found = json.loads(capsys.readouterr().out)
    assert code == 1
    accused = [found["judgements"][k]["item"] for k in found["worst"]]
    assert accused == ["q6"]
    assert found["judgements"][found["worst"][0]]["level"] == 3
    (change,) = found["correction"]["changes"]
    old, new = bank.read_bytes().split(b"\r\n"), mended.read_bytes().split(b"\r\n")
    assert [k for k, (a, b) in enumerate(zip(old, new, strict=True)) if a != b] == [7]
    assert float(change["new"].replace(",", ".")) == pytest.approx(rows[6][2], rel=1e-3)


@pytest.mark.parametrize("kind", ["bank.tab", "bank.zip", "folder"])
def test_a_table_is_mended_wherever_it_lies(monkeypatch, capsys, tmp_path, kind):
    monkeypatch.setitem(cli.commands, "check", command.check_command)
    lines = ["id\tQuestion\tAnswer"]
    for n, (f, d) in enumerate(LENSES):
        image = f * d / (d - f) * (2 if n == 6 else 1)
        lines.append(
            f"q{n}\tA thin converging lens of focal length {f} cm stands {d} cm from a candle. How "
            f"far from the lens is the image?\t{image:.4g} cm"
        )
    data = ("\n".join(lines) + "\n").encode()
    bank, mended = tmp_path / kind, tmp_path / f"mended-{kind}"
    if kind == "folder":
        bank.mkdir()
        (bank / "items.tsv").write_bytes(data)
    elif kind == "bank.zip":
        with zipfile.ZipFile(bank, "w") as archive:
            archive.writestr("sub/items.tsv", data)
    else:
        bank.write_bytes(data)
    arguments = ["--family", "thin-lens", "--corrected", str(mended)]
    assert exit_code_of(["check", str(bank), *arguments]) == 1
    assert "q6, 1: 32.08 is now 16.04" in capsys.readouterr().out
    assert exit_code_of(["check", str(mended), "--family", "thin-lens"]) == 0


@pytest.mark.parametrize("name", ["bank.xlsx", "BANK.ODS"])
def test_a_workbook_is_refused_with_the_mend(monkeypatch, capsys, tmp_path, name):
    monkeypatch.setitem(cli.commands, "check", command.check_command)
    bank = tmp_path / name
    with zipfile.ZipFile(bank, "w") as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
    assert exit_code_of(["check", str(bank), "--corrected", str(tmp_path / "m.xlsx")]) == 2
    assert "as CSV" in capsys.readouterr().err
    assert not (tmp_path / "m.xlsx").exists()
