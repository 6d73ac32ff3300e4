"""The second route against outside solvers, and its parts against outside calculus."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import mpmath
import numpy as np
import pytest
import scipy.optimize

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_equation, parse_value
from qbank.family.model import Law
from qbank.place import Place
from qbank.solving.derivatives import NoDerivativeError, derivative, term_size
from qbank.solving.elimination import solve_batch, solve_carefully
from qbank.solving.law_system import LawSystem, dense
from qbank.solving.second_route import second_answers

HERE = Place("test", 1, 1)
N = 500


def system(laws: dict[str, str], unknowns: str) -> LawSystem:
    read = [Law(name, parse_equation(text), None, HERE) for name, text in laws.items()]
    return LawSystem(read, unknowns.split())


def again(laws: LawSystem, env, n: int, floors=None) -> list[dict[str, np.ndarray]]:
    """What the second route finds, from each of its starts."""
    return second_answers(laws, env, n, floors or {}, [np.zeros(n)] * len(laws.laws)).answers


def uniform(seed: int, n: int = N, **ranges: tuple[float, float]) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    return {name: rng.uniform(low, high, n) for name, (low, high) in ranges.items()}


DRUM = {
    "left": "s*(T_a - m_a*g) = m_a*r*alpha",
    "right": "s*(m_b*g - T_b) = m_b*R*alpha",
    "drum": "s*(T_b*R - T_a*r) = I*alpha",
}
ACID = {
    "charge": "h = oh + a",
    "water": "h*oh = K_w",
    "acid": "h*a = K_a*(c - a)",
}


def drum_data(n: int = N) -> dict[str, np.ndarray]:
    data = uniform(1, n, m_a=(2, 9), m_b=(1, 6), r=(0.08, 0.16), R=(0.18, 0.32), I=(0.1, 0.9))
    return data | {
        "g": np.full(n, 9.81),
        "s": np.where(data["m_b"] * data["R"] > data["m_a"] * data["r"], 1.0, -1.0),
    }


# ------------------------------------------------------------------------ whole systems


def test_linear_laws_agree_with_newtons_laws_worked_out_on_paper():
    d = drum_data()
    laws = system(DRUM, "T_a T_b alpha")
    assert laws.linear
    (found,) = again(laws, d, N)
    torque = d["g"] * (d["m_b"] * d["R"] - d["m_a"] * d["r"])
    alpha = abs(torque) / (d["I"] + d["m_a"] * d["r"] ** 2 + d["m_b"] * d["R"] ** 2)
    np.testing.assert_allclose(found["alpha"], alpha, rtol=1e-11)
    np.testing.assert_allclose(
        found["T_a"], d["m_a"] * (d["g"] + d["s"] * d["r"] * alpha), rtol=1e-11
    )
    np.testing.assert_allclose(
        found["T_b"], d["m_b"] * (d["g"] - d["s"] * d["R"] * alpha), rtol=1e-11
    )


def test_linear_laws_do_not_look_at_the_answer_they_judge():
    d = drum_data()
    laws = system(DRUM, "T_a T_b alpha")
    (bare,) = again(laws, d, N)
    wrong = {name: np.full(N, 1e9) for name in laws.unknowns}
    (beside,) = again(laws, d | wrong, N)
    for name in laws.unknowns:
        np.testing.assert_array_equal(bare[name], beside[name])


def test_linear_laws_one_by_one_agree_with_the_batch():
    d = drum_data()
    laws = system(DRUM, "T_a T_b alpha")
    (found,), careful = again(laws, d, N), laws.solve_linear_carefully(d, N)
    for name in laws.unknowns:
        np.testing.assert_allclose(found[name], careful[name], rtol=1e-10)


def test_weak_acid_agrees_with_brentq_and_with_a_published_example():
    # OpenStax, Chemistry 2e, example 14.12 (module m68805, from memory): 0.534 M formic acid,
    # K_a 1.8e-4, pH 2.01; the outside route is one equation of the hydrogen ion alone.
    n = 200
    d = uniform(2, n, c=(0.01, 1.0), K_a=(1e-6, 1e-3)) | {"K_w": np.full(n, 1e-14)}
    d["c"][0], d["K_a"][0] = 0.534, 1.8e-4
    h = np.array(
        [
            scipy.optimize.brentq(
                lambda x, c=c, k=k: x - 1e-14 / x - c * k / (k + x), 1e-12, 1.0, xtol=1e-18
            )
            for c, k in zip(d["c"], d["K_a"], strict=True)
        ]
    )
    answers = {"h": h, "oh": 1e-14 / h, "a": h - 1e-14 / h}
    laws = system(ACID, "h oh a")
    assert not laws.linear
    starts = again(laws, d | answers, n)
    assert len(starts) == 2
    for found in starts:
        for name, array in answers.items():
            np.testing.assert_allclose(found[name], array, rtol=1e-9)
    assert -np.log10(found["h"][0]) == pytest.approx(2.01, abs=0.005)


@pytest.mark.parametrize(
    ("law", "unknown", "data", "bracket"),
    [
        ("V = V_0*exp(-t/tau)", "t", {"V": 0.3, "V_0": 12.0, "tau": 4.7}, (0, 90)),
        ("x = cos(x) + q", "x", {"q": 0.25}, (0, 2)),
        ("1/f = 1/u + 1/v", "v", {"f": 0.12, "u": 0.3}, (0.13, 9)),
        ("x^3 - 2*x = q", "x", {"q": 5.0}, (1, 3)),
        (
            "y*(T - x) = k*(x^4 - q^4)",
            "x",
            {"y": 3.0, "T": 400.0, "k": 5.67e-8, "q": 300.0},
            (300, 400),
        ),
        ("max(x, 2*q) + abs(x - q) = 7", "x", {"q": 1.5}, (2, 9)),
        ("atan2(x, q) + tanh(x) = 1", "x", {"q": 2.0}, (0, 5)),
        ("t_quantile(p, 9) = q", "p", {"q": 1.833}, (0.6, 0.999)),
        ("t_cdf(x, 9) = q", "x", {"q": 0.95}, (0.1, 9)),
        ("sqrt(x)*ln(x) - cbrt(x) = q", "x", {"q": 3.0}, (1.5, 40)),
    ],
)
def test_laws_of_one_unknown_agree_with_brentq(law, unknown, data, bracket):
    laws = system({"law": law}, unknown)
    residual = compile_nodes([parse_equation(law).residual])

    def off(x: float) -> float:
        return float(residual(data | {unknown: np.array([x])}, 1)[0][0])

    root = scipy.optimize.brentq(off, *bracket, xtol=1e-15, rtol=1e-14)
    env = {name: np.array([value]) for name, value in data.items()} | {unknown: np.array([root])}
    for found in again(laws, env, 1):
        assert found[unknown][0] == pytest.approx(root, rel=1e-9)


def test_a_nonlinear_system_agrees_with_mpmath_at_30_digits():
    laws = system({"energy": "v^2 = u^2 + 2*g*y", "path": "y = v*t - g*t^2/2"}, "v t")
    d = uniform(3, 20, u=(2, 9), g=(9, 10), y=(0.5, 4))
    with mpmath.workdps(30):
        pairs = [
            mpmath.findroot(
                lambda v, t, u=u, g=g, y=y: [v**2 - u**2 - 2 * g * y, v * t - g * t**2 / 2 - y],
                (float(np.sqrt(u * u + 2 * g * y)), 2 * y / (2 * u + 1)),
            )
            for u, g, y in zip(d["u"], d["g"], d["y"], strict=True)
        ]
        d["v"] = np.array([float(pair[0]) for pair in pairs])
        d["t"] = np.array([float(pair[1]) for pair in pairs])
    found = again(laws, d, 20)[0]
    matrix = laws.jacobian(d, 20)
    np.testing.assert_allclose(found["v"], d["v"], rtol=1e-11)
    np.testing.assert_allclose(found["t"], d["t"], rtol=1e-10)
    np.testing.assert_allclose(dense(matrix, 20)[:, 0, 0], 2 * d["v"], rtol=1e-10)


def test_a_wrong_answer_is_not_found_again():
    laws = system({"law": "x^3 - 2*x = q"}, "x")
    found = again(laws, {"q": np.array([5.0]), "x": np.array([2.2])}, 1)[0]
    assert found["x"][0] == pytest.approx(2.0945514815423265, rel=1e-12)  # Wallis' cubic


def test_no_root_gives_nan():
    laws = system({"law": "x^2 + 1 = q"}, "x")
    found = again(laws, {"q": np.array([0.0, 5.0]), "x": np.array([1.0, 2.0])}, 2)[0]
    assert np.isnan(found["x"][0])
    assert found["x"][1] == pytest.approx(2.0, rel=1e-12)


def test_a_zero_answer_settles_by_its_floor():
    laws = system({"law": "sinh(x) = q"}, "x")
    env = {"q": np.zeros(3), "x": np.zeros(3)}
    found = again(laws, env, 3, floors={"x": np.full(3, 1e-3)})[0]
    np.testing.assert_allclose(found["x"], 0.0, atol=1e-11)


def test_starts_stay_within_the_domain():
    # a start beside the answer may fall where acos has no value
    laws = system({"law": "acos(x) = q"}, "x")
    x = np.array([0.9999, -0.9999, 0.5])
    found = again(laws, {"q": np.arccos(x), "x": x}, 3)[0]
    np.testing.assert_allclose(found["x"], x, rtol=1e-9)


def test_the_second_route_uses_no_algebra_system():
    code = "import sys, qbank.solving.second_route; sys.exit('sympy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# ------------------------------------------------------------------------ derivatives, sizes

FUNCTIONS = [
    "x*y - x/y",
    "x^3 + x^-2 + y^x + x^0.5",
    "sin(x)*cos(2*x) + tan(x/3)",
    "asin(x/4) + acos(x/5) + atan(x*y)",
    "atan2(x, y) + atan2(y, x^2)",
    "sinh(x) + cosh(x*y/3) + tanh(x)",
    "exp(-x/y) + ln(x*y) + log10(x)",
    "sqrt(x*y) + cbrt(x)",
    "abs(x - 2) + abs(y - x)*x",
    "max(x, y, 1.1*x) + min(x^2, 3*y)",
    "normal_quantile(x/4)",
    "normal_cdf(x - y) + normal_cdf(x*y)",
    "-(x - y)^2/(1 + x^2)",
]


@pytest.mark.parametrize("text", FUNCTIONS)
def test_derivatives_agree_with_differences_of_higher_order(text):
    """scipy.differentiate would need SciPy 1.15; a fourth-order difference is enough here."""
    node = parse_value(text)
    d = uniform(4, 50, x=(0.4, 1.9), y=(0.5, 2.9))
    value = compile_nodes([node])
    for name in ("x", "y"):
        h = 1e-3
        shifted = [value(d | {name: d[name] + k * h}, 50)[0] for k in (-2, -1, 1, 2)]
        expected = (shifted[0] - 8 * shifted[1] + 8 * shifted[2] - shifted[3]) / (12 * h)
        found = compile_nodes([derivative(node, name)])(d, 50)[0]
        smooth = np.abs(d["x"] - d["y"]) > 0.05  # kinks of abs, max and min lie elsewhere
        smooth &= (np.abs(d["x"] - 2) > 0.05) & (np.abs(1.1 * d["x"] - d["y"]) > 0.05)
        smooth &= np.abs(d["x"] ** 2 - 3 * d["y"]) > 0.05
        np.testing.assert_allclose(found[smooth], expected[smooth], rtol=1e-7, atol=1e-7)


@pytest.mark.parametrize("text", ["floor(x)", "sign(x)*y", "t_quantile(x, y)", "chi2_cdf(x, y)"])
def test_functions_without_a_slope_say_so(text):
    with pytest.raises(NoDerivativeError):
        derivative(parse_value(text), "x")


def test_what_does_not_depend_on_a_name_has_no_slope_even_with_steps():
    assert derivative(parse_value("x*floor(y)"), "x") == parse_value("floor(y)")


@pytest.mark.parametrize("text", FUNCTIONS)
def test_the_size_of_terms_is_never_below_the_value(text):
    node = parse_value(text)
    d = uniform(5, 200, x=(0.4, 1.9), y=(0.5, 2.9))
    value, size = compile_nodes([node, term_size(node)])(d, 200)
    assert (np.abs(value) <= size * (1 + 1e-12)).all()


def test_the_size_of_terms_does_not_cancel():
    d = {"x": np.array([1.0]), "y": np.array([1.0 + 1e-9])}
    assert compile_nodes([term_size(parse_value("3*(x - y)"))])(d, 1)[0][0] == pytest.approx(6.0)
    size = compile_nodes([term_size(parse_value("1/(x - y)"))])(d, 1)[0][0]
    assert size == pytest.approx(2e18, rel=1e-6)  # 1e9, lost to a part in 2e9


# ------------------------------------------------------------------------ elimination


@pytest.mark.parametrize("k", [1, 2, 3, 5, 8])
def test_elimination_agrees_with_lapack(k):
    rng = np.random.default_rng(k)
    matrix, sides = rng.normal(size=(N, k, k)), rng.normal(size=(N, k, 2))
    matrix[:, 0, 1:] *= rng.integers(0, 2)  # a structural zero or not
    entries = [
        [0.0 if not matrix[:, i, j].any() else matrix[:, i, j] for j in range(k)] for i in range(k)
    ]
    found = solve_batch(entries, [[sides[:, i, m] for i in range(k)] for m in range(2)])
    expected = np.linalg.solve(matrix, sides)
    size = np.abs(expected).max(axis=1, keepdims=True) * np.linalg.cond(matrix)[:, None, None]
    got = np.stack([np.stack(part, axis=1) for part in found], axis=2)
    assert (np.abs(got - expected) <= 1e-12 * size).all()
    np.testing.assert_allclose(solve_carefully(matrix, sides), expected, rtol=1e-6, atol=1e-9)


def test_careful_solution_of_a_badly_scaled_system_is_exact_to_the_last_bits():
    # the Hilbert matrix of order 5, rows and columns scaled over thirty powers of ten
    k = 5
    scale = [Fraction(10) ** e for e in (-12, 6, 0, 15, -9)]
    exact = [[scale[i] * scale[-1 - j] / (i + j + 1) for j in range(k)] for i in range(k)]
    answer = [Fraction(j + 1) / scale[-1 - j] for j in range(k)]
    side = [sum(a * x for a, x in zip(row, answer, strict=True)) for row in exact]
    matrix = np.array([[[float(a) for a in row] for row in exact]])
    found = solve_carefully(matrix, np.array([[[float(b)] for b in side]]))[0, :, 0]
    np.testing.assert_allclose(found, [float(x) for x in answer], rtol=1e-10)


def test_singular_systems_give_no_number_and_spare_the_others():
    matrix = np.array([[[1.0, 2.0], [2.0, 4.0]], [[1.0, 2.0], [3.0, 4.0]]])
    sides = np.ones((2, 2, 1))
    found = solve_carefully(matrix, sides)
    assert np.isnan(found[0]).all()
    np.testing.assert_allclose(found[1, :, 0], [-1.0, 1.0])
    quick = solve_batch(
        [[matrix[:, i, j] for j in range(2)] for i in range(2)],
        [[sides[:, i, 0] for i in range(2)]],
    )
    assert not np.isfinite(quick[0][0][0])
    assert not np.isfinite(solve_batch([[0.0]], [[np.ones(2)]])[0][0]).any()
