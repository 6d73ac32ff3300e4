"""Kinds of given: values are the decimals that are printed."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.expressions.units import parse_unit
from qbank.family.model import Fixed, Grid, Listed
from qbank.sampling.kinds import FixedKind, GridKind, ListedKind, decimal_values

METRE, CENTIMETRE, CELSIUS = (parse_unit(text) for text in ("m", "cm", "°C"))


@given(st.integers(-(10**15), 10**15), st.integers(-60, 22))
def test_decimals_are_the_nearest_doubles(mantissa, exponent):
    found = decimal_values(np.array([mantissa]), exponent)[0]
    assert found == float(Fraction(mantissa) * Fraction(10) ** exponent)


def test_a_grid_gives_its_points_in_shown_decimals_and_in_si():
    grid = GridKind(Grid(first=80, step=5, count=17, exponent=-1), CENTIMETRE)
    at = np.arange(17)
    assert grid.mantissas(at).tolist() == list(range(80, 161, 5))
    assert grid.values(at)[0] == 0.08
    assert grid.values(at)[7] == 0.115
    assert grid.describe() == "17 values from 8.0 cm to 16.0 cm"


def test_a_grid_too_large_for_a_table_gives_the_same_values():
    small = GridKind(Grid(first=1, step=3, count=1000, exponent=-2), CENTIMETRE)
    large = GridKind(Grid(first=1, step=3, count=10**9, exponent=-2), CENTIMETRE)
    at = np.arange(1000)
    assert np.array_equal(small.values(at), large.values(at))


def test_absolute_temperatures_are_kelvin_inside():
    grid = GridKind(Grid(first=15, step=1, count=16, exponent=0), CELSIUS)
    assert grid.values(np.array([5]))[0] == pytest.approx(293.15, abs=1e-12)


def test_a_listed_given_is_drawn_by_position():
    listed = ListedKind(Listed((47, 10, 22), (-1, 0, 0)), parse_unit("kΩ"))
    assert listed.values(np.array([0, 2])).tolist() == [4700.0, 22000.0]
    assert listed.mantissas(np.array([0, 2])).tolist() == [0, 2]
    assert listed.mantissa_of(100, -1) == 1
    assert listed.mantissa_of(11, 0) is None


def test_a_fixed_given_keeps_a_tiny_value_exactly():
    planck = FixedKind(Fixed(662607015, -42), parse_unit("J s"))
    assert planck.values(np.zeros(2, dtype=int)).tolist() == [6.62607015e-34] * 2


@pytest.mark.parametrize(
    ("mantissa", "exponent", "found"),
    [(25, -1, 25), (3, 0, 30), (250, -2, 25), (255, -2, None), (0, -300, 0), (1, 300, None)],
)
def test_a_number_is_found_on_the_decimals_of_a_grid(mantissa, exponent, found):
    grid = GridKind(Grid(first=20, step=5, count=10, exponent=-1), METRE)
    assert grid.mantissa_of(mantissa, exponent) == found
