"""Expressions on arrays: values, shapes, tolerant comparisons, aliasing, threads and speed."""

from __future__ import annotations

import math
import time
import warnings
from concurrent.futures import ThreadPoolExecutor

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qbank.expressions import arrays
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.lowering import Lowering
from qbank.expressions.parser import parse_condition, parse_value
from qbank.expressions.tree import Binary, Call, Name, Negate, Node, Number

from .trees import NAMES, values


def evaluate(text, n=1, **env):
    parse = parse_condition if any(sign in text for sign in "<>=!") else parse_value
    (result,) = compile_nodes([parse(text)])(env, n)
    return result


# ---------------------------------------------------------------------------- values


def high_precision(node: Node, env: dict[str, float]) -> mpmath.mpf:
    """The tree worked out to 50 digits, by other code than the compiler's."""
    match node:
        case Number(value=value):
            return mpmath.mpf(value.numerator) / value.denominator
        case Name(id=name):
            return mpmath.mpf(env[name])
        case Negate(operand=operand):
            return -high_precision(operand, env)
        case Binary(operator=sign, left=left, right=right):
            a, b = high_precision(left, env), high_precision(right, env)
            return {"+": lambda: a + b, "-": lambda: a - b, "*": lambda: a * b,
                    "/": lambda: a / b, "^": lambda: a**b}[sign]()  # fmt: skip
        case Call(function=name, arguments=arguments):
            inner = [high_precision(argument, env) for argument in arguments]
            functions = {"sin": mpmath.sin, "abs": abs, "sqrt": mpmath.sqrt, "max": max}
            return functions[name](*inner)
    raise AssertionError(node)


def condition_number(node: Node, env: dict[str, float]) -> float:
    """How large the parts of an expression get; rounding errors are measured by it."""
    match node:
        case Binary(left=left, right=right):
            below = max(condition_number(left, env), condition_number(right, env))
        case Negate(operand=operand):
            below = condition_number(operand, env)
        case Call(arguments=arguments):
            below = max(condition_number(argument, env) for argument in arguments)
        case _:
            below = 1.0
    return max(below, float(abs(high_precision(node, env))))


@settings(max_examples=150)
@given(values, st.lists(st.floats(0.5, 4.0), min_size=len(NAMES), max_size=len(NAMES)))
def test_against_fifty_digits(node, numbers):
    env = dict(zip(NAMES, numbers, strict=True))
    try:
        with mpmath.workdps(50):
            expected = high_precision(node, env)
            size = condition_number(node, env)
    except (ZeroDivisionError, TypeError, ValueError, OverflowError):
        return  # division by 0, or an order among complex numbers
    if isinstance(expected, mpmath.mpc) or size > 1e4:
        return
    (result,) = compile_nodes([node])(env, 3)
    assert result.shape == (3,)
    if math.isnan(result[0]):
        return  # a root of what is 0 but for rounding
    # the derivative of sqrt is infinite at 0, so its error is that of the root of an error
    slack = 3e-7 if "sqrt" in str(node) else 1e-10 * size**3
    assert result[0] == pytest.approx(float(expected), rel=1e-10, abs=slack)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2^10", 1024),
        ("2^-2", 0.25),
        ("4^0.5", 2),
        ("4^1.5", 8),
        ("4^-0.5", 0.5),
        ("8^(1/3)", 2),
        ("x^0", 1),
        ("cbrt(-8)", -2),
        ("min(3, x, 5)", 2),
        ("max(3, x, 5)", 5),
        ("log10(1000)", 3),
        ("ln(exp(x))", 2),
        ("atan2(1, -1)", 3 * math.pi / 4),
        ("floor(-1.5) + ceil(-1.5)", -3),
        ("sign(-x)", -1),
        ("abs(-x)*pi", 2 * math.pi),
        ("12 cm", 0.12),
        ("20 °C", 293.15),
        ("50 %*x", 1),
        ("x/8 - x/10", 0.05),
        ("--x", 2),
        ("x*1 + 0*x - 0", 2),
        ("x*-1", -2),
    ],
)
def test_values(text, expected):
    assert evaluate(text, x=2.0)[0] == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize("exponent", range(-64, 65))
def test_whole_powers_by_multiplication(exponent):
    base = np.array([1.01, -0.99, 1.2])
    text = f"x^{exponent}" if exponent >= 0 else f"x^({exponent})"
    with mpmath.workdps(40):
        exact = [float(mpmath.mpf(b) ** exponent) for b in base]
    np.testing.assert_allclose(evaluate(text, 3, x=base), exact, rtol=64 * 2.3e-16)


def test_decimals_are_those_of_the_text():
    assert evaluate("0.1 + x", x=0.2)[0] == 0.1 + 0.2
    assert evaluate("8 cm + x", x=0.0)[0] == 0.08


# ---------------------------------------------------------------------------- traps


def test_a_constant_fills_every_row():
    # a function compiled by SymPy gives a scalar here
    for text in ("3", "2*pi", "5 cm", "g", "sqrt(2)*g"):
        assert evaluate(text, 5, g=9.81).shape == (5,)
    assert evaluate("1 < 2", 4).tolist() == [True] * 4
    assert evaluate("g > 2", 4, g=3.0).tolist() == [True] * 4


def test_whole_numbers_do_not_wrap():
    # 10**20 wraps silently in int64
    assert evaluate("x^20", 2, x=np.array([10, 10]))[0] == pytest.approx(1e20)
    assert evaluate("x*x*x", 1, x=np.array([10**7]))[0] == 1e21
    assert evaluate("10^20")[0] == 1e20


def test_no_value_is_nan_and_never_a_warning():
    x = np.array([0.0, -1.0, 1e308])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = compile_nodes([parse_value(t) for t in ("1/x", "ln(x)", "x*x", "0/0", "1/0")])
        inverse, logarithm, square, undefined, infinite = result({"x": x}, 3)
    assert inverse[0] == math.inf
    assert np.isnan(logarithm[1])
    assert square[2] == math.inf
    assert np.isnan(undefined).all()
    assert (infinite == math.inf).all()


def test_missing_and_misshapen_inputs():
    program = compile_nodes([parse_value("x + y")])
    assert program.names == {"x", "y"}
    with pytest.raises(KeyError):
        program({"x": 1.0}, 3)
    with pytest.raises(ValueError, match=r"y: expected shape \(3,\) or \(3, m\), found \(4,\)"):
        program({"x": 1.0, "y": np.ones(4)}, 3)


@pytest.mark.parametrize("n", [0, 1, 7, arrays.BLOCK, arrays.BLOCK + 1, 3 * arrays.BLOCK + 5])
def test_every_length(n):
    x = np.linspace(1, 2, n)
    program = compile_nodes(
        [parse_value("x^3 + y*x - x/3"), parse_condition("x > 1.5 or x*y < 2.5"), Name("x")]
    )
    value, truth, same = program({"x": x, "y": 2.0}, n)
    np.testing.assert_allclose(value, x * x * x + 2 * x - x / 3, rtol=1e-15)
    np.testing.assert_array_equal(truth, (x > 1.5) | (2 * x < 2.5))
    np.testing.assert_array_equal(same, x)


def test_strided_and_read_only_inputs():
    table = np.arange(12.0).reshape(6, 2)
    table.flags.writeable = False
    assert evaluate("x + 1", 6, x=table[:, 1]).tolist() == (table[:, 1] + 1).tolist()


def test_results_share_memory_with_nothing():
    n = 100
    x = np.linspace(1, 2, n)
    before = x.copy()
    texts = ["x", "x", "x + 1", "1 + x", "(x + 1)*2", "-(x + 1)", "3", "x + 1 - (x + 1)*2"]
    program = compile_nodes([*map(parse_value, texts), *map(parse_condition, ["x>1.5", "x>1.5"])])
    first = program({"x": x}, n)
    kept = [result.copy() for result in first]
    second = program({"x": x + 5}, n)
    everything = [x, *first, *second]
    for i, a in enumerate(everything):
        for b in everything[i + 1 :]:
            assert not np.shares_memory(a, b)
    for result, copy in zip(first, kept, strict=True):
        np.testing.assert_array_equal(result, copy)
        result[:] = 0
    np.testing.assert_array_equal(x, before)


def test_several_threads_at_once():
    program = compile_nodes([parse_value("sin(x)*y + x^3/(y + 2) - sqrt(x*x + y*y)")])
    rng = np.random.default_rng(5)
    inputs = [{"x": rng.random(20_000), "y": rng.random(20_000)} for _ in range(16)]
    alone = [program(env, 20_000)[0] for env in inputs]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda env: program(env, 20_000)[0], inputs))
    for a, b in zip(alone, together, strict=True):
        np.testing.assert_array_equal(a, b)


def test_rows_do_not_depend_on_their_company():
    program = compile_nodes([parse_value("exp(-x)*sin(x)^2 + x^(1/3)/7 + tanh(x)*x^9")])
    x = np.linspace(0.1, 9, 1001)
    (whole,) = program({"x": x}, len(x))
    alone = [program({"x": x[i : i + 1]}, 1)[0][0] for i in range(len(x))]
    # NumPy's vectorised and scalar loops of the elementary functions may differ in the last bit
    np.testing.assert_allclose(whole, alone, rtol=1e-15)


def test_equal_parts_are_evaluated_once():
    lowering = Lowering()
    for text in ("(a*b + c)^2", "c + b*a", "sqrt((b*a + c)^2 + 1)"):
        lowering.add(parse_value(text))
    computed = [o for o in lowering.operations if o.function is not None]
    assert len(computed) == 5  # a*b, +c, square, +1, sqrt


# ---------------------------------------------------------------------------- comparisons

BOUNDARY = 0.1 + 0.2  # 0.30000000000000004


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("x > 0.3", False),
        ("x >= 0.3", True),
        ("x < 0.3", False),
        ("x <= 0.3", True),
        ("x == 0.3", True),
        ("x != 0.3", False),
        ("0.3 < x", False),
        ("0.3 >= x", True),
        ("x*y > 0.3*y", False),
        ("-x*y < -0.3*y", False),
        ("-x*y <= -0.3*y", True),
        ("0 < x <= 0.3", True),
        ("0.3 <= x < 0.3", False),
        ("not x > 0.3 and x >= 0.3", True),
        ("x > 0.3 or x < 0.3", False),
    ],
)
def test_a_decimal_on_the_boundary(text, holds):
    assert BOUNDARY > 0.3
    assert evaluate(text, x=BOUNDARY, y=7.0)[0] == holds


@given(
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.sampled_from(["<", "<=", ">", ">=", "==", "!="]),
)
def test_comparisons_are_exact_away_from_equality(a, b, sign):
    # 32-bit numbers that differ do so by more than the tolerance
    plain = {"<": a < b, "<=": a <= b, ">": a > b, ">=": a >= b, "==": a == b, "!=": a != b}
    assert evaluate(f"a {sign} b", a=a, b=b)[0] == plain[sign]


@pytest.mark.parametrize("share", [0.9e-12, 1.1e-12])
def test_the_tolerance_is_a_relative_1e_12(share):
    for size in (1e-20, 1.0, 1e20):
        result = evaluate("a > b", a=size * (1 + share), b=size)[0]
        assert result == (share > 1e-12)


def test_nothing_compares_with_nan_but_as_different():
    for sign in ("<", "<=", ">", ">=", "=="):
        assert not evaluate(f"x {sign} 1", x=math.nan)[0]
    assert evaluate("x != 1", x=math.nan)[0]


# ---------------------------------------------------------------------------- speed

DRUM = {"m_a": (2, 9), "m_b": (1, 6), "r": (0.08, 0.16), "R": (0.18, 0.32), "M_r": (2, 6),
        "M_R": (5, 14)}  # fmt: skip


def test_about_as_fast_as_numpy_by_hand():
    n = 16384
    rng = np.random.default_rng(1)
    env = {name: rng.uniform(low, high, n) for name, (low, high) in DRUM.items()}
    env |= {"g": np.full(n, 9.81), "s": np.sign(env["m_b"] * env["R"] - env["m_a"] * env["r"])}
    turn = "s*g*(m_b*R - m_a*r)/(M_r*r^2/2 + M_R*R^2/2 + m_a*r^2 + m_b*R^2)"
    texts = ["M_r*r^2/2 + M_R*R^2/2", turn, f"m_a*g + s*m_a*r*{turn}", f"m_b*g - s*m_b*R*{turn}"]
    program = compile_nodes([parse_value(text) for text in texts])

    def by_hand():
        m_a, m_b, r, R = env["m_a"], env["m_b"], env["r"], env["R"]
        g, s = env["g"], env["s"]
        inertia = env["M_r"] * r**2 / 2 + env["M_R"] * R**2 / 2
        alpha = s * g * (m_b * R - m_a * r) / (inertia + m_a * r**2 + m_b * R**2)
        return [inertia, alpha, m_a * g + s * m_a * r * alpha, m_b * g - s * m_b * R * alpha]

    for mine, theirs in zip(program(env, n), by_hand(), strict=True):
        np.testing.assert_allclose(mine, theirs, rtol=1e-13)
    ratios = []
    for _ in range(40):
        start = time.perf_counter()
        program(env, n)
        middle = time.perf_counter()
        by_hand()
        ratios.append((middle - start) / (time.perf_counter() - middle))
    assert np.median(ratios) <= 1.5  # about 0.9 on a quiet machine; the promise is 1.2
