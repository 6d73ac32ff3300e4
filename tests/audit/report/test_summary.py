"""The text for the terminal: order, width, length, and silence that never looks like approval."""

from __future__ import annotations

from dataclasses import replace

import pytest

from qbank.audit.correction.changes import Change, CorrectionReport, Left
from qbank.audit.report import as_page
from qbank.audit.report.corrections import correction_summary
from qbank.audit.report.summary import summary
from qbank.audit.report.worst import accusing, count, headline
from qbank.audit.verdict import Audit, Level, Verdict
from qbank.finding import Severity
from tests.audit.report.made import SLIPPED, full, hostile, judgement, unchecked


def test_the_worst_stands_first():
    found = [(j.item, j.level) for j in accusing(full())]
    assert found == [
        ("item-12", Level.SAME_FAMILY), ("item-3", Level.BOUND), ("item-6", Level.MATCHED),
        ("item-7", Level.MATCHED), ("item-5", Level.SELF_EVIDENT), ("item-4", Level.OUTLIER),
    ]  # fmt: skip


def test_a_finding_says_what_a_person_needs():
    text = summary(full())
    for line in (
        "  4. item-7, part A [slip:diameters]",
        "     error, wrong; level 3 matched to a family; confidence 97 %",
        "     states     48.2 N",
        "     should be  24.1 N",
        "     cause      The diameters were used where radii belong.",
        "     or         The result was doubled.",
        "     at         items/7.xml:3",
    ):
        assert line in text.splitlines()
    assert text.index("What should be looked at") < text.index("No errors, but with a remark")
    assert text.index("No errors") < text.index("Not checked") < text.index("How stems were read")
    assert "  27 its stem holds no numbers" in text
    assert "    - 4.0 kg is m_a, the left load" in text
    assert "Columns, as they were understood" in text
    assert "Not read: 3 things of the bank" in text


def test_counts_stand_under_their_words():
    lines = summary(full()).splitlines()
    at = next(k for k, line in enumerate(lines) if line.startswith("rests on"))
    assert lines[at].split() == [
        "rests", "on", "right", "with", "remark", "wrong", "suspicious", "defective",
    ]  # fmt: skip
    rows = {line.split()[0]: line.split()[-5:] for line in lines[at + 1 : at + 6]}
    assert rows == {
        "1": ["1", "-", "1", "-", "-"], "2": ["-", "-", "1", "-", "-"],
        "3": ["2", "2", "2", "-", "-"], "4": ["-", "-", "-", "1", "-"],
        "5": ["-", "-", "-", "-", "1"],
    }  # fmt: skip


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("audit", [full, hostile], ids=["full", "hostile"])
def test_no_line_is_wider_than_the_terminal(audit, width):
    lines = summary(audit(), width).splitlines()
    if width >= 80:
        assert max(map(len, lines)) <= width
    else:  # the table of counts has a width of its own
        assert sum(len(line) > width for line in lines) <= 8


def test_nothing_that_a_terminal_obeys_is_left():
    text = summary(hostile(), most=None)
    assert all(char == "\n" or char.isprintable() for char in text)


def test_length_is_limited_unless_all_is_asked_for():
    many = Audit("b", "f", 50, [replace(SLIPPED, number=k, item=f"i{k}") for k in range(50)])
    text = summary(many)
    assert text.count("should be  24.1 N") == 20
    assert "30 more are not shown; --all shows them." in text
    assert summary(many, most=None).count("should be  24.1 N") == 50


def test_silence_never_looks_like_approval():
    for audit in (
        Audit("b", "f", 0), Audit("b", "f", 2, [unchecked(0), unchecked(1)]),
    ):  # fmt: skip
        assert "NOTHING WAS CHECKED" in summary(audit)
        assert "Nothing to find fault with" not in summary(audit)
        assert count(audit).nothing
    partly = Audit("b", "f", 2, [judgement(0), unchecked(1)])
    assert headline(partly) == (
        "Nothing to find fault with in the one key that could be checked. 1 key could not be "
        "checked, so nothing is known of it."
    )
    defect = Audit("b", "f", 1, [judgement(0, verdict=Verdict.DEFECT, level=Level.SELF_EVIDENT)])
    assert not count(defect).nothing


def test_keys_are_counted_once():
    both = [judgement(0), judgement(0, verdict=Verdict.DEFECT, level=Level.SELF_EVIDENT)]
    found = count(Audit("b", "f", 1, both))
    assert (found.keys, found.checked, found.accused) == (1, 1, 1)


def test_what_a_corrected_copy_tells(tmp_path):
    report = CorrectionReport(
        tmp_path / "m.zip",
        [Change("i1", "A", "i1.xml", "12.5", "7.25", ("7.2", "7.3"), ("read it again",))] * 3,
        [Left("i2", "A", "its text is broken up")],
    )
    text = correction_summary(report, 80, 2)
    assert "3 keys replaced" in " ".join(text.split())
    assert text.count("i1, A: 12.5 is now 7.25, accepted from 7.2 to 7.3") == 2
    assert "1 more" in text
    assert "i2, A: left as it was, because its text is broken up" in text


@pytest.mark.parametrize(
    ("right", "wrong", "rest", "said"),
    [
        (1, 0, 0, "Nothing to find fault with in the one key that could be checked."),
        (2, 0, 0, "Nothing to find fault with among the 2 keys that could be checked."),
        (0, 1, 0, "The one key that could be checked should be looked at."),
        (0, 2, 0, "All 2 keys that could be checked should be looked at."),
        (1, 1, 1, "1 of the 2 keys that could be checked should be looked at. 1 key could not be "
         "checked, so nothing is known of it."),
        (0, 0, 1, "NOTHING WAS CHECKED: the one key could not be judged. That says nothing about "
         "whether it is right."),
    ],
)  # fmt: skip
def test_the_headline_counts_as_people_do(right, wrong, rest, said):
    kinds = [*[judgement] * right, *[accused] * wrong, *[unchecked] * rest]
    audit = Audit("b", "f", len(kinds), [make(number) for number, make in enumerate(kinds)])
    assert headline(audit) == said


def accused(number):
    return judgement(number, verdict=Verdict.WRONG, severity=Severity.ERROR)


def test_an_item_without_parts_is_named_without_a_gap():
    found = [replace(unchecked(number), part="") for number in range(2)]
    assert "item-0, item-1\n" in summary(Audit("b", "f", 2, found), 80, None) + "\n"


def test_a_finding_on_an_item_as_a_whole_names_no_part():
    whole = judgement(3, part="", verdict=Verdict.DEFECT, severity=Severity.ERROR, code="unscored")
    audit = Audit("b", "f", 1, [whole])
    assert "  1. item-3 [unscored]\n" in summary(audit, 80, None)
    assert "<h3>1. item-3</h3>" in as_page(audit)
