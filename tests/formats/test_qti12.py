"""QTI 1.2.1 packages: hand-broken ones are caught by a named rule; forms that the standard's
defaults make dangerous (mapping note, h 50) are stated. Reading back and grading are tested with
the other formats (test_reading, tests/test_graded)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import etree

from qbank.formats.readback import read_items
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Pool, WrongValue
from qbank.scoring.bank import find_item
from tests.formats.packages import change, swap, write_sample
from tests.formats.samples import simple, winch

ITEM = "item-i0123456789-0.xml"
SPACE = {"q": "http://www.imsglobal.org/xsd/ims_qtiasiv1p2"}


@pytest.fixture
def package(tmp_path):
    return write_sample(tmp_path, "qti-1.2")


@pytest.mark.parametrize(
    ("member", "old", "new", "rule"),
    [
        (ITEM, '<vargte respident="RESPONSE_P">', "<vargte>", "qti-1.2:vargte"),
        (ITEM, ' texttype="text/html"', "", "qti-1.2:material"),
        (ITEM, "<presentation>", "<presentation><response_xy/>", "qti-1.2:presentation"),
        (ITEM, 'vartype="Decimal"', 'vartype="Integer"', "qti-1.2:resprocessing"),
        (ITEM, 'minvalue="0" maxvalue="7.5"', 'minvalue="0" maxvalue="9"', "score.maximum"),
        (ITEM, '"RIGHT" continue="Yes"', '"RIGHT" continue="No"', "score.continue"),
        (ITEM, 'respident="RESPONSE_t"', 'respident="RESPONSE_u"', "rule.declared"),
        (ITEM, 'case="Yes">C1<', 'case="Yes">C9<', "rule.option"),
        (ITEM, 'ident="RESPONSE_t" r', 'ident="RESPONSE_P" r', "response.unique"),
        (ITEM, 'response_label ident="C2"', 'response_label ident="C1"', "option.unique"),
        (ITEM, 'linkrefid="SOLUTION"', 'linkrefid="OTHER"', "feedback.declared"),
        (ITEM, 'linkrefid="SOLUTION"', 'linkrefid="OTHER"', "feedback.reachable"),
        (ITEM, 'feedbacktype="Solution"', 'feedbacktype="Hint"', "feedback.kind"),
        (ITEM, 'itemfeedback ident="SOLUTION"', 'itemfeedback ident="FEEDBACK_law.C1"',
         "feedback.unique"),
        (ITEM, "<fieldentry>196.2<", "<fieldentry>1962<", "band.key"),
        (ITEM, "varlte respident=\"RESPONSE_t\">6.05", "varlte respident=\"RESPONSE_t\">5.05",
         "band.order"),
        (ITEM, '"RESPONSE_P">20.2</varlte>', '"RESPONSE_P">200</varlte>', "band.apart"),
        (ITEM, "&lt;p&gt;A winch", "&lt;p&gt;&lt;b&gt;A winch", "html.well-formed"),
        (ITEM, "&lt;p&gt;A winch", "&lt;script/&gt;&lt;p&gt;A winch", "html.element"),
        (ITEM, "&lt;p&gt;A winch", "&lt;img alt='x' src='y.png'/&gt;&lt;p&gt;A", "picture.file"),
        (ITEM, "</item>", "", "xml.well-formed"),
        (ITEM, 'item ident="i0123456789-0"', 'item ident="i0123456789-1"', "item.unique"),
        ("imsmanifest.xml", '<file href="test.xml"/>', '<file href="rest.xml"/>', "manifest.href"),
        ("imsmanifest.xml", 'resource identifier="j0"', 'resource identifier="j1"',
         "manifest.unique"),
        ("imsmanifest.xml", '<file href="item-j0.xml"/>', '<file href="item-j1.xml"/>',
         "manifest.listed-once"),
        ("imsmanifest.xml", '<file href="item-j0.xml"/>', '<file href="item-j1.xml"/>',
         "manifest.file"),
        ("imsmanifest.xml", "<organizations/>", "", "manifest-qti-1.2:manifest"),
        ("test.xml", '<itemref linkrefid="j1"/>', "", "test.complete"),
        ("test.xml", 'linkrefid="j1"', 'linkrefid="j2"', "test.item"),
        ("test.xml", 'linkrefid="j1"', 'linkrefid="j0"', "test.unique"),
        ("test.xml", "POOL_half", "POOL_quay-winch", "test.section"),
        ("test.xml", "<selection_number>1<", "<selection_number>0<", "qti-1.2:section"),
    ],
)  # fmt: skip
def test_a_broken_package_is_caught_by_the_rule(package, member, old, new, rule):
    assert validate_package(package) == []
    change(package, member, swap(old, new))
    assert rule in {finding.rule for finding in validate_package(package)}


def test_a_file_that_no_resource_lists_is_found(package):
    (package / "extra.xml").write_text("<x/>", encoding="utf-8")
    assert {f.rule for f in validate_package(package)} == {"manifest.complete"}


def test_forms_with_dangerous_defaults_are_stated(package):
    item = etree.parse(package / ITEM)
    conditions = item.findall(".//q:respcondition", SPACE)
    assert len(conditions) > 5
    assert {c.get("continue") for c in conditions} == {"Yes"}
    assert {n.get("numtype") for n in item.iterfind(".//q:response_num", SPACE)} == {"Decimal"}
    assert {v.get("case") for v in item.iterfind(".//q:varequal", SPACE)} == {"Yes"}
    assert {v.get("vartype") for v in item.iterfind(".//q:decvar", SPACE)} == {"Decimal"}


def test_each_candidate_is_shown_one_item_of_a_pool(package):
    sections = etree.parse(package / "test.xml").findall(".//q:section", SPACE)
    found = {
        section.get("ident"): (
            section.findtext(".//q:selection_number", "", SPACE),
            len(section.findall("q:itemref", SPACE)),
        )
        for section in sections
    }
    assert found == {"POOL_quay-winch": ("1", 3), "POOL_half": ("1", 2)}


def test_where_ranges_meet_the_first_wins(tmp_path):
    item = simple()
    part = item.parts[0]
    low = part.tolerance.low
    wrong = (
        WrongValue("halved twice", 0.6, low - 0.2, low, ("Halved twice.",)),
        WrongValue("near", 0.7, low - 0.1, low - 0.02, ("Near.",)),
    )
    item = replace(item, parts=(replace(part, wrong_values=wrong),))
    info = BankInfo("b", "b", "en", (Pool("p", "p", 1, 1),))
    write_bank(info, [item], tmp_path / "b.zip", "qti-1.2")
    form = find_item(tmp_path / "b.zip", item.identifier)

    def said(answer):
        score = form.score({"RESPONSE_h": answer})
        return score.score, [f.text for f in score.feedback]

    assert said(repr(low)) == (1.0, [])
    assert said(repr(low - 0.05)) == (0.0, ["Halved twice."])
    assert said(repr(low - 0.01)) == (0.0, ["Halved twice."])
    assert said("") == (0.0, [])
    (back,) = read_items(tmp_path / "b.zip")
    assert [(w.low, w.high) for w in back.parts[0].wrong_values] == [(w.low, w.high) for w in wrong]


def test_hints_show_while_something_is_unanswered(package):
    form = find_item(package, "i0123456789-1")
    shown = {f.outcome for f in form.score({}).feedback}
    assert shown == {"Hint", "Solution"}
    full = {"RESPONSE_P": "201.1", "RESPONSE_t": "6.0", "RESPONSE_turns": "C1",
            "RESPONSE_law": "C1", "RESPONSE_holds": ["C1", "C3"]}  # fmt: skip
    score = form.score(full)
    assert score.score == score.maximum == winch(1).points
    assert "Hint" not in {f.outcome for f in score.feedback}
