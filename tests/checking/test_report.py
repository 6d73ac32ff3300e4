"""What a report counts, keeps, says and raises."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from qbank.checking.report import KEPT, CheckReport, Failure
from qbank.errors import CheckFailed, FamilyError
from qbank.place import Place

FAILURE = Failure(
    check="law-residual",
    family="lever",
    seed=7,
    index=3,
    subject="law moments",
    sentence="its sides differ by 0.5",
    numbers={"difference": 0.5, "L": float("inf")},
    command="qbank show lever --seed 7 --index 3",
)


def report(*failures: Failure) -> CheckReport:
    made = CheckReport()
    made.count("finite", 10, 10)
    made.count("law-residual", 10, 10)
    made.count("confirm", 5, 5)
    for failure in failures:
        made.count(failure.check, 1, 0)
        made.add(failure)
    return made


def test_a_report_without_failures_is_fine():
    sound = report()
    sound.ensure()
    assert sound.ok
    assert (sound.made, sound.passed) == (25, 25)


def test_a_failure_says_where_and_how_to_see_it():
    broken = report(FAILURE)
    assert not broken.ok
    with pytest.raises(CheckFailed) as caught:
        broken.ensure()
    assert caught.value.exit_code == 3
    assert str(caught.value) == (
        "lever: instance 3 of seed 7 fails the check law-residual: law moments: its sides differ"
        " by 0.5\n    see it with: qbank show lever --seed 7 --index 3\n"
        "    1 of 11 checks 'law-residual' failed; 1 of 26 checks in all"
    )


def test_what_the_author_can_mend_is_a_fault_of_the_family():
    place = Place("lever.yaml", 9, 3)
    said = replace(FAILURE, check="confirm", place=place)
    with pytest.raises(FamilyError) as caught:
        report(said).ensure()
    assert caught.value.exit_code == 2
    assert str(caught.value).startswith("lever.yaml:9:3: lever: instance 3 of seed 7 fails")
    # a law that does not hold is more telling than a confirmation that does not
    with pytest.raises(CheckFailed, match="law-residual"):
        report(said, FAILURE).ensure()


def test_json_holds_counts_and_failures_and_only_finite_numbers():
    text = json.dumps(report(FAILURE).as_json(), allow_nan=False)
    read = json.loads(text)
    assert read["made"] == 26
    assert read["checks"]["law-residual"] == {"made": 11, "passed": 10}
    (failure,) = read["failures"]
    assert failure["numbers"] == {"difference": 0.5, "L": "inf"}
    assert failure["show"] == "qbank show lever --seed 7 --index 3"


def test_text_is_a_table_and_the_failures():
    lines = report(FAILURE).as_text().splitlines()
    assert lines[0].split() == ["check", "made", "passed"]
    assert lines[2].split() == ["law-residual", "11", "10"]
    assert lines[-1].strip() == FAILURE.command
    assert "law moments" in lines[-2]


def test_failures_are_all_counted_and_some_kept():
    broken = CheckReport()
    for index in range(KEPT):
        assert broken.wants("law-residual") == KEPT - index
        broken.add(replace(FAILURE, index=index))
    assert broken.wants("law-residual") == 0
    assert broken.wants("confirm") == KEPT


def test_reports_of_workers_add_up():
    total = report(FAILURE)
    total.merge(report(*[replace(FAILURE, index=k) for k in range(KEPT + 5)]))
    assert total.tallies["law-residual"].made == 20 + 1 + KEPT + 5
    assert len(total.failures) == KEPT
    assert total.made - total.passed == KEPT + 6
