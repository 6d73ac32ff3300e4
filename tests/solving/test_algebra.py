"""Coefficients collected by SymPy from trees whose known parts are set apart."""

from __future__ import annotations

import math

import numpy as np
import pytest

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_equation
from qbank.expressions.tree import Name, names_in
from qbank.solving.linear import SingularError, linear_system
from qbank.solving.polynomial import linear_in, polynomial_in
from qbank.solving.rewriting import Opaque, occurrences, put_constants, size, substitute

ENV = {name: np.array([x]) for name, x in zip("abcdps", (1.3, 0.7, 2.1, 3.4, 0.9, -1), strict=True)}


def residual(text):
    return parse_equation(text).residual


def value(node, **more):
    env = {**ENV, **{name: np.array([x]) for name, x in more.items()}}
    return float(compile_nodes([node])(env, 1)[0][0])


def test_known_parts_are_set_apart_once_and_come_back():
    opaque = Opaque(["x"])
    node = residual("(a + b)*x + sin(a)*(a + b) = x^2/2 + sqrt(x)*pi")
    hidden = opaque.hide(node)
    assert names_in(hidden) <= {"x", "@1", "@2", "@3"}
    assert len(opaque.meaning) == 3  # a + b, the product of two known parts, pi
    assert opaque.show(hidden) == node


def test_putting_in_is_simultaneous_and_keeps_what_it_does_not_touch():
    node = residual("a*x = b")
    swapped = substitute(node, {"a": Name("b"), "b": Name("a")})
    assert swapped == residual("b*x = a")
    assert substitute(node, {"q": Name("r")}) is node
    assert (size(node), occurrences(node, "a")) == (5, 1)


def test_constants_that_are_zero_drop_terms():
    zero = parse_equation("y = 0").right
    law = put_constants(parse_equation("k*x*sin(y) + a = b - k/z"), {"k": zero})
    assert (law.left, law.right) == (Name("a"), Name("b"))


@pytest.mark.parametrize(
    ("text", "degree", "kernel"),
    [
        ("a*x^2 + b = c*x", 2, "x"),
        ("a/x + b/(x + c) = d", 2, "x"),
        ("x*(x + a) - x^2 = b", 1, "x"),
        ("exp(3*x/a) = b + exp(-x/a)", 4, "exp(x/a)"),
        ("x^1.5 + a*x = b*x^(1/4)", 6, "x^(1/4)"),
        ("a*sin(x)^2 + b*sin(x) = c", 2, "sin(x)"),
        ("(x + a)^(1/2) + (x + a)^(3/2) = b", 3, "sqrt(x + a)"),
        ("ln(x)^2 = a*ln(x) + b", 2, "ln(x)"),
    ],
)
def test_polynomials_in_an_unknown_or_a_function_of_it(text, degree, kernel):
    found = polynomial_in(residual(text), "x")
    assert found.degree == degree
    wanted = parse_equation(f"y = {kernel}").right
    bases, scales = [], []
    for x in (1.2, 2.3):
        base = value(found.kernel, x=x)
        total = sum(value(c) * base ** (degree - k) for k, c in enumerate(found.coefficients))
        below = 1.0 if found.denominator is None else value(found.denominator, x=x)
        bases.append(base)
        scales.append(total / (value(residual(text), x=x) * below))
        # exp(x/a) and its reciprocal are equally good
        want = value(wanted, x=x)
        assert base == pytest.approx(want) or base == pytest.approx(1 / want)
    # the same equation: times a number, and times a power of the kernel where that is below a bar
    power = math.log(scales[0] / scales[1]) / math.log(bases[0] / bases[1])
    assert power == pytest.approx(round(power), abs=1e-9)


@pytest.mark.parametrize(
    "text", ["x + sin(x) = a", "x = exp(x)", "x^13 = a + x", "atan2(x, a) = x", "a = b"]
)
def test_what_is_no_polynomial(text):
    assert polynomial_in(residual(text), "x") is None


def test_linear_in_one_of_several_unknowns():
    coefficient, rest = linear_in(residual("T*cos(y) = a*b"), "T", ["y"])
    y = 0.3
    assert value(rest, y=y) / value(coefficient, y=y) == pytest.approx(1.3 * 0.7 / np.cos(y))
    assert linear_in(residual("T^2*cos(y) = a"), "T", ["y"]) is None


def test_signs_have_square_one():
    system = linear_system(
        [residual("s*(x - a) = b*y"), residual("s*(c - y) = d*x")], ["x", "y"], frozenset("s")
    )
    names = dict(system.closed)
    for s in (1.0, -1.0):
        y = value(names["y"], s=s, x=0.0) if "x" not in names_in(names["y"]) else None
        x = value(names["x"], s=s, y=y if y is not None else 0.0)
        y = y if y is not None else value(names["y"], s=s, x=x)
        assert s * (x - 1.3) == pytest.approx(0.7 * y)
        assert s * (2.1 - y) == pytest.approx(3.4 * x)
    assert all(size(node) < 16 for node in names.values())


@pytest.mark.parametrize(
    ("laws", "contradictory"),
    [
        (["x + y = a", "b*x + b*y = a*b"], False),
        (["x + y = a", "b*x + b*y = c"], True),
        (["a*(b + c)*x + y = p", "(a*b + a*c)*x + y = p"], False),
    ],
)
def test_singular_systems(laws, contradictory):
    with pytest.raises(SingularError) as caught:
        linear_system([residual(law) for law in laws], ["x", "y"])
    assert caught.value.contradictory == contradictory
