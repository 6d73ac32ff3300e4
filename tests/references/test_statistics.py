"""The interval for a mean against scipy.stats and printed samples."""

import numpy as np
import pytest
from scipy import stats


def test_interval_agrees_with_scipy(drawn):
    one = drawn("mean-interval", 300)
    for k in range(one.count):
        x = one.x[k][np.isfinite(one.x[k])]
        assert len(x) == one.n[k]
        low, high = stats.t.interval(one.C[k], len(x) - 1, loc=np.mean(x), scale=stats.sem(x))
        assert one.low[k] == pytest.approx(low, rel=1e-9)
        assert one.high[k] == pytest.approx(high, rel=1e-9)
        # The same verdict by the dual test: the nominal length is inside if it is not rejected.
        p = stats.ttest_1samp(x, one.m_0[k]).pvalue
        assert (one.case[k] == "contains it") == (p >= 1 - one.C[k])
    assert set(one.case) == {"contains it", "misses it"}
    assert set(np.round(one.C, 6)) == {0.90, 0.95, 0.99}
    assert {8, 12} <= set(one.n)


def test_published_exam_scores(worked, published):
    """OpenStax Introductory Statistics 2e, Example 9.16 (module m47019): t = 1.9781 against 65."""
    one = worked(
        "mean-interval", x="65, 65, 70, 67, 66, 63, 63, 68, 72, 71 mm", mu="65 mm",
        delta="1 mm", C="90 %", m_0="65 mm",
    )  # fmt: skip
    half_width_per_t = one.e / one.let["t"]
    assert (one.low + one.e - 65) / half_width_per_t == published(1.9781, 4)
    # Its one-sided p is 0.0396 < 0.05, so the two-sided 90 % interval misses 65.
    assert one.case == "misses it"


def test_published_interval_of_eight_values(worked, published):
    """OpenStax Introductory Statistics 2e, module m47019, exercise element-932a: 12 4 15 3 11 8 6
    8 give a 95 % interval from 4.9443 to 11.806. (The t and p printed with it are wrong.)"""
    one = worked(
        "mean-interval", x="12, 4, 15, 3, 11, 8, 6, 8 mm", mu="10 mm", delta="1 mm", C="95 %",
        m_0="10 mm",
    )  # fmt: skip
    assert one.low == published(4.9443, 4)
    assert one.high == published(11.806, 3)
    assert one.case == "contains it"


def test_published_sensory_rates(worked, published):
    """OpenStax Introductory Statistics, chapter 8, fifteen patients (from memory): mean 8.2267,
    95 % interval from 7.30 to 9.15."""
    rates = "8.6, 9.4, 7.9, 6.8, 8.3, 7.3, 9.2, 9.6, 8.7, 11.4, 10.3, 5.4, 8.1, 5.5, 6.9 mm"
    one = worked("mean-interval", x=rates, mu="8 mm", delta="1 mm", C="95 %", m_0="8 mm")
    assert one.low == published(7.30, 2)
    assert one.high == published(9.15, 2)


# ---------------------------------------------------------------------------- two means


def test_two_means_agree_with_scipy(drawn):
    one = drawn("two-means", 300)
    for k in range(one.count):
        x, y = (values[k][np.isfinite(values[k])] for values in (one.x, one.y))
        theirs = stats.ttest_ind(x, y, equal_var=False)
        assert one.t[k] == pytest.approx(theirs.statistic, rel=1e-9)
        assert one.nu[k] == pytest.approx(theirs.df, rel=1e-9)
        assert one.se[k] == pytest.approx(abs((x.mean() - y.mean()) / theirs.statistic), rel=1e-9)
        # The family rounds the degrees of freedom down, as a table makes one do.
        p = 2 * stats.t.sf(abs(theirs.statistic), np.floor(theirs.df))
        assert (one.case[k] == "differ") == (p < one.level[k])
    assert set(one.case) == {"differ", "no proof"}


def test_published_comparison_of_two_means(worked, published):
    """OpenStax Introductory Statistics 2e, Example 10.1 (module m47050): means 2 and 3.2, standard
    deviations 0.866 and 1.00, 9 and 16 values give t = -3.14 with 18.8462 degrees of freedom. The
    book computes with the root of 0.75, which it prints as 0.866."""
    d, e = np.sqrt(0.75), np.sqrt(15 / 16)
    x = [2.0] + [2 + d] * 4 + [2 - d] * 4
    y = [3.2 + e] * 8 + [3.2 - e] * 8
    one = worked(
        "two-means", x=f"{', '.join(map(repr, map(float, x)))} min", level="5 %",
        y=f"{', '.join(map(repr, map(float, y)))} min",
    )  # fmt: skip
    assert one.t == published(-3.14, 2)
    assert one.nu == published(18.8462, 4)
    assert one.case == "differ"  # the book rejects at 5 %, p = 0.0054
