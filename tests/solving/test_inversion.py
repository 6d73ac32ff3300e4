"""Laws undone step by step: put back, every candidate meets the law; none is missing."""

from __future__ import annotations

import numpy as np
import pytest

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_equation
from qbank.solving.inversion import invert, literal_value

X = np.linspace(-2.9, 2.9, 59)  # values of the unknown; 0 is among them
POSITIVE = np.abs(X) + 0.1


def candidates(text, env, n):
    inversion = invert(parse_equation(text), "x")
    rows = []
    for branch in inversion.branches:
        value = compile_nodes([branch.value])(env, n)[0]
        holds = np.isfinite(value)
        for condition in branch.conditions:
            holds &= compile_nodes([condition])(env, n)[0]
        rows.append(np.where(holds, value, np.nan))
    return inversion, np.array(rows)


@pytest.mark.parametrize(
    ("function", "points"),
    [
        ("-x", X),
        ("a + x", X),
        ("x - a", X),
        ("a - x", X),
        ("x*a", X),
        ("a/x", X[X != 0]),
        ("x/a", X),
        ("x^2", X),
        ("x^3", X),
        ("x^5", X),
        ("x^4", X),
        ("x^-1", X[X != 0]),
        ("x^-2", X[X != 0]),
        ("x^(1/2)", POSITIVE),
        ("x^(-3/2)", POSITIVE),
        ("x^0.4", POSITIVE),
        ("x^a", POSITIVE),
        ("a^x", X),
        ("sqrt(x)", POSITIVE),
        ("cbrt(x)", X),
        ("exp(x)", X),
        ("ln(x)", POSITIVE),
        ("log10(x)", POSITIVE),
        ("sin(x)", X),
        ("cos(x)", X),
        ("tan(x)", X),
        ("asin(x/3)", X),
        ("acos(x/3)", X),
        ("atan(x)", X),
        ("sinh(x)", X),
        ("cosh(x)", X[np.abs(X) > 0.05]),
        ("tanh(x)", X),
        ("abs(x)", X),
        ("a*exp(-(x/3)^2) + 2", X[np.abs(X) > 0.05]),
        ("1/(a + 1/(x + 4))", X),
        ("ln(abs(sin(x)) + a)", X),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_the_value_put_in_comes_back(function, points, turned):
    n = len(points)
    env = {"a": np.full(n, 1.7), "x": points}
    env["y"] = compile_nodes([parse_equation(f"y = {function}").right])(env, n)[0]
    text = f"{function} = y" if turned else f"y = {function}"
    _, roots = candidates(text, env, n)
    nearest = np.nanmin(np.abs(roots - points), axis=0)
    assert (nearest <= 1e-7 * (1 + np.abs(points))).all()
    for row in roots:  # and every candidate is a root
        again = compile_nodes([parse_equation(f"y = {function}").right])({**env, "x": row}, n)[0]
        there = np.isfinite(row)
        np.testing.assert_allclose(again[there], env["y"][there], rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(
    ("text", "count"),
    [("y = sqrt(x)", 0), ("y = abs(x)", 0), ("y = x^(1/2)", 0), ("y = asin(x)", 0),
     ("y = cosh(x)", 0), ("y = exp(x)", 0), ("y = x^2", 0), ("y = x^3", 1), ("y = acos(x)", 0),
     ("y = sin(x)", 0)],
)  # fmt: skip
def test_values_that_a_function_never_takes_have_no_root(text, count):
    _, roots = candidates(text, {"y": np.full(1, -1.9)}, 1)
    assert np.isfinite(roots).sum() == count


def test_what_cannot_be_undone():
    for text in ("y = max(x, a)", "y = floor(x)", "y = atan2(x, a)", "y = sign(x)"):
        assert invert(parse_equation(text), "x") is None
    assert invert(parse_equation("y = x^0"), "x").branches == ()


def test_periodic_functions_are_marked():
    assert invert(parse_equation("y = 3*sin(2*x + 1)"), "x").periodic
    assert not invert(parse_equation("y = sinh(x)"), "x").periodic


@pytest.mark.parametrize(
    ("text", "value"), [("3", 3), ("-1/2", -0.5), ("0.4", 0.4), ("a", None), ("2*3", None)]
)
def test_literals(text, value):
    found = literal_value(parse_equation(f"x = {text}").right)
    assert found is None if value is None else float(found) == value
