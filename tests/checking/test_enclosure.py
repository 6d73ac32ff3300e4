"""Bounds over boxes: against mpmath's interval arithmetic and against points of the box."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest

from qbank.checking.enclosure import Enclosure
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_value

N = 40
NAMES = frozenset({"x", "y"})
IV = {
    "x*y - x/y": lambda iv, x, y, q: x * y - x / y,
    "x^2*q - y^3": lambda iv, x, y, q: x**2 * q - y**3,
    "exp(-x/q) + ln(y)": lambda iv, x, y, q: iv.exp(-x / q) + iv.log(y),
    "sqrt(x + q)*y": lambda iv, x, y, q: iv.sqrt(x + q) * y,
    "1/(x + y) + q/x^2": lambda iv, x, y, q: 1 / (x + y) + q / x**2,
    "sin(x) + cos(y/2)": lambda iv, x, y, q: iv.sin(x) + iv.cos(y / 2),
}
OTHERS = [
    "x^-3 + x^0.5 + q^x + x^y",
    "tan(x/3) + atan(y) + atan2(x, y)",
    "sinh(x) + cosh(x - y) + tanh(y)",
    "asin(x/9) - acos(y/9)",
    "abs(x - y) + sign(x - y) + floor(3*x) - ceil(y)",
    "min(x, y, q) + max(x, q) + cbrt(x)",
    "normal_quantile(x/9) + t_quantile(0.9, 3 + x) + chi2_quantile(x/9, 2 + y)",
    "normal_cdf(x - 2) + t_cdf(x - y, 3 + x) - chi2_cdf(x*y, 2 + y)",
    "log10(x*y)*(x - 2)^2",
    "-(x - y)^4/q",
]


def boxes(seed: int, width: float):
    rng = np.random.default_rng(seed)
    env = {"q": rng.uniform(1, 3, N)}
    middle = {"x": rng.uniform(1, 3, N), "y": rng.uniform(1, 3, N)}
    return env, {name: (m * (1 - width), m * (1 + width)) for name, m in middle.items()}


@pytest.mark.parametrize("text", [*IV, *OTHERS])
@pytest.mark.parametrize("width", [0.0, 1e-6, 0.005, 0.3])
def test_no_point_of_the_box_lies_outside(text, width):
    node = parse_value(text)
    env, box = boxes(1, width)
    ((low, high),) = Enclosure([node], NAMES)(env, box, N)
    rng = np.random.default_rng(2)
    value = compile_nodes([node])
    count = 3 if "quantile" in text else 60  # those take a while
    for share in [np.zeros((2, N)), np.ones((2, N)), *rng.uniform(size=(count, 2, N))]:
        point = {
            name: box[name][0] + part * (box[name][1] - box[name][0])
            for name, part in zip(("x", "y"), share, strict=True)
        }
        at = value(env | point, N)[0]
        slack = 1e-11 * (1 + np.abs(at))
        assert (low - slack <= at).all()
        assert (at <= high + slack).all()


@pytest.mark.parametrize("text", IV)
def test_bounds_agree_with_mpmath_interval_arithmetic(text):
    """Both are the natural interval extension; ours may be tighter where a formula repeats."""
    env, box = boxes(3, 0.005)
    ((low, high),) = Enclosure([parse_value(text)], NAMES)(env, box, N)
    for k in range(N):
        x, y = (mpmath.iv.mpf([box[name][0][k], box[name][1][k]]) for name in ("x", "y"))
        reference = IV[text](mpmath.iv, x, y, mpmath.iv.mpf(env["q"][k]))
        a, b = float(reference.a), float(reference.b)
        width = b - a
        assert a - 1e-12 <= low[k] <= a + 0.02 * width
        assert b - 0.02 * width <= high[k] <= b + 1e-12


def test_a_pole_in_the_box_gives_no_bound():
    enclosure = Enclosure([parse_value("1/x"), parse_value("tan(x)")], frozenset({"x"}))
    box = {"x": (np.array([-1.0, 1.0]), np.array([1.0, 2.0]))}
    (low, high), (steep_low, steep_high) = enclosure({}, box, 2)
    assert (low[0], high[0]) == (-np.inf, np.inf)
    assert (low[1], high[1]) == (0.5, 1.0)
    assert (steep_low[1], steep_high[1]) == (-np.inf, np.inf)


def test_a_box_outside_the_domain_gives_nan():
    box = {"x": (np.array([-2.0]), np.array([-1.0]))}
    ((low, _),) = Enclosure([parse_value("ln(x)")], frozenset({"x"}))({}, box, 1)
    assert np.isnan(low[0])


def test_an_angle_across_the_cut_may_be_anything():
    node = parse_value("atan2(y, x)")
    box = {"x": (np.array([-2.0]), np.array([-1.0])), "y": (np.array([-1.0]), np.array([1.0]))}
    ((low, high),) = Enclosure([node], NAMES)({}, box, 1)
    assert (low[0], high[0]) == pytest.approx((-np.pi, np.pi))
