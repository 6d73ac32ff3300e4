"""All faults of a file at once, and none that is not there."""

import re

import pytest

from qbank.errors import FamilyError
from qbank.vetting.faults import MOST_FAULTS, read_faults
from tests.docs import README
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

README_FAMILIES = re.findall(r"```yaml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)


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


def test_faults_of_every_section_come_to_light_together(tmp_path):
    """Also behind a misspelt key, a heading that is refused, and a number that cannot be read."""
    kettle = next(block for block in README_FAMILIES if block.startswith("family: kettle"))
    for old, new in (
        ("family: kettle", "family: kettles"),
        ("version: 1.0.0", "version: 1"),
        ("8 .. 25 by 1 °C", "8 .. 25 by 0 °C"),
        ("figures: 3", "figurs: 3"),
        ("t > 60 s", "t > 60 kg"),
        ("\nslips:", "\nslip:"),
        ("points: 2", "points: two"),
        ("{law energy}", "{law enrgy}"),
    ):
        assert kettle.count(old) == 1, old
        kettle = kettle.replace(old, new)
    path = tmp_path / "kettle.yaml"
    path.write_text(kettle, encoding="utf-8")
    faults, whole = read_faults(path)
    assert whole
    assert len({fault.place.line for fault in faults}) == 8


def test_a_fault_in_the_only_part_is_one(tmp_path):
    text = one_fault.SMALL.replace("enter: v", "enter: w")
    path = tmp_path / "f.yaml"
    path.write_text(text, encoding="utf-8")
    faults, whole = read_faults(path)
    assert [fault.message for fault in faults] == ["part 1: 'w' names nothing in this family"]
    assert not whole
