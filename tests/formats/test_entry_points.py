"""Formats of other packages: found by an entry point when asked for, never before, and a broken
one is said to be broken, with the name of its package."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from qbank.cli.main import exit_code_of
from qbank.errors import QbankError
from qbank.formats.readback import read_items
from qbank.formats.registry import FORMATS, find_format, format_names
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from tests.formats.samples import bank

GOOD = """
from dataclasses import replace
from qbank.formats.jsonl import JsonlFormat

class Reversed(JsonlFormat):
    "JSON Lines under another name, known by its file's."
    def __init__(self):
        super().__init__(name="drum-lines", title="Lines of a drum")
    def recognises(self, package):
        return package.names == ["bank.drum"]

WITHOUT_CALL = Reversed()
LATER = lambda: Reversed()
"""


def install(folder: Path, package: str, module: str, source: str, points: dict[str, str]) -> None:
    """A distribution as an installer leaves it: the module, and a dist-info folder."""
    (folder / f"{module}.py").write_text(source, "utf-8")
    info = folder / f"{package.replace('-', '_')}-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {package}\nVersion: 1.0\n")
    lines = "".join(f"{name} = {value}\n" for name, value in points.items())
    (info / "entry_points.txt").write_text(f"[qbank.formats]\n{lines}")


@pytest.fixture
def site(tmp_path, monkeypatch):
    folder = tmp_path / "site"
    folder.mkdir()
    monkeypatch.syspath_prepend(str(folder))
    yield folder
    for path in folder.glob("*.py"):
        sys.modules.pop(path.stem, None)


@pytest.mark.parametrize("value", ["Reversed", "WITHOUT_CALL", "LATER"])
def test_a_format_of_another_package_writes_is_found_and_reads(site, tmp_path, value):
    install(site, "drum-lines", "drum_lines", GOOD, {"drum-lines": f"drum_lines:{value}"})
    assert format_names() == [*FORMATS, "drum-lines"]
    assert "drum_lines" not in sys.modules
    info, items = bank()
    path = tmp_path / "bank.drum"
    report = write_bank(info, items, path, "drum-lines")
    assert (report.format, report.items) == ("drum-lines", len(items))
    assert find_format("drum-lines").title == "Lines of a drum"
    assert list(read_items(path)) == items
    assert validate_package(path) == []


def test_our_own_names_win(site):
    install(site, "drum-lines", "drum_lines", GOOD, {"csv": "drum_lines:Reversed"})
    assert find_format("csv") is FORMATS["csv"]
    assert format_names() == list(FORMATS)
    assert "drum_lines" not in sys.modules


@pytest.mark.parametrize(
    ("source", "value", "said"),
    [
        ("import no_such_module", "broken:X", "ModuleNotFoundError"),
        ("raise KeyError('in the module')", "broken:X", "KeyError: 'in the module'"),
        ("", "broken:X", "AttributeError"),
        ("def X():\n    raise RuntimeError('no licence')", "broken:X", "RuntimeError: no licence"),
        ("X = 7", "broken:X", "TypeError"),
        ("raise SystemExit(0)", "broken:X", "SystemExit"),
        ("class X:\n    name = 'odd'", "broken:X", "lacks title, capabilities"),
        (GOOD, "broken:Reversed", "calls itself 'drum-lines'"),
    ],
)
def test_a_broken_one_is_named_and_stops_nothing_else(site, tmp_path, source, value, said):
    install(site, "odd-formats", "broken", source, {"odd": value})
    with pytest.raises(QbankError) as caught:
        find_format("odd")
    assert said in caught.value.message
    assert "odd-formats" in caught.value.message
    info, items = bank()
    path = tmp_path / "bank.zip"
    write_bank(info, items, path, "qti-2.2")
    assert validate_package(path) == []
    (tmp_path / "empty").mkdir()
    with pytest.raises(QbankError) as caught:
        validate_package(tmp_path / "empty")
    assert "odd-formats" in (caught.value.hint or "")


def test_one_that_fails_to_recognise_is_named(site, tmp_path):
    source = GOOD.replace('return package.names == ["bank.drum"]', "return 1 / 0")
    install(site, "drum-lines", "drum_lines", source, {"drum-lines": "drum_lines:Reversed"})
    (tmp_path / "empty").mkdir()
    with pytest.raises(QbankError) as caught:
        validate_package(tmp_path / "empty")
    assert "'drum-lines' fails: ZeroDivisionError" in (caught.value.hint or "")


def test_two_packages_with_one_name_are_both_named(site):
    install(site, "drum-lines", "drum_lines", GOOD, {"drum-lines": "drum_lines:Reversed"})
    install(site, "more-drums", "more_drums", GOOD, {"drum-lines": "more_drums:Reversed"})
    with pytest.raises(QbankError, match="drum-lines and more-drums"):
        find_format("drum-lines")


def test_an_unknown_name_lists_those_of_other_packages_too(site):
    install(site, "drum-lines", "drum_lines", GOOD, {"drum-lines": "drum_lines:Reversed"})
    with pytest.raises(QbankError) as caught:
        find_format("drum-line")
    assert "did you mean 'drum-lines'?" in str(caught.value)


def test_help_looks_for_nothing_outside(site):
    install(site, "odd-formats", "broken", "raise SystemExit(9)", {"odd": "broken:X"})
    code = (
        "import sys; sys.argv = ['qbank', '--help']\n"
        "from qbank.cli.main import run\n"
        "try:\n    run()\nfinally:\n"
        "    assert 'broken' not in sys.modules\n"
        "    assert 'qbank.formats.registry' not in sys.modules\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False,
        env={"PYTHONPATH": f"{site}:{Path.cwd()}"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Usage" in done.stdout


def test_a_bank_is_converted_to_it_by_the_command(site, tmp_path, capsys):
    install(site, "drum-lines", "drum_lines", GOOD, {"drum-lines": "drum_lines:Reversed"})
    info, items = bank()
    write_bank(info, items, tmp_path / "bank.jsonl", "jsonl")
    arguments = ["--to", "drum-lines", "--out", str(tmp_path / "out"), "--json"]
    code = exit_code_of(["convert", str(tmp_path / "bank.jsonl"), *arguments])
    report = json.loads(capsys.readouterr().out)
    assert report["package"]["format"] == "drum-lines"
    assert (code, report["lossless"]) == (0, True)
