"""`qbank make --one-item` as it is typed."""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile

import pytest

from tests.parametrised import families


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Two family files: one that can be one item, one that cannot."""
    folder = tmp_path_factory.mktemp("families")
    for name in ("square", "cube"):
        head = families.HEAD.format(name=name)
        (folder / f"{name}.yaml").write_text(head + getattr(families, name.upper()))
    return folder


def qbank(folder, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "qbank", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_what_is_written_and_what_is_told(folder):
    done = qbank(folder, "make", "./square.yaml", "./cube.yaml", "--one-item", "--to", "qti-2.1")
    assert done.returncode == 0, done.stderr
    assert done.stdout == "exports/bank-one-item-qti-2.1.zip\n"
    assert "not written as one item: cube: x is a root of a polynomial of degree 3" in done.stderr
    assert "square" in done.stderr.splitlines()[2]
    responses = folder / "exports" / "bank-one-item-qti-2.1.zip"
    with zipfile.ZipFile(responses) as archive:
        assert b"<itemTemplate>true</itemTemplate><timeDep" in archive.read("imsmanifest.xml")
    scored = qbank(folder, "score", str(responses), "RESPONSE_R1=1e9", "--json")
    assert json.loads(scored.stdout)["score"] == 0, scored.stderr


def test_json_holds_the_reasons(folder):
    done = qbank(folder, "make", "./square.yaml", "./cube.yaml", "--one-item", "--to", "qti-3.0",
                 "--json", "--out", "as-json")  # fmt: skip
    report = json.loads(done.stdout)
    assert set(report["families"]) == {"square"}
    assert report["families"]["square"]["acceptance"] > 0.5
    assert list(report["refused"]) == ["cube"]
    assert [package["format"] for package in report["packages"]] == ["qti-3.0"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--to", "csv"], "the format 'csv' has no rules that draw data"),
        (["--count", "3"], "--count cannot go with --one-item"),
        (["--seed", "3"], "--seed cannot go with --one-item"),
    ],
)
def test_what_cannot_go_together_is_refused(folder, arguments, said):
    done = qbank(folder, "make", "./square.yaml", "--one-item", "--out", "none", *arguments)
    assert done.returncode == 2
    assert said in done.stderr
    assert not (folder / "none").exists()


def test_a_family_that_cannot_be_one_item_is_an_error(folder):
    done = qbank(folder, "make", "./cube.yaml", "--one-item", "--out", "none")
    assert done.returncode == 2
    assert "no family can be one item: cube: x is a root of a polynomial" in done.stderr
    assert not (folder / "none").exists()


def test_a_language_with_a_decimal_comma_is_told_of(folder):
    done = qbank(folder, "make", "carnot-engine", "--one-item", "--language", "de", "--to",
                 "qti-3.0", "--out", "german")  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "decimal point" in done.stderr
