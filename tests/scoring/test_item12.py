"""QTI 1.2.1: conditions, variables, feedback (note, b and g5; doubts marked there)."""

from __future__ import annotations

import pytest

from qbank.scoring.documents import read_document
from qbank.scoring.faults import ScoringError
from qbank.scoring.grading import score
from qbank.scoring.item12 import ScoredItem12


def lid(name: str, several: bool = False, kind: str = "") -> str:
    cardinality = kind or ("Multiple" if several else "Single")
    labels = "".join(f'<response_label ident="C{n}"/>' for n in range(1, 5))
    return (
        f'<response_lid ident="{name}" rcardinality="{cardinality}"><render_choice>{labels}'
        "</render_choice></response_lid>"
    )


NUMBER = '<response_num ident="N1" numtype="Decimal"><render_fib fibtype="Decimal"/></response_num>'
TEXT = '<response_str ident="S1"><render_fib/></response_str>'
POINT = '<response_xy ident="XY"><render_hotspot/></response_xy>'
DECIMAL = '<decvar varname="SCORE" vartype="Decimal" defaultval="0" minvalue="0" maxvalue="10"/>'


def setvar(value: object, action: str = "Set", name: str = "SCORE") -> str:
    return f'<setvar varname="{name}" action="{action}">{value}</setvar>'


def when(test: str, then: str, go_on: str = "") -> str:
    more = f' continue="{go_on}"' if go_on else ""
    return f"<respcondition{more}><conditionvar>{test}</conditionvar>{then}</respcondition>"


def item_text(
    rules: str, outcomes: str = DECIMAL, feedback: str = "", presentation: str = ""
) -> str:
    presentation = (
        presentation
        or lid("R1") + lid("R2", True) + lid("R3", kind="Ordered") + NUMBER + TEXT + POINT
    )
    return (
        f'<item ident="w1" title="Winch"><presentation>{presentation}</presentation>'
        f"<resprocessing><outcomes>{outcomes}</outcomes>{rules}</resprocessing>{feedback}</item>"
    )


def make(rules: str, **more: str) -> ScoredItem12:
    return ScoredItem12(read_document(item_text(rules, **more).encode()))


def points(rules: str, **responses: object) -> float | None:
    return make(rules).score(responses).score


def varequal(name: str, value: str, more: str = "") -> str:
    return f'<varequal respident="{name}" {more}>{value}</varequal>'


def holds(test: str, **responses: object) -> bool:
    found = points(when(test, setvar(1)), **responses)
    assert found in (0, 1)
    return found == 1


# ---------------------------------------------------------------------------- conditions


@pytest.mark.parametrize(
    ("test", "responses", "expected"),
    [
        (varequal("R1", "C2"), {"R1": "C2"}, True),
        (varequal("R1", "C2"), {"R1": "C1"}, False),
        (varequal("R1", "C2"), {}, False),
        # Among the responses, hence the `not` terms of an all-or-nothing rule.
        (varequal("R2", "C1"), {"R2": ["C1", "C2"]}, True),
        (f"<not>{varequal('R2', 'C1')}</not>", {"R2": ["C1", "C2"]}, False),
        (f"<not>{varequal('R2', 'C3')}</not>", {"R2": ["C1", "C2"]}, True),
        (f"<and>{varequal('R2', 'C1')}{varequal('R2', 'C2')}</and>", {"R2": ["C2", "C1"]}, True),
        (f"<or>{varequal('R1', 'C1')}{varequal('R1', 'C2')}</or>", {"R1": "C2"}, True),
        (varequal("R1", "C1") + varequal("R2", "C2"), {"R1": "C1", "R2": ["C2"]}, True),
        (varequal("R1", "C1") + varequal("R2", "C2"), {"R1": "C1"}, False),  # joined by and
        (varequal("R3", "C2", 'index="1"'), {"R3": ["C2", "C1"]}, True),
        (varequal("R3", "C2", 'index="2"'), {"R3": ["C2", "C1"]}, False),
        (varequal("R3", "C2", 'index="9"'), {"R3": ["C2", "C1"]}, False),
        (varequal("S1", "York"), {"S1": "york"}, True),  # case="No" is the default
        (varequal("S1", "York", 'case="Yes"'), {"S1": "york"}, False),
        (varequal("S1", "York", 'case="Yes"'), {"S1": "York"}, True),
        (varequal("N1", "392"), {"N1": "392.0"}, True),  # numbers are compared as numbers
        (varequal("S1", "392"), {"S1": "392.0"}, False),
        ('<vargte respident="N1">5</vargte>', {"N1": "5"}, True),
        ('<vargt respident="N1">5</vargt>', {"N1": "5"}, False),
        ('<varlte respident="N1">5</varlte>', {"N1": "5"}, True),
        ('<varlt respident="N1">5</varlt>', {"N1": "5"}, False),
        ('<varlt respident="N1">5</varlt>', {"N1": "-1e3"}, True),
        ('<varlt respident="N1">5</varlt>', {}, False),  # missing: false
        ('<varlt respident="S1">5</varlt>', {"S1": "four"}, False),  # no number: false
        ('<not><varlt respident="N1">5</varlt></not>', {}, True),
        ('<unanswered respident="R1"/>', {}, True),
        ('<unanswered respident="R1"/>', {"R1": ""}, True),
        ('<unanswered respident="R1"/>', {"R1": "C1"}, False),
        ("<other/>", {}, True),
        ('<varsubstring respident="S1">UMP</varsubstring>', {"S1": "a pump"}, True),
        ('<varsubstring respident="S1" case="Yes">UMP</varsubstring>', {"S1": "a pump"}, False),
        ('<varsubset respident="R2">C1,C2</varsubset>', {"R2": ["C2", "C1"]}, True),
        ('<varsubset respident="R2">C1,C2</varsubset>', {"R2": ["C1"]}, False),
        ('<varsubset respident="R2" setmatch="Partial">C1,C2</varsubset>', {"R2": ["C1"]}, True),
        ('<varinside respident="XY" areatype="Rectangle">0,0,4,2</varinside>', {"XY": "3 1"}, True),
        (
            '<varinside respident="XY" areatype="Rectangle">0,0,4,2</varinside>',
            {"XY": "3,3"},
            False,
        ),
        ('<varinside respident="XY" areatype="Ellipse">0,0,4,2</varinside>', {"XY": "1.9,0"}, True),
        (
            '<varinside respident="XY" areatype="Ellipse">0,0,4,2</varinside>',
            {"XY": "0,1.1"},
            False,
        ),
        (
            '<varinside respident="XY" areatype="Bounded">0,0,4,0,0,4</varinside>',
            {"XY": "1,1"},
            True,
        ),
        ('<durgt respident="R1">PT1M</durgt>', {"R1": "C1"}, False),
        ("", {}, True),
    ],
)
def test_conditions(test, responses, expected):
    assert holds(test, **responses) is expected


# ---------------------------------------------------------------------------- going on and stopping


def test_a_true_condition_stops_unless_it_says_go_on():
    rules = when(varequal("R1", "C1"), setvar(1)) + when("<other/>", setvar(9))
    assert points(rules, R1="C1") == 1
    assert points(rules, R1="C2") == 9  # a false one never stops
    going = when(varequal("R1", "C1"), setvar(1), "Yes") + when("<other/>", setvar(9))
    assert points(going, R1="C1") == 9


def test_points_add_up_over_conditions_that_go_on():
    rules = "".join(when(varequal("R2", f"C{n}"), setvar(2, "Add"), "Yes") for n in (1, 2))
    rules += when(varequal("R2", "C3"), setvar(1, "Subtract"), "Yes")
    assert points(rules, R2=["C1", "C2"]) == 4
    assert points(rules, R2=["C1", "C3"]) == 1
    assert points(rules) == 0


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        (setvar(3) + setvar(2, "Add"), 5),
        (setvar(3) + setvar(2, "Subtract"), 1),
        (setvar(3) + setvar(2, "Multiply"), 6),
        (setvar(3) + setvar(2, "Divide"), 1.5),
        (setvar(3) + setvar(0, "Divide"), 3),
        (setvar(99), 10),  # held to maxvalue
        (setvar(-5), 0),  # and to minvalue
        ("<setvar>4</setvar>", 4),  # SCORE and Set unless said
        (setvar("many"), 0),
    ],
)
def test_settings(settings, expected):
    assert points(when("<other/>", settings)) == expected


def test_an_integer_cannot_hold_a_fraction_and_says_so():
    """Note g5: vartype is Integer unless said; h50 lists the defect."""
    found = make(when("<other/>", setvar(2.5)), outcomes="<decvar/>").score({})
    assert found.score == 2
    assert "an integer and cannot hold 2.5" in found.warnings[0]


def test_defaults_bounds_and_texts_of_variables():
    outcomes = '<decvar varname="SCORE" vartype="Decimal" defaultval="1.5" maxvalue="4"/>'
    outcomes += '<decvar varname="WORD" vartype="String" defaultval="none"/>'
    item = make(when(varequal("R1", "C1"), setvar("some", name="WORD")), outcomes=outcomes)
    found = item.score({})
    assert (found.score, found.maximum, found.outcomes["WORD"]) == (1.5, 4, "none")
    assert item.score({"R1": "C1"}).outcomes["WORD"] == "some"


def test_a_variable_of_another_name_is_the_score_when_it_is_the_only_one():
    outcomes = '<decvar varname="points" vartype="Decimal" maxvalue="3"/>'
    found = make(when("<other/>", setvar(2, name="points")), outcomes=outcomes).score({})
    assert (found.score, found.maximum) == (2, 3)


# ---------------------------------------------------------------------------- feedback

FEEDBACK = (
    '<itemfeedback ident="OK"><flow_mat><material><mattext texttype="text/html">'
    "&lt;p&gt;Well &lt;b&gt;done&lt;/b&gt; &amp;amp; dusted.&lt;/p&gt;</mattext>"
    "</material></flow_mat>"
    '</itemfeedback><itemfeedback ident="SOL"><solution feedbackstyle="Complete"><solutionmaterial>'
    "<material><mattext>P = F·v</mattext></material></solutionmaterial></solution></itemfeedback>"
)


def display(name: str, kind: str = "Response") -> str:
    return f'<displayfeedback feedbacktype="{kind}" linkrefid="{name}"/>'


def test_feedback_shows_in_the_order_of_the_conditions():
    rules = when("<other/>", display("SOL", "Solution"), "Yes")
    rules += when(varequal("R1", "C1"), setvar(1) + display("OK") + display("SOL"))
    item = make(rules, feedback=FEEDBACK)
    found = item.score({"R1": "C1"}).feedback
    assert [(f.outcome, f.identifier) for f in found] == [("Solution", "SOL"), ("Response", "OK")]
    assert [" ".join(f.text.split()) for f in found] == ["P = F·v", "Well done & dusted."]
    assert [f.identifier for f in item.score({}).feedback] == ["SOL"]


def test_feedback_that_does_not_exist_is_said():
    found = make(when("<other/>", display("GONE"))).score({})
    assert found.feedback == ()
    assert "'GONE'" in found.warnings[0]


# ---------------------------------------------------------------------------- documents and faults


def test_several_items_in_a_file_with_a_document_type():
    text = (
        '<?xml version="1.0"?><!DOCTYPE questestinterop SYSTEM "ims_qtiasiv1p2p1.dtd">'
        "<questestinterop><section ident='S'>"
        + item_text(when(varequal("R1", "C1"), setvar(1)))
        + item_text(when(varequal("R1", "C1"), setvar(7))).replace('"w1"', '"w2"')
        + "</section></questestinterop>"
    )
    assert score(text.encode(), {"R1": "C1"}, item="w2").score == 7
    with pytest.raises(ScoringError, match="holds 2 items"):
        score(text.encode(), {})
    with pytest.raises(ScoringError, match="holds no item 'w3'") as fault:
        score(text.encode(), {}, item="w3")
    assert "did you mean 'w2'?" in str(fault.value)


def test_a_namespace_makes_no_difference():
    text = item_text(when(varequal("R1", "C1"), setvar(1)))
    text = f'<questestinterop xmlns="http://www.imsglobal.org/xsd/ims_qtiasiv1p2">{text}</questestinterop>'
    assert score(text.encode(), {"R1": "C1"}).score == 1


@pytest.mark.parametrize(
    ("rules", "said"),
    [
        (when("<vargtt/>", ""), "there is no test 'vargtt'"),
        (when('<vargt respident="N1">five</vargt>', ""), "'five' (line 1) is no number"),
        (when("<other/>", setvar(1, "Power")), "there is no action 'Power'"),
        ("<respcondition/>", "has 0 conditionvar"),
        (when('<varinside respident="XY" areatype="Bounded">1,2</varinside>', ""), "is no area"),
    ],
)
def test_rules_that_cannot_be_run(rules, said):
    with pytest.raises(ScoringError) as fault:
        make(rules)
    assert said in str(fault.value)


@pytest.mark.parametrize(
    ("responses", "said"),
    [
        ({"R9": "C1"}, "no response 'R9'"),
        ({"N1": "1,5"}, "which takes a number"),
        ({"R1": ["C1", "C2"]}, "takes one answer"),
    ],
)
def test_responses_that_cannot_be_put(responses, said):
    with pytest.raises(ScoringError) as fault:
        make("").score(responses)
    assert said in str(fault.value)


def test_choices_are_checked_where_asked():
    with pytest.raises(ScoringError, match="'C9' is no choice of 'R1'"):
        make("").ensure_choices({"R1": "C9"})


def test_what_is_not_judged_is_said():
    rules = when("<var_extension/>", "") + when(varequal("NOWHERE", "x"), "")
    found = make(rules).score({}).warnings
    assert any("'var_extension'" in w for w in found)
    assert any("'NOWHERE'" in w for w in found)
