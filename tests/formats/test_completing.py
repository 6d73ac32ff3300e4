"""Keys and bands that a bank of anyone's leaves to be read between the lines."""

from __future__ import annotations

import math

import pytest

from qbank.formats.completing import BAND_SET, KEY_REWRITTEN, completed
from qbank.item import Item, NumberEntry, Paragraph, Tolerance


def item(key: float, text: str, low: float = math.nan, high: float = math.nan) -> Item:
    part = NumberEntry("A", (), key, text, text, "cm", Tolerance(low, high, ""), 1.0)
    return Item("i", "i", "en", (Paragraph(("How far?",)),), (part,))


@pytest.mark.parametrize(
    ("key", "text", "written", "band"),
    [
        (60.02, "60,02 cm", "60.02", (59.4198, 60.6202)),
        (15.0, "15.0", "15.0", (14.85, 15.15)),
        (7.0, "7", "7", (5.5, 8.5)),  # 1.5 units of the last digit reach farther than 1 %
        (-3.0e8, "−3.0·10⁸ m/s", "-3.0e8", (-3.15e8, -2.85e8)),
        (2.5, "about two and a half", "2.5", (2.35, 2.65)),
    ],
)
def test_keys_become_numbers_and_get_the_default_band(
    key: float, text: str, written: str, band: tuple[float, float]
) -> None:
    found, kinds = completed(item(key, text))
    (part,) = found.parts
    assert isinstance(part, NumberEntry)
    assert float(part.key_text) == float(written) == key
    assert (part.tolerance.low, part.tolerance.high) == pytest.approx(band)
    assert BAND_SET in kinds
    assert (KEY_REWRITTEN in kinds) == (text != written)
    assert part.tolerance.stated


def test_what_is_stated_stays() -> None:
    given = item(15.0, "15.0", 14.0, 16.0)
    assert completed(given) == (given, [])
    keyless = item(math.nan, "")
    assert completed(keyless)[0].parts[0] is keyless.parts[0]
