"""The accepted band, against the same rule in exact decimals."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.checking.tolerance import bands
from qbank.expressions.numbers import NumberFormat, last_place, machine_number, round_values
from qbank.expressions.units import parse_unit
from qbank.family.model import ToleranceRule, Unknown
from qbank.place import Place


def unknown(shown: NumberFormat, rule: ToleranceRule = ToleranceRule()) -> Unknown:  # noqa: B008 - frozen
    return Unknown("x", "length", "x", parse_unit("m"), shown, rule, Place("test", 1, 1))


def band(key: float, shown: NumberFormat, **rule: float) -> tuple[float, float]:
    low, high = bands(unknown(shown, ToleranceRule(**rule)), np.array([key]))
    return float(low[0]), float(high[0])


THREE = NumberFormat(figures=3)


@pytest.mark.parametrize(
    ("key", "shown", "rule", "expected"),
    [
        (15.0, THREE, {}, (14.85, 15.15)),  # 1 % and 1.5 places are the same here
        (99.9, THREE, {}, (98.901, 100.899)),  # 1 % is wider
        (10.1, THREE, {}, (9.95, 10.25)),  # 1.5 places are wider
        (-2.0, NumberFormat(figures=2), {}, (-2.15, -1.85)),
        (0.0, NumberFormat(decimals=2), {}, (-0.015, 0.015)),
        (1.84e-5, THREE, {}, (1.8216e-5, 1.8584e-5)),
        (6.4e9, NumberFormat(figures=2), {}, (6.25e9, 6.55e9)),
        (15.0, THREE, {"relative": 0.02}, (14.7, 15.3)),
        (15.0, THREE, {"absolute": 0.05}, (14.95, 15.05)),
        (15.0, THREE, {"absolute": 0.05, "relative": 0.02}, (14.7, 15.3)),
        (7.77, THREE, {"relative": 0.02}, (7.6146, 7.9254)),
        (3.33, THREE, {"relative": 0.01234}, (3.2889, 3.3711)),  # outward, never inward
    ],
)
def test_bands_by_hand(key, shown, rule, expected):
    assert band(key, shown, **rule) == expected


def test_a_typed_number_on_the_bound_is_accepted():
    for thousandths in range(1000, 10000, 7):
        key = thousandths / 1000
        low, high = band(key, NumberFormat(figures=4), relative=0.02)
        exact = Decimal(thousandths) / 1000
        assert low <= float(str(exact * Decimal("0.98")))
        assert high >= float(str(exact * Decimal("1.02")))


@given(
    st.floats(1e-250, 1e250),
    st.sampled_from([-1, 1]),
    st.integers(1, 12),
    st.sampled_from([{}, {"relative": 0.02}, {"relative": 0.005}]),
)
def test_bands_agree_with_exact_decimals(size, sign, figures, rule):
    shown = NumberFormat(figures=figures)
    key = float(round_values(np.array([sign * size]), shown)[0])
    low, high = band(key, shown, **rule)
    exact = Decimal(machine_number(key, replace(shown, notation="scientific")))
    place = Decimal(1).scaleb(exact.as_tuple().exponent)
    assert float(place) == pytest.approx(float(last_place(np.array([key]), shown)[0]), rel=1e-15)
    reach = (
        abs(exact) * Decimal(str(rule["relative"]))
        if rule
        else max(abs(exact) / 100, place * Decimal("1.5"))
    )
    step = place / 100
    bounds = (
        ((exact - reach) / step).to_integral_value(ROUND_FLOOR) * step,
        ((exact + reach) / step).to_integral_value(ROUND_CEILING) * step,
    )
    # a bound as near to a decimal as doubles can tell is that decimal
    slack = step * Decimal("2e-6") + abs(exact) * Decimal("4e-15")
    for found, bound in zip((low, high), bounds, strict=True):
        assert abs(Decimal(found) - bound) <= slack or figures > 10
    assert Decimal(low) <= exact - reach + slack
    assert Decimal(high) >= exact + reach - slack
    assert low < key < high


def test_keys_that_are_no_numbers_have_no_band():
    low, high = bands(unknown(THREE), np.array([np.nan, np.inf, 1.0]))
    assert np.isnan(low[0])
    assert np.isnan(high[0])
    assert not np.isfinite(high[1])
    assert (low[2], high[2]) == (0.985, 1.015)
