"""Conditions, kinds, adaptive items, records, the most there is.

Rules are from the project's mapping note, sections e and g, unless a test says otherwise.
"""

from __future__ import annotations

import pytest

from qbank.scoring.compiled import compile_item
from tests.scoring.items import (
    DIALECTS,
    RIGHT,
    SCORE,
    base,
    d,
    declare,
    document,
    f,
    i,
    multiple,
    ordered,
    outcomes,
    put,
    s,
    when,
)


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


def test_ordered_and_multiple_defaults_are_read():
    declarations = declare("template", "T", "integer", "3", "1", "2", cardinality="ordered")
    declarations += declare("outcome", "OUT", "integer", cardinality="ordered")
    assert outcomes(declarations, put("OUT", '<variable identifier="T"/>'))["OUT"] == [3, 1, 2]
    assert outcomes(declarations, put("OUT", ordered(i(1))))["OUT"] == [1]
    assert outcomes(SCORE, put("SCORE", f"<sum>{multiple(f(1, 1))}</sum>"))["SCORE"] == 2
