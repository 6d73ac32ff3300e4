"""Packages broken by hand: each fault is caught, and the rule that catches it is named."""

from __future__ import annotations

import pytest

from qbank.formats.dialects import DIALECTS
from qbank.formats.grammar import FOLDER, grammar, parse
from qbank.formats.qti_item import ItemText
from qbank.formats.validate import validate_package
from tests.formats.packages import change, swap, write_sample
from tests.formats.samples import simple, winch

FORMATS = [*DIALECTS, "csv"]
WINCH = "items/quay-winch/i0123456789-0.xml"
HINTED = "items/quay-winch/i0123456789-1.xml"

# member, what to change, into what, and the element whose rule must be named; 2.1 names
GRAMMAR_FAULTS = [
    (WINCH, ' adaptive="false"', "", "assessmentItem"),
    (WINCH, 'identifier="i0123456789-0"', 'identifier="0-i"', "assessmentItem"),
    (WINCH, ' xml:lang="en"', "", "assessmentItem"),
    (WINCH, ' title="A winch on the quay"', ' title=""', "assessmentItem"),
    (WINCH, "<value>196.2</value>", "<value>196,2</value>", "responseDeclaration"),
    (WINCH, "<value>196.2</value>", "<value>INF</value>", "responseDeclaration"),
    (WINCH, "<value>196.2</value>", "<value>1</value><value>2</value>", "responseDeclaration"),
    (WINCH, "<value>C2</value>", "<value>2C</value>", "responseDeclaration"),
    (WINCH, "<defaultValue><value>0</value></defaultValue>", "", "outcomeDeclaration"),
    (WINCH, ' baseType="identifier"/>', ' baseType="identifer"/>', "outcomeDeclaration"),
    (WINCH, "<itemBody>", "<itemBody>bare text", "itemBody"),
    (WINCH, "<itemBody>", "<itemBody><script/>", "itemBody"),
    (WINCH, 'view="candidate"', 'view="pupil"', "rubricBlock"),
    (WINCH, '<div class="stem">', '<div class="stem">bare text', "div"),
    (WINCH, "Seen from the quay", "<p>no</p>Seen from the quay", "p"),
    (WINCH, '<th scope="row">', "<th>", "th"),
    (WINCH, "<caption>", "<tbody/><caption>", "table"),
    (WINCH, ' expectedLength="12"', ' expectedLength="wide"', "textEntryInteraction"),
    (WINCH, ' responseIdentifier="RESPONSE_P"', "", "textEntryInteraction"),
    (WINCH, ">anticlockwise<", "><b>anticlockwise</b><", "inlineChoice"),
    (WINCH, ' shuffle="true"', "", "choiceInteraction"),
    (WINCH, ' maxChoices="1"', ' maxChoices="2"', "choiceInteraction"),
    (WINCH, "<prompt>", "<prompt/><prompt>", "choiceInteraction"),
    (WINCH, '<simpleChoice identifier="C3"', '<simpleChoice identifier="3"', "simpleChoice"),
    (HINTED, ' title="Show a hint"', "", "endAttemptInteraction"),
    (WINCH, '<match><variable identifier="RESPONSE_turns"/>', "<match>", "match"),
    (WINCH, "<gte>", '<gte><variable identifier="x"/>', "gte"),
    (WINCH, '<baseValue baseType="float">2<', '<baseValue baseType="float"> 2<', "baseValue"),
    (WINCH, '<baseValue baseType="float">2<', '<baseValue baseType="float">NaN<', "baseValue"),
    (WINCH, "<sum>", "<sum><sum/>", "sum"),
    (WINCH, '<setOutcomeValue identifier="SCORE_P">', "<setOutcomeValue>", "setOutcomeValue"),
    (WINCH, "<responseCondition>", "<responseCondition><responseElse/>", "responseCondition"),
    (WINCH, "<responseProcessing>", '<responseProcessing template="x">', "responseProcessing"),
    (WINCH, ' showHide="show"', ' showHide="yes"', "modalFeedback"),
    (WINCH, ' outcomeIdentifier="FEEDBACK_P"', "", "modalFeedback"),
    (WINCH, "</responseProcessing>", "</responseProcessing><itemBody/>", "itemBody"),
    (WINCH, ' alttext="P"', "", "math"),
    (WINCH, "<mfrac><mi>P</mi>", "<mfrac>", "mfrac"),
    (WINCH, "<mi>P</mi>", "<mi><mn>P</mn></mi>", "mi"),
    (WINCH, "<mi>P</mi>", "<ci>P</ci>", "math"),
    ("test.xml", ' navigationMode="nonlinear"', ' navigationMode="random"', "testPart"),
    ("test.xml", ' showFeedback="true"', ' showFeedback="false"', "itemSessionControl"),
    ("test.xml", ' visible="false"', "", "assessmentSection"),
    ("test.xml", ' select="1"', ' select="0"', "assessmentSection"),
    ("test.xml", "<selection", '<selection select="1"/><selection', "assessmentSection"),
    ("test.xml", 'href="items/half/j1.xml"', "", "assessmentItemRef"),
    ("test.xml", ' variableIdentifier="SCORE"', "", "testVariables"),
]


MATHML_EDITS = {
    text
    for *_, old, new, element in GRAMMAR_FAULTS
    for text in (old, new)
    if element in ("mfrac", "mi", "math")
}


def in_dialect(text: str, format_name: str) -> str:
    """An edit worded for 2.1, in the names of the version at hand."""
    return text if text in MATHML_EDITS else DIALECTS[format_name].markup(text)


@pytest.mark.parametrize("format_name", list(DIALECTS))
@pytest.mark.parametrize(("member", "old", "new", "element"), GRAMMAR_FAULTS)
def test_a_fault_is_caught_by_the_rule_of_its_element(
    tmp_path, format_name, member, old, new, element
):
    package = write_sample(tmp_path, format_name)
    change(package, member, swap(in_dialect(old, format_name), in_dialect(new, format_name)))
    findings = validate_package(package)
    name = element
    if not element.startswith("m") or element in ("match", "member", "modalFeedback"):
        name = DIALECTS[format_name].element(element)
    rules = {f.rule for f in findings if f.member == member}
    assert f"{format_name}:{name}" in rules
    assert all(f.source for f in findings if f.rule == f"{format_name}:{name}")


MANIFEST_FAULTS = [
    ("<organizations/>", "", "manifest"),
    ("<schemaversion>", "<schemaversion>9", "manifest"),
    (' type="imsqti_item', ' type="item', "resource"),
    ("</metadata>\n<file ", '</metadata>\n<dependency identifierref="TEST"/><file ', "resource"),
    ('<dependency identifierref="j0"/>', "<dependency/>", "dependency"),
    ("<composite>true", "<composite>yes", "qtiMetadata"),
    ("<timeDependent>", "<itemTemplate>maybe</itemTemplate><timeDependent>", "qtiMetadata"),
    ("<interactionType>choiceInteraction", "<interactionType>quiz", "qtiMetadata"),
    ("<value>isbasedon</value>", "<value>like</value>", "relation"),
    ("<value>discipline</value>", "<value>topic</value>", "classification"),
    ("BEGIN:VCARD", "A. Quay", "lom"),
    ('<string language="de">', "<string>", "string"),
    ('href="items/half/j0.xml"', 'href="/items/half/j0.xml"', "resource"),
]


@pytest.mark.parametrize("format_name", list(DIALECTS))
@pytest.mark.parametrize(("old", "new", "element"), MANIFEST_FAULTS)
def test_a_fault_in_the_manifest_is_caught_by_its_rule(tmp_path, format_name, old, new, element):
    package = write_sample(tmp_path, format_name)
    change(package, "imsmanifest.xml", swap(old, new))
    rules = {f.rule for f in validate_package(package)}
    assert f"manifest-{format_name.removeprefix('qti-')}:{element}" in rules


def test_an_untouched_package_has_no_findings(tmp_path):
    for format_name in FORMATS:
        assert validate_package(write_sample(tmp_path, format_name)) == []


def test_every_named_rule_says_where_it_comes_from():
    namespace = "{http://relaxng.org/ns/structure/1.0}"
    for path in FOLDER.glob("*.rng"):
        root = parse(path.read_bytes(), path.name)
        for define in root.iter(f"{namespace}define"):
            for pattern in define.iterfind(f"{namespace}element"):
                # An element that is a rule of its own has a source; `source` of LOM, one value
                # long, has it in the comment on top.
                source = pattern.get("{urn:qbank:grammar}source")
                assert source or pattern.get("name") == "source", (path.name, define.get("name"))


@pytest.mark.parametrize("format_name", list(DIALECTS))
def test_the_grammar_knows_every_kind_of_part_and_refuses_the_other_versions(format_name):
    for item in (winch(), winch(1, hints=True), simple()):
        text = ItemText(DIALECTS[format_name]).document(item).text
        root = parse(text.encode(), "item")
        assert [name for name in DIALECTS if grammar(name).accepts(root)] == [format_name]
