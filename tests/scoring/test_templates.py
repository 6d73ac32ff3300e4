"""The standard templates of response processing; template processing.

Rules are from the project's mapping note, sections e and g, unless a test says otherwise.
"""

from __future__ import annotations

import pytest

from qbank.scoring.compiled import compile_item
from qbank.scoring.templates import template_name
from tests.scoring.items import (
    ABC,
    DIALECTS,
    SCORE,
    declare,
    document,
    f,
    i,
    mapped,
    put,
    when,
)

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
