"""Reading expressions: precedence, measures, spelling back, and every fault with its sentence."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given

from qbank.errors import ExpressionError
from qbank.expressions.limits import ensure_bounded
from qbank.expressions.parser import (
    parse_condition,
    parse_equation,
    parse_measure,
    parse_value,
    split_number_and_unit,
)
from qbank.expressions.spelling import spell
from qbank.expressions.tree import Binary, Compare, Logic, Measure, Name, Negate, Not, Number, walk

from .trees import conditions, values_with_units

x, y, z = Name("x"), Name("y"), Name("z")


def number(value):
    return Number(Fraction(value), "")


@pytest.mark.parametrize(
    ("text", "bracketed"),
    [
        ("a+b*c", "a+(b*c)"),
        ("a-b-c", "(a-b)-c"),
        ("a/b/c", "(a/b)/c"),
        ("a/b*c", "(a/b)*c"),
        ("-x^2", "-(x^2)"),
        ("-x*y", "(-x)*y"),
        ("a^b^c", "a^(b^c)"),
        ("2^-1", "2^(-1)"),
        ("a*-b", "a*(-b)"),
        ("a - -b", "a - (-b)"),
        ("2^-x^2", "2^(-(x^2))"),
    ],
)
def test_precedence(text, bracketed):
    assert parse_value(text) == parse_value(bracketed)


@pytest.mark.parametrize(
    ("text", "bracketed"),
    [
        ("a<b and c<d or e<f", "(a<b and c<d) or e<f"),
        ("not a<b and c<d", "(not a<b) and c<d"),
        ("a+1 < b*2", "(a+1) < (b*2)"),
        ("(a<b) and (c<d) and (e<f)", "a<b and c<d and e<f"),
    ],
)
def test_precedence_of_conditions(text, bracketed):
    assert parse_condition(text) == parse_condition(bracketed)


def test_chains_are_one_comparison():
    assert parse_condition("0 < x <= y") == Compare((number(0), x, y), ("<", "<="))
    assert parse_condition("x<y and not y==z") == Logic(
        "and", (Compare((x, y), ("<",)), Not(Compare((y, z), ("==",))))
    )


def test_spans_point_into_the_text():
    text = "s*(m_b*g - T_b) = m_b*R*alpha"
    equation = parse_equation(text)
    assert text[slice(*equation.left.span)] == "s*(m_b*g - T_b)"
    assert text[slice(*equation.right.span)] == "m_b*R*alpha"
    spelled = {text[slice(*part.span)] for part in walk(equation.left)}
    assert {"s", "(m_b*g - T_b)", "m_b*g", "m_b", "g", "T_b"} <= spelled


def test_numbers_are_exact_and_keep_their_spelling():
    node = parse_value("0.10")
    assert isinstance(node, Number)
    assert (node.value, node.text) == (Fraction(1, 10), "0.10")
    assert parse_value("1.8e-5") == number("1.8e-5")
    assert parse_value("2 eV").unit.text == "eV"  # no exponent without digits


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("12 cm", 12, "cm"),
        ("12cm", 12, "cm"),
        ("9.81 m/s^2", "9.81", "m/s²"),
        ("4.7 kΩ", "4.7", "kΩ"),
        ("20 °C", 20, "°C"),
        ("30°", 30, "°"),
        ("2 %", 2, "%"),
        ("1.8e-5 mol/L", "1.8e-5", "mol/L"),
        ("3 m²", 3, "m²"),
    ],
)
def test_measures(text, value, unit):
    for node in (parse_measure(text), parse_value(text)):
        assert isinstance(node, Measure)
        assert (node.value, node.unit.text) == (Fraction(value), unit)


def test_measures_alone():
    assert parse_measure(" 3 ") == number(3)
    assert parse_measure("-0.5") == number("-0.5")
    assert parse_measure("−5 °C").value == -5
    assert parse_measure("3 1/s").unit.text == "1/s"
    with pytest.raises(ExpressionError, match="expected a number, with its unit if it has one"):
        parse_measure("m_a")
    with pytest.raises(ExpressionError) as caught:
        parse_measure("12 sec")
    assert caught.value.span == (3, 6)
    assert caught.value.hint == "Did you mean s?"
    with pytest.raises(ExpressionError, match="beyond 1e300"):
        parse_measure("1e300 Qm")


def test_below_zero_degrees_is_no_negative_of_an_absolute_temperature():
    node = parse_value("-5 °C")
    assert isinstance(node, Measure)
    assert node.unit.si_value(node.value) == 268.15
    assert parse_value("-5 m") == Negate(parse_value("5 m"))


def test_a_unit_ends_where_the_expression_goes_on():
    assert parse_value("3 N*x") == Binary("*", parse_value("3 N"), x)
    assert parse_value("6 m / s") == Binary("/", parse_value("6 m"), Name("s"))
    assert parse_value("6 m/s_1") == Binary("/", parse_value("6 m"), Name("s_1"))
    assert parse_condition("1 m < x < 2 m") == Compare(
        (parse_value("1 m"), x, parse_value("2 m")), ("<", "<")
    )


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("4.7, 10, 22 kΩ", ("4.7, 10, 22", "kΩ")),
        ("2.0 .. 9.0 by 0.5 kg", ("2.0 .. 9.0 by 0.5", "kg")),
        ("2.0..9.0 by 0.5", ("2.0..9.0 by 0.5", "")),
        ("0..9 m s^-2", ("0..9", "m s^-2")),
        ("1.2e-3 .. 9.8e-3 by 0.2e-3 mol/L", ("1.2e-3 .. 9.8e-3 by 0.2e-3", "mol/L")),
        ("2 .. 3 MPa m^(1/2)", ("2 .. 3", "MPa m^(1/2)")),
        ("-10 .. -5 °C", ("-10 .. -5", "°C")),
        ("3 1/s", ("3", "1/s")),
        ("12cm", ("12", "cm")),
        ("kg", ("", "kg")),
    ],
)
def test_splitting_off_a_unit(text, parts):
    assert split_number_and_unit(text) == parts


@given(values_with_units)
def test_spelled_values_read_back(node):
    _assume_bounded(node)
    assert parse_value(spell(node)) == node


@given(conditions)
def test_spelled_conditions_read_back(node):
    _assume_bounded(node)
    assert parse_condition(spell(node)) == node


def _assume_bounded(node):
    try:
        ensure_bounded(node, "")
    except ExpressionError:
        assume(False)


def test_spelling_has_no_needless_brackets():
    for text in ("s*(m_b*g - T_b) = m_b*R*alpha", "h^2 = K_a*(c - h)", "V_1 = V_0*exp(-t/(R*C))"):
        assert spell(parse_equation(text)) == text


FAULTS = [
    ("a*()", "expected a number, a name or '(', found ')'", "Write a value between the brackets."),
    ("a*/b", "expected a number, a name or '(', found '/'", "Write a value before it"),
    ("2**3", "'**' has no meaning here", "Write ^."),
    ("x y", "expected an operator, found 'y'", "Products are written with *: x*y"),
    ("2 m_a", "'m_a' is not a unit that is known here", "For a product write 2*m_a."),
    ("5 sec", "'sec' is not a unit that is known here", "Did you mean 5 s?"),
    ("sin x", "the function 'sin' without its argument", "Write sin(...)"),
    ("log(x)", "'log' is not a function that is known here", "Write ln or log10."),
    ("sine(x)", "'sine' is not a function that is known here", "Did you mean sin?"),
    ("q(x)", "'q' is not a function that is known here", "For a product write q*(...)."),
    ("(a+b)(c)", "expected an operator, found '('", "written with *"),
    ("1 000", "two numbers side by side", "Write digits without spaces (1000)"),
    (".5*x", "'.' has no meaning here", "Write 0 before the point: 0.5."),
    ("0,5*x", "expected the end of the expression, found ','", "as a point"),
    ("x.__class__", "'.' has no meaning here", "nothing is reached through a point"),
    ("__import__('os')", "'_' has no meaning here", "A name starts with a letter"),
    ("T__a", "'_' has no meaning here", "single underscores"),
    ("x[0]", "'[' has no meaning here", "Write (."),
    ("α + 1", "'α' has no meaning here", "Write alpha"),
    ("Δ + 1", "'Δ' has no meaning here", "Write Delta"),
    ("a − b", "'−' has no meaning here", "Write -."),
    ("a = b", "expected the end of the expression, found '='", "A comparison is written =="),
    ("", "expected a number, a name or '(', found the end", "Write a value here"),
    ("a+", "expected a number, a name or '(', found the end", "delete the operator before it"),
    ("(a", "expected ')', found the end", "Close each bracket that is opened."),
    ("a)", "expected the end of the expression, found ')'", "or open a bracket before it"),
    ("max(a b)", "expected an operator, found 'b'", "a*b"),
    ("max(a", "expected ',' or ')' after an argument of max, found the end", "Close each bracket"),
    ("min(1)", "min takes 2 to 8 arguments, found 1", "Write min(a, b)"),
    ("sin(1, 2)", "sin takes 1 argument, found 2", "Write sin(a)"),
    ("t_quantile(0.9)", "t_quantile takes 2 arguments, found 1", "Write t_quantile(a, b)"),
    ("5 m^n", "a power after a unit can be read in two ways", "(5 m)^n"),
    ("a + (b<c)", "expected a value after '+', found a condition", "joined by and"),
    (
        "abs(a<b)",
        "expected ',' or ')' after an argument of abs, found '<'",
        "Delete what does not belong here",
    ),
    ("abs((a<b))", "expected a value here, found a condition", "joined by and"),
    ("-(a<b)", "expected a value after '-', found a condition", "joined by and"),
    ("x%", "'%' has no meaning here", "after a number"),
    ("3 J/kg K", "the unit 'J/kg K' can be read in two ways", "in brackets"),
    ("x; y", "';' has no meaning here", "Delete it."),
    ("'x'", '"\'" has no meaning here', "Delete it."),
]


@pytest.mark.parametrize(("text", "message", "hint"), FAULTS)
def test_faults_of_values(text, message, hint):
    with pytest.raises(ExpressionError) as caught:
        parse_value(text)
    assert caught.value.message == message
    assert hint
    assert hint in (caught.value.hint or "")
    assert caught.value.span is not None
    assert caught.value.excerpt == text


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a", "expected a condition, found a value"),
        ("a and b", "expected a condition before 'and', found a value"),
        ("a<b or c", "expected a condition after 'or', found a value"),
        ("not a", "expected a condition after 'not', found a value"),
        ("(a<b) < c", "expected a value before the comparison, found a condition"),
        ("a < (b<c)", "expected a value after the comparison, found a condition"),
        ("a => b", "'=>' has no meaning here"),
        ("a & b", "'&' has no meaning here"),
    ],
)
def test_faults_of_conditions(text, message):
    with pytest.raises(ExpressionError) as caught:
        parse_condition(text)
    assert caught.value.message == message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a", "expected '=' between the two sides of the law, found the end"),
        ("a == b", "'==' compares"),
        ("a = b = c", "a second '='"),
        ("a = b < c", "expected the end of the expression, found '<'"),
        ("a < b = c", "expected '=' between the two sides of the law, found '<'"),
    ],
)
def test_faults_of_laws(text, message):
    with pytest.raises(ExpressionError) as caught:
        parse_equation(text)
    assert caught.value.message == message


def test_the_caret_stands_below_the_fault():
    with pytest.raises(ExpressionError) as caught:
        parse_value("m_b*g + log(x)")
    assert str(caught.value).splitlines() == [
        "'log' is not a function that is known here",
        "    m_b*g + log(x)",
        "            ^^^",
        "    Write ln or log10.",
    ]
