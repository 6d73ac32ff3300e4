"""When keys agree, and how likely that is by accident."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom  # type: ignore[import-untyped]

from qbank.audit.grouping import group_questions
from qbank.audit.matching.agreement import Widths, accident, half_unit, tail, tally, widths
from tests.audit.grouping.texts import question


@pytest.mark.parametrize(
    ("text", "value", "half"),
    [
        ("15.0", 15.0, 0.05),
        ("15", 15.0, 0.5),
        ("15.0 N", 15.0, 0.05),
        ("1500", 1500.0, 0.5),
        ("1,500", 1500.0, 0.5),
        ("60,02 cm", 60.02, 0.005),
        ("3,14", 3.14, 0.005),
        ("-0.25", -0.25, 0.005),
        ("1.8e-5", 1.8e-5, 0.05e-5),
        ("1.20E3", 1200.0, 5.0),
        ("", 7.25, 0.005),  # the digits of the number itself
        ("seven and a bit", 7.25, 0.005),
    ],
)
def test_half_a_unit_of_the_last_digit(text: str, value: float, half: float) -> None:
    assert half_unit(text, value) == pytest.approx(half)


@pytest.mark.parametrize(("k", "n", "p"), [(6, 8, 0.01), (30, 50, 0.1), (1, 5, 0.5), (5, 5, 1e-4)])
def test_binomial_tail_against_scipy(k: int, n: int, p: float) -> None:
    assert tail(k, n, p) == pytest.approx(np.log10(binom.sf(k - 1, n, p)), rel=1e-9)


def test_bounds_of_the_tail() -> None:
    assert tail(0, 10, 0.1) == 0.0
    assert tail(3, 3, 1.0) == 0.0


def test_an_accident_is_certain_among_equal_keys_and_rare_among_spread_ones() -> None:
    equal = np.full(20, 4.0)
    assert accident(equal, np.full(20, 0.02)) == 1.0
    spread = np.geomspace(1, 100, 50)
    p = accident(spread, 0.005 * spread)
    rng = np.random.default_rng(1)
    drawn = rng.permutation(np.tile(spread, 400)).reshape(-1, 50)
    hits = (np.abs(drawn - spread) <= 0.005 * spread).mean() - 1 / 50
    assert hits <= p < 0.05


def test_questions_with_one_answer_are_one_piece_of_evidence() -> None:
    keys = np.repeat([1.0, 2.0, 3.0, 4.0], 10)
    same = tally(keys, keys, Widths(np.full(40, 0.005), np.full(40, 0.01)), 40)
    spread = np.linspace(1, 4, 40)
    many = tally(spread, spread, Widths(np.full(40, 0.005), np.full(40, 0.01)), 40)
    assert same.agreeing == many.agreeing == 40
    assert many.log10 < same.log10 - 20
    assert same.log10 > -12


def test_widths_follow_digits_band_and_unit() -> None:
    plain = question("x", "y", 0, key=2.00, key_text="2.00", unit="cm")
    import dataclasses

    wide = dataclasses.replace(plain, low=1.0, high=3.0)
    narrow = dataclasses.replace(plain, low=1.998, high=2.002)
    found = [widths(group_questions([q])[0]).wide[0] for q in (plain, wide, narrow)]
    # SI: half a percent of 2 cm; 1 % where the band is wider; half a unit where it is narrower
    np.testing.assert_allclose(found, [1e-4, 2e-4, 0.51e-4], rtol=1e-9)
