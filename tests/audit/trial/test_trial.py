"""A trial on questions worded by hand, of every shipped family but one.

Two sets: NEAR uses many of the families' own words, TEXTBOOK the terms of textbooks. Of each, two
of five questions were set aside (`unseen`) while the matcher was mended for the others; the figures
beside the floors are what was reached then, seen and unseen. What is known to go wrong is listed by
name, so that it is seen when it goes right.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from qbank.audit.check import check_bank
from qbank.audit.verdict import Verdict
from tests.audit.trial.banks import ALL, KINDS, NEAR, Outcome, outcomes, rows, unseen
from tests.audit.trial.strangers import STRANGERS
from tests.audit.trial.table import Asked, Part, written
from tests.audit.trial.textbook import TEXTBOOK

WRONG_KINDS = tuple(kind for kind in KINDS if kind.startswith("wrong"))
FREE_FLOORS = {  # set, unseen -> least share of wrong keys found without a binding
    ("near", False): 0.60,  # 118 of 183
    ("near", True): 0.56,  # 81 of 135
    ("textbook", False): 0.31,  # 30 of 85
    ("textbook", True): 0.42,  # 26 of 54
}
MOST_APPROVED = 0.03  # of wrong keys that are told to be right without a binding
LEAST_READ = 0.84  # of right keys told to be right without a binding
LEAST_BOUND = 0.94  # of wrong keys found with a binding; the rest are numbers not read
LEAST_NAMED = 0.72  # of wrong keys found, by cause
# Right keys that are accused: x is neglected where the family will not have it.
KNOWN = {"acid-1", "vinegar-1", "dilution-1"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("trial")


@pytest.fixture(scope="module")
def judged(folder: Path) -> Callable[[str, bool], list[Outcome]]:
    @cache
    def of(kind: str, bound: bool) -> list[Outcome]:
        return outcomes(folder, kind, bound=bound)

    return of


def test_there_are_enough_questions() -> None:
    assert len(ALL) >= 110
    assert len({asked.family for asked in ALL}) >= 66
    assert 0.38 <= sum(map(unseen, ALL)) / len(ALL) <= 0.42
    names = [row.name for row in rows("right")]
    assert len(set(names)) == len(names) >= 230
    assert sum(len(list(rows(kind))) for kind in WRONG_KINDS) >= 440


@pytest.mark.parametrize("bound", [False, True])
def test_no_right_key_is_accused(judged: Callable[[str, bool], list[Outcome]], bound: bool) -> None:
    accused = [one for kind in ("right", "rounded", "other") for one in judged(kind, bound)
               if one.judgement.accuses]  # fmt: skip
    assert {one.row.name for one in accused} <= KNOWN
    if not bound:
        right = judged("right", False)
        read = sum(one.verdict is Verdict.RIGHT for one in right)
        assert read >= LEAST_READ * len(right)


def test_rounded_keys_are_told_to_be_right(judged: Callable[[str, bool], list[Outcome]]) -> None:
    found = [one for one in judged("rounded", True) if one.verdict is not Verdict.UNCHECKED]
    assert len(found) >= 50
    assert sum(one.verdict.right for one in found) >= len(found) - len(KNOWN)


@pytest.mark.parametrize(("name", "aside"), FREE_FLOORS)
def test_wrong_keys_are_found_without_a_binding(
    judged: Callable[[str, bool], list[Outcome]], name: str, aside: bool
) -> None:
    own = {"near": NEAR, "textbook": TEXTBOOK}[name]
    found = [one for kind in WRONG_KINDS for one in judged(kind, False)
             if one.row.asked in own and unseen(one.row.asked) == aside]  # fmt: skip
    accused = [one for one in found if one.verdict is Verdict.WRONG]
    approved = [one for one in found if one.verdict.right]
    assert len(accused) >= FREE_FLOORS[name, aside] * len(found)
    assert len(approved) <= max(2, MOST_APPROVED * len(found))
    assert sum(one.named for one in accused) >= LEAST_NAMED * len(accused)


def test_wrong_keys_are_found_with_a_binding(
    judged: Callable[[str, bool], list[Outcome]],
) -> None:
    found = [one for kind in WRONG_KINDS for one in judged(kind, True)]
    accused = [one for one in found if one.verdict is Verdict.WRONG]
    assert len(accused) >= LEAST_BOUND * len(found)
    assert sum(one.named for one in accused) >= LEAST_NAMED * len(accused)
    assert [one.row.name for one in found if one.verdict is Verdict.RIGHT] == []


@pytest.mark.parametrize("figures", [3, 4])
def test_right_keys_of_questions_that_no_family_solves(folder: Path, figures: int) -> None:
    path = folder / f"strangers-{figures}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(("Ref", "Problem", "Model answer", "Units"))
        for at, (text, answer, unit) in enumerate(STRANGERS):
            writer.writerow((f"stranger-{at}", text, written(answer, figures), unit))
    audit = check_bank(path)
    assert len({one.item for one in audit.judgements}) == len(STRANGERS) >= 70
    accused = [one for one in audit.judgements if one.accuses]
    assert [(one.item, one.how) for one in accused] == []


def test_tables_are_as_they_should_be() -> None:
    for asked in ALL:
        assert isinstance(asked, Asked)
        for part in asked.parts:
            assert isinstance(part, Part)
            right = written(part.value, part.figures)
            for _, value in part.wrong:
                assert float(written(value, part.figures)) != float(right), (asked.name, part.ask)
