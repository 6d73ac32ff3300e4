"""Packages our writers make, in every format, with wrong keys put in and corrected again."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

from qbank.audit.correction.correcting import correct_bank
from qbank.formats.readback import read_items
from qbank.item import Choice, NumberEntry
from qbank.scoring.bank import find_item
from tests.audit.correction.wrong import (
    accuse,
    accuse_choice,
    audit_of,
    items_of,
    spoiled,
    write,
)

FORMATS = ("qti-1.2", "qti-2.1", "qti-2.2", "qti-3.0", "csv", "jsonl")
SCORED = ("qti-1.2", "qti-2.1", "qti-2.2", "qti-3.0")
FAMILIES = ("stepped-drum", "buffer", "mean-interval", "thin-lens")


def members(path: Path) -> dict[str, bytes]:
    if path.is_dir():
        files = sorted(p for p in path.rglob("*") if p.is_file())
        return {str(p.relative_to(path)): p.read_bytes() for p in files}
    if not zipfile.is_zipfile(path):
        return {"": path.read_bytes()}
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


def spoil_first_number(family: str):
    """Items of which the second has a wrong first number, and the judgement on it."""
    items = list(items_of(family))
    right = items[1]
    at, part = next((k, p) for k, p in enumerate(right.parts) if isinstance(p, NumberEntry))
    wrong = spoiled(part)
    parts = (*right.parts[:at], wrong, *right.parts[at + 1 :])
    honest = replace(part, wrong_values=())
    items[1] = replace(right, parts=parts)
    return items, audit_of(accuse(right, wrong, part, 1)), wrong, honest


@pytest.mark.parametrize("unpacked", [False, True], ids=["zip", "folder"])
@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("family", FAMILIES)
def test_one_wrong_number_is_mended_and_nothing_else(tmp_path, family, name, unpacked):
    items, audit, wrong, right = spoil_first_number(family)
    bank = write(items, tmp_path, name, unpacked or name == "csv")
    before = members(bank)
    target = tmp_path / ("mended" if bank.is_dir() else f"mended{bank.suffix}")
    report = correct_bank(bank, audit, target)
    assert report.left == []
    (change,) = report.changes
    assert (change.item, change.old) == (items[1].identifier, wrong.key_text)
    assert float(change.new) == right.key
    after = members(target)
    assert list(after) == list(before)
    assert members(bank) == before
    changed = [member for member in before if before[member] != after[member]]
    assert changed == ["" if bank.is_file() and bank.suffix != ".zip" else change.member]
    # What is left when the numbers of the key are taken out is the same, byte by byte.
    old, new = before[changed[0]].decode(), after[changed[0]].decode()
    assert old.count("\n") == new.count("\n")
    differing = [(a, b) for a, b in zip(old.split("\n"), new.split("\n"), strict=True) if a != b]
    assert 1 <= len(differing) <= 3
    for a, b in differing:
        assert strip_numbers(a) == strip_numbers(b)
    mended = list(read_items(target))[1]
    part = next(p for p in mended.parts if p.identifier == right.identifier)
    assert (part.key, part.key_text) == (right.key, right.key_text)
    assert (part.tolerance.low, part.tolerance.high) == (right.tolerance.low, right.tolerance.high)
    assert not list(tmp_path.glob(".*"))


def strip_numbers(line: str) -> str:
    return re.sub(r"[-−+]?[0-9]+(?:\.[0-9]+)?(?:e-?[0-9]+| × 10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?", "#", line)


@pytest.mark.parametrize("name", SCORED)
@pytest.mark.parametrize("family", FAMILIES)
def test_the_right_answer_scores_after_the_correction(tmp_path, family, name):
    items, audit, wrong, right = spoil_first_number(family)
    bank = write(items, tmp_path, name)
    target = tmp_path / "mended.zip"
    correct_bank(bank, audit, target)
    response = f"RESPONSE_{right.identifier}"

    def score(path: Path, given: str) -> float:
        return find_item(path, items[1].identifier).score({response: given}, 0).score or 0.0

    assert score(bank, right.key_text) == 0.0
    assert score(bank, wrong.key_text) == pytest.approx(right.points)
    assert score(target, right.key_text) == pytest.approx(right.points)
    assert score(target, wrong.key_text) == 0.0


@pytest.mark.parametrize("name", ["qti-1.2", "qti-2.1", "qti-3.0", "csv", "jsonl", "cartridge-1.3"])
def test_a_wrong_option_is_exchanged(tmp_path, name):
    items = list(items_of("stepped-drum"))
    at, part = next(
        (k, p) for k, p in enumerate(items[0].parts)
        if isinstance(p, Choice) and not p.multiple and len(p.options) > 2
    )  # fmt: skip
    right = next(option.identifier for option in part.options if option.correct)
    wrong = next(o.identifier for o in part.options if not o.correct)
    options = tuple(replace(o, correct=o.identifier == wrong) for o in part.options)
    spoilt = replace(part, options=options)
    items[0] = replace(items[0], parts=(*items[0].parts[:at], spoilt, *items[0].parts[at + 1 :]))
    bank = write(items, tmp_path, name, unpacked=True)
    judgement = accuse_choice(items[0], spoilt, (right,))
    if name == "cartridge-1.3":
        judgement = replace(judgement, item=f"{items[0].identifier}_{at + 1}", part="answer")
    report = correct_bank(bank, audit_of(judgement), tmp_path / "mended")
    assert report.left == []
    assert [(c.old, c.new) for c in report.changes] == [(wrong, right)]


def test_the_spellings_of_a_cartridge_are_written_anew(tmp_path):
    items, audit, wrong, right = spoil_first_number("buffer")
    bank = write(items, tmp_path, "cartridge-1.3")
    found = [
        (item, part)
        for item in read_items(bank)
        for part in item.parts
        if isinstance(part, NumberEntry) and part.key_text == wrong.key_text
        and item.identifier.startswith(items[1].identifier)
    ]  # fmt: skip
    ((item, part),) = found
    judgement = replace(audit.judgements[0], item=item.identifier, part=part.identifier)
    report = correct_bank(bank, audit_of(judgement), tmp_path / "mended.zip")
    assert report.left == []
    mended = next(i for i in read_items(tmp_path / "mended.zip") if i.identifier == item.identifier)
    assert mended.parts[0].key_text == right.key_text
    score = find_item(tmp_path / "mended.zip", item.identifier).score
    full = score({"RESPONSE": right.key_text}, 0).score
    assert full == 100
    assert not score({"RESPONSE": wrong.key_text}, 0).score
