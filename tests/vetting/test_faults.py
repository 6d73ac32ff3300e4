"""All faults of a file at once, and none that is not there."""

import pytest

from qbank.errors import FamilyError
from qbank.vetting.faults import MOST_FAULTS, read_faults
from tests.family import (
    bad as one_fault,
)
from tests.family import (
    test_bad_answers,
    test_bad_families,
    test_bad_given,
    test_bad_relations,
    test_bad_texts,
)

TABLES = (test_bad_answers, test_bad_families, test_bad_given, test_bad_relations, test_bad_texts)

EDITS = [
    bad
    for table in TABLES
    for group in vars(table).values()
    if isinstance(group, list)
    for bad in group
    if isinstance(bad, one_fault.Bad)
]


def faults_of(text, tmp_path):
    path = tmp_path / "cart.yaml"
    path.write_text(text, encoding="utf-8")
    return read_faults(path)


@pytest.mark.parametrize("first", range(8))
def test_one_fault_is_reported_as_one(first, tmp_path):
    """What follows from it counts as well: a wrong unit makes every use of it disagree."""
    looked = 0
    for bad in EDITS[first::8]:
        text = one_fault.edited(bad).replace("«", "").replace("»", "")
        try:
            faults, _ = faults_of(text, tmp_path)
        except FamilyError:
            continue
        looked += 1
        messages = [fault.message for fault in faults]
        assert bad.message in messages
        others = [said for said in messages if said != bad.message]
        assert not others or all(" is a " in said or "found a" in said for said in others) or (
            others == ["'ym' is an intermediate quantity that nothing uses"]
        )  # fmt: skip
    assert looked > 10


def test_as_many_faults_as_there_are(tmp_path):
    rules = "".join(
        f"  - {{need: m > {k} N, because: of the test}}\n" for k in range(MOST_FAULTS + 5)
    )
    text = one_fault.GOOD.replace("rules:\n", "rules:\n" + rules, 1)
    assert text != one_fault.GOOD
    faults, whole = faults_of(text, tmp_path)
    assert len(faults) == MOST_FAULTS
    assert not whole
    lines = [fault.place.line for fault in faults]
    assert lines == list(range(lines[0], lines[0] + MOST_FAULTS))


def test_a_good_file_has_none(tmp_path):
    assert faults_of(one_fault.GOOD, tmp_path) == ([], True)
