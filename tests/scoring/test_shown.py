"""Feedback that shows, printed variables, and what a candidate reads (note, c, d and e)."""

from __future__ import annotations

import pytest

from qbank.scoring.compiled import compile_item
from qbank.scoring.printing import format_number, print_value
from qbank.scoring.values import Value
from tests.scoring.items import DIALECTS, base, d, declare, document, multiple, put

FLAG = declare("outcome", "FEEDBACK", "identifier")
FLAGS = declare("outcome", "FEEDBACK", "identifier", cardinality="multiple")


def modal(name: str, text: str, show: str = "show") -> str:
    return (
        f'<modalFeedback outcomeIdentifier="FEEDBACK" identifier="{name}" showHide="{show}">'
        f"<contentBody>{text}</contentBody></modalFeedback>"
    )


def shown(declarations, processing, **more):
    score = compile_item(document(declarations, processing, **more)).score({})
    return [(f.outcome, f.identifier, f.text) for f in score.feedback]


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_modal_feedback_shows_for_its_identifier(dialect):
    after = modal("A", "<p>Mind the <em>sign</em>.</p>") + modal("B", "<p>No.</p>")
    found = shown(FLAG, put("FEEDBACK", d("A")), after=after, dialect=dialect)
    assert found == [("FEEDBACK", "A", "Mind the sign.")]
    assert shown(FLAG, "", after=after, dialect=dialect) == []


def test_a_container_shows_each_of_its_identifiers():
    after = modal("A", "<p>a</p>") + modal("B", "<p>b</p>") + modal("C", "<p>c</p>")
    found = shown(FLAGS, put("FEEDBACK", multiple(d("A", "C"))), after=after)
    assert [name for _, name, _ in found] == ["A", "C"]


def test_hide_is_the_inverse_and_shows_by_default():
    """Note c: a general feedback hides for an identifier that is never set."""
    after = modal("general", "<p>Well tried.</p>", show="hide")
    assert len(shown(FLAG, "", after=after)) == 1
    assert shown(FLAG, put("FEEDBACK", d("general")), after=after) == []


def test_feedback_within_the_body_shows_too():
    body = (
        '<p>Power <feedbackInline outcomeIdentifier="FEEDBACK" identifier="A" showHide="show">'
        "watts</feedbackInline></p>"
        '<feedbackBlock outcomeIdentifier="FEEDBACK" identifier="B" showHide="show"><p>no</p>'
        "</feedbackBlock>"
    )
    found = shown(FLAG, put("FEEDBACK", d("A")), body=body)
    assert found == [("FEEDBACK", "A", "watts")]


# ---------------------------------------------------------------------------- text

MATH = 'xmlns="http://www.w3.org/1998/Math/MathML"'
DRAWN = (
    declare("template", "m", "integer", "40").replace(
        "<templateDeclaration", '<templateDeclaration mathVariable="true"'
    )
    + declare("template", "v", "float", "0.5")
    + declare("template", "KIND", "identifier", "up")
)
BODY = (
    '<p>m = <printedVariable identifier="m"/> kg, v = <printedVariable identifier="v" '
    'format="%.2f"/> m/s</p>'
    '<templateBlock templateIdentifier="KIND" identifier="up" showHide="show"><p>It rises.</p>'
    "</templateBlock>"
    '<templateBlock templateIdentifier="KIND" identifier="down" showHide="show"><p>It falls.</p>'
    "</templateBlock>"
    f'<p><math {MATH} alttext="m·g"><mi>m</mi><mo>·</mo><mi>g</mi></math></p>'
    '<rubricBlock view="scorer"><p>for markers</p></rubricBlock>'
    '<table><tr><td>a</td><td>b</td></tr></table><p><img src="x.png" alt="A crane"/></p>'
)


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_the_text_of_an_item_has_its_draws_in_it(dialect):
    text = compile_item(document(DRAWN, "", body=BODY, dialect=dialect)).session().text()
    assert text.splitlines() == ["m = 40 kg, v = 0.50 m/s", "It rises.", "40·g", "a   b", "A crane"]


def test_a_formula_without_draws_is_its_plain_text():
    body = f'<p><math {MATH} alttext="v = s/t"><mfrac><mi>s</mi><mi>t</mi></mfrac></math></p>'
    assert compile_item(document("", "", body=body)).session().text() == "v = s/t"


# ---------------------------------------------------------------------------- formats


@pytest.mark.parametrize(
    ("number", "form", "expected"),
    [
        (2.5, "%.2f", "2.50"),
        (2.5, "%8.2f", "    2.50"),
        (2.5, "%-8.2f|", "2.50    |"),
        (2.5, "%+.1f", "+2.5"),
        (7, "%03d", "007"),
        (7, "%i", "7"),
        (8, "%o", "10"),
        (255, "%x", "ff"),
        (255, "%#X", "0XFF"),
        (1234.5, "%.2e", "1.23e+03"),
        (1234.5, "%.2E", "1.23E+03"),
        (0.0001234, "%.3g", "0.000123"),
        (1e-9, "%G", "1E-09"),
        (12.0, "%s", "12"),
        (3.0, "about %.0f m", "about 3 m"),
        (2.0, "%.3r", "2.00"),
        (0.05, "%.2r", "0.050"),
        (123456.0, "%.2r", "120000"),
        (1.5e9, "%.3r", "1.50e+09"),
        (1.5e9, "%.3R", "1.50E+09"),
    ],
)
def test_formats(number, form, expected):
    """C's own rules for all but r and R, which show significant figures with their zeros [?]."""
    assert format_number(number, form) == expected


@pytest.mark.parametrize("form", ["", "%", "%q", "%.999f", "%500d", "%*d", "%n"])
def test_what_is_no_format_is_refused(form):
    with pytest.raises(ValueError, match=r"format|asks"):
        format_number(1.0, form)


@pytest.mark.parametrize(
    ("value", "attributes", "expected"),
    [
        (Value("single", "float", 196.2), {}, "196.2"),
        (Value("single", "float", 3.0), {}, "3"),
        (Value("single", "integer", 11), {"base": "2"}, "1011"),
        (Value("single", "integer", -255), {"base": "16"}, "-ff"),
        (Value("single", "float", 1.5e8), {"format": "%.1e", "powerForm": "true"}, "1.5 × 10⁸"),
        (Value("single", "boolean", True), {}, "true"),
        (Value("multiple", "integer", (1, 2)), {}, "1;2"),
        (Value("ordered", "float", (1.0, 2.5)), {"delimiter": ", "}, "1, 2.5"),
        (Value("ordered", "float", (1.0, 2.5)), {"index": "2"}, "2.5"),
        (Value("ordered", "float", (1.0, 2.5)), {"index": "3"}, ""),
        (Value("record", "", {"a": Value("single", "integer", 1)}), {}, "a=1"),
        (Value("record", "", {"a": Value("single", "integer", 1)}), {"field": "a"}, "1"),
        (
            Value("record", "", {"a": Value("single", "integer", 1)}),
            {"mappingIndicator": ":"},
            "a:1",
        ),
        (None, {}, ""),
    ],
)
def test_printed_variables(value, attributes, expected):
    """Note e: delimiter ';' and mappingIndicator '=' unless said, base 10, index from 1."""
    assert print_value(value, attributes) == expected


def test_a_format_that_is_none_prints_the_value():
    body = '<p><printedVariable identifier="v" format="%q"/></p>'
    assert compile_item(document(DRAWN, "", body=body)).session().text() == "0.5"


def test_null_prints_nothing():
    body = '<p>[<printedVariable identifier="NOWHERE"/>]</p>'
    assert (
        compile_item(document(DRAWN, put("X", base("float", "1")), body=body)).session().text()
        == "[]"
    )
