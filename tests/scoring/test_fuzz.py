"""Hostile and broken items: an error or a score, never a crash, never a hang.

To look longer: `HYPOTHESIS_MAX_EXAMPLES=20000 pytest tests/scoring/test_fuzz.py`.
"""

from __future__ import annotations

import os
import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from qbank.errors import QbankError
from qbank.scoring.compiled import compile_item
from qbank.scoring.documents import read_document
from qbank.scoring.expressions import MANY, OPERATORS
from qbank.scoring.faults import ScoringError
from qbank.scoring.grading import score
from qbank.scoring.item12 import ScoredItem12
from qbank.scoring.limits import MAX_DEPTH
from tests.scoring.items import DIALECTS, declare, document, f, i, put
from tests.scoring.test_item12 import item_text

LONG = int(os.environ.get("HYPOTHESIS_MAX_EXAMPLES", "250"))
FUZZ = settings(max_examples=LONG, deadline=None, suppress_health_check=[HealthCheck.too_slow])
SECONDS = 10.0

NAMES = ["R1", "R2", "SCORE", "X", "T", "MANY", "SEQ", "REC", "P", "completionStatus", "NONE"]
ATTRIBUTES = {
    "identifier": NAMES, "variableIdentifier": NAMES, "fieldIdentifier": ["nsf", "a"],
    "baseType": [
        "integer", "float", "string", "identifier", "boolean", "point", "pair", "duration",
    ],
    "name": ["pi", "sin", "atan2", "floor", "exp", "mean", "sampleSD"],
    "toleranceMode": ["exact", "absolute", "relative"], "tolerance": ["0.5", "1 2", "X", "-1"],
    "roundingMode": ["significantFigures", "decimalPlaces"], "figures": ["0", "3", "T", "999"],
    "n": ["1", "0", "T", "-3"], "numberRepeats": ["2", "50", "T", "-1"],
    "min": ["0", "-3", "1e9", "T"], "max": ["5", "1e300", "T"], "step": ["1", "0", "2"],
    "caseSensitive": ["true", "false"], "substring": ["true"],
    "pattern": ["a*", "(a|b)+", "[0-9]+"],
    "shape": ["circle", "rect", "poly", "default"],
    "coords": ["0,0,5", "0,0,5,5", "1,1,4,4,1,4", ""],
}  # fmt: skip
TEXTS = ["", "1", "-2.5", "1e308", "-INF", "NaN", "true", "abc", "3 4", "A B", "2147483647", " 7 "]
LEAVES = sorted(name for name, (_, most, _) in OPERATORS.items() if most == 0)
BRANCHES = sorted(name for name, (_, most, _) in OPERATORS.items() if most)


@st.composite
def attributes(draw) -> str:
    names = draw(st.lists(st.sampled_from(sorted(ATTRIBUTES)), max_size=4, unique=True))
    return "".join(f' {name}="{draw(st.sampled_from(ATTRIBUTES[name]))}"' for name in names)


@st.composite
def leaf(draw) -> str:
    kind = draw(st.sampled_from(["baseValue", "variable", "null", "any"]))
    if kind == "baseValue":
        base_type = draw(st.sampled_from(ATTRIBUTES["baseType"]))
        return f'<baseValue baseType="{base_type}">{draw(st.sampled_from(TEXTS))}</baseValue>'
    if kind == "variable":
        return f'<variable identifier="{draw(st.sampled_from(NAMES))}"/>'
    name = "null" if kind == "null" else draw(st.sampled_from(LEAVES))
    return f"<{name}{draw(attributes())}/>"


@st.composite
def branch(draw, inner) -> str:
    name = draw(st.sampled_from(BRANCHES))
    fewest, most, _ = OPERATORS[name]
    count = draw(st.integers(fewest, min(most, 3) if most == MANY else most))
    given_attributes = draw(attributes())
    # The attributes an operator cannot do without, so that most trees are run.
    for needed, default in [
        ("figures", "2"), ("n", "1"), ("numberRepeats", "3"), ("pattern", "a+"), ("min", "0"),
        ("max", "2"), ("tolerance", "1"), ("name", "mean"), ("fieldIdentifier", "nsf"),
    ]:  # fmt: skip
        if f" {needed}=" not in given_attributes:
            given_attributes += f' {needed}="{default}"'
    return f"<{name}{given_attributes}>{''.join(draw(inner) for _ in range(count))}</{name}>"


TREES = st.recursive(leaf(), branch, max_leaves=12)
DECLARED = (
    declare("response", "R1", "float", "3")
    + declare("response", "R2", "identifier", "A", cardinality="multiple")
    + declare("response", "REC", "", cardinality="record") + declare("response", "P", "point")
    + declare("outcome", "SCORE", "float", "0")
    + declare("outcome", "MANY", "float", cardinality="multiple")
    + declare("outcome", "SEQ", "string", cardinality="ordered")
    + declare("template", "T", "integer", "2")
    + declare("template", "X", "float", "0.5")
)  # fmt: skip
ANSWERS = {"R1": "2.5", "R2": ["A", "B"], "REC": "1.250", "P": "3 4"}


@FUZZ
@given(
    trees=st.lists(TREES, min_size=1, max_size=3),
    dialect=st.sampled_from(DIALECTS),
    seed=st.integers(0, 9),
)
def test_any_expression_ends_in_a_value_or_an_error(trees, dialect, seed):
    targets = ["SCORE", "MANY", "SEQ", "completionStatus"]
    rules = "".join(put(name, tree) for name, tree in zip(targets, trees, strict=False))
    template = put("X", trees[0], "Template")
    data = document(DECLARED, rules, template=template, dialect=dialect)
    start = time.process_time()
    try:
        item = compile_item(data)
        first, second = item.score(ANSWERS, seed), item.score(ANSWERS, seed)
        item.score({})
    except ScoringError:
        return
    finally:
        assert time.process_time() - start < SECONDS
    # NaN never appears, so that equal means equal.
    assert first.outcomes == second.outcomes


@FUZZ
@given(data=st.data())
def test_damaged_documents_end_in_an_error_or_a_score(data):
    rules = put("SCORE", f'<sum><variable identifier="R1"/>{f(1)}{i(2)}</sum>')
    text = document(
        DECLARED, rules, body='<p><textEntryInteraction responseIdentifier="R1"/></p>'
    ).decode()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text) - 1))
        length = data.draw(st.integers(0, 30))
        patch = data.draw(st.sampled_from(
            ["", "<", ">", '"', "&", "&#0;", "<!--", "]]>", "identifier", "NaN",
             "\ud7ff", "<sum/>", "é"]
        ))  # fmt: skip
        text = text[:at] + patch + text[at + length :]
    try:
        score(text.encode(), {"R1": "2"})
    except QbankError:
        return


TESTS12 = st.recursive(
    st.sampled_from([
        "<other/>", '<unanswered respident="R1"/>', '<varequal respident="R2">C1</varequal>',
        '<varequal respident="R3" index="2">C1</varequal>', '<vargte respident="N1">2</vargte>',
        '<vargte respident="N1">x</vargte>', '<varsubstring respident="S1">a</varsubstring>',
        '<varsubset respident="R2">C1,C2</varsubset>', "<var_extension/>", "<what/>",
        '<varinside respident="XY" areatype="Ellipse">1,2,3</varinside>', '<varequal/>',
    ]),
    lambda inner: st.tuples(st.sampled_from(["and", "or", "not"]), st.lists(inner, max_size=3)).map(
        lambda pair: f"<{pair[0]}>{''.join(pair[1])}</{pair[0]}>"
    ),
    max_leaves=8,
)  # fmt: skip
SETS12 = st.tuples(
    st.sampled_from(["Set", "Add", "Subtract", "Multiply", "Divide", "Power"]),
    st.sampled_from(["1", "0", "1e308", "x", ""]),
    st.sampled_from(["SCORE", "OTHER"]),
).map(lambda s: f'<setvar action="{s[0]}" varname="{s[2]}">{s[1]}</setvar>')


@FUZZ
@given(
    conditions=st.lists(st.tuples(TESTS12, SETS12, st.sampled_from(["Yes", "No", ""])), max_size=5)
)
def test_any_rules_of_1_2_1_end_in_a_score_or_an_error(conditions):
    rules = "".join(
        f'<respcondition continue="{go}"><conditionvar>{test}</conditionvar>{then}</respcondition>'
        for test, then, go in conditions
    )
    answers = {
        "R1": "C1",
        "R2": ["C1", "C3"],
        "R3": ["C2", "C1"],
        "N1": "2",
        "S1": "a",
        "XY": "1,1",
    }
    try:
        item = ScoredItem12(read_document(item_text(rules).encode()))
        assert item.score(answers) == item.score(answers)
        item.score({})
    except ScoringError:
        return


# ---------------------------------------------------------------------------- bounds


def nested(depth: int, opening: str, inner: str, closing: str) -> str:
    return opening * depth + inner + closing * depth


REPEAT = '<repeat numberRepeats="9999">'


@pytest.mark.parametrize(
    ("processing", "said"),
    [
        (put("SCORE", nested(MAX_DEPTH + 2, "<not>", "<null/>", "</not>")), "more than 60 deep"),
        (
            nested(70, "<responseProcessingFragment>", "", "</responseProcessingFragment>"),
            "60 deep",
        ),
        (put("SCORE", f'<repeat numberRepeats="10001">{f(1)}</repeat>'), "at most 10000 are made"),
        (put("SCORE", nested(3, REPEAT, "<null/>", "</repeat>")), "more than 200000 steps"),
        (put("SCORE", f"{REPEAT}{f(1)}</repeat>"), "more than 1000 members"),
        ("<exitResponse/>" * 5_001, "more than 5000 rules"),
        (put("SCORE", f'<patternMatch pattern="((a{{99}}){{99}}){{99}}">{f(1)}</patternMatch>'),
         "too large"),
    ],
)  # fmt: skip
def test_work_is_bounded(processing, said):
    start = time.process_time()
    with pytest.raises(ScoringError) as fault:
        compile_item(document(DECLARED, processing)).score(ANSWERS)
    assert said in str(fault.value)
    assert time.process_time() - start < SECONDS


def test_restarts_are_bounded_in_a_large_template():
    never = f"<templateConstraint><gt>{f(1)}{f(2)}</gt></templateConstraint>"
    template = put("T", '<randomInteger min="0" max="9"/>', "Template") * 4000 + never
    start = time.process_time()
    warned = compile_item(document(DECLARED, "", template=template)).score({}).warnings
    assert any("declared defaults stand" in warning for warning in warned)
    assert time.process_time() - start < SECONDS


def test_numbers_cannot_grow_without_end():
    squares = put(
        "T", '<product><variable identifier="T"/><variable identifier="T"/></product>', "Template"
    )
    item = compile_item(document(DECLARED, "", template=squares * 200))
    assert item.session().templates["T"] is None


@pytest.mark.parametrize(
    "data",
    [
        b'<!DOCTYPE a [<!ENTITY b "c">]><assessmentItem/>',
        b"<!DOCTYPE a [<!ELEMENT b ANY>]><assessmentItem/>",
        b'<!DOCTYPE a SYSTEM "file:///etc/passwd"><assessmentItem>&x;</assessmentItem>',
        b"<html/>",
        b"",
        b"PK\x03\x04 no zip",
        "<assessmentItem/>".encode("utf-16"),
        b"<" * 100_000,
        b"<a>" * 5_000 + b"</a>" * 5_000,
    ],
)
def test_hostile_documents_are_refused(data):
    with pytest.raises(QbankError):
        score(data, {})


def test_entities_bring_nothing_in(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("hidden")
    text = document(DECLARED, "", body="<p>&x;</p>").decode()
    data = f'<!DOCTYPE a [<!ENTITY x SYSTEM "{secret.as_uri()}">]>{text}'.encode()
    with pytest.raises(QbankError, match="entities"):
        score(data, {})
