"""The keyed order of points: one to one, and spread like chance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from qbank.sampling.permutation import LARGEST, Bijection, shuffled, shuffled_rows
from qbank.sampling.streams import Key


@given(st.integers(1, 30_000), st.integers(0, 10))
def test_every_point_is_reached_exactly_once(least, seed):
    bijection = Bijection(Key.of("p", seed), least)
    assert least <= bijection.size <= least + 2 * least**0.5 + 2
    images = bijection(np.arange(bijection.size))
    assert np.array_equal(np.sort(images), np.arange(bijection.size))


@given(st.integers(2**40, LARGEST), st.integers(0, 2**40 - 2000))
def test_large_maps_stay_inside_and_apart(least, first):
    bijection = Bijection(Key.of("p", 1), least)
    images = bijection(np.arange(first, first + 2000))
    assert images.min() >= 0
    assert images.max() < bijection.size
    assert len(np.unique(images)) == 2000


@pytest.mark.parametrize("least", [2**18 + 1, 10**9 + 7, 2**40 + 5, LARGEST])
@pytest.mark.parametrize("seed", range(3))
def test_consecutive_positions_land_like_chance(least, seed):
    bijection = Bijection(Key.of("spread", seed), least)
    images = bijection(np.arange(200_000)) / bijection.size
    assert stats.kstest(images[:20_000], "uniform").pvalue > 1e-4
    # neighbours are independent: a 16 by 16 table of (image of p, image of p + 1)
    table = np.histogram2d(images[::2], images[1::2], bins=16, range=[[0, 1], [0, 1]])[0]
    assert stats.chisquare(table.ravel()).pvalue > 1e-4
    # so are the coarse and the fine part of one image
    fine = (images * 997) % 1
    table = np.histogram2d(images, fine, bins=16, range=[[0, 1], [0, 1]])[0]
    assert stats.chisquare(table.ravel()).pvalue > 1e-4


def test_seeds_give_unrelated_orders():
    one, other = (Bijection(Key.of("p", seed), 10**6)(np.arange(50_000)) for seed in (0, 1))
    assert abs(stats.pearsonr(one, other).statistic) < 4 / 50_000**0.5
    assert np.mean(one == other) < 1e-3


@pytest.mark.parametrize("least", [0, -1, LARGEST + 1])
def test_impossible_sizes_are_refused(least):
    with pytest.raises(ValueError, match="points; 1 to"):
        Bijection(Key.of("p", 0), least)


def test_shuffles_are_permutations_that_depend_on_the_seed():
    order = shuffled(Key.of("s", 0), 1000)
    assert np.array_equal(np.sort(order), np.arange(1000))
    assert not np.array_equal(order, shuffled(Key.of("s", 1), 1000))
    rows = shuffled_rows(Key.of("s", 0), 5, 6000, 3)
    assert np.array_equal(np.sort(rows, axis=1), np.tile(np.arange(3), (6000, 1)))
    codes = rows @ np.array([9, 3, 1])
    counts = np.unique(codes, return_counts=True)[1]
    assert len(counts) == 6
    assert stats.chisquare(counts).pvalue > 1e-3
