"""Bins: round edges, nothing lost, values on an edge above it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.proof.bins import bins_for

FINITE = st.floats(-1e9, 1e9).filter(lambda x: x == 0 or abs(x) > 1e-9)


@given(st.lists(FINITE, min_size=1, max_size=60))
def test_every_value_falls_into_one_bin(values):
    array = np.array(values)
    bins = bins_for(array)
    assert (np.diff(bins.edges) >= 0).all()
    assert bins.counts(array).sum() == len(array)
    assert 1 <= len(bins.edges) - 1 <= 40


@given(st.lists(st.integers(-500, 500), min_size=2, max_size=60, unique=True))
def test_counts_are_those_of_numpy(values):
    """Against numpy.histogram, whose last bin is closed as ours is."""
    array = np.array(values) / 8.0  # exact, so that an edge is an edge
    bins = bins_for(array)
    inner = bins.edges[np.isclose(bins.edges * 8, np.round(bins.edges * 8))]
    if len(inner) == len(bins.edges):
        expected, _ = np.histogram(array, bins.edges)
        assert bins.counts(array).tolist() == expected.tolist()


@pytest.mark.parametrize(
    ("low", "high", "edges"),
    [
        (2.17, 3.06, [2.1, 2.2, 2.3, 2.4, 2.5, 2.6, 2.7, 2.8, 2.9, 3.0, 3.1]),
        (-5.86, 7.1, [-6, -4, -2, 0, 2, 4, 6, 8]),
        (4.0, 4.0, [4.0, 4.0]),
    ],
)
def test_edges_are_round(low, high, edges):
    assert bins_for(np.array([low, high])).edges == pytest.approx(np.array(edges))


def test_wide_spreads_are_binned_by_powers():
    bins = bins_for(np.array([3e-5, 0.4]))
    assert bins.by_powers
    assert bins.edges[0] == pytest.approx(2e-5)
    assert bins.edges[-1] == pytest.approx(0.5)
    assert not bins_for(np.array([-1.0, 1e6])).by_powers


def test_a_value_on_an_edge_that_is_not_exact_belongs_above_it():
    values = np.array([0.1, 0.3, 0.7, 1.1])  # 3 * 0.1 is a little more than 0.3
    bins = bins_for(values)
    assert bins.edges == pytest.approx(np.arange(1, 12) / 10)
    assert bins.counts(values).tolist() == [1, 0, 1, 0, 0, 0, 1, 0, 0, 1]
