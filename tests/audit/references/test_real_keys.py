"""Checking banks of keys that textbooks really printed, right and wrong.

Each entry says which verdict its keys should get; see `real_keys` for where they come from.
"""

from __future__ import annotations

import csv
import importlib.util
from functools import cache
from pathlib import Path

import pytest

from qbank.audit.verdict import Audit, Judgement, Verdict
from qbank.formats.readback import read_items
from qbank.item import NumberEntry
from tests.audit.references.real_keys import ALL, UNCHECKED, WRONG, keys, write_csv, write_qti

PRINTED = list(keys(ALL, "printed"))
CORRECTED = list(keys(ALL, "corrected"))
BANKS = [("csv", "printed"), ("csv", "corrected"), ("qti-3.0", "printed"), ("qti-2.1", "corrected")]
MOST_MISSED = 0.25  # of the wrong keys; a single question gives matching little to go by

needs_check = pytest.mark.skipif(
    importlib.util.find_spec("qbank.audit.check") is None,
    reason="checking a whole bank is not wired yet",
)


def bank(folder: Path, form: str, which: str) -> Path:
    """All entries that have such a key, as a bank of that form."""
    path = folder / (f"{which}.csv" if form == "csv" else f"{which}-{form}.zip")
    if form == "csv":
        write_csv(path, ALL, which)
    else:
        write_qti(path, ALL, which, form)
    return path


@cache
def audits(folder: Path, form: str, which: str) -> Audit:
    from qbank.audit.check import check_bank

    return check_bank(bank(folder, form, which))


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("real-keys")


def judged(audit: Audit) -> dict[str, Judgement]:
    """Judgements by the entry's name; of several on one key the one that accuses."""
    found: dict[str, Judgement] = {}
    for judgement in audit.judgements:
        name = judgement.item
        if name not in found or judgement.accuses:
            found[name] = judgement
    return found


def test_names_are_apart_and_keys_are_numbers() -> None:
    assert len({entry.name for entry in ALL}) == len(ALL)
    for entry, key in (*PRINTED, *CORRECTED):
        assert key.text == "" or float(key.text) is not None
        assert (entry.family == "") == (key.verdict is UNCHECKED)
        assert key.cause == "" or key.verdict is WRONG


def test_the_table_holds_every_key_as_printed(folder: Path) -> None:
    with bank(folder, "csv", "printed").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["id"], row["answer"], row["unit"]) for row in rows] == [
        (entry.name, key.text, entry.unit) for entry, key in PRINTED
    ]


@pytest.mark.parametrize(("form", "which"), [pair for pair in BANKS if pair[0] != "csv"])
def test_a_package_reads_back_as_it_was_written(folder: Path, form: str, which: str) -> None:
    items = list(read_items(bank(folder, form, which)))
    expected = [(e, key) for e, key in keys(ALL, which) if key.text]
    assert len(items) == len(expected)
    for item, (_, key) in zip(items, expected, strict=True):
        (part,) = item.parts
        assert isinstance(part, NumberEntry)
        assert part.key == float(key.text)
        assert part.tolerance.low < part.key < part.tolerance.high


@needs_check
@pytest.mark.parametrize(("form", "which"), BANKS)
def test_no_right_key_is_accused(folder: Path, form: str, which: str) -> None:
    found = judged(audits(folder, form, which))
    accused = {
        entry.name: found[entry.name].verdict
        for entry, key in keys(ALL, which)
        if key.verdict.right and entry.name in found and found[entry.name].accuses
    }
    assert accused == {}


@needs_check
@pytest.mark.parametrize(("form", "which"), BANKS)
def test_no_key_gets_another_verdict_than_it_should(folder: Path, form: str, which: str) -> None:
    """What is not recognised may stay unchecked; what is judged must be judged rightly."""
    found = judged(audits(folder, form, which))
    other = {
        entry.name: (found[entry.name].verdict, key.verdict)
        for entry, key in keys(ALL, which)
        if entry.name in found and found[entry.name].verdict not in (key.verdict, Verdict.UNCHECKED)
    }
    assert other == {}


@needs_check
@pytest.mark.parametrize("form", ["csv", "qti-3.0"])
def test_most_wrong_keys_are_found_and_their_slip_named(folder: Path, form: str) -> None:
    found = judged(audits(folder, form, "printed"))
    wrong = {entry.name: key for entry, key in PRINTED if key.verdict is WRONG}
    missed = sorted(name for name in wrong if found[name].verdict is not WRONG)
    assert len(missed) <= MOST_MISSED * len(wrong), missed
    for name, key in wrong.items():
        cause = found[name].cause
        if key.cause and name not in missed:
            assert cause is not None, name
            assert key.cause in (cause.code, *(other.code for other in found[name].others)), name


@needs_check
def test_a_missing_key_is_seen(folder: Path) -> None:
    found = judged(audits(folder, "csv", "printed"))
    assert found["piston"].verdict is Verdict.DEFECT
