"""Rules that cannot be run, responses that cannot be put.

Rules are from the project's mapping note, sections e and g, unless a test says otherwise.
"""

from __future__ import annotations

import pytest

from qbank.scoring.compiled import compile_item
from qbank.scoring.faults import ScoringError
from tests.scoring.items import (
    SCORE,
    base,
    declare,
    document,
    f,
    put,
)

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
