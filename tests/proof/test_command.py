"""`qbank proof` as a user runs it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import qbank
from qbank.cli.main import exit_code_of
from qbank.item import Tolerance
from qbank.proof.proving import write_proof
from tests.proof.test_bank import changed, items_of, write


def run(capsys, *arguments: str) -> tuple[int, str, str]:
    code = exit_code_of(list(arguments))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_a_family_gives_a_page_named_after_it(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(capsys, "proof", "thin-lens", "--count", "3")
    assert code == 0
    assert out == "thin-lens-proof.html\n"
    assert "3 of 3 instances on the page" in err
    assert Path("thin-lens-proof.html").read_text().startswith("<!DOCTYPE html>")


def test_json_for_a_script(capsys, tmp_path):
    path = tmp_path / "page.html"
    arguments = ["thin-lens", "--count", "30", "--most", "4", "--forms", "2", "--out", str(path)]
    code, out, err = run(capsys, "proof", *arguments, "--json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert told["path"] == str(path)
    assert (told["instances"], told["shown"], told["forms"]) == (30, 4, 2)
    assert told["checks_made"] == told["checks_passed"] > 300
    assert path.read_text().count('<section class="form form-B"') == 2  # questions, marking


def test_the_library_does_the_same(tmp_path):
    report = qbank.write_proof("thin-lens", count=2, seed=9, out=tmp_path / "a.html")
    code = exit_code_of(
        ["proof", "thin-lens", "--count", "2", "--seed", "9", "--out", str(tmp_path / "b.html")]
    )
    assert code == 0
    assert report.shown == 2
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["no-such-family"], "no family is named"),
        (["stepped-drm"], "Did you mean stepped-drum?"),
        (["nowhere.zip"], "there is no file or folder 'nowhere.zip'"),
        (["nowhere.csv"], "there is no file or folder 'nowhere.csv'"),
        (["thin-lens", "--column", "key=Key"], "--column has no use here: a family is no table"),
        (["thin-lens", "--count", "0"], "--count"),
        (["thin-lens", "--forms", "27"], "--forms"),
        (["thin-lens", "--most", "0"], "--most"),
        (["thin-lens", "--out", "."], "it is a folder"),
        (["thin-lens", "--out", "no/such/folder/page.html"], "No such file or directory"),
    ],
)
def test_bad_input_is_told(capsys, tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(capsys, "proof", *arguments)
    assert code == 2
    assert out == ""
    assert said in err
    assert list(tmp_path.iterdir()) == []


def test_a_page_that_was_there_stays_whole_when_a_new_one_fails(tmp_path, monkeypatch):
    path = tmp_path / "page.html"
    write_proof("thin-lens", count=1, out=path)
    before = path.read_bytes()

    def broken(*_: object) -> object:
        yield "<html>"
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("qbank.proof.page.page", broken)
    with pytest.raises(qbank.OutputError, match="No space left"):
        write_proof("thin-lens", count=2, out=path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


def test_a_bank_whose_keys_are_wrong_is_a_finding(capsys, tmp_path):
    items = items_of("thin-lens", 3)
    items[1] = changed(items[1], tolerance=Tolerance(-1e9, 1e9, "wide"), wrong_values=())
    bank = write(items, tmp_path / "bank.zip", "qti-3.0")
    code, out, err = run(capsys, "proof", str(bank), "--out", str(tmp_path / "page.html"))
    assert code == 1
    assert out.strip() == str(tmp_path / "page.html")
    assert "1 of the items shown differ" in err


def test_progress_is_shown_on_a_terminal_alone(tmp_path, capsys):
    _, _, err = run(capsys, "proof", "thin-lens", "--count", "2", "--out", str(tmp_path / "a.html"))
    assert "%" not in err
    pty = pytest.importorskip("pty", reason="needs a pseudo-terminal")
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "qbank", "proof", "thin-lens", "--count", "5"]
    done = subprocess.run(
        [*command, "--out", str(tmp_path / "b.html")], stdout=subprocess.DEVNULL, stderr=theirs
    )
    os.close(theirs)
    seen = os.read(ours, 1 << 16)
    os.close(ours)
    assert done.returncode == 0
    assert b"proof sheet" in seen
    assert b"100%" in seen


def test_what_the_page_is_made_from_is_never_overwritten(capsys, tmp_path):
    family = tmp_path / "thin-lens.yaml"
    family.write_bytes(qbank.find_family("thin-lens").read_bytes())
    bank = write(items_of("thin-lens", 1), tmp_path / "bank.zip", "qti-3.0")
    for source in (family, bank):
        before = source.read_bytes()
        code, out, err = run(capsys, "proof", str(source), "--out", str(source))
        assert (code, out) == (2, "")
        assert "is what the page is made from" in err
        assert source.read_bytes() == before


@pytest.mark.parametrize("option", ["--count=3", "--seed=3", "--language=de"])
def test_an_option_that_means_nothing_for_a_bank_is_refused(capsys, tmp_path, option):
    bank = write(items_of("thin-lens", 1), tmp_path / "bank.zip", "qti-3.0")
    code, _, err = run(capsys, "proof", str(bank), option, "--out", str(tmp_path / "page.html"))
    assert code == 2
    assert f"{option.partition('=')[0]} has no use here" in err
    assert not (tmp_path / "page.html").exists()
