"""Numbers in cells as people write them: found, replaced in their style, and read again."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.correction.cell_numbers import cell_number, with_number


@pytest.mark.parametrize(
    ("cell", "decimal", "value", "large", "small"),
    [
        ("6,789.8", ".", "6789.8", "12,345.6", "0.00123"),
        ("1,500 N", ".", "1500", "12,345.6 N", "0.00123 N"),
        ("1.234,5", ",", "1234.5", "12.345,6", "0,00123"),
        ("6\u202f789.8", ".", "6789.8", "12\u202f345.6", "0.00123"),
        ("6'789.8", ".", "6789.8", "12'345.6", "0.00123"),
        ("6.79 x 10^3 m", ".", "6.79E3", "1.23456 x 10^4 m", "1.23 x 10^-3 m"),
        ("6.79*10^3", ".", "6.79E3", "1.23456*10^4", "1.23*10^-3"),
        ("6,79·10³", ",", "6.79E3", "1,23456·10⁴", "1,23·10⁻³"),
        ("\\(6.79 \\times 10^{3}\\)", ".", "6.79E3",
         "\\(1.23456 \\times 10^{4}\\)", "\\(1.23 \\times 10^{-3}\\)"),
        ("<p>6.79 × 10<sup>3</sup> m</p>", ".", "6.79E3",
         "<p>1.23456 × 10<sup>4</sup> m</p>", "<p>1.23 × 10<sup>-3</sup> m</p>"),
        ("6.79E+03", ".", "6.79E3", "1.23456E+04", "1.23E-03"),
        ("about 6790 m", ".", "6790", "about 12345.6 m", "about 0.00123 m"),
        ("v = 6790 m/s", ".", "6790", "v = 12345.6 m/s", "v = 0.00123 m/s"),
        ("<b>6790</b> ± 20", ".", "6790", "<b>12345.6</b> ± 20", "<b>0.00123</b> ± 20"),
        ("$6790$", ".", "6790", "$12345.6$", "$0.00123$"),
        ("10.0", ".", "10", "12345.6", "0.00123"),
        ("6,00 m", ",", "6", "12345,6 m", "0,00123 m"),
        ("0,5", ".", "0.5", "12345,6", "0,00123"),
        ("−6.5 °C", ".", "-6.5", "12345.6 °C", "0.00123 °C"),
    ],
)  # fmt: skip
def test_a_number_is_replaced_in_the_style_of_its_cell(cell, decimal, value, large, small):
    found = cell_number(cell, decimal)
    assert found is not None
    assert found.value == Decimal(value)
    assert with_number(cell, found, Decimal("12345.6"), decimal) == large
    assert with_number(cell, found, Decimal("0.00123"), decimal) == small


@pytest.mark.parametrize("cell", ["", "none", "½", "3/4 m", "5 or 6", "2.5 ± 2.5", "10^4", "1e999"])
def test_what_cannot_be_told_for_sure_is_left(cell):
    assert cell_number(cell, ".") is None


@given(
    st.decimals(-(10**9), 10**9, allow_nan=False, allow_infinity=False, places=3),
    st.sampled_from(["6,789.8 N", "6.79 x 10^3", "−6'789.8", "6.79e-03", "x = 6.79 × 10⁻³ m"]),
)  # fmt: skip
def test_what_is_written_reads_back(value, cell):
    found = cell_number(cell, ".")
    assert found is not None
    text = with_number(cell, found, value, ".")
    if text is not None:
        again = cell_number(text, ".")
        assert again is None or again.value == value  # None: now the digits stand there twice
