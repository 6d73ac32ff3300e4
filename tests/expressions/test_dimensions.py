"""Dimension checks against SymPy's, and the sentences with the part at fault and the mend."""

from __future__ import annotations

import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from sympy.physics import units as sympy_units
from sympy.physics.units.systems.si import SI, dimsys_SI

from qbank.errors import ExpressionError
from qbank.expressions.dimensions import (
    check_condition,
    check_equation,
    dimension_of,
    shape_of,
)
from qbank.expressions.parser import parse_condition, parse_equation, parse_value
from qbank.expressions.spelling import spell
from qbank.expressions.tree import Binary, Call, Name, Number
from qbank.expressions.units import DIMENSIONLESS, parse_unit

UNITS = {
    "m_a": "kg", "m_b": "kg", "r": "m", "R": "m", "g": "m/s^2", "alpha": "rad/s^2", "T_a": "N",
    "T_b": "N", "I": "kg m^2", "s": "1", "t": "s", "v": "m/s", "h": "mol/L", "T": "K", "n": "1",
    "x": "mm", "y": "mm", "U": "V",
}  # fmt: skip
ENV = {name: parse_unit(unit).dimension for name, unit in UNITS.items()}
LISTS = ("x", "y")


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("m_a*g", "N"),
        ("sqrt(R^2 + r^2)", "m"),
        ("r^(1/2)", "m^(1/2)"),
        ("r^(2*1.5 - 1)", "m^2"),
        ("r^-2", "m^-2"),
        ("cbrt(r*r*R)", "m"),
        ("abs(-t)", "s"),
        ("max(r, R, 0)", "m"),
        ("sign(v)*3", "1"),
        ("atan2(r, R)", "1"),
        ("0*r + 0", "1"),
        ("0 + v", "m/s"),
        ("mean(x) + r", "m"),
        ("variance(x)", "m^2"),
        ("sum((x - mean(x))*(y - mean(y)))", "m^2"),
        ("count(x)", "1"),
        ("t_quantile(0.975, count(x) - 1)*sd(x)/sqrt(n)", "m"),
        ("2^n", "1"),
        ("pi*r^2", "m^2"),
        ("9.81 m/s^2*t", "m/s"),
        ("T - 20 °C", "K"),
        ("exp(-r/R)", "1"),
        ("ln(h/(1 mol/L))", "1"),
        ("sin(30 deg)", "1"),
    ],
)
def test_dimensions(text, unit):
    assert dimension_of(parse_value(text), ENV, LISTS) == parse_unit(unit).dimension


QUANTITIES = {
    "m": sympy_units.meter, "s": sympy_units.second, "kg": sympy_units.kilogram,
    "N": sympy_units.newton, "V": sympy_units.volt, "K": sympy_units.kelvin,
}  # fmt: skip
BASES = ("mass", "length", "time", "current", "temperature", "amount_of_substance",
         "luminous_intensity")  # fmt: skip
products = st.recursive(
    st.sampled_from(sorted(QUANTITIES)).map(Name),
    lambda inner: st.one_of(
        st.builds(Binary, st.sampled_from("*/"), inner, inner),
        st.builds(lambda a: Call("sqrt", (a,)), inner),
        st.builds(lambda a, n: Binary("^", a, Number(n, str(n))), inner, st.integers(1, 3)),
    ),
    max_leaves=6,
)


def in_sympy(node):
    match node:
        case Name(id=name):
            return QUANTITIES[name]
        case Call(arguments=(inner,)):
            return in_sympy(inner) ** sympy.Rational(1, 2)
        case Binary(operator="*", left=left, right=right):
            return in_sympy(left) * in_sympy(right)
        case Binary(operator="/", left=left, right=right):
            return in_sympy(left) / in_sympy(right)
        case Binary(left=left, right=Number(value=value)):
            return in_sympy(left) ** value


@settings(max_examples=60)
@given(products)
def test_products_against_sympy(node):
    env = {name: parse_unit(name).dimension for name in QUANTITIES}
    expected = dimsys_SI.get_dimensional_dependencies(SI.get_dimensional_expr(in_sympy(node)))
    powers = {str(base.name): power for base, power in expected.items()}
    found = dimension_of(node, env).exponents
    assert found == tuple(powers.get(base, 0) for base in BASES)


FORCE, TORQUE = "a force (kg m s^-2)", "a torque or an energy (kg m^2 s^-2)"
FACTOR = "Look for a factor that is missing or one too many, and at the units of the data."
EQUATIONS = [
    ("s*(m_b*g - T_b) = m_b*R*R*alpha",
     f"the sides differ in dimension: left is {FORCE}, right is {TORQUE}",
     "m_b*R*R*alpha", "Did you mean m_b*R*alpha?"),
    ("v = g*t^2",
     "the sides differ in dimension: left is a speed (m s^-1), right is a length (m)",
     "g*t^2", "Did you mean g*t?"),
    ("m_a*g*r = I*alpha/r",
     f"the sides differ in dimension: left is {TORQUE}, right is {FORCE}",
     "I*alpha/r", "Did you mean I*alpha?"),
    ("T_a*r = m_a*g + T_b",
     f"the sides differ in dimension: left is {TORQUE}, right is {FORCE}",
     "T_a*r", "Did you mean T_a?"),
    ("T_a = m_a",
     f"the sides differ in dimension: left is {FORCE}, right is a mass (kg)", "m_a", FACTOR),
    ("v = r*t",
     "the sides differ in dimension: left is a speed (m s^-1), right is a quantity in m s",
     "r*t", "Did you mean r/t?"),
    ("T_a - m_a*g*r = 0",
     f"the terms of the sum differ in dimension: T_a is {FORCE}, m_a*g*r is {TORQUE}",
     "m_a*g*r", "Did you mean m_a*g?"),
    ("T_a + T_b + m_a = 0",
     f"the terms of the sum differ in dimension: T_a is {FORCE}, m_a is a mass (kg)",
     "m_a", FACTOR),
    ("r + 1 = R",
     "the terms of the sum differ in dimension: r is a length (m), 1 is a pure number",
     "1", "Give the number its unit: 1 m."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message", "underlined", "hint"), EQUATIONS)
def test_laws_that_disagree(text, message, underlined, hint):
    with pytest.raises(ExpressionError) as caught:
        check_equation(parse_equation(text), ENV)
    assert caught.value.message == message
    assert text[slice(*caught.value.span)] == underlined
    assert caught.value.hint == hint


MENDED = [row for row in EQUATIONS if (row[3] or "").startswith("Did you mean")]


@pytest.mark.parametrize(("text", "underlined", "hint"), [(t, u, h) for t, _, u, h in MENDED])
def test_every_mend_mends(text, underlined, hint):
    mended = text.replace(underlined, hint.removeprefix("Did you mean ").removesuffix("?"))
    assert check_equation(parse_equation(mended), ENV) is None


@pytest.mark.parametrize("text", ["s*(T_a - m_a*g) = m_a*r*alpha", "0 = T_a", "T_a - T_b = 0"])
def test_laws_that_agree(text):
    assert check_equation(parse_equation(text), ENV) is None


FAULTS = [
    ("sin(r)", "sin needs a pure number, found a length (m)", "r", "r/(1 m)"),
    ("ln(h)", "ln needs a pure number, found a concentration (m^-3 mol)", "h", "h/("),
    ("floor(t)", "floor needs a pure number, found a time (s)", "t", "t/(1 s)"),
    ("r^n", "r is a length (m), and its exponent is no plain number", "n", "reference value"),
    ("2^r", "an exponent that is a length (m); expected a pure number", "r", "reference value"),
    ("max(r, R, t)", "the arguments of max differ in dimension: r is a length (m), "
     "t is a time (s)", "t", ""),
    ("atan2(r, t)", "the arguments of atan2 differ in dimension: r is a length (m), "
     "t is a time (s)", "t", ""),
    ("T + 20 °C", "a sum with 20 °C, which is an absolute temperature", "20 °C", "in K"),
    ("foo*2", "there is no quantity 'foo' here", "foo", ""),
    ("T_c*2", "there is no quantity 'T_c' here", "T_c", "Did you mean T_b?"),
    ("mean(r)", "mean takes a data list, found a single value", "r", "sample"),
    ("least(r)", "least takes a data list, found a single value", "r", "min"),
    ("t_quantile(0.9, x)", "t_quantile takes single values, found a data list",
     "t_quantile(0.9, x)", "mean(x)"),
    ("normal_cdf(x/mean(x))", "normal_cdf takes single values, found a data list",
     "normal_cdf(x/mean(x))", "mean(x)"),
    ("1 + sqrt(t)", "the terms of the sum differ in dimension: sqrt(t) is a quantity in s^(1/2), "
     "1 is a pure number", "1", "unit"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message", "underlined", "hint"), FAULTS)
def test_values_that_disagree(text, message, underlined, hint):
    with pytest.raises(ExpressionError) as caught:
        dimension_of(parse_value(text), ENV, LISTS)
    assert caught.value.message == message
    assert text[slice(*caught.value.span)] == underlined
    assert hint in (caught.value.hint or "")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("r < t", "the sides of the comparison differ in dimension: r is a length (m), "
         "t is a time (s)"),
        ("0 < r < R and not r > t", "the sides of the comparison differ in dimension: "
         "r is a length (m), t is a time (s)"),
        ("r > 0.3", "the sides of the comparison differ in dimension: r is a length (m), "
         "0.3 is a pure number"),
        ("x < r", "a data list cannot be compared"),
        ("mean(r) < r", "mean takes a data list, found a single value"),
    ],
)  # fmt: skip
def test_conditions_that_disagree(text, message):
    with pytest.raises(ExpressionError) as caught:
        check_condition(parse_condition(text), ENV, LISTS)
    assert caught.value.message == message


@pytest.mark.parametrize("text", ["0 < r < R", "alpha > 0.3 rad/s^2", "mean(x) < r or n == 3"])
def test_conditions_that_agree(text):
    assert check_condition(parse_condition(text), ENV, LISTS) is None


def test_kinds_do_not_mix():
    with pytest.raises(ExpressionError, match="expected a condition, found a value"):
        check_condition(parse_value("r"), ENV)
    with pytest.raises(ExpressionError, match="expected a value, found a condition"):
        dimension_of(parse_condition("r < R"), ENV)
    with pytest.raises(ExpressionError, match="a law holds single values, found a data list"):
        check_equation(parse_equation("r = x*n"), ENV, LISTS)


@pytest.mark.parametrize(
    ("text", "shape"), [("x", "list"), ("x*r", "list"), ("-x", "list"), ("sqrt(x)", "list"),
                        ("mean(x*r)", "scalar"), ("r", "scalar"), ("3", "scalar")]
)  # fmt: skip
def test_shapes(text, shape):
    assert shape_of(parse_value(text), LISTS) == shape


def test_zero_and_constants():
    assert dimension_of(parse_value("0"), ENV) == DIMENSIONLESS
    assert spell(parse_value("pi*0.5")) == "pi*0.5"
