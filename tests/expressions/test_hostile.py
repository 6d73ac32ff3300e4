"""Text from a stranger: refused, or cheap in everything that is done with it."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.errors import ExpressionError
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_condition, parse_equation, parse_measure, parse_value
from qbank.expressions.spelling import spell
from qbank.expressions.symbolic import from_sympy, to_sympy
from qbank.expressions.tree import names_in

REFUSED = [
    ("x" * 2001, "an expression of 2001 characters; at most 2000 are read"),
    ("(" * 900 + "x" + ")" * 900, "parts nested more than 64 deep"),
    ("-" * 1900 + "x", "parts nested more than 64 deep"),
    ("2^" * 900 + "2", "parts nested more than 64 deep"),
    ("abs(" * 390 + "x" + ")" * 390, "parts nested more than 64 deep"),
    ("+".join("x" * 400), "parts nested more than 64 deep"),
    ("not " * 400 + "x<y", "parts nested more than 64 deep"),
    ("max(" + "+".join("x" * 60) + ")" + "".join("+max(x,x,x,x,x,x,x,x)" * 60),
     "max takes 2 to 8 arguments, found 1"),
    (" + ".join(["(" + "+".join("x" * 30) + ")"] * 30), "more than 1000 parts in one expression"),
    ("9" * 41, "a number of 41 digits; at most 40 are read"),
    ("1e301", "a power of ten beyond 1e300 or 1e-300"),
    ("1e-99999999999", "a power of ten beyond 1e300 or 1e-300"),
    ("12e300", "a number beyond 1e300 in coherent SI"),
    ("1e300 QJ", "a number beyond 1e300 in coherent SI"),
    ("9^9^9^9", "a literal power as the exponent of a power"),
    ("x^9^9", "a literal power as the exponent of a power"),
    ("(9^9)^9", "a literal power as the base of a power"),
    ("x^65", "the exponent 65; at most 64 is read"),
    ("x^-65", "the exponent -65; at most 64 is read"),
    ("x^(8*9)", "the exponent 72; at most 64 is read"),
    ("((x^64)^64)^64", "powers and products of degree 4096; at most 256 is read"),
    ("((x*x)^60)^60", "powers and products of degree 7200; at most 256 is read"),
    ("__import__('os').system('true')", "'_' has no meaning here"),
    ("x.real", "'.' has no meaning here"),
    ("().__class__.__bases__[0]", "expected a number, a name or '(', found ')'"),
    ("lambda: 0", "expected an operator, found ':'"),
    ("x if y else z", "expected an operator, found 'if'"),
    ("[x for x in y]", "'[' has no meaning here"),
    ("f'{x}'", "\"'\" has no meaning here"),
    ("\x00", "'\\x00' has no meaning here"),
    ("x\\", "'\\\\' has no meaning here"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), REFUSED, ids=range(len(REFUSED)))
def test_refused_at_once(text, message):
    start = time.perf_counter()
    with pytest.raises(ExpressionError) as caught:
        (parse_condition if "<" in text else parse_value)(text)
    assert caught.value.message == message or "has no meaning" in caught.value.message
    assert len(str(caught.value)) < 1000
    assert time.perf_counter() - start < 2


ACCEPTED = [
    "exp(" * 50 + "x" + ")" * 50,
    "sqrt(" * 50 + "x^2" + ")" * 50,
    "((a+b)^16)^16",
    "(x+1)^64*(x-1)^64",
    "*".join(["(1e300+x)"] * 60),
    "floor(1e300*x)",
    "max(" * 20 + "x" + ",y,z)" * 20,
    "sqrt(123456789012345678901234567890123456789*x)",
    "(9999999999999999999999999999999999999989*9999999999999999999999999999999999999971)^0.5*x",
    "1/" * 60 + "x",
    "abs(" * 50 + "x-1" + ")" * 50,
]


@pytest.mark.parametrize("text", ACCEPTED, ids=range(len(ACCEPTED)))
def test_what_is_accepted_is_cheap(text):
    start = time.perf_counter()
    node = parse_value(text)
    spell(node)
    env = {name: np.ones(1000) for name in names_in(node)}
    assert compile_nodes([node])(env, 1000)[0].shape == (1000,)
    from_sympy(to_sympy(node, {}))
    assert time.perf_counter() - start < 3


@pytest.mark.parametrize(
    "text",
    ["floor(exp(1000000))", "1e300^64*x", "sign(exp(exp(1000)) - 1)", "exp(" * 50 + "1" + ")" * 50],
)
def test_huge_constants_are_never_worked_out_exactly(text):
    start = time.perf_counter()
    with pytest.raises(ExpressionError, match="no finite number"):
        to_sympy(parse_value(text), {})
    assert time.perf_counter() - start < 2


@given(st.text(max_size=60) | st.text("xy09.eE+-*/^<>=(), _a°kmsN%²", max_size=60))
def test_any_text_is_read_or_refused(text):
    messages = []
    for parse in (parse_value, parse_condition, parse_equation, parse_measure):
        try:
            parse(text)
        except ExpressionError as error:
            messages.append(str(error))
    assert all(messages)
