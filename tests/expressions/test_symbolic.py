"""Trees to SymPy and back: the same numbers, exact rationals, and no name with a meaning."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from qbank.errors import ExpressionError
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_condition, parse_value
from qbank.expressions.spelling import spell
from qbank.expressions.symbolic import from_sympy, to_sympy

from .trees import NAMES, values


def convert(text):
    symbols: dict[str, sympy.Symbol] = {}
    return to_sympy(parse_value(text), symbols), symbols


def test_names_are_plain_symbols():
    # sympify would read E as the base of logarithms and I as the imaginary unit
    expression, symbols = convert("E*I + S*N - C*O/Q")
    assert set(symbols) == set("EISNCOQ")
    assert expression.free_symbols == set(symbols.values())
    assert all(symbol.is_real for symbol in symbols.values())
    assert expression.subs({symbols["E"]: 2, symbols["I"]: 3, symbols["S"]: 0,
                            symbols["C"]: 0}) == 6  # fmt: skip


def test_symbols_given_are_used():
    x = sympy.Symbol("x", positive=True)
    assert to_sympy(parse_value("sqrt(x^2)"), {"x": x}) == x


@pytest.mark.parametrize(
    ("text", "exact"),
    [
        ("0.1 + 0.2", sympy.Rational(3, 10)),
        ("12 cm", sympy.Rational(3, 25)),
        ("20 °C", sympy.Rational(5863, 20)),
        ("2^-3", sympy.Rational(1, 8)),
        ("sqrt(2)*sqrt(2)", sympy.Integer(2)),
        ("pi", sympy.pi),
        ("5 eV", sympy.Rational("8.01088317e-19")),
    ],
)
def test_numbers_are_exact(text, exact):
    assert convert(text)[0] == exact


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("sin(30 deg)", 0.5),
        ("exp(1)", math.e),
        ("2^0.5", math.sqrt(2)),
        ("max(1, 2)", 2),
        ("ln(pi)", math.log(math.pi)),
    ],
)
def test_other_constants_are_floats_made_rational(text, value):
    expression, _ = convert(text)
    assert expression.is_Rational
    assert float(expression) == pytest.approx(value, rel=1e-15)


@settings(max_examples=120, deadline=None)
@given(values, st.lists(st.floats(0.5, 4.0), min_size=len(NAMES), max_size=len(NAMES)))
def test_there_and_back_keeps_the_value(node, numbers):
    env = dict(zip(NAMES, numbers, strict=True))
    try:
        back = from_sympy(to_sympy(node, {}))
    except ExpressionError:
        assume(False)
    before, after = (compile_nodes([tree])(env, 1)[0][0] for tree in (node, back))
    if not np.isfinite(before) or abs(before) > 1e6:
        return  # SymPy may cancel what has no value
    # terms that cancel leave the rounding errors of the larger ones behind
    assert after == pytest.approx(before, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(
    ("expression", "text"),
    [
        (sympy.Rational(-3, 4), "-(3/4)"),
        (sympy.Symbol("a") / sympy.Symbol("b"), "a/b"),
        (-sympy.Symbol("a") * 2 / 3, "-(2*a/3)"),
        (1 / sympy.sqrt(sympy.Symbol("a")), "1/sqrt(a)"),
        (sympy.Symbol("a") - sympy.Symbol("b"), "a - b"),
        (-sympy.Symbol("a") - sympy.Symbol("b"), "-a - b"),
        (sympy.exp(-sympy.Symbol("a")), "exp(-a)"),
        (sympy.E, "exp(1)"),
        (sympy.log(sympy.Symbol("a")), "ln(a)"),
        (sympy.cot(sympy.Symbol("a")), "1/tan(a)"),
        (sympy.Symbol("a") ** sympy.Symbol("b"), "a^b"),
        (sympy.Symbol("a") ** -3, "1/a^3"),
        (sympy.Abs(sympy.Symbol("a", real=True)), "abs(a)"),
        (sympy.atan2(sympy.Symbol("a"), sympy.Symbol("b")), "atan2(a, b)"),
        (sympy.pi * sympy.Symbol("a"), "pi*a"),
        (sympy.Float(2.5) * sympy.Symbol("a"), "2.5*a"),
    ],
)
def test_closed_forms_are_spelled_as_people_write(expression, text):
    assert spell(from_sympy(expression)) == text


def test_roots_of_a_quadratic_come_back():
    x, c = sympy.Symbol("x", real=True), sympy.Symbol("c", real=True)
    env = {"c": np.array([0.5, 2.0])}
    for root in sympy.roots(x**2 + c * x - 3, x):
        (found,) = compile_nodes([from_sympy(root)])(env, 2)
        np.testing.assert_allclose(found**2 + env["c"] * found, 3, rtol=1e-14)


def test_long_rationals_stay_accurate():
    value = sympy.Rational(10**400 + 1, 3 * 10**400)
    (found,) = compile_nodes([from_sympy(value * sympy.Symbol("x"))])({"x": 3.0}, 1)
    assert found[0] == 1.0


@pytest.mark.parametrize(
    "expression",
    [sympy.I, sympy.oo, sympy.nan, sympy.zoo, sympy.LambertW(sympy.Symbol("x")),
     sympy.Piecewise((1, sympy.Symbol("x") > 0), (0, True)), sympy.Integer(10) ** 400,
     sympy.Float("inf")],
    ids=str,
)  # fmt: skip
def test_what_has_no_word_is_refused(expression):
    with pytest.raises(ExpressionError, match="closed form"):
        from_sympy(expression)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("x/0", "a division by zero"),
        ("x/(1 - 1)", "a division by zero"),
        ("0^-1*x", "a division by zero"),
        ("ln(-1)*x", "a part that is no finite number"),
        ("mean(x)", "mean has no place in a law"),
        ("t_quantile(0.9, x)", "t_quantile has no place in a law"),
        ("normal_cdf(x)", "normal_cdf has no place in a law"),
    ],
)
def test_refused(text, message):
    with pytest.raises(ExpressionError) as caught:
        convert(text)
    assert caught.value.message == message
    assert text[slice(*caught.value.span)] in text


def test_conditions_are_refused():
    with pytest.raises(ExpressionError, match="expected a value, found a condition"):
        to_sympy(parse_condition("x < 1"), {})


def test_real_cube_roots():
    expression, symbols = convert("cbrt(x)")
    assert float(expression.subs(symbols["x"], -8)) == pytest.approx(-2)
