"""Declarations, template and response processing, adaptive items, standard templates.

Rules are from the project's mapping note, sections e and g, unless a test says otherwise.
"""

from __future__ import annotations

import gc
import types

import pytest
from lxml import etree

from qbank.formats.dialects import QTI_30
from qbank.scoring.compiled import compile_item
from qbank.scoring.faults import ScoringError
from qbank.scoring.programs import rules_text
from qbank.scoring.templates import template_name
from tests.scoring.items import (
    DIALECTS,
    base,
    d,
    declare,
    document,
    f,
    i,
    multiple,
    ordered,
    put,
    s,
)

SCORE = declare("outcome", "SCORE", "float", "0")
RIGHT = '<match><variable identifier="RESPONSE"/><correct identifier="RESPONSE"/></match>'


def when(test: str, then: str, *others: str, otherwise: str = "", kind: str = "response") -> str:
    more = "".join(others)
    last = f"<{kind}Else>{otherwise}</{kind}Else>" if otherwise else ""
    return f"<{kind}Condition><{kind}If>{test}{then}</{kind}If>{more}{last}</{kind}Condition>"


def outcomes(declarations, processing, responses=None, **more):
    return compile_item(document(declarations, processing, **more)).score(responses or {}).outcomes


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_conditions_take_the_first_branch_that_is_true(dialect):
    declarations = declare("response", "RESPONSE", "integer") + SCORE

    def at(n: int) -> str:
        variable = '<variable identifier="RESPONSE"/>'
        return f'<equal toleranceMode="exact">{variable}{i(n)}</equal>'

    rules = when(
        at(1), put("SCORE", f(1)),
        f"<responseElseIf>{at(2)}{put('SCORE', f(2))}{put('SCORE', f(2.5))}</responseElseIf>",
        f"<responseElseIf>{at(2)}{put('SCORE', f(9))}</responseElseIf>",
        otherwise=put("SCORE", f(-1)),
    )  # fmt: skip
    item = compile_item(document(declarations, rules, dialect=dialect))
    # A later assignment wins; a NULL condition is false (g1).
    assert [item.score({"RESPONSE": n}).score for n in ("1", "2", "3", "")] == [1, 2.5, -1, -1]


def test_exit_response_stops_from_within_a_condition():
    rules = put("SCORE", f(1)) + when(base("boolean", "true"), "<exitResponse/>")
    assert outcomes(SCORE, rules + put("SCORE", f(2)))["SCORE"] == 1


def test_fragments_run_in_place():
    rules = f"<responseProcessingFragment>{put('SCORE', f(3))}</responseProcessingFragment>"
    assert outcomes(SCORE, rules)["SCORE"] == 3


def test_numeric_outcomes_without_a_default_start_at_zero_others_at_null():
    """From memory of the standard (g1)."""
    declarations = (
        declare("outcome", "N", "integer")
        + declare("outcome", "X", "float")
        + declare("outcome", "NAME", "identifier")
        + declare("outcome", "MANY", "float", cardinality="multiple")
    )
    found = outcomes(declarations, "")
    assert (found["N"], found["X"], found["NAME"], found["MANY"]) == (0, 0.0, None, None)


def test_default_and_correct_are_read():
    declarations = declare("outcome", "OUT", "float") + declare(
        "response", "RESPONSE", "float", "7.5"
    )
    declarations += declare("outcome", "LEVEL", "float", "4")
    assert outcomes(declarations, put("OUT", '<correct identifier="RESPONSE"/>'))["OUT"] == 7.5
    assert outcomes(declarations, put("OUT", '<default identifier="LEVEL"/>'))["OUT"] == 4
    assert outcomes(declarations, put("OUT", '<default identifier="RESPONSE"/>'))["OUT"] is None


# ---------------------------------------------------------------------------- kinds


def test_an_integer_is_taken_for_a_float_silently_and_other_changes_are_said():
    declarations = (
        declare("outcome", "X", "float")
        + declare("outcome", "N", "integer")
        + declare("outcome", "MANY", "identifier", cardinality="multiple")
    )
    item = compile_item(document(declarations, put("X", i(3))))
    score = item.score({})
    assert score.outcomes["X"] == 3.0
    assert score.warnings == ()
    for rule, name, expected in [
        (put("N", f(3)), "N", 3),
        (put("N", f(3.5)), "N", None),
        (put("MANY", d("A")), "MANY", ["A"]),
        (put("X", s("3")), "X", None),
    ]:
        score = compile_item(document(declarations, rule)).score({})
        assert score.outcomes[name] == expected
        assert len(score.warnings) == 1
        assert f"'{name}' is" in score.warnings[0]


def test_a_name_that_is_not_declared_is_left_out_and_said():
    score = compile_item(document(SCORE, put("NOWHERE", f(1)) + put("SCORE", f(2)))).score({})
    assert score.score == 2
    assert any("'NOWHERE'" in warning for warning in score.warnings)


# ---------------------------------------------------------------------------- mapping


def mapped(entries: str, attributes: str = "", **more: str) -> str:
    inner = f"<mapping {attributes}>{entries}</mapping>"
    return declare("response", "RESPONSE", more.pop("kind", "identifier"), inner=inner, **more)


def entry(key: str, value: float, more: str = "") -> str:
    return f'<mapEntry mapKey="{key}" mappedValue="{value}" {more}/>'


ABC = entry("A", 2) + entry("B", 1) + entry("C", -3)
MAP = put("SCORE", '<mapResponse identifier="RESPONSE"/>')


@pytest.mark.parametrize(
    ("attributes", "answer", "expected"),
    [
        ('defaultValue="0"', ["A", "B"], 3),
        ('defaultValue="0"', ["A", "A", "B"], 3),  # distinct members count once
        ('defaultValue="-1"', ["A", "X", "Y"], 0),  # each unlisted adds the default
        ('defaultValue="0" lowerBound="0"', ["B", "C"], 0),
        ('defaultValue="0" upperBound="2.5"', ["A", "B"], 2.5),
        ('defaultValue="-1" lowerBound="-0.5"', ["X"], -0.5),
        ('defaultValue="5"', [], 0),  # our rule: nothing chosen is worth nothing
        ('lowerBound="1"', [], 1),
    ],
)
def test_containers_are_mapped(attributes, answer, expected):
    declarations = mapped(ABC, attributes, cardinality="multiple") + SCORE
    assert outcomes(declarations, MAP, {"RESPONSE": answer})["SCORE"] == expected


def test_singles_are_mapped_by_entry_or_default():
    declarations = mapped(ABC, 'defaultValue="-1"') + SCORE
    item = compile_item(document(declarations, MAP))
    assert [item.score({"RESPONSE": a}).score for a in "ABCX"] == [2, 1, -3, -1]


def test_map_keys_mind_case_unless_they_say_otherwise():
    """Note b7: the default is not safe to assume; the official 2.x items imply true."""
    entries = entry("York", 2, 'caseSensitive="false"') + entry("Leeds", 1)
    declarations = mapped(entries, 'defaultValue="0"', kind="string") + SCORE
    item = compile_item(document(declarations, MAP))
    answers = ("york", "YORK", "Leeds", "leeds")
    assert [item.score({"RESPONSE": a}).score for a in answers] == [2, 2, 1, 0]


def test_pairs_are_mapped_without_regard_to_order():
    """Note b6: `A B` is `B A`, also in map keys; a directed pair is not."""
    for kind, expected in (("pair", 1), ("directedPair", 0)):
        declarations = mapped(entry("C B", 1), kind=kind, cardinality="multiple") + SCORE
        assert outcomes(declarations, MAP, {"RESPONSE": ["B C"]})["SCORE"] == expected


def test_points_are_mapped_each_area_once():
    areas = (
        '<areaMapEntry shape="circle" coords="0,0,5" mappedValue="2"/>'
        '<areaMapEntry shape="rect" coords="0,0,10,10" mappedValue="1"/>'
    )
    inner = f'<areaMapping defaultValue="-1" upperBound="3">{areas}</areaMapping>'
    rule = put("SCORE", '<mapResponsePoint identifier="RESPONSE"/>')
    many = declare("response", "RESPONSE", "point", cardinality="multiple", inner=inner) + SCORE
    item = compile_item(document(many, rule))
    for answer, expected in [
        (["1 1"], 2),  # the first area it lies in
        (["1 1", "2 2"], 2),  # the circle counts once
        (["1 1", "8 8"], 3),
        (["1 1", "50 50"], 1),
        ([], 0),
    ]:
        assert item.score({"RESPONSE": answer}).score == expected, answer
    single = declare("response", "RESPONSE", "point", inner=inner) + SCORE
    assert outcomes(single, rule, {"RESPONSE": "8 9"})["SCORE"] == 1


# ---------------------------------------------------------------------------- lookup tables


def test_match_tables_are_exact_and_interpolation_tables_go_by_steps():
    table = (
        '<matchTable defaultValue="none"><matchTableEntry sourceValue="1" targetValue="one"/>'
        '<matchTableEntry sourceValue="2" targetValue="two"/></matchTable>'
    )
    steps = (
        '<interpolationTable defaultValue="fail">'
        '<interpolationTableEntry sourceValue="9" targetValue="top" includeBoundary="false"/>'
        '<interpolationTableEntry sourceValue="5" targetValue="pass"/></interpolationTable>'
    )
    declarations = (
        declare("response", "RESPONSE", "float")
        + declare("outcome", "WORD", "identifier", inner=table)
        + declare("outcome", "GRADE", "identifier", inner=steps)
    )
    look = "".join(
        f'<lookupOutcomeValue identifier="{name}"><variable identifier="RESPONSE"/>'
        "</lookupOutcomeValue>"
        for name in ("WORD", "GRADE")
    )
    item = compile_item(document(declarations, look))
    found = {a: item.score({"RESPONSE": a}).outcomes for a in ("1", "2", "5", "9", "9.5", "4.9")}
    assert [o["WORD"] for o in found.values()] == ["one", "two", "none", "none", "none", "none"]
    assert [o["GRADE"] for o in found.values()] == ["fail", "fail", "pass", "pass", "top", "fail"]
    assert item.score({}).outcomes["WORD"] == "none"


# ---------------------------------------------------------------------------- standard templates

ADDRESSES = [
    "http://www.imsglobal.org/question/qti_v2p1/rptemplates/%s",
    "http://www.imsglobal.org/question/qti_v2p2/rptemplates/%s",
    "https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/%s.xml",
    "https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/%s",
    "https://www.imsglobal.org/question/qti_v3p0/rptemplates/%s.xml",
]


@pytest.mark.parametrize("address", ADDRESSES)
def test_templates_are_known_by_the_last_part_of_their_address(address):
    """Note g3: the spellings that official items use."""
    assert template_name(address % "map_response") == "map_response"


def templated(name: str, declarations: str, responses: dict[str, object]):
    data = document(declarations, "TEMPLATE").replace(
        b"<responseProcessing>TEMPLATE</responseProcessing>",
        f'<responseProcessing template="{ADDRESSES[0] % name}"/>'.encode(),
    )
    return compile_item(data).score(responses)


def test_match_correct():
    declarations = declare("response", "RESPONSE", "identifier", "A") + SCORE
    found = [
        templated("match_correct", declarations, {"RESPONSE": a}).score for a in ("A", "B", "")
    ]
    assert found == [1, 0, 0]


def test_match_correct_ignores_maxscore():
    declarations = declare("response", "RESPONSE", "identifier", "A") + SCORE
    declarations += declare("outcome", "MAXSCORE", "float", "5")
    score = templated("match_correct", declarations, {"RESPONSE": "A"})
    assert (score.score, score.maximum) == (1, 5)


def test_map_response_is_zero_for_nothing():
    declarations = mapped(ABC, 'defaultValue="0" lowerBound="1"', cardinality="multiple") + SCORE
    assert templated("map_response", declarations, {"RESPONSE": ["A", "B"]}).score == 3
    assert templated("map_response", declarations, {}).score == 0


def test_map_response_point():
    inner = (
        '<areaMapping><areaMapEntry shape="circle" coords="0,0,5" mappedValue="2"/></areaMapping>'
    )
    declarations = declare("response", "RESPONSE", "point", inner=inner) + SCORE
    assert templated("map_response_point", declarations, {"RESPONSE": "3 4"}).score == 2
    assert templated("map_response_point", declarations, {"RESPONSE": "4 4"}).score == 0


def test_cc2_templates_do_what_the_shipped_files_do():
    declarations = declare("response", "RESPONSE", "identifier", "A") + SCORE
    declarations += declare("outcome", "MAXSCORE", "float", "4")
    declarations += declare("outcome", "FEEDBACKBASIC", "identifier")
    assert templated("CC2_match", declarations, {"RESPONSE": "A"}).score == 1
    right = templated("CC2_match_basic", declarations, {"RESPONSE": "A"})
    wrong = templated("CC2_match_basic", declarations, {"RESPONSE": "B"})
    assert (right.score, right.outcomes["FEEDBACKBASIC"]) == (4, "correct")
    assert (wrong.score, wrong.outcomes["FEEDBACKBASIC"]) == (0, "incorrect")


def test_an_unknown_template_scores_nothing_and_says_so():
    score = templated("guess", SCORE, {})
    assert score.score == 0
    assert "'guess' is no template of the standard" in score.warnings[0]


# ---------------------------------------------------------------------------- template processing

DRAWN = (
    declare("template", "M", "integer", "40")
    + declare("template", "P", "float", "196.2")
    + declare("response", "RESPONSE", "float", "196.2")
    + SCORE
)
DRAW = (
    put("M", '<randomInteger min="20" max="90" step="5"/>', "Template")
    + put("P", f'<product>{f(4.905)}<variable identifier="M"/></product>', "Template")
    + f'<templateConstraint><lte><variable identifier="P"/>{f(300)}</lte></templateConstraint>'
    + '<setCorrectResponse identifier="RESPONSE"><variable identifier="P"/></setCorrectResponse>'
)
KEYED = when(
    '<equal toleranceMode="relative" tolerance="1"><correct identifier="RESPONSE"/>'
    '<variable identifier="RESPONSE"/></equal>',
    put("SCORE", f(1)),
)


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_draws_meet_their_constraints_and_set_the_key(dialect):
    item = compile_item(document(DRAWN, KEYED, template=DRAW, dialect=dialect))
    masses = set()
    for seed in range(60):
        session = item.session(seed)
        mass = session.templates["M"]
        masses.add(mass)
        assert session.templates["P"] == pytest.approx(4.905 * mass)
        assert session.key("RESPONSE") == session.templates["P"] <= 300
        assert session.attempt({"RESPONSE": str(4.905 * mass)}).score == 1
        assert item.session(seed).templates == session.templates
    # 20, 25, ... 60 meet the constraint; all of them come up.
    assert masses == set(range(20, 61, 5))


def test_draws_are_even():
    """Pearson's chi-square over 15 values at 3,000 seeds: below the 99.9 % point of 14 degrees
    of freedom, 36.12 (a handbook's table of the chi-square distribution)."""
    template = put("M", '<randomInteger min="1" max="15"/>', "Template")
    item = compile_item(document(DRAWN, KEYED, template=template))
    counts = dict.fromkeys(range(1, 16), 0)
    for seed in range(3000):
        counts[item.session(seed).templates["M"]] += 1
    assert sum((n - 200) ** 2 / 200 for n in counts.values()) < 36.12


def test_constraints_never_met_leave_the_declared_defaults():
    template = put("M", i(7), "Template") + '<setCorrectResponse identifier="RESPONSE">'
    template += f"{f(5)}</setCorrectResponse>"
    never = "<templateConstraint><null/></templateConstraint>"  # NULL is not met either
    item = compile_item(document(DRAWN, KEYED, template=template + never))
    session = item.session()
    assert session.templates["M"] == 40
    assert session.key("RESPONSE") == 196.2
    assert any("declared defaults stand" in w for w in session.attempt({}).warnings)


def test_exit_template_keeps_what_was_set():
    template = put("M", i(7), "Template") + "<exitTemplate/>" + put("M", i(8), "Template")
    assert compile_item(document(DRAWN, "", template=template)).session().templates["M"] == 7


def test_template_conditions_and_defaults():
    template = when(
        '<gt><variable identifier="M"/><baseValue baseType="integer">50</baseValue></gt>',
        put("M", i(1), "Template"), otherwise=put("M", i(2), "Template"), kind="template",
    ) + f'<setDefaultValue identifier="SCORE">{f(0.5)}</setDefaultValue>'  # fmt: skip
    template += f'<setDefaultValue identifier="RESPONSE">{f(196)}</setDefaultValue>'
    item = compile_item(document(DRAWN, KEYED, template=template))
    session = item.session()
    assert session.templates["M"] == 2
    assert session.value("SCORE") == 0.5
    # An unanswered response keeps its default, 196, which is within 1 % of the key.
    assert session.attempt({}).score == 1
    assert session.attempt({"RESPONSE": "1"}).score == 0.5


# ---------------------------------------------------------------------------- adaptive items


def test_an_adaptive_item_keeps_its_outcomes_and_decides_when_it_is_done():
    declarations = declare("response", "RESPONSE", "identifier", "A") + SCORE
    declarations += declare("outcome", "TRIES", "integer", "0")
    rules = put("TRIES", f'<sum><variable identifier="TRIES"/>{i(1)}</sum>') + when(
        RIGHT,
        put("SCORE", f(1)) + put("completionStatus", d("completed")),
        otherwise=put("completionStatus", d("incomplete")),
    )
    adaptive = compile_item(document(declarations, rules, adaptive=True)).session()
    assert adaptive.value("completionStatus") == "not_attempted"
    first, second = adaptive.attempt({"RESPONSE": "B"}), adaptive.attempt({"RESPONSE": "A"})
    assert (first.outcomes["TRIES"], second.outcomes["TRIES"]) == (1, 2)
    assert first.outcomes["completionStatus"] == "incomplete"
    assert second.outcomes["completionStatus"] == "completed"
    assert adaptive.value("numAttempts") == 2
    plain = compile_item(document(declarations, rules)).session()
    assert [plain.attempt({"RESPONSE": "B"}).outcomes["TRIES"] for _ in range(2)] == [1, 1]


def test_a_request_that_was_not_made_is_false():
    """From memory: an endAttemptInteraction's response is false unless it ended the attempt."""
    declarations = declare("response", "HINT", "boolean") + SCORE
    body = '<p><endAttemptInteraction responseIdentifier="HINT" title="Hint"/></p>'
    rules = when('<not><variable identifier="HINT"/></not>', put("SCORE", f(1)))
    assert outcomes(declarations, rules, body=body)["SCORE"] == 1
    assert outcomes(declarations, rules, {"HINT": "true"}, body=body)["SCORE"] == 0
    assert outcomes(declarations, rules)["SCORE"] == 0  # NULL without the interaction


# ---------------------------------------------------------------------------- records


def field(name: str) -> str:
    return f'<fieldValue fieldIdentifier="{name}"><variable identifier="RESPONSE"/></fieldValue>'


@pytest.mark.parametrize(
    ("typed", "fields"),
    [
        ("12.50", {"floatValue": 12.5, "leftDigits": 2, "rightDigits": 2, "ndp": 2, "nsf": 4}),
        ("0.0250", {"floatValue": 0.025, "ndp": 4, "nsf": 3, "integerValue": None}),
        ("1.25e-3", {"floatValue": 0.00125, "rightDigits": 2, "ndp": 5, "nsf": 3, "exponent": -3}),
        ("1.25e2", {"floatValue": 125.0, "ndp": 0, "nsf": 3, "exponent": 2}),
        ("-42", {"integerValue": -42, "floatValue": -42.0, "exponent": None}),
        ("many", {"floatValue": None, "integerValue": None}),
    ],
)
def test_the_record_of_a_typed_number(typed, fields):
    """Note b3: stringValue, floatValue, integerValue, digits, ndp, nsf, exponent [M]."""
    declarations = declare("response", "RESPONSE", "", cardinality="record")
    for name, expected in fields.items():
        kind = "integer" if name not in ("floatValue",) else "float"
        rule = put("OUT", field(name))
        found = outcomes(declarations + declare("outcome", "OUT", kind), rule, {"RESPONSE": typed})
        assert found["OUT"] == expected, name
    text = declare("outcome", "OUT", "string")
    assert (
        outcomes(declarations + text, put("OUT", field("stringValue")), {"RESPONSE": typed})["OUT"]
        == typed
    )
    assert outcomes(declarations + text, put("OUT", field("stringValue")))["OUT"] is None


def test_the_raw_text_of_an_entry_goes_to_its_second_response():
    declarations = declare("response", "RESPONSE", "float") + declare("response", "RAW", "string")
    declarations += declare("outcome", "OUT", "string")
    body = '<p><textEntryInteraction responseIdentifier="RESPONSE" stringIdentifier="RAW"/></p>'
    rule = put("OUT", '<variable identifier="RAW"/>')
    assert outcomes(declarations, rule, {"RESPONSE": "12.50"}, body=body)["OUT"] == "12.50"


# ---------------------------------------------------------------------------- the most there is


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        (declare("outcome", "MAXSCORE", "float", "4"), 4),
        ("", 3),  # what the key scores
    ],
)
def test_the_maximum(more, expected):
    declarations = declare("response", "RESPONSE", "identifier", "A") + SCORE + more
    item = compile_item(document(declarations, when(RIGHT, put("SCORE", f(3)))))
    assert item.score({}).maximum == expected


def test_the_maximum_as_normal_maximum():
    declared = SCORE.replace("<outcomeDeclaration ", '<outcomeDeclaration normalMaximum="7" ', 1)
    assert compile_item(document(declared, "")).score({}).maximum == 7


# ---------------------------------------------------------------------------- faults


@pytest.mark.parametrize(
    ("declarations", "processing", "said"),
    [
        (SCORE, put("SCORE", "<summ/>"), "there is no operator 'summ' (line 1)\n    did you mean"),
        (SCORE, put("SCORE", f"<divide>{f(1)}</divide>"), "(line 1) has 1 operands, expected 2"),
        (SCORE, put("SCORE", ""), "holds 0 expressions, not one"),
        (SCORE, "<setScore/>", "there is no rule 'setScore'"),
        (SCORE, put("SCORE", base("float", "1,5")), "baseValue '1,5' (line 1): expected a number"),
        (SCORE, put("SCORE", base("colour", "1")), "there is no base type 'colour'"),
        (SCORE, put("SCORE", f'<equalRounded figures="x">{f(1, 1)}</equalRounded>'), 'figures="x"'),
        (SCORE, put("SCORE", f"<equalRounded>{f(1, 1)}</equalRounded>"), "has no figures"),
        (SCORE, put("SCORE", f'<equal toleranceMode="near">{f(1, 1)}</equal>'), 'Mode="near"'),
        (SCORE, put("SCORE", f'<equal toleranceMode="absolute">{f(1, 1)}</equal>'), "no tolerance"),
        (SCORE, put("SCORE", f'<mathOperator name="sine">{f(1)}</mathOperator>'), "'sine'"),
        (SCORE, put("SCORE", f'<mathOperator name="sin">{f(1, 2)}</mathOperator>'), "takes 1"),
        (SCORE, put("SCORE", '<numberCorrect/>'), "outcome processing of a test only"),
        (SCORE, "<responseCondition><responseIf/></responseCondition>", "has no test"),
        (declare("outcome", "X", "number"), "", "'X' (line 1) is declared as single of 'number'"),
        (declare("outcome", "X", "float", "a"), "", "'a' of 'X' (line 1): expected a number"),
        (SCORE + SCORE, "", "'SCORE' is declared twice"),
        (declare("response", "R", "float", "1", "2"), "", "expected one value"),
    ],
)  # fmt: skip
def test_rules_that_cannot_be_run_are_told_with_their_place(declarations, processing, said):
    with pytest.raises(ScoringError) as fault:
        compile_item(document(declarations, processing))
    assert said in str(fault.value)


@pytest.mark.parametrize(
    ("responses", "said"),
    [
        ({"RESPONCE": "1"}, "no response 'RESPONCE'\n    did you mean 'RESPONSE'?"),
        ({"RESPONSE": "1,5"}, "'1,5' is no answer to 'RESPONSE', which takes a number"),
        ({"RESPONSE": "1,5"}, "a comma is no decimal sign"),
        ({"RESPONSE": "12 W"}, "expected a number"),
        ({"RESPONSE": ["1", "2"]}, "expected one value"),
        ({"SCORE": "1"}, "no response 'SCORE'"),
        ({"RESPONSE": ["1"] * 2000}, "more than a response can hold"),
    ],
)
def test_responses_that_cannot_be_put_are_told(responses, said):
    item = compile_item(document(declare("response", "RESPONSE", "float") + SCORE, ""))
    with pytest.raises(ScoringError) as fault:
        item.score(responses)
    assert said in str(fault.value)


def test_choices_are_checked_where_asked():
    body = (
        '<choiceInteraction responseIdentifier="RESPONSE" shuffle="false" maxChoices="1">'
        '<simpleChoice identifier="C1">a</simpleChoice>'
        '<simpleChoice identifier="C2">b</simpleChoice>'
        "</choiceInteraction>"
    )
    item = compile_item(
        document(declare("response", "RESPONSE", "identifier", "C1"), "", body=body)
    )
    item.ensure_choices({"RESPONSE": "C2"})
    with pytest.raises(ScoringError, match="'C3' is no choice of 'RESPONSE'"):
        item.ensure_choices({"RESPONSE": "C3"})


# ---------------------------------------------------------------------------- shared programs


def test_siblings_share_a_program_and_keep_their_own_numbers_and_keys():
    def sibling(low: str, worth: str, key: str, lure: float) -> bytes:
        declarations = declare("response", "RESPONSE", "float", key) + SCORE
        declarations += mapped(entry("A", lure)).replace("RESPONSE", "PICK")
        test = f'<gte><variable identifier="RESPONSE"/>{f(low)}</gte>'
        rules = when(test, put("SCORE", f(worth)))
        rules += put(
            "SCORE", '<sum><variable identifier="SCORE"/><mapResponse identifier="PICK"/></sum>'
        )
        rules += put(
            "SCORE", '<sum><variable identifier="SCORE"/><correct identifier="RESPONSE"/></sum>'
        )
        return document(declarations, rules)

    first = compile_item(sibling("2", "10", "100", 1000))
    second = compile_item(sibling("3.5", "20", "200", 3000))
    assert first._response.program is second._response.program
    for _ in range(2):
        assert first.score({"RESPONSE": "3", "PICK": "A"}).score == 1110
        assert second.score({"RESPONSE": "3", "PICK": "A"}).score == 3200
        assert second.score({"RESPONSE": "3.5"}).score == 220


def test_rules_that_differ_in_more_than_numbers_share_nothing():
    one = document(SCORE, put("SCORE", f"<sum>{f(1, 2)}</sum>"))
    other = document(SCORE, put("SCORE", f"<product>{f(1, 2)}</product>"))
    loose = document(SCORE, put("SCORE", f"<sum>{f(1, 2)}</sum>").replace("<sum>", "<sum>7"))
    found = [compile_item(data) for data in (one, other, loose)]
    assert [item.score({}).score for item in found] == [3, 2, 3]
    assert len({id(item._response.program) for item in found}) == 3


def test_rules_are_found_in_the_bytes_only_where_that_is_certain():
    """A comment, an entity or another spelling must not make two items share a program."""
    plain = document(SCORE, put("SCORE", f(1)))
    text = put("SCORE", f(1)).encode()
    assert rules_text(plain) == text
    assert (
        rules_text(QTI_30.markup(plain.decode()).encode()) == QTI_30.markup(text.decode()).encode()
    )
    rules = b"<responseProcessing>" + text + b"</responseProcessing>"
    comment = b"<!-- <responseProcessing>" + text.replace(b"1", b"9") + b"</responseProcessing> -->"
    for other in [
        plain.replace(b"<itemBody>", comment + b"<itemBody>"),
        plain.replace(
            rules, comment + rules.replace(b"responseProcessing", b"response-PROCESSING")
        ),
        plain.replace(b">1<", b">&#49;<"),
        plain.replace(b">1<", b"><!-- >2</ -->1<"),
        plain.replace(b">1<", b"><![CDATA[1]]><"),
        b'<?xml version="1.0" encoding="ISO-8859-1"?>' + plain,
    ]:
        assert rules_text(other) is None
        assert compile_item(other).score({}).score == 1


def test_a_kept_program_keeps_no_document():
    """What it is built from is freed: a bank's programs must not hold its trees in memory."""
    rules = "".join(put("SCORE", expression) for expression in [
        f'<equal toleranceMode="absolute" tolerance="1">{f(1, 1)}</equal>',
        f'<gt><correct identifier="RESPONSE"/>{f(1)}</gt>',
        '<anyN min="1" max="1"><isNull><variable identifier="RESPONSE"/></isNull></anyN>',
        f'<index n="1"><repeat numberRepeats="2">{f(1)}</repeat></index>',
        '<mapResponse identifier="PICK"/>', f'<sum>{f(1, 2)}</sum>', '<customOperator class="x"/>',
        f'<round>{f(1.5)}</round>',
        f'<inside shape="circle" coords="0,0,1">{base("point", "0 0")}</inside>',
    ])  # fmt: skip
    declarations = declare("response", "RESPONSE", "float", "1") + SCORE
    declarations += mapped(entry("A", 1)).replace("RESPONSE", "PICK")
    program = compile_item(document(declarations, when(RIGHT, rules)))._response.program
    seen, left = set(), [program.rules]
    while left:
        held = left.pop()
        assert not isinstance(held, etree._Element)
        if id(held) not in seen and not isinstance(held, type | types.ModuleType):
            seen.add(id(held))
            # Functions refer to their module's globals, which is not what they keep.
            referents = gc.get_referents(held)
            left += [r for r in referents if not (callable(held) and isinstance(r, dict))]
    assert len(seen) > 100


def test_ordered_and_multiple_defaults_are_read():
    declarations = declare("template", "T", "integer", "3", "1", "2", cardinality="ordered")
    declarations += declare("outcome", "OUT", "integer", cardinality="ordered")
    assert outcomes(declarations, put("OUT", '<variable identifier="T"/>'))["OUT"] == [3, 1, 2]
    assert outcomes(declarations, put("OUT", ordered(i(1))))["OUT"] == [1]
    assert outcomes(SCORE, put("SCORE", f"<sum>{multiple(f(1, 1))}</sum>"))["SCORE"] == 2
