"""Functions of data lists against NumPy, SciPy and NIST's certified values; their padding."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_value


def padded(rows, width=None):
    width = width or max(map(len, rows))
    return np.array([[*row, *[np.nan] * (width - len(row))] for row in rows], dtype=float)


def evaluate(text, rows, width=None, **env):
    (result,) = compile_nodes([parse_value(text)])({"x": padded(rows, width), **env}, len(rows))
    return result


REFERENCES = {
    "count": len,
    "sum": np.sum,
    "mean": np.mean,
    "sd": lambda row: np.std(row, ddof=1),
    "variance": lambda row: np.var(row, ddof=1),
    "median": np.median,
    "least": np.min,
    "greatest": np.max,
}


@given(
    st.sampled_from(sorted(REFERENCES)),
    st.lists(
        st.lists(st.integers(-1000, 1000).map(lambda i: i / 8), min_size=2, max_size=9),
        min_size=1,
        max_size=5,
    ),
    st.integers(9, 12),
)
def test_against_numpy(name, rows, width):
    expected = [REFERENCES[name](row) for row in rows]
    np.testing.assert_allclose(evaluate(f"{name}(x)", rows, width), expected, atol=1e-9)


def test_the_width_of_the_padding_changes_no_bit():
    rng = np.random.default_rng(3)
    rows = [rng.random(11).tolist() for _ in range(50)]
    for name in REFERENCES:
        narrow, wide = evaluate(f"{name}(x)", rows), evaluate(f"{name}(x)", rows, 40)
        np.testing.assert_array_equal(narrow, wide)
        alone = [evaluate(f"{name}(x)", [row])[0] for row in rows]
        np.testing.assert_array_equal(narrow, alone)


# NIST Statistical Reference Datasets, univariate summary statistics: certified mean and sample
# standard deviation. The data sets are defined by the rules given here.
NUM_ACC = [
    ("NumAcc1", [10000001, 10000003, 10000002], 10000002, 1, 1e-15),
    ("NumAcc2", [1.2, *[1.1, 1.3] * 500], 1.2, 0.1, 1e-13),
    ("NumAcc3", [1000000.2, *[1000000.1, 1000000.3] * 500], 1000000.2, 0.1, 1e-8),
    ("NumAcc4", [10000000.2, *[10000000.1, 10000000.3] * 500], 10000000.2, 0.1, 1e-7),
]


@pytest.mark.parametrize(("name", "values", "mean", "sd", "rel"), NUM_ACC)
def test_certified_by_nist(name, values, mean, sd, rel):
    assert evaluate("mean(x)", [values])[0] == pytest.approx(mean, rel=1e-13)
    # the data themselves are rounded to floats, which bounds what any code can reach
    assert evaluate("sd(x)", [values])[0] == pytest.approx(sd, rel=rel)


def test_lists_in_expressions():
    rows = [[1.0, 2.0, 4.0], [5.0, 7.0]]
    y = padded([[2.0, 3.0, 9.0], [1.0, 0.5]])
    k = np.array([10.0, 20.0])
    sums = evaluate("sum((x - mean(x))*(y - mean(y)))", rows, y=y)
    squares = evaluate("sum((x - mean(x))^2)", rows)
    slopes = [scipy.stats.linregress(row, y[i, : len(row)]).slope for i, row in enumerate(rows)]
    np.testing.assert_allclose(sums / squares, slopes)
    np.testing.assert_array_equal(evaluate("k*x", rows, k=k), padded(rows) * k[:, None])
    np.testing.assert_array_equal(evaluate("x", rows), padded(rows))
    np.testing.assert_allclose(evaluate("mean(x)*k + 1", rows, k=k), [70 / 3 + 1, 121])
    np.testing.assert_allclose(evaluate("t_quantile(0.975, count(x) - 1)", rows),
                               scipy.stats.t.ppf(0.975, [2, 1]))  # fmt: skip


def test_no_value_in_a_list_is_not_taken_for_padding():
    result = evaluate("sum(ln(x))", [[1.0, -1.0], [1.0, 1.0]])
    assert np.isnan(result[0])
    assert result[1] == 0
    assert np.isnan(evaluate("median(sqrt(x))", [[4.0, -1.0, 9.0]])[0])
    assert np.isnan(evaluate("least(sqrt(x))", [[4.0, -1.0, 9.0]])[0])


def test_lists_too_short():
    assert np.isnan(evaluate("sd(x)", [[3.0]], 4)[0])
    for name in ("mean", "median", "least", "greatest"):
        assert np.isnan(evaluate(f"{name}(x)", [[]], 4)[0])
    assert evaluate("sum(x)", [[]], 4)[0] == 0


def test_results_are_new_arrays():
    x = padded([[1.0, 2.0]])
    program = compile_nodes([parse_value("x"), parse_value("x"), parse_value("mean(x)")])
    results = program({"x": x}, 1)
    for i, result in enumerate(results):
        assert not np.shares_memory(result, x)
        assert not any(np.shares_memory(result, other) for other in results[i + 1 :])


def test_a_list_function_of_a_number():
    with pytest.raises(ValueError, match="no data list"):
        compile_nodes([parse_value("mean(k)")])({"k": 3.0}, 1)
