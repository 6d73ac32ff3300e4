"""Rules across elements and files: names that refer to nothing, numbers that disagree."""

from __future__ import annotations

import pytest

from qbank.formats.dialects import DIALECTS
from qbank.formats.validate import validate_package
from tests.formats.packages import change, swap, write_sample

WINCH = "items/quay-winch/i0123456789-0.xml"
HINTED = "items/quay-winch/i0123456789-1.xml"

ITEM_FAULTS = [
    (
        WINCH,
        '<textEntryInteraction class="figures-4" responseIdentifier="RESPONSE_P"',
        '<textEntryInteraction class="figures-4" responseIdentifier="RESPONSE_Q"',
        "interaction.declared",
    ),
    (
        WINCH,
        ' responseIdentifier="RESPONSE_t"',
        ' responseIdentifier="RESPONSE_P"',
        "interaction.unique",
    ),
    (
        WINCH,
        ' responseIdentifier="RESPONSE_law"',
        ' responseIdentifier="RESPONSE_t"',
        "interaction.type",
    ),
    (
        WINCH,
        ' responseIdentifier="RESPONSE_t"',
        ' responseIdentifier="RESPONSE_P"',
        "interaction.missing",
    ),
    (WINCH, '<simpleChoice identifier="C2"', '<simpleChoice identifier="C1"', "option.unique"),
    (WINCH, "<value>C2</value>", "<value>C9</value>", "key.option"),
    (
        WINCH,
        "<value>C1</value><value>C3</value>",
        "<value>C1</value><value>C1</value>",
        "key.unique",
    ),
    (WINCH, ' maxChoices="0"', ' maxChoices="1"', "choice.cardinality"),
    (
        WINCH,
        '<outcomeDeclaration identifier="SCORE_t"',
        '<outcomeDeclaration identifier="SCORE_P"',
        "variable.unique",
    ),
    (
        WINCH,
        '<outcomeDeclaration identifier="SOLUTION"',
        '<outcomeDeclaration identifier="duration"',
        "variable.unique",
    ),
    (
        WINCH,
        '<gte><variable identifier="RESPONSE_P"/>',
        '<gte><variable identifier="NONE"/>',
        "rule.declared",
    ),
    (
        WINCH,
        '<setOutcomeValue identifier="SCORE_P">',
        '<setOutcomeValue identifier="SCORE_Q">',
        "rule.declared",
    ),
    (
        WINCH,
        '<match><variable identifier="RESPONSE_law"/>',
        '<match><variable identifier="RESPONSE_t"/>',
        "rule.match",
    ),
    (
        WINCH,
        '<setOutcomeValue identifier="FEEDBACK_P"><baseValue baseType="identifier">',
        '<setOutcomeValue identifier="SCORE_P"><baseValue baseType="identifier">',
        "rule.type",
    ),
    (
        WINCH,
        '<setOutcomeValue identifier="FEEDBACK_holds">',
        '<setOutcomeValue identifier="FEEDBACK_law">',
        "rule.cardinality",
    ),
    (
        WINCH,
        '<setOutcomeValue identifier="SOLUTION"><baseValue baseType="identifier">WORKED',
        '<setOutcomeValue identifier="SOLUTION"><baseValue baseType="identifier">OTHER',
        "feedback.reachable",
    ),
    (
        WINCH,
        '<modalFeedback outcomeIdentifier="SOLUTION"',
        '<modalFeedback outcomeIdentifier="SCORE"',
        "feedback.declared",
    ),
    (
        WINCH,
        ' outcomeIdentifier="FEEDBACK_holds" identifier="C2"',
        ' outcomeIdentifier="FEEDBACK_holds" identifier="C1"',
        "feedback.unique",
    ),
    (
        HINTED,
        '<setOutcomeValue identifier="completionStatus">',
        '<setOutcomeValue identifier="SOLUTION">',
        "adaptive.completed",
    ),
    (WINCH, "<defaultValue><value>7.5</value>", "<defaultValue><value>8</value>", "score.maximum"),
    (WINCH, ' normalMaximum="7.5"', ' normalMaximum="8"', "score.normal"),
    (WINCH, '<variable identifier="SCORE_t"/>', "", "score.summed"),
    (WINCH, 'identifier="MAXSCORE"', 'identifier="MOST"', "score.declared"),
    (
        WINCH,
        '<baseValue baseType="float">194.238</baseValue>',
        '<baseValue baseType="float">197</baseValue>',
        "band.key",
    ),
    (
        WINCH,
        '<baseValue baseType="float">194.238</baseValue>',
        '<baseValue baseType="float">199</baseValue>',
        "band.order",
    ),
    (
        WINCH,
        '<baseValue baseType="float">20.2</baseValue>',
        '<baseValue baseType="float">195</baseValue>',
        "band.apart",
    ),
]


@pytest.mark.parametrize("format_name", list(DIALECTS))
@pytest.mark.parametrize(("member", "old", "new", "rule"), ITEM_FAULTS)
def test_a_broken_item_is_caught_by_name(tmp_path, format_name, member, old, new, rule):
    markup = DIALECTS[format_name].markup
    package = write_sample(tmp_path, format_name)
    change(package, member, swap(markup(old), markup(new)))
    findings = [f for f in validate_package(package) if f.rule == rule]
    assert findings
    assert findings[0].member == member
    assert findings[0].line is not None
    assert "mapping h, defect" in findings[0].source


PACKAGE_FAULTS = [
    ("imsmanifest.xml", '<dependency identifierref="j0"/>\n', "", "manifest.test-dependencies"),
    (
        "imsmanifest.xml",
        '<dependency identifierref="j0"/>',
        '<dependency identifierref="j9"/>',
        "manifest.dependency",
    ),
    (
        "imsmanifest.xml",
        '<resource identifier="j1"',
        '<resource identifier="j0"',
        "manifest.unique",
    ),
    (
        "imsmanifest.xml",
        '<file href="items/half/j1.xml"/>',
        '<file href="items/half/j0.xml"/>',
        "manifest.listed-once",
    ),
    (
        "imsmanifest.xml",
        '<file href="items/half/j1.xml"/>',
        '<file href="items/half/j0.xml"/>',
        "manifest.file",
    ),
    (
        "imsmanifest.xml",
        '<file href="items/half/j1.xml"/>',
        '<file href="items/half/gone.xml"/>',
        "manifest.href",
    ),
    ("test.xml", 'identifier="j1"', 'identifier="j0"', "test.unique"),
    ("test.xml", 'identifier="POOL_half"', 'identifier="POOL_quay-winch"', "test.section"),
    ("test.xml", 'href="items/half/j1.xml"', 'href="items/half/gone.xml"', "test.href"),
]


@pytest.mark.parametrize("format_name", list(DIALECTS))
@pytest.mark.parametrize(("member", "old", "new", "rule"), PACKAGE_FAULTS)
def test_a_broken_reference_between_files_is_caught_by_name(
    tmp_path, format_name, member, old, new, rule
):
    package = write_sample(tmp_path, format_name)
    change(package, member, swap(old, new))
    assert rule in {f.rule for f in validate_package(package)}


@pytest.mark.parametrize("format_name", list(DIALECTS))
def test_a_missing_item_reference_and_a_stray_file_are_caught(tmp_path, format_name):
    package = write_sample(tmp_path, format_name)
    markup = DIALECTS[format_name].markup
    line = markup('<assessmentItemRef identifier="j1" href="items/half/j1.xml"/>\n')
    change(package, "test.xml", swap(line, ""))
    (package / "items" / "stray.xml").write_text("<x/>", encoding="utf-8")
    rules = {f.rule for f in validate_package(package)}
    assert {"test.complete", "manifest.complete"} <= rules


def test_a_package_without_manifest_test_or_sound_xml_says_so(tmp_path):
    package = write_sample(tmp_path, "qti-2.1")
    change(package, WINCH, swap("</itemBody>", ""))
    assert {f.rule for f in validate_package(package)} == {"xml.well-formed"}
    (package / "test.xml").unlink()
    assert "package.test" in {f.rule for f in validate_package(package)}


def test_the_name_of_what_is_wrong_is_spelled_out(tmp_path):
    package = write_sample(tmp_path, "qti-3.0")
    change(
        package, "imsmanifest.xml", swap('<resource identifier="j1"', '<resource identifier="j0"')
    )
    said = [str(f) for f in validate_package(package) if f.rule == "manifest.unique"]
    assert said == [
        "imsmanifest.xml: manifest.unique: two resources are called 'j0' (mapping h, defect 8)"
    ]
