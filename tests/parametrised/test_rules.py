"""Template rules on small families: roots, lists of values, refusals; broken rules found."""

from __future__ import annotations

import re

import pytest

from qbank.errors import QbankError
from qbank.expressions.parser import parse_condition, parse_value
from qbank.formats.dialects import QTI_21, QTI_30
from qbank.formats.item_judge import item_findings
from qbank.generation import Generator
from qbank.parametrised.expressions import InexpressibleError, condition, value, variable
from qbank.parametrised.item import Parametriser
from qbank.parametrised.package import make_parametrised
from tests.parametrised import families
from tests.parametrised.drawing import compare, draws


@pytest.mark.parametrize("name", ["SQUARE", "LISTED"])
def test_small_families_agree_with_their_model(name):
    family = families.family(name.lower(), getattr(families, name))
    made = Parametriser(family).write(QTI_21)
    tally = compare(family, Generator(family), list(draws(made.data, 300)))
    assert tally.faults == []
    assert tally.draws == 300


def test_a_cubic_is_told_why_not():
    with pytest.raises(InexpressibleError) as caught:
        Parametriser(families.family("cube", families.CUBE)).write(QTI_30)
    said = "x is a root of a polynomial of degree 3, and the standard finds no roots"
    assert caught.value.message == said


def test_rules_that_reject_too_much_are_told_with_the_restarts():
    with pytest.raises(InexpressibleError) as caught:
        Parametriser(families.family("rare", families.RARE)).write(QTI_30)
    assert re.fullmatch(
        r"only \d\.\d % of its draws meet its rules; delivery systems try 100 times before they "
        r"fall back on one fixed draw, so at least 10 % are needed",
        caught.value.message,
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("t_quantile(0.95, 4)", "it uses t_quantile, and the standard has no quantiles"),
        ("t_cdf(2, 4)", "it uses t_cdf, and the standard has no distribution functions"),
        ("mean(x)", "it takes mean of a data list, and the standard draws no lists"),
    ],
)
def test_functions_without_an_operator_are_told(text, said):
    with pytest.raises(InexpressibleError, match=re.escape(said)):
        value(parse_value(text), {"x": variable("X")})


def test_comparisons_forgive_the_last_bit():
    markup = condition(parse_condition("a >= 0.1"), {"a": variable("A")})
    constant = '<baseValue baseType="float">0.1</baseValue>'
    a = '<variable identifier="A"/>'
    assert markup == (
        f"<or><gte>{a}{constant}</gte>"
        f'<equal toleranceMode="relative" tolerance="1e-10">{a}{constant}</equal></or>'
    )


def test_listed_values_keep_their_own_figures():
    made = Parametriser(families.family("listed", families.LISTED)).write(QTI_21)
    texts = {
        re.search(r"concentration is (.*?) mol", session.text())[1]
        for session in draws(made.data, 40)
    }
    # a power of ten is raised in the markup, and plain text has no raised digits
    assert texts == {"5 × 10-1", "2.5 × 10-2", "1.0 × 10-4", "3.20 × 10-6"}


@pytest.fixture(scope="module")
def square() -> bytes:
    return Parametriser(families.family("square", families.SQUARE)).write(QTI_21).data


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ('<variable identifier="DATA_p"/>', '<variable identifier="DATA_z"/>', "template.declared"),
        ('<setTemplateValue identifier="KEY_x">', '<setTemplateValue identifier="KEY_y">',
         "template.declared"),
        ('<setCorrectResponse identifier="RESPONSE_R1">',
         '<setCorrectResponse identifier="RESPONSE_R9">', "template.declared"),
        ('<printedVariable identifier="DATA_p"/>', '<printedVariable identifier="DATA_P"/>',
         "template.declared"),
        ('format="%.', 'format="%+.', "parametrised-2.1:printedVariable"),
        ("<templateProcessing>", "<templateProcessing><exitTemplate/>",
         "parametrised-2.1:templateProcessing"),
        ('showHide="show"', 'showHide="hide"', "parametrised-2.1"),
    ],
)  # fmt: skip
def test_broken_template_rules_are_found(square, old, new, rule):
    text = square.decode()
    assert old in text
    findings = item_findings(QTI_21, "item.xml", text.replace(old, new).encode())
    assert any(finding.rule.startswith(rule) for finding in findings), findings


def test_constraints_without_defaults_are_found(square):
    bare = re.sub(r"(<templateDeclaration [^>]*)><defaultValue>.*?</templateDeclaration>", r"\1/>",
                  square.decode())  # fmt: skip
    assert "template.default" in {f.rule for f in item_findings(QTI_21, "i", bare.encode())}


def test_a_package_of_those_that_can_be_and_reasons_for_the_rest(tmp_path):
    made = [families.family(name.lower(), getattr(families, name)) for name in ("SQUARE", "CUBE")]
    report = make_parametrised(made, formats=["qti-3.0"], out=tmp_path, name="two", unpacked=True)
    assert set(report.acceptance) == {"square"}
    assert "degree 3" in report.refused["cube"]
    (package,) = report.packages
    assert package.path == tmp_path / "two-one-item-qti-3.0"
    assert package.items == 1
    assert [path.parent.name for path in package.path.glob("items/*/*.xml")] == ["square"]


def test_a_format_without_template_rules_is_refused(tmp_path):
    square = families.family("square", families.SQUARE)
    with pytest.raises(QbankError, match="the format 'csv' has no rules that draw data"):
        make_parametrised([square], formats=["csv"], out=tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_no_family_at_all_is_an_error(tmp_path):
    cube = families.family("cube", families.CUBE)
    with pytest.raises(QbankError, match="no family can be one item: cube: x is a root"):
        make_parametrised([cube], out=tmp_path)
    assert list(tmp_path.iterdir()) == []
