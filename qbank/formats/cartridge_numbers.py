"""Numbers where a format compares nothing but texts: spellings, or options to choose from.

Common Cartridge has no numeric response (mapping note, b3): a number becomes a text with every
accepted spelling listed, or a choice among the key and what known slips lead to.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from qbank.item import Choice, NumberEntry, Option, WrongValue

MOST_SPELLINGS = 20
FEWEST_DISTRACTORS = 2
LONGEST = 12  # nobody types more zeros than that
# Languages whose speakers write a decimal comma (common practice, no source).
COMMA = frozenset(
    ("bg", "cs", "da", "de", "el", "es", "et", "fi", "fr", "hr", "hu", "it", "lt", "lv", "nb",
     "nl", "nn", "no", "pl", "pt", "ro", "ru", "sk", "sl", "sr", "sv", "tr", "uk")
)  # fmt: skip
_SUPERSCRIPTS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def key_spellings(part: NumberEntry, language: str) -> list[str] | None:
    """All spellings of the numbers within the tolerance, at the precision of the key.

    The key's own comes first. None when there are more than `MOST_SPELLINGS`.

    >>> from qbank.item import Tolerance
    >>> power = NumberEntry("P", (), 2.0, "2.0", "2.0 W", "W", Tolerance(1.9, 2.1, "5 %"), 1.0)
    >>> key_spellings(power, "en")
    ['2.0', '2', '1.9', '2.1']
    """
    band = part.tolerance
    found = _spellings(Decimal(part.key_text), band.low, band.high, language)
    if found is None:
        return None
    spelled = list(dict.fromkeys([part.key_text, *found]))
    return spelled if len(spelled) <= MOST_SPELLINGS else None


def slip_spellings(part: NumberEntry, language: str) -> list[list[str]]:
    """The spellings of each wrong value and its range; of the value alone where they are many."""
    found = []
    for wrong in part.wrong_values:
        value = rounded(wrong.value, part)
        several = _spellings(value, wrong.low, wrong.high, language)
        found.append(list(_written(value, language)) if several is None else several)
    return found


def rounded(value: float, part: NumberEntry) -> Decimal:
    """A number at the precision the key has."""
    exact = Decimal(repr(value))
    if part.figures is None or exact == 0:
        decimals = part.decimals
        step = Decimal(part.key_text).as_tuple().exponent if decimals is None else -decimals
    else:
        step = exact.adjusted() - part.figures + 1
    return exact.quantize(Decimal(1).scaleb(int(step)), ROUND_HALF_UP)


def distractors(part: NumberEntry, language: str) -> Choice | None:
    """The part as a choice between the key and wrong values outside the tolerance, by size.

    None when fewer than `FEWEST_DISTRACTORS` differ from it and from each other as printed.
    """
    key = Decimal(part.key_text)
    is_power = "e" in part.key_text.lower()
    shown: dict[str, tuple[Decimal, WrongValue | None]]
    shown = {_printed(key, part.unit, language, is_power): (key, None)}
    for wrong in part.wrong_values:
        if not part.tolerance.low <= wrong.value <= part.tolerance.high:
            value = rounded(wrong.value, part)
            shown.setdefault(_printed(value, part.unit, language, is_power), (value, wrong))
    if len(shown) <= FEWEST_DISTRACTORS:
        return None
    ordered = sorted(shown.items(), key=lambda entry: entry[1][0])
    options = tuple(
        Option(
            f"C{n}",
            (text,),
            wrong is None,
            wrong.feedback if wrong else (),
            wrong.slip if wrong else None,
        )
        for n, (text, (_, wrong)) in enumerate(ordered, start=1)
    )
    return Choice(part.identifier, part.prompt, options, part.points, shuffle=False)


def _spellings(value: Decimal, low: float, high: float, language: str) -> list[str] | None:
    step = Decimal(1).scaleb(int(value.as_tuple().exponent))
    first = (Decimal(repr(low)) / step).to_integral_value(ROUND_CEILING)
    last = (Decimal(repr(high)) / step).to_integral_value(ROUND_FLOOR)
    if last - first >= MOST_SPELLINGS:
        return None
    found = dict.fromkeys(_written(value, language))
    for n in range(int(first), int(last) + 1):
        found.update(dict.fromkeys(_written(n * step, language)))
    return list(found) if len(found) <= MOST_SPELLINGS else None


def _written(value: Decimal, language: str) -> Iterator[str]:
    """How people type a number: in full, without zeros at the end, as a power of ten."""
    value = abs(value) if value == 0 else value
    full = f"{value:f}"
    texts = [full] if len(full) <= LONGEST else []
    if "." in full and texts:
        texts.append(full.rstrip("0").rstrip("."))
    if not texts or abs(value.adjusted()) > 2:
        mantissa = value.scaleb(-value.adjusted())
        texts.append(f"{mantissa:f}e{value.adjusted()}")
    for text in dict.fromkeys(texts):
        yield text
        if "." in text and language.partition("-")[0] in COMMA:
            yield text.replace(".", ",")


def _printed(value: Decimal, unit: str, language: str, as_power: bool) -> str:
    """A number with its unit as people read it; all options of a part alike."""
    value = abs(value) if value == 0 else value
    if as_power and value:
        exponent = str(value.adjusted()).translate(_SUPERSCRIPTS)
        text = f"{value.scaleb(-value.adjusted()):f} × 10{exponent}"
    else:
        text = f"{value:f}"
    if language.partition("-")[0] in COMMA:
        text = text.replace(".", ",")
    return f"{text.replace('-', '−')} {unit}".rstrip()
