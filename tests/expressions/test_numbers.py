"""Rounding and writing of numbers, against Python's decimal module and published rules.

ISO 80000-1:2009, annex B (rounding of numbers) is quoted from memory: rule A takes the even
multiple at a tie, rule B the larger in magnitude, and rounding in steps is to be avoided. Its
examples, from memory: to tens 12.223 -> 12.2, 12.275 -> 12.3 (range 0.1), 1222.3 -> 1220 and
1227.5 -> 1230 (range 10); rule B ties 12.25 -> 12.3, 12.35 -> 12.4 (0.1), 1225 -> 1230,
1235 -> 1240 (10).
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal, localcontext

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from qbank.expressions.number_columns import exact_numbers, machine_texts, number_texts
from qbank.expressions.numbers import (
    NumberFormat,
    decimal_parts,
    exact_machine_number,
    exact_number,
    format_number,
    last_place,
    machine_number,
    number_mathml,
    round_values,
)

TENTHS = NumberFormat(decimals=1)
TENS = NumberFormat(decimals=-1)


def by_decimal(value: float, fmt: NumberFormat) -> Decimal:
    """The exact value of the double, rounded half away from zero by the decimal module."""
    exact = Decimal(value)
    with localcontext() as context:
        context.prec = 400
        if fmt.figures is not None:
            places = fmt.figures - 1 - exact.adjusted() if exact else fmt.figures - 1
            rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
            if rounded and rounded.adjusted() > exact.adjusted():
                rounded = rounded.quantize(Decimal(1).scaleb(1 - places), rounding=ROUND_HALF_UP)
            return rounded
        return exact.quantize(Decimal(1).scaleb(-(fmt.decimals or 0)), rounding=ROUND_HALF_UP)


def near_tie(value: float, fmt: NumberFormat) -> bool:
    """Whether the double lies so near a tie that the module's own rule decides."""
    mantissa, exponent = decimal_parts([value], fmt)
    with localcontext() as context:
        context.prec = 400
        unit = Decimal(1).scaleb(int(exponent[0]))
        distance = abs(abs(Decimal(value) / unit - int(mantissa[0])) - Decimal("0.5"))
        share = distance * unit / abs(Decimal(value))
        if share <= Decimal(2) ** -52:  # a tie as far as a double can tell
            return True
        return distance <= Decimal("1.1e-3") and share <= Decimal("1.1e-11")


@pytest.mark.parametrize(
    ("fmt", "value", "expected"),
    [
        (TENTHS, 12.223, "12.2"),
        (TENTHS, 12.251, "12.3"),
        (TENTHS, 12.275, "12.3"),
        (TENS, 1222.3, "1220"),
        (TENS, 1225.1, "1230"),
        (TENS, 1227.5, "1230"),
        (TENTHS, 12.25, "12.3"),
        (TENTHS, 12.35, "12.4"),
        (TENS, 1225.0, "1230"),
        (TENS, 1235.0, "1240"),
    ],
)
def test_examples_of_iso_80000_1_annex_b(fmt: NumberFormat, value: float, expected: str) -> None:
    plain = NumberFormat(decimals=fmt.decimals, notation="plain")
    assert format_number(value, plain) == expected
    assert format_number(-value, plain) == "−" + expected


def test_rounding_is_never_done_in_steps() -> None:
    # ISO 80000-1, annex B, from memory: 12.254 rounds to 12.3, and 12.249 to 12.2, not over 12.25
    assert format_number(12.254, TENTHS) == "12.3"
    assert format_number(12.249, TENTHS) == "12.2"


FORMATS = [NumberFormat(figures=figures) for figures in (1, 2, 3, 4, 6, 9, 12)] + [
    NumberFormat(decimals=decimals) for decimals in (-3, -1, 0, 1, 2, 4, 7)
]


@pytest.mark.parametrize("fmt", FORMATS, ids=str)
def test_rounded_values_agree_with_the_decimal_module(fmt: NumberFormat) -> None:
    random = np.random.default_rng(20)
    top = 8 if fmt.figures is None else 250
    low = -8 if fmt.figures is None else -250
    values = random.choice([-1.0, 1.0], 2000) * 10.0 ** random.uniform(low, top, 2000)
    rounded = round_values(values, fmt)
    place = last_place(values, fmt)
    compared = 0
    for value, got, unit in zip(values.tolist(), rounded.tolist(), place.tolist(), strict=True):
        if near_tie(value, fmt):
            continue
        expected = by_decimal(value, fmt)
        assert got == float(expected)
        if expected:
            assert unit == float(f"1e{expected.as_tuple().exponent}")
        compared += 1
    assert compared > 1950


@pytest.mark.parametrize("fmt", FORMATS, ids=str)
def test_one_value_is_written_as_a_column_is(fmt: NumberFormat) -> None:
    random = np.random.default_rng(21)
    values = random.choice([-1.0, 1.0], 2000) * 10.0 ** random.uniform(-7, 7, 2000)
    values[:6] = [0.0, -0.0, 999.96, 0.00099996, 99999.96, -9.5]
    values[6:10] = [99_999.4, 0.001, 0.00099999999, 1e30]
    texts = number_texts(values, fmt)
    machines = machine_texts(values, fmt)
    rounded = round_values(values, fmt)
    rows = zip(values.tolist(), texts, machines, rounded.tolist(), strict=True)
    for value, text, machine, number in rows:
        assert format_number(value, fmt) == text
        assert machine_number(value, fmt) == machine
        assert float(machine) == number
        assert machine.lstrip("-").partition("e")[0] == text.lstrip("−").partition(" ")[0]


def test_a_tie_spoiled_by_the_last_bit_is_still_a_tie() -> None:
    # 2.675 is stored as 2.67499999999999982, 1.005 as 1.00499999999999989
    hundredths = NumberFormat(decimals=2)
    assert round_values([2.675, 1.005, -2.675], hundredths).tolist() == [2.68, 1.01, -2.68]
    ties = np.arange(1, 200_001, 2) / 2000  # every odd half of a thousandth, 0.0005 .. 99.9995
    expected = (np.arange(1, 200_001, 2) + 1) / 2 / 1000
    thousandths = NumberFormat(decimals=3)
    assert np.array_equal(round_values(ties, thousandths), expected)
    assert np.array_equal(round_values(np.nextafter(ties, 0), thousandths), expected)
    assert np.array_equal(round_values(np.nextafter(ties, 100), thousandths), expected)
    # but a value that is truly below the tie stays below it
    assert round_values([2.6749999], hundredths).tolist() == [2.67]


@given(
    st.integers(-(10**14), 10**14),
    st.integers(-30, 30),
    st.integers(1, 15),
)
@settings(max_examples=300, deadline=None)
def test_rounding_twice_changes_nothing(digits: int, power: int, figures: int) -> None:
    fmt = NumberFormat(figures=figures)
    once = round_values([float(f"{digits}e{power}")], fmt)
    assert round_values(once, fmt).tolist() == once.tolist()


@given(st.integers(-(10**15), 10**15), st.integers(-40, 12), st.booleans())
@settings(max_examples=300, deadline=None)
def test_exact_numbers_keep_value_and_digits(digits: int, power: int, scientific: bool) -> None:
    machine = exact_machine_number(digits, power, scientific)
    assert Decimal(machine) == Decimal(digits).scaleb(power)
    shown = exact_number(digits, power, scientific)
    assert "-" not in shown
    if not scientific or digits == 0:
        assert shown.replace("−", "-") == machine


@given(st.lists(st.integers(-(10**15), 10**15), max_size=5), st.integers(-25, 3), st.booleans())
@settings(max_examples=200, deadline=None)
def test_a_column_of_exact_numbers_is_written_as_one_is(
    mantissas: list[int], exponent: int, scientific: bool
) -> None:
    expected = [exact_number(mantissa, exponent, scientific) for mantissa in mantissas]
    assert exact_numbers(mantissas, exponent, scientific) == expected


@pytest.mark.parametrize(
    ("value", "fmt", "people", "machine"),
    [
        (14.96, NumberFormat(figures=3), "15.0", "15.0"),
        (1.84e-5, NumberFormat(figures=2), "1.8 × 10⁻⁵", "1.8e-5"),
        (-1.84e-5, NumberFormat(figures=2), "−1.8 × 10⁻⁵", "-1.8e-5"),
        (0.001, NumberFormat(figures=3), "0.00100", "0.00100"),
        (0.0009999, NumberFormat(figures=3), "0.00100", "0.00100"),
        (0.00099, NumberFormat(figures=3), "9.90 × 10⁻⁴", "9.90e-4"),
        (99_999.4, NumberFormat(figures=5), "99999", "99999"),
        (99_999.6, NumberFormat(figures=5), "1.0000 × 10⁵", "1.0000e5"),
        (1500.0, NumberFormat(figures=2), "1.5 × 10³", "1.5e3"),
        (1500.0, NumberFormat(figures=4), "1500", "1500"),
        (1500.0, NumberFormat(figures=2, notation="plain"), "1500", "1500"),
        (1549.0, NumberFormat(figures=2, notation="plain"), "1500", "1500"),
        (1.5, NumberFormat(figures=2, notation="scientific"), "1.5", "1.5"),
        (15.0, NumberFormat(figures=1, notation="scientific"), "2 × 10¹", "2e1"),
        (123456.789, NumberFormat(decimals=2), "123456.79", "123456.79"),
        (3456.0, NumberFormat(decimals=-2), "3.5 × 10³", "3.5e3"),
        (-0.04, NumberFormat(decimals=1), "0.0", "0.0"),
        (0.0, NumberFormat(figures=3), "0.00", "0.00"),
        (1e20, NumberFormat(decimals=2, notation="plain"), "1" + "0" * 20, "1" + "0" * 20),
    ],
)
def test_notation(value: float, fmt: NumberFormat, people: str, machine: str) -> None:
    assert format_number(value, fmt) == people
    assert machine_number(value, fmt) == machine


def test_last_place_after_a_carry() -> None:
    fmt = NumberFormat(figures=3)
    assert last_place([9.994, 9.996, 0.0, 123456.0], fmt).tolist() == [0.01, 0.1, 0.01, 1000.0]


def test_values_that_are_not_finite() -> None:
    fmt = NumberFormat(figures=3)
    rounded = round_values([math.nan, math.inf, -math.inf, 1.0], fmt)
    assert np.isnan(rounded[0])
    assert rounded[1:].tolist() == [math.inf, -math.inf, 1.0]
    assert np.isnan(last_place([math.nan], fmt)[0])
    assert number_texts([math.nan, 2.0], fmt) == ["—", "2.00"]
    with pytest.raises(ValueError, match="finite"):
        format_number(math.nan, fmt)


@pytest.mark.parametrize("text", ["15.0", "−15.0", "1.8 × 10⁻⁵", "−6.02 × 10²³", "0"])
def test_mathml_of_a_number_says_the_same(text: str) -> None:
    element = etree.fromstring(number_mathml(text))
    assert element.tag in {"mn", "mrow"}
    flat = "".join(element.itertext())
    expected = text.translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789−")).replace(" ", "")
    assert flat == expected
    if "×" in text:
        assert element.find(".//msup") is not None
