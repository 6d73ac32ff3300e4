"""Distractors are chosen so that the key's place varies and no option gives it away."""

import numpy as np
import pytest
from scipy import stats

from qbank.sampling.balance import FAR_OFF, balanced

N = 4000


def offered(wrong, most, key=10.0, usable=None, words=None):
    """What is offered of the same wrong values in N rows."""
    table = np.tile(np.array(wrong, dtype=float), (N, 1))
    usable = np.isfinite(table) if usable is None else usable
    words = np.random.default_rng(3).integers(0, 27720, N) if words is None else words
    return table, balanced(np.full(N, key), table, usable, most, words)


def places(wrong, most, key=10.0):
    """How often the key stands in each place among the options, in ascending order."""
    table, taken = offered(wrong, most, key)
    assert (taken.sum(axis=1) == most).all()
    return np.bincount(((table < key) & taken).sum(axis=1), minlength=most + 1)


def test_the_key_stands_in_each_place_equally_often_where_slips_allow():
    counts = places([4.0, 6.0, 8.0, 12.0, 14.0, 16.0], most=3)
    assert stats.chisquare(counts).pvalue > 0.001


@pytest.mark.parametrize(
    ("wrong", "possible"),
    [
        ([4.0, 6.0, 8.0], [3]),
        ([4.0, 6.0, 8.0, 12.0], [2, 3]),
        ([12.0, 14.0, 16.0, 18.0, 2.0], [0, 1]),
    ],
)
def test_only_places_that_leave_enough_distractors_are_taken(wrong, possible):
    counts = places(wrong, most=3)
    assert set(np.flatnonzero(counts).tolist()) == set(possible)
    assert counts[possible].min() > 0.9 * N / len(possible)


def test_the_authors_first_slips_come_first_on_each_side():
    table, taken = offered([6.0, 4.0, 8.0, 14.0, 12.0], most=2)
    for row, chosen in zip(table, taken, strict=True):
        below = [v for v, c in zip(row, chosen, strict=True) if c and v < 10]
        above = [v for v, c in zip(row, chosen, strict=True) if c and v > 10]
        assert below == [6.0, 4.0][: len(below)]
        assert above == [14.0, 12.0][: len(above)]


def test_another_sign_or_size_is_left_out_while_others_suffice():
    _, taken = offered([-10.0, 10.5 * FAR_OFF, 5.0, 20.0, 30.0], most=3)
    assert taken.tolist() == [[False, False, True, True, True]] * N
    _, needed = offered([-10.0, 5.0, 20.0], most=3)
    assert needed.all()


def test_a_negative_key_has_negative_options():
    _, taken = offered([10.0, -5.0, -20.0], most=2, key=-10.0)
    assert taken.tolist() == [[False, True, True]] * N


def test_what_is_not_usable_is_never_offered():
    usable = np.tile([False, True, True], (N, 1))
    _, taken = offered([4.0, np.nan, 12.0], most=3, usable=usable & np.array([True, False, True]))
    assert taken.tolist() == [[False, False, True]] * N
