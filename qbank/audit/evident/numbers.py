"""Defects of parts in which a number is entered."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator

from qbank.audit.evident.telling import alike, quoted, tell
from qbank.audit.reading.quantities import read_quantities
from qbank.audit.reading.shown import Shown
from qbank.audit.reading.unit_text import read_unit, unit_at
from qbank.audit.verdict import Judgement
from qbank.finding import Severity
from qbank.item import NumberEntry

_TABLES = (".csv", ".tsv", ".tab", ".txt")
_WORD = re.compile(r"(?<![^\W\d_])[A-Za-zµμΩ°%‰]")
_MOST_WORDS = 2000  # of a text that are looked at
_MOST_PLACES = 20  # of a unit as it is spelt, which are looked at first
_WITHIN = re.compile(r"(?<=[0-9])[\s.,'’](?=[0-9])")  # a point, or a sign between groups
_DIGITS = re.compile(r"[0-9]+")
_HELD = 1e-9  # of the key: a bound that is the key itself, in another rounding of its last bit


def entries(shown: Shown) -> Iterator[NumberEntry]:
    """The parts in which a number is entered."""
    for part in shown.item.parts:
        if isinstance(part, NumberEntry):
            yield part


def no_number(shown: Shown) -> Iterator[Judgement]:
    """no-key, key-no-number: a number is asked for and no number is keyed."""
    for part in entries(shown):
        if math.isfinite(part.key):
            continue
        text = part.key_text.strip()
        if not text:
            how = "A number is asked for, and no key is stated."
            yield tell(shown, part, "no-key", Severity.ERROR, how, "a number")
        else:
            how = f"The key {quoted(text)} is not a number."
            yield tell(shown, part, "key-no-number", Severity.ERROR, how, "a number")


def band_inverted(shown: Shown) -> Iterator[Judgement]:
    """band-inverted: the lower end of the accepted band lies above the upper end."""
    for part in entries(shown):
        low, high = part.tolerance.low, part.tolerance.high
        if low > high:
            how = f"The accepted band runs from {low:g} down to {high:g}: nothing lies in it."
            yield tell(shown, part, "band-inverted", Severity.ERROR, how)


def band_without_key(shown: Shown) -> Iterator[Judgement]:
    """band-rejects-key: the accepted band does not hold the key."""
    for part in entries(shown):
        low, high, key = part.tolerance.low, part.tolerance.high, part.key
        room = _HELD * abs(key)
        if low <= high and (key < low - room or key > high + room):
            how = f"The accepted band, {low:g} to {high:g}, rejects the key {key:g}."
            yield tell(shown, part, "band-rejects-key", Severity.ERROR, how)


def band_rejects_rounded(shown: Shown) -> Iterator[Judgement]:
    """band-rejects-rounding: the accepted band rejects the key as it is shown, rounded."""
    for part in entries(shown):
        low, high = part.tolerance.low, part.tolerance.high
        try:
            written = float(part.key_text.replace("−", "-"))
        except ValueError:
            continue
        room = _HELD * abs(part.key)
        if not (low - room <= part.key <= high + room) or not math.isfinite(written):
            continue
        if written < low - room or written > high + room:
            how = (
                f"The accepted band, {low:g} to {high:g}, rejects the key as written,"
                f" {part.key_text}."
            )
            yield tell(shown, part, "band-rejects-rounding", Severity.ERROR, how)


def band_of_no_width(shown: Shown) -> Iterator[Judgement]:
    """band-no-width: one value alone is accepted of an answer that has to be rounded."""
    for part in entries(shown):
        low, high = part.tolerance.low, part.tolerance.high
        whole = float(part.key).is_integer() if math.isfinite(part.key) else True
        if low == high and (not whole or (part.decimals or 0) > 0):
            how = f"Of an answer that has to be rounded, {low:.12g} alone is accepted."
            yield tell(shown, part, "band-no-width", Severity.WARNING, how, "a band about the key")


def band_holds_slip(shown: Shown) -> Iterator[Judgement]:
    """band-holds-wrong: the accepted band holds a value the item itself calls wrong."""
    for part in entries(shown):
        low, high = part.tolerance.low, part.tolerance.high
        for wrong in part.wrong_values:
            if low <= wrong.value <= high:
                how = (
                    f"The accepted band, {low:g} to {high:g}, holds {wrong.value:g}, which the item"
                    " gives feedback for as a mistake."
                )
                yield tell(shown, part, "band-holds-wrong", Severity.ERROR, how)
                break


def unit_not_asked(shown: Shown) -> Iterator[Judgement]:
    """unit-not-asked: in a table, the key has a unit that neither stem nor prompt names."""
    if not shown.read.place.file.lower().endswith(_TABLES):
        return  # in a package the unit is read off the text beside the field
    for part, prompt in zip(shown.item.parts, shown.prompts, strict=True):
        if not isinstance(part, NumberEntry):
            continue
        unit = part.unit.strip()
        if not unit or unit == "1":
            continue
        text = f"{shown.stem}\n{prompt}"
        if not _stands(unit, text) and not _stands(unit, part.key_text):
            how = f"The key is in {unit}, and neither stem nor prompt says so."
            expected = f"a prompt that asks for {unit}"
            yield tell(shown, part, "unit-not-asked", Severity.WARNING, how, expected)


def given_away(shown: Shown) -> Iterator[Judgement]:
    """answer-in-stem: the key stands in the stem, number and unit."""
    found = None
    stated: set[str] | None = None
    for part in entries(shown):
        if not math.isfinite(part.key) or not part.unit.strip() or part.key == 0:
            continue
        if stated is None:
            stated = {digits.strip("0") for digits in _DIGITS.findall(_WITHIN.sub("", shown.stem))}
        if _digits(part.key) not in stated:
            continue  # seen without reading the stem
        if found is None:
            found = read_quantities(shown.stem)
        for quantity in found:
            unit = quantity.unit
            if unit is None or alike(unit.text) != alike(part.unit) or quantity.figures < 2:
                continue
            if math.isclose(float(quantity.value), part.key, rel_tol=1e-9):
                how = f"The stem states {quoted(quantity.text)}, which is the key."
                yield tell(shown, part, "answer-in-stem", Severity.NOTE, how)
                break


def _stands(unit: str, text: str) -> bool:
    """Whether the unit stands in the text, in any of its spellings or in words."""
    known = read_unit(unit)
    if known is None:
        return alike(unit) in alike(text)
    spelt = itertools.islice(re.finditer(re.escape(unit), text), _MOST_PLACES)  # nearly always
    words = itertools.islice(_WORD.finditer(text), _MOST_WORDS)
    for start in itertools.chain(spelt, words):
        found = unit_at(text, start.start())
        if found is None:
            continue
        other = found[0]
        if other.dimension == known.dimension and math.isclose(other.factor, known.factor):
            return True
    return False


def _digits(number: float) -> str:
    """The figures of a number without zeros at either end, as they stand wherever it is written."""
    text = f"{abs(number):.9e}"
    return f"{text[0]}{text[2:11]}".strip("0")


CHECKS = (
    no_number,
    band_inverted,
    band_without_key,
    band_rejects_rounded,
    band_of_no_width,
    band_holds_slip,
    unit_not_asked,
    given_away,
)
