"""Documents as strangers write them: odd spaces, comments, marks, order; one key each to mend."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from qbank.audit.correction.correcting import correct_bank
from qbank.audit.verdict import Audit, Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.place import Place
from qbank.scoring.bank import find_item
from tests.audit.correction.wrong import audit_of

WRONG = Judgement(
    item="ramp", part="RESPONSE", place=Place("ramp.xml", 1, 1), number=0,
    verdict=Verdict.WRONG, level=Level.MATCHED, code="derived", severity=Severity.ERROR,
    states="12.5 m/s", expected="7.25 m/s", value=7.2502,
)  # fmt: skip

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<!-- 12.5 was keyed in spring -->\n'
    '<assessmentItem timeDependent="false"\r\n  title="12.5"  identifier = \'ramp\' '
    'xmlns="http://www.imsglobal.org/xsd/imsqti_v2p1" adaptive="false">\n'
)
SCORE = '<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float"/>\n'
BODY = (
    "<itemBody><p>A crate slides 12.5 m — how fast is it? <textEntryInteraction "
    'responseIdentifier="RESPONSE"/></p></itemBody>\n'
)
PAY = (
    '<setOutcomeValue identifier="SCORE"><baseValue baseType="float">1</baseValue>'
    "</setOutcomeValue></responseIf></responseCondition></responseProcessing>\n"
)
TELL = (
    '<modalFeedback outcomeIdentifier="F" identifier="X" showHide="show"><p>It is '
    "12.5 m/s.</p></modalFeedback>\n"
)


def declared(value: str, rest: str = "", kind: str = "float") -> str:
    return (
        f'<responseDeclaration baseType="{kind}" cardinality="single" identifier="RESPONSE">'
        f"<correctResponse>{value}</correctResponse>{rest}</responseDeclaration>\n"
    )


def rule(test: str) -> str:
    return f"<responseProcessing><responseCondition><responseIf>{test}{PAY}"


def item(declaration: str, processing: str, after: str = "") -> str:
    return HEAD + declaration + SCORE + BODY + processing + after + "</assessmentItem>\n"


VARIABLE = '<variable identifier="RESPONSE"/>'
EQUAL = (
    f'<equal tolerance="0.05 0.05" toleranceMode="absolute">{VARIABLE}'
    '<correct identifier="RESPONSE"/></equal>'
)
BAND = (
    f'<and><lte>{VARIABLE}<baseValue baseType="float">\n 12.7</baseValue></lte>'
    f'<gte>{VARIABLE}<baseValue baseType="float">12.30</baseValue></gte></and>'
)

# What stands before the correction, what after it: pairs that are replaced in the document.
EDITED = {
    "odd spaces": (
        item(declared("\n\t<value >\n   12.5\t </value>"), rule(EQUAL)),
        [("   12.5\t ", "   7.25\t ")],
    ),
    "CDATA": (
        item(declared("<value><![CDATA[ 12.5 ]]></value>"), rule(EQUAL)),
        [("[ 12.5 ]", "[ 7.25 ]")],
    ),
    "a comment before the number": (
        item(declared("<value><!-- 12.5 it says -->12.5</value>"), rule(EQUAL)),
        [("-->12.5</value>", "-->7.25</value>")],
    ),
    "bounds, the upper first": (
        item(declared("<value>12.5</value>"), rule(BAND)),
        [("<value>12.5<", "<value>7.25<"), ("\n 12.7<", "\n 7.45<"), ("12.30<", "7.05<")],
    ),
    "a constant in place of the declared key": (
        item(
            declared("<value>12.5</value>"),
            rule(
                f'<equal toleranceMode="relative" tolerance="1 1"><baseValue baseType="float">12.50'
                f"</baseValue>{VARIABLE}</equal>"
            ),
        ),
        [("<value>12.5<", "<value>7.25<"), ("12.50<", "7.25<")],
    ),
    "a difference from the key": (
        item(
            declared("<value>12.5</value>"),
            rule(
                f'<lte><max><subtract>{VARIABLE}<baseValue baseType="float">12.5</baseValue>'
                f'</subtract><subtract><baseValue baseType="float">12.5</baseValue>{VARIABLE}'
                '</subtract></max><baseValue baseType="float">0.1</baseValue></lte>'
            ),
        ),
        [("<value>12.5<", "<value>7.25<"), (">12.5</base", ">7.25</base")],
    ),
    "a mapping alone states it, in two spellings": (
        item(
            '<responseDeclaration identifier="RESPONSE" cardinality="single" baseType="string">'
            '<mapping defaultValue="0"><mapEntry mappedValue="1" mapKey="12.5"/>'
            "<mapEntry mapKey='12,5'\n mappedValue='1'/><mapEntry mapKey='7' mappedValue='0'/>"
            "</mapping></responseDeclaration>\n",
            '<responseProcessing template="http://www.imsglobal.org/question/qti_v2p1/'
            'rptemplates/map_response"/>',
        ),
        [('mapKey="12.5"', 'mapKey="7.25"'), ("'12,5'", "'7,25'")],
    ),
    "the key again in the feedback, which stays": (
        item(declared("<value>12.5</value>"), rule(EQUAL), TELL),
        [("<value>12.5<", "<value>7.25<")],
    ),
    "a prefix on every element": (
        HEAD.replace("<assessmentItem", "<q:assessmentItem").replace("xmlns=", "xmlns:q=")
        + '<q:responseDeclaration identifier="RESPONSE" cardinality="single" baseType="float">'
        "<q:correctResponse><q:value>12.5</q:value></q:correctResponse></q:responseDeclaration>"
        "</q:assessmentItem>",
        [("<q:value>12.5<", "<q:value>7.25<")],
    ),
    "names of 3.0": (
        '<qti-assessment-item xmlns="http://www.imsglobal.org/xsd/imsqtiasi_v3p0" '
        'identifier="ramp"><qti-response-declaration base-type="float" cardinality="single" '
        'identifier="RESPONSE"><qti-correct-response interpretation="12.5 m/s"><qti-value>12.5'
        "</qti-value></qti-correct-response></qti-response-declaration></qti-assessment-item>",
        [('"12.5 m/s"', '"7.25 m/s"'), ("<qti-value>12.5", "<qti-value>7.25")],
    ),
    "a condition of 1.2": (
        '<?xml version="1.0"?>\n<questestinterop><assessment ident="A"><section ident="S">'
        '<item title="12.5" ident="ramp"><presentation><response_str ident="RESPONSE">'
        '<render_fib fibtype="Decimal"/></response_str></presentation><resprocessing><outcomes>'
        '<decvar vartype="Decimal" defaultval="0"/></outcomes><respcondition><conditionvar><or>'
        '<varequal case="No" respident="RESPONSE" >12.50</varequal><and><vargte respident='
        '"RESPONSE">12.45</vargte><varlte respident="RESPONSE">12.55</varlte></and></or>'
        '</conditionvar><setvar action="Set" varname="SCORE">100</setvar></respcondition>'
        "</resprocessing></item></section></assessment></questestinterop>",
        [(">12.50<", ">7.25<"), (">12.45<", ">7.2<"), (">12.55<", ">7.3<")],
    ),
}


@pytest.mark.parametrize("name", EDITED)
def test_exactly_the_bytes_of_the_key_change(tmp_path, name):
    document, pairs = EDITED[name]
    path = tmp_path / "ramp.xml"
    path.write_bytes(document.encode())
    report = correct_bank(path, audit_of(WRONG), tmp_path / "mended.xml")
    assert report.left == []
    expected = document
    for old, new in pairs:
        assert old in expected, old
        expected = expected.replace(old, new)
    assert (tmp_path / "mended.xml").read_bytes().decode() == expected
    assert path.read_bytes() == document.encode()
    assert bool(report.changes[0].notes) == ("feedback" in name)


def test_the_number_is_scored_as_the_old_one_was(tmp_path):
    document, _ = EDITED["bounds, the upper first"]
    path = tmp_path / "ramp.xml"
    path.write_bytes(document.encode())
    correct_bank(path, audit_of(WRONG), tmp_path / "mended.xml")
    mended = find_item(tmp_path / "mended.xml")
    got = [mended.score({"RESPONSE": given}, 0).score for given in ("7.25", "7.4", "7.5", "12.5")]
    assert [value or 0.0 for value in got] == [1.0, 1.0, 0.0, 0.0]


LEFT = {
    "written with references": (
        item(declared("<value>&#49;2.5</value>"), rule(EQUAL)),
        "broken up",
    ),
    "broken by a comment": (
        item(declared("<value>12<!-- . -->.5</value>"), rule(EQUAL)),
        "broken up",
    ),
    "another number is declared": (
        item(declared("<value>12.6</value>"), rule(EQUAL)),
        "not the number that was judged",
    ),
    "two values": (
        item(declared("<value>12.5</value><value>12.6</value>"), rule(EQUAL)),
        "not the number that was judged",
    ),
    "another encoding": (
        item(declared("<value>12.5</value>"), rule(EQUAL)).replace("UTF-8", "ISO-8859-1"),
        "ISO-8859-1",
    ),
    "a document type": (
        item(declared("<value>12.5</value>"), "").replace(
            "<assessmentItem", '<!DOCTYPE assessmentItem [<!ENTITY k "12.5">]><assessmentItem', 1
        ),
        "document type",
    ),
    "not well-formed": (
        item(declared("<value>12.5</value>"), rule(EQUAL)) + "<",
        "not well-formed",
    ),
    "a mapping that pays for a neighbour": (
        item(
            declared(
                "<value>12.5</value>",
                '<mapping><mapEntry mapKey="12.5" mappedValue="1"/>'
                '<mapEntry mapKey="12.4" mappedValue="0.5"/></mapping>',
            ),
            "",
        ),
        "pays for other values",
    ),
    "a pattern that only the old key fits": (
        item(
            declared("<value>12.5</value>", kind="string"),
            rule(f'<patternMatch pattern="12\\.50?">{VARIABLE}</patternMatch>'),
        ),
        "scoring rules",
    ),
    "two bands": (
        item(
            declared("<value>12.5</value>"),
            rule(f"<or>{BAND}{BAND.replace('12.7', '12.9')}</or>"),
        ),
        "several bands",
    ),
    "a template": (
        item(declared("<value>12.5</value>"), "<templateProcessing/>"),
        "draws its own data",
    ),
    "another item": (
        item(declared("<value>12.5</value>"), rule(EQUAL)).replace("'ramp'", "'ramp2'"),
        "was not found",
    ),
    "another response": (
        item(declared("<value>12.5</value>"), "").replace('"RESPONSE"', '"R1"'),
        "are called 'RESPONSE'",
    ),
}


@pytest.mark.parametrize("name", LEFT)
def test_in_doubt_nothing_is_touched_and_it_says_why(tmp_path, name):
    document, why = LEFT[name]
    path = tmp_path / "ramp.xml"
    path.write_bytes(document.encode())
    report = correct_bank(path, audit_of(WRONG), tmp_path / "mended.xml")
    assert report.changes == []
    (left,) = report.left
    assert why in left.why
    assert (tmp_path / "mended.xml").read_bytes() == document.encode()


@pytest.mark.parametrize(
    "change",
    [{"level": Level.OUTLIER}, {"level": Level.SELF_EVIDENT}, {"verdict": Verdict.SUSPECT},
     {"verdict": Verdict.ROUNDED}, {"verdict": Verdict.UNCHECKED}],
)  # fmt: skip
def test_only_what_is_proved_is_corrected(tmp_path, change):
    document, _ = EDITED["odd spaces"]
    path = tmp_path / "ramp.xml"
    path.write_bytes(document.encode())
    report = correct_bank(path, audit_of(replace(WRONG, **change)), tmp_path / "mended.xml")
    assert (report.changes, report.left) == ([], [])
    assert (tmp_path / "mended.xml").read_bytes() == document.encode()


def test_a_number_stays_in_its_banks_style(tmp_path):
    document = EDITED["odd spaces"][0].replace("   12.5\t ", " −12,50 ").replace(
        "float", "string"
    )  # fmt: skip
    path: Path = tmp_path / "ramp.xml"
    path.write_bytes(document.encode())
    wrong = replace(WRONG, states="−12,50 m/s", expected="", value=-0.072512)
    report = correct_bank(path, Audit("b", "f", 1, [wrong]), tmp_path / "mended.xml")
    (change,) = report.changes
    assert (change.old, change.new) == ("−12,50", "−0,07251")
