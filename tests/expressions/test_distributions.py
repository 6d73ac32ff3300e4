"""Distribution functions against SciPy over a wide range, against mpmath, and printed tables."""

from __future__ import annotations

import math
import subprocess
import sys

import mpmath
import numpy as np
import pytest
import scipy.stats

from qbank.expressions.distributions import chi2_cdf, normal_cdf, t_cdf
from qbank.expressions.quantiles import chi2_quantile, normal_quantile, t_quantile
from tests.rendering.printed import linear

FREEDOMS = [0.5, 1, 2, 3, 4.5, 7, 10, 11, 29, 30, 31, 60, 200, 1e3, 4999, 5001, 1e5, 1e9]


def test_normal_against_scipy():
    z = np.linspace(-37.5, 9, 2000)
    np.testing.assert_allclose(normal_cdf(z), scipy.stats.norm.cdf(z), rtol=1e-12)


def test_student_against_scipy_and_both_tails_against_each_other():
    t, df = np.meshgrid([-1e4, -300, *np.linspace(-25, 25, 401), 300], FREEDOMS)
    expected = scipy.stats.t.cdf(t, df)
    np.testing.assert_allclose(t_cdf(t, df), expected, rtol=1e-12, atol=1e-290)
    np.testing.assert_allclose(t_cdf(t, df) + t_cdf(-t, df), 1.0, rtol=1e-15)


def test_chi_squared_against_scipy():
    around = [0.3, 0.8, 0.97, 0.999, 1.0, 1.001, 1.03, 1.2, 3]
    for df in [*FREEDOMS[:-1], 1e6, 1e7]:
        x = np.array([1e-30, 1e-8, 1e-3, 0.1, 1, 3, 10, 30, 100, 1000, *(df * s for s in around)])
        expected = scipy.stats.chi2.cdf(x, df)
        np.testing.assert_allclose(chi2_cdf(x, df), expected, rtol=1e-12, atol=1e-290)


@pytest.mark.parametrize(
    ("t", "df"), [(-1e-9, 1), (-0.7, 0.5), (-8.9, 60), (-40, 3), (-1e6, 2.5), (-3, 4999)]
)
def test_student_against_many_digits(t, df):
    """Near 0, SciPy itself is off by 6e-10 here."""
    with mpmath.workdps(40):
        x = df / (df + mpmath.mpf(t) ** 2)
        half, root = mpmath.mpf(df) / 2, mpmath.mpf(1) / 2
        expected = mpmath.betainc(half, root, 0, x, regularized=True) / 2
    assert float(t_cdf(t, df)) == pytest.approx(float(expected), rel=1e-13)


@pytest.mark.parametrize("df", [1, 2, 5, 12.5, 40, 300])
def test_they_undo_the_quantiles(df):
    p = np.array([1e-9, 1e-3, 0.025, 0.3, 0.5, 0.9, 0.999])
    np.testing.assert_allclose(normal_cdf(normal_quantile(p)), p, rtol=1e-12)
    np.testing.assert_allclose(t_cdf(t_quantile(p, df), df), p, rtol=1e-12)
    np.testing.assert_allclose(chi2_cdf(chi2_quantile(p, df), df), p, rtol=1e-12)


def test_closed_forms():
    """One and two degrees of freedom of t, two and four of chi-squared, by integration."""
    t = np.linspace(-30, 30, 301)
    np.testing.assert_allclose(t_cdf(t, 1), 0.5 + np.arctan(t) / math.pi, rtol=1e-12)
    np.testing.assert_allclose(t_cdf(t, 2), 0.5 + t / (2 * np.sqrt(2 + t * t)), rtol=1e-12)
    x = np.linspace(0.01, 60, 301)
    np.testing.assert_allclose(chi2_cdf(x, 2), -np.expm1(-x / 2), rtol=1e-12)
    np.testing.assert_allclose(chi2_cdf(x, 4), 1 - np.exp(-x / 2) * (1 + x / 2), rtol=1e-11)


# NIST/SEMATECH e-Handbook of Statistical Methods, tables 1.3.6.7.1 (normal, whose areas start at
# 0), 1.3.6.7.2 (t) and 1.3.6.7.4 (chi-squared)
def test_printed_tables():
    assert round(float(normal_cdf(1.96)) - 0.5, 5) == 0.47500
    assert round(float(normal_cdf(0.5)) - 0.5, 5) == 0.19146
    for df, t, share in [(1, 12.706, 0.975), (5, 2.015, 0.95), (10, 2.228, 0.975)]:
        assert round(float(t_cdf(t, df)), 4) == share
    for df, x, share in [(1, 3.841, 0.95), (5, 12.833, 0.975), (20, 37.566, 0.99)]:
        assert round(float(chi2_cdf(x, df)), 4) == share


def test_limits():
    inf = math.inf
    assert normal_cdf([-inf, 0.0, inf]).tolist() == [0.0, 0.5, 1.0]
    assert t_cdf([-inf, 0.0, inf], 3).tolist() == [0.0, 0.5, 1.0]
    assert t_cdf([-1.3, 1.3], inf).tolist() == pytest.approx(normal_cdf([-1.3, 1.3]), rel=1e-15)
    assert chi2_cdf([-inf, -1.0, 0.0, inf], 3).tolist() == [0.0, 0.0, 0.0, 1.0]
    nan = math.nan
    assert np.isnan(normal_cdf(nan))
    assert np.isnan(t_cdf([nan, 1, 1, 1], [3, 0, -2, nan])).all()
    assert np.isnan(chi2_cdf([1, nan, 1, 1], [0, 2, 2e7, inf])).all()


def test_shapes_broadcast():
    assert t_cdf(0.9, np.ones((3, 2))).shape == (3, 2)
    assert chi2_cdf(np.full((2, 1), 0.5), [1.0, 2.0, 3.0]).shape == (2, 3)
    assert normal_cdf([]).shape == t_cdf([], 3).shape == (0,)
    assert normal_cdf(0.3).shape == ()


@pytest.mark.parametrize("function", ["normal_cdf", "t_cdf", "chi2_cdf"])
def test_printed_formulas_are_read_back(function):
    from qbank.expressions.formulas import typeset
    from qbank.expressions.parser import parse_value
    from tests.expressions.test_formulas import filled

    text = f"{function}(1.3)" if function == "normal_cdf" else f"{function}(1.3, 4)"
    plain, mathml = filled(typeset(parse_value(text), {}))
    assert linear(mathml).replace(";", "; ") == plain


def test_scipy_is_not_needed():
    code = (
        "import sys; sys.modules['scipy'] = None\n"
        "from qbank.expressions.distributions import t_cdf\n"
        "assert abs(float(t_cdf(2.228138852, 10)) - 0.975) < 1e-9"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
