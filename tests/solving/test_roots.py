"""Real roots on arrays, against NumPy, SciPy and mpmath as outside routes."""

import math

import mpmath
import numpy as np
import pytest
from scipy.optimize import brentq

from qbank.solving.roots import bracketed_roots, polynomial_roots, quadratic_roots


def rows_of(roots, k):
    column = roots[:, k]
    return column[~np.isnan(column)]


def test_quadratic_roots_keep_their_figures_where_the_textbook_formula_cancels():
    b = np.array([1e8, -1e8, 1e4, 3.0])
    roots = quadratic_roots(np.ones(4), b, np.ones(4))
    with mpmath.workdps(50):
        for k in range(4):
            root = mpmath.sqrt(mpmath.mpf(b[k]) ** 2 - 4)
            exact = sorted([(-b[k] - root) / 2, (-b[k] + root) / 2])
            for got, want in zip(roots[:, k], exact, strict=True):
                assert abs(got - want) <= 4e-16 * abs(want)


@pytest.mark.parametrize(
    ("a", "b", "c", "expected"),
    [
        (1.0, -3.0, 2.0, [1.0, 2.0]),
        (0.0, 2.0, -3.0, [1.5]),
        (0.0, 0.0, 1.0, []),
        (1.0, 0.0, 1.0, []),
        (1.0, 0.0, 0.0, [0.0, 0.0]),
        (1.0, 0.0, -4.0, [-2.0, 2.0]),
        (1.0, -5.0, 0.0, [0.0, 5.0]),
        (0.1, 0.2, 0.1, [-1.0, -1.0]),  # the discriminant is zero but for rounding
        (math.nan, 1.0, 1.0, []),
    ],
)
def test_quadratic_special_cases(a, b, c, expected):
    roots = quadratic_roots(np.array([a]), np.array([b]), np.array([c]))
    assert rows_of(roots, 0) == pytest.approx(expected, rel=1e-15, abs=0)


@pytest.mark.parametrize("degree", [3, 4, 5, 7])
def test_polynomial_roots_against_the_roots_they_were_made_from(degree):
    rng = np.random.default_rng(degree)
    wanted = np.sort(rng.uniform(-3, 3, (degree, 300)), axis=0)
    apart = np.diff(wanted, axis=0).min(axis=0) > 0.05
    wanted = wanted[:, apart]
    table = np.array([np.poly(column) for column in wanted.T]).T
    got = polynomial_roots(list(table))
    assert wanted.shape[1] > 30
    np.testing.assert_allclose(got, wanted, rtol=0, atol=1e-8)


def test_polynomial_roots_against_numpy_roots_one_at_a_time():
    rng = np.random.default_rng(5)
    table = rng.normal(size=(5, 300)) * 10.0 ** rng.integers(-4, 5, (5, 300))
    got = polynomial_roots(list(table))
    for k in range(300):
        one = np.roots(table[:, k])
        real = np.sort(one[np.abs(one.imag) < 1e-9 * np.abs(one)].real)
        np.testing.assert_allclose(rows_of(got, k), real, rtol=1e-8)


def test_polynomial_degree_falls_for_one_element_alone():
    table = [
        np.array([1.0, 0.0, 0.0, 0.0, np.nan]),
        np.array([-6.0, 1.0, 0.0, 0.0, 1.0]),
        np.array([11.0, -3.0, 2.0, 0.0, 1.0]),
        np.array([-6.0, 2.0, -8.0, 5.0, 1.0]),
    ]
    roots = polynomial_roots(table)
    expected = [[1, 2, 3], [1, 2], [4], [], []]
    for k, want in enumerate(expected):
        assert rows_of(roots, k) == pytest.approx(want, rel=1e-13)


def test_a_root_nine_powers_of_ten_below_the_others_keeps_its_figures():
    # weak acid with water's own ions: h^3 + K_a h^2 - (K_w + c K_a) h - K_a K_w = 0
    for acid, content in [(1.8e-4, 0.534), (4.3e-10, 1e-6), (1e-2, 1e-7), (6e-12, 0.2)]:
        water = 1e-14
        table = [1.0, acid, -(water + content * acid), -acid * water]
        roots = polynomial_roots([np.array([c]) for c in table])
        positive = roots[roots > 0]
        assert len(positive) == 1
        want = brentq(
            lambda h, a=acid, c=content: h - 1e-14 / h - c * a / (a + h), 1e-14, 1, xtol=1e-30
        )
        assert positive[0] == pytest.approx(want, rel=1e-12)


def test_bracketed_root_of_the_colebrook_equation():
    # fluids.friction_factor(Re=1e5, eD=1e-4, Method="Colebrook") and scipy's brentq both give
    # 0.0185138660775
    reynolds = np.array([1e5, 4e3, 1e8])
    roughness = np.array([1e-4, 0.05, 1e-6])

    def residual(x, rows):
        rows = slice(None) if rows is None else rows
        return 1 / np.sqrt(x) + 2 * np.log10(
            roughness[rows] / 3.7 + 2.51 / (reynolds[rows] * np.sqrt(x))
        )

    roots = bracketed_roots(residual, np.full(3, 0.001), np.full(3, 1.0))
    assert roots.shape == (1, 3)
    assert roots[0, 0] == pytest.approx(0.0185138660775, rel=1e-11)
    for k in range(3):
        want = brentq(lambda x, k=k: float(residual(np.array([x]), [k])[0]), 1e-3, 1, xtol=1e-15)
        assert roots[0, k] == pytest.approx(want, rel=1e-12)


def test_all_roots_of_a_sine_are_found_and_the_poles_of_a_tangent_are_not():
    level = np.linspace(-0.99, 0.99, 200)

    def sine(x, rows):
        return np.sin(x) - (level if rows is None else level[rows])

    roots = bracketed_roots(sine, np.zeros(200), np.full(200, 4 * np.pi))
    for k in range(200):
        base = math.asin(level[k])
        want = sorted(
            r
            for m in range(-1, 5)
            for r in (base + 2 * math.pi * m, math.pi - base + 2 * math.pi * m)
            if 0 <= r <= 4 * math.pi
        )
        np.testing.assert_allclose(rows_of(roots, k), want, rtol=0, atol=1e-14)

    def tangent(x, rows):
        return np.tan(x) - 1.0

    roots = bracketed_roots(tangent, np.zeros(1), np.array([6.0]))
    np.testing.assert_allclose(roots[:, 0], [math.pi / 4, 5 * math.pi / 4], rtol=1e-15)


def test_roots_on_the_edge_and_at_points_of_the_scan_count_once():
    def line(x, rows):
        return x * (x - 0.5) * (x - 1.0)

    roots = bracketed_roots(line, np.zeros(1), np.ones(1))
    np.testing.assert_array_equal(rows_of(roots, 0), [0.0, 0.5, 1.0])


def test_a_jump_a_missing_root_and_a_hole_in_the_domain_give_no_root():
    def jump(x, rows):
        return np.where(x < 0.3, -1.0, 1.0)

    def none(x, rows):
        return x * x + 1.0

    def hole(x, rows):
        return np.sqrt(x - 0.5) - 0.1  # not real below 0.5; its root is 0.51

    ends = (np.zeros(1), np.ones(1))
    assert np.isnan(bracketed_roots(jump, *ends)).all()
    assert np.isnan(bracketed_roots(none, *ends)).all()
    assert bracketed_roots(hole, *ends)[0, 0] == pytest.approx(0.51, rel=1e-14)


def test_a_jump_from_a_huge_value_and_a_triple_root():
    def cliff(x, rows):
        return np.exp(np.tan(x)) - 3.0  # from infinity to -3 at a right angle; one root before it

    def flat(x, rows):
        return ((x - 3.0) * x + 3.0) * x - 1.0  # (x - 1)^3, where rounding is all that is left

    roots = bracketed_roots(cliff, np.zeros(1), np.full(1, 2.0))
    assert rows_of(roots, 0) == pytest.approx([math.atan(math.log(3.0))], rel=1e-14)
    roots = rows_of(bracketed_roots(flat, np.full(1, 0.3), np.full(1, 2.9)), 0)
    assert len(roots) >= 1
    assert roots == pytest.approx(np.ones(len(roots)), abs=2e-5)


def test_infinite_and_undefined_values_at_the_edge_do_not_hide_the_root():
    def log(x, rows):
        return np.log(x) + 1.0

    def product(x, rows):
        return x * np.log(x) + 0.1  # 0*ln(0) at the edge

    assert bracketed_roots(log, np.zeros(1), np.ones(1))[0, 0] == pytest.approx(
        math.exp(-1), rel=1e-14
    )
    roots = rows_of(bracketed_roots(product, np.zeros(1), np.ones(1)), 0)
    want = [
        brentq(lambda x: x * math.log(x) + 0.1, 1e-9, 0.2, xtol=1e-16),
        brentq(lambda x: x * math.log(x) + 0.1, 0.5, 1, xtol=1e-16),
    ]
    np.testing.assert_allclose(roots, want, rtol=1e-12)


def test_one_bad_element_leaves_the_others_alone():
    offset = np.array([0.25, np.nan, 0.5, 7.0])

    def residual(x, rows):
        return x**3 - (offset if rows is None else offset[rows])

    roots = bracketed_roots(residual, np.zeros(4), np.ones(4))
    np.testing.assert_allclose(roots[0], [0.25 ** (1 / 3), np.nan, 0.5 ** (1 / 3), np.nan])


def test_bracketed_roots_keep_relative_precision_far_below_the_bracket():
    target = 10.0 ** np.arange(-13, 0)

    def residual(x, rows):
        return x * (1.0 + x) - (target if rows is None else target[rows])

    roots = bracketed_roots(residual, np.full(13, 1e-15), np.ones(13))
    np.testing.assert_allclose(roots[0], 2 * target / (1 + np.sqrt(1 + 4 * target)), rtol=1e-13)
