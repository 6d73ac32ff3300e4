"""Faults put into whole banks of three families: all that can be told are found, no good key is
accused. The full banks are in `python -m tests.bench faults`."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from qbank.audit.check import check_bank
from qbank.audit.verdict import Audit, Level, Verdict
from tests.bench.faultbank.banks import (
    ACCEPTS,
    OPTION,
    REJECTS,
    SHIFTED,
    TABLE,
    Bank,
    make_bank,
    write,
)
from tests.bench.faultbank.faults import KINDS
from tests.bench.faultbank.outcome import Outcome, weigh

FAMILIES = ("line-throw", "stepped-drum", "terminal-speed")
OTHERS = ("level-launch", "lift-work", "rough-slope-pulley", "weak-acid")  # might be taken instead
N = 50


@cache
def checked(kind: str | None, name: str, share: float = 0.3) -> tuple[Bank, Audit, Outcome]:
    bank = make_bank(FAMILIES, N, share, kind, bands=kind is None)
    with TemporaryDirectory() as folder:
        audit = check_bank(write(bank, Path(folder), name), families=(*FAMILIES, *OTHERS))
    return bank, audit, weigh(Outcome(), bank, audit)


def test_the_bank_has_faults_of_every_kind() -> None:
    put = {fault.kind for fault in checked(None, "jsonl")[0].faults.values()}
    assert put >= {*KINDS, "parts swapped", REJECTS, ACCEPTS}
    assert put & {OPTION, SHIFTED}


@pytest.mark.parametrize(
    ("kind", "name", "level"),
    [
        (None, "jsonl", Level.SAME_FAMILY),
        ("listed", TABLE, Level.MATCHED),
        ("prose", "qti-3.0", Level.MATCHED),
        ("sloppy", TABLE, Level.MATCHED),
    ],
)
def test_every_fault_is_found_and_no_good_key_accused(
    kind: str | None, name: str, level: Level
) -> None:
    _, audit, outcome = checked(kind, name)
    assert outcome.wrong >= 25
    assert outcome.good >= 150
    assert (outcome.found, outcome.lost) == (outcome.wrong, [])
    assert (outcome.accused, outcome.blamed) == (0, 0)
    assert outcome.named_share >= 0.9
    proved = {j.level for j in audit.judgements if j.verdict is Verdict.WRONG}
    assert proved == {level}


@pytest.mark.parametrize(("kind", "name"), [(None, "qti-2.1"), ("prose", TABLE)])
def test_a_clean_bank_gives_no_finding(kind: str | None, name: str) -> None:
    _, audit, outcome = checked(kind, name, 0.0)
    assert outcome.good == outcome.judged == outcome.keys > 0
    assert not [j for j in audit.judgements if j.accuses]


def test_other_usual_values_of_g_are_told_and_not_accused() -> None:
    """Stems in prose leave g to the reader, so 9.8 and 10 m/s² are no mistakes."""
    bank, audit, _ = checked("prose", "qti-3.0")
    other = {at for at, fault in bank.faults.items() if fault.kind == "other g" and not fault.wrong}
    told = [j for j in audit.judgements if (j.item, int(j.part[1:])) in other]
    assert len(told) == len(other) > 0
    assert all(j.verdict.right for j in told)
    assert any(j.verdict is Verdict.OTHER_CONSTANT for j in told)
