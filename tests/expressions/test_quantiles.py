"""Quantiles against SciPy over the whole range, and against printed tables."""

from __future__ import annotations

import math
import subprocess
import sys
import time

import numpy as np
import pytest
import scipy.stats

from qbank.expressions.quantiles import chi2_quantile, normal_quantile, t_quantile

PROBABILITIES = [1e-12, 1e-4, 0.01, 0.025, 0.3, 0.5, 0.6, 0.95, 0.975, 0.995, 0.9999, 1 - 1e-9]
FREEDOMS = [0.5, 1, 2, 3, 4.5, 7, 10, 11, 29, 60, 200, 1e5]


def test_against_scipy():
    p, df = np.meshgrid(PROBABILITIES, FREEDOMS)
    np.testing.assert_allclose(t_quantile(p, df), scipy.stats.t.ppf(p, df), rtol=1e-11, atol=1e-15)
    np.testing.assert_allclose(chi2_quantile(p, df), scipy.stats.chi2.ppf(p, df), rtol=1e-11)
    np.testing.assert_allclose(normal_quantile(p), scipy.stats.norm.ppf(p), rtol=1e-13, atol=1e-16)


# NIST/SEMATECH e-Handbook of Statistical Methods, tables 1.3.6.7.2 (t) and 1.3.6.7.4 (chi-squared)
@pytest.mark.parametrize(
    ("df", "p", "printed"),
    [(1, 0.975, 12.706), (5, 0.95, 2.015), (10, 0.975, 2.228), (29, 0.995, 2.756)],
)
def test_printed_table_of_t(df, p, printed):
    assert round(float(t_quantile(p, df)), 3) == printed


@pytest.mark.parametrize(
    ("df", "p", "printed"),
    [(1, 0.95, 3.841), (5, 0.975, 12.833), (10, 0.05, 3.940), (20, 0.99, 37.566)],
)
def test_printed_table_of_chi_squared(df, p, printed):
    assert round(float(chi2_quantile(p, df)), 3) == printed


def test_limits():
    assert normal_quantile([0.0, 1.0]).tolist() == [-math.inf, math.inf]
    assert t_quantile([0.0, 0.5, 1.0], 3).tolist() == [-math.inf, 0.0, math.inf]
    assert chi2_quantile([0.0, 1.0], 3).tolist() == [0.0, math.inf]
    assert float(t_quantile(0.975, math.inf)) == float(normal_quantile(0.975))
    for bad in (t_quantile(1.1, 3), t_quantile(0.5, 0), t_quantile(math.nan, 3),
                chi2_quantile(0.5, -1), chi2_quantile(-0.1, 2), normal_quantile(2.0)):  # fmt: skip
        assert np.isnan(bad)


def test_shapes_broadcast():
    assert t_quantile(0.9, np.ones((3, 2))).shape == (3, 2)
    assert chi2_quantile(np.full((2, 1), 0.5), [1.0, 2.0, 3.0]).shape == (2, 3)
    assert normal_quantile([]).shape == (0,)


def test_each_pair_is_worked_out_once():
    df = np.tile(np.arange(30.0, 40.0), 10_000)
    t_quantile(0.9, df[:10])
    start = time.perf_counter()
    t_quantile(0.9, df)
    assert time.perf_counter() - start < 0.5


def test_scipy_is_not_needed():
    code = (
        "import sys; sys.modules['scipy'] = None\n"
        "from qbank.expressions.quantiles import t_quantile\n"
        "assert abs(float(t_quantile(0.975, 10)) - 2.228138852) < 1e-9"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
