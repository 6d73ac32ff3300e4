"""Numbers as banks write them, and the new key and band in their style."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.correction.changes import LeftAlone
from qbank.audit.correction.newkeys import new_key
from qbank.audit.correction.numerals import in_style, rounded, whole_numeral
from tests.audit.correction.test_foreign_documents import WRONG


@pytest.mark.parametrize(
    ("text", "value", "figures"),
    [
        ("12.5", "12.5", 3), ("12,50", "12.5", 4), ("−3", "-3", 1), ("+0.070", "0.07", 2),
        ("1.8e-5", "0.000018", 2), ("2.50E3", "2500", 3), ("1.8 × 10⁻⁵", "0.000018", 2),
        ("6.02·10²³", "602E21", 3), (".5", "0.5", 1), ("7.", "7", 1), (" 100 ", "100", 3),
    ],
)  # fmt: skip
def test_numerals_are_read_exactly(text, value, figures):
    read = whole_numeral(text)
    assert read is not None
    assert read.value == Decimal(value)
    assert read.figures == figures


@pytest.mark.parametrize("text", ["", "x", "1 2", "1.2.3", "12 N", "1e", "--1", "٣", "1" * 65])
def test_what_is_no_number(text):
    assert whole_numeral(text) is None


@pytest.mark.parametrize(
    ("value", "model", "text"),
    [
        ("7.25", "12.5", "7.25"), ("7.25", "12,5", "7,25"), ("-7.25", "−1", "−7.25"),
        ("-7.25", "12.5", "-7.25"), ("0.000018", "1.2e-4", "1.8e-5"),
        ("0.000018", "1.2E-04", "1.8E-5"), ("-0.000018", "−3,4 × 10⁻³", "−1,8 × 10⁻⁵"),
        ("7.3E+2", "12", "730"), ("7.3", "+1.2", "+7.3"), ("5.80", "72.5", "5.80"),
    ],
)  # fmt: skip
def test_a_number_takes_the_style_of_another(value, model, text):
    read = whole_numeral(model)
    assert read is not None
    assert in_style(Decimal(value), read) == text


@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(1, 15),
       st.sampled_from(["1", "1.5", "1,5", "−2.5", "1.5e3", "1,5 × 10⁻³"]))  # fmt: skip
def test_what_is_written_reads_back(value, figures, model):
    style = whole_numeral(model)
    assert style is not None
    number = rounded(value, figures)
    text = in_style(number, style)
    if len(text) <= 64:
        back = whole_numeral(text)
        assert back is not None
        assert back.value == number
        assert math.isclose(float(number), value, rel_tol=10.0 ** (1 - figures), abs_tol=5e-324)


def keyed(**given):
    return new_key(replace(WRONG, **given))


@pytest.mark.parametrize(
    ("given", "band", "expected"),
    [
        # a percentage that people state stays one: 2 % of 12.5 is 0.25, of 7.25 is 0.145
        ({}, ("12.25", "12.75"), ("7.105", "7.395")),
        # any other distance stays: 0.4 is 3.2 %
        ({}, ("12.1", "12.9"), ("6.85", "7.65")),
        ({}, ("12.5", "12.5"), ("7.25", "7.25")),
        ({"low": 7.2, "high": 7.3}, ("12.25", "12.75"), ("7.2", "7.3")),
        # the sides stay where they are when the sign changes
        ({"expected": "-7.25", "value": -7.25}, ("12.1", "12.8"), ("-7.65", "-6.95")),
    ],
)
def test_the_band_goes_with_the_key(given, band, expected):
    found = keyed(**given).band(*map(Decimal, band))
    assert found == tuple(map(Decimal, expected))


def test_a_band_too_narrow_for_the_new_rounding_is_not_made():
    key = keyed(expected="725", value=725.2)
    with pytest.raises(LeftAlone, match="narrower than its rounding"):
        key.band(Decimal("12.46"), Decimal("12.54"))


def test_a_band_without_its_key_is_not_moved():
    with pytest.raises(LeftAlone, match="does not hold the key"):
        keyed().band(Decimal(13), Decimal(14))


@pytest.mark.parametrize(
    ("given", "new"),
    [
        ({}, "7.25"),
        ({"expected": ""}, "7.25"),
        ({"expected": "7.250 m/s"}, "7.250"),
        ({"expected": "9 m/s"}, "7.25"),  # what it says does not fit its value
        ({"expected": "7 m/s", "low": 7.1, "high": 7.4}, "7.25"),  # 7 would be rejected
        ({"states": "10 m/s", "expected": "", "value": 0.3333, "low": 0.33, "high": 0.334},
         "0.33"),
    ],
)  # fmt: skip
def test_figures_are_those_of_the_bank_unless_too_few(given, new):
    assert str(keyed(**given).new) == new


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"states": "C"}, "is no number"),
        ({"value": math.nan}, "not known"),
        ({"expected": "12.5", "value": 12.5004}, "is the one it states"),
        ({"low": 8.0, "high": 9.0}, "outside the band"),
    ],
)
def test_what_is_not_fully_said_is_left(given, why):
    with pytest.raises(LeftAlone, match=why):
        keyed(**given)
