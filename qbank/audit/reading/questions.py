"""Items as questions: a stem with its numbers, and one key, unit and band for each part."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import chain, islice

from qbank.audit.question import OptionValue, Quantity, Question
from qbank.audit.reading.numerals import Decimal, judge_decimal
from qbank.audit.reading.quantities import Numbers, Stem, read_number
from qbank.audit.reading.shown import Shown, arranged, in_line
from qbank.audit.reading.unit_text import read_unit, unit_at
from qbank.expressions.units import Unit
from qbank.formats.source import ReadItem
from qbank.item import Choice, NumberEntry

_JUDGED = 200  # items whose texts say which decimal sign the bank uses

_WANTED = re.compile(
    r"\b(?:in|in units of|expressed in|measured in|unit:|units:|unit of|how many|einheit:?|en)\s+"
    r"(?=[A-Za-zµμΩ°%(]|1/[A-Za-z])",
    re.IGNORECASE,
)
_BRACKETED = re.compile(
    r"(?<![/·*^])[(\[]\s?(?:in\s)?(?P<unit>[^()\[\]0-9]{1,24}(?:\([^()]{1,12}\))?[^()\[\]]{0,8})[)\]]"
)
_SENTENCE_END = re.compile(r"[.?!]\s+(?=[A-ZÄÖÜ])")
_GAP = re.compile(r"_{2,}\s?|\[\s{0,4}\]\s?|\.{4,}\s?|…\s?")


def questions_of(
    items: Iterable[ReadItem | Shown], decimal: Decimal | None = None
) -> Iterator[Question]:
    """A question for each part, in the order of the bank.

    `decimal` is the sign before decimals; left out, the first items of the bank decide.
    """
    stream = (item if isinstance(item, Shown) else Shown(item) for item in items)
    if decimal is None:
        first = list(islice(stream, _JUDGED))
        decimal = judge_decimal(text for shown in first for text in _texts(shown))
        stream = chain(first, stream)  # type: ignore[assignment]  # an iterator all the same
    for number, shown in enumerate(stream):
        yield from _of_item(shown, number, decimal)


def _texts(shown: Shown) -> Iterator[str]:
    yield shown.stem
    for part, prompt, options in zip(shown.item.parts, shown.prompts, shown.options, strict=True):
        yield prompt
        if isinstance(part, Choice):  # the key of a number is often written for a machine
            yield from options


def _of_item(shown: Shown, number: int, decimal: Decimal) -> Iterator[Question]:
    item = shown.item
    stem = Stem(shown.stem, decimal)
    for at, part in enumerate(item.parts):
        prompt = shown.prompts[at]
        lone = len(item.parts) == 1 or not prompt
        asked: tuple[str, ...] = (prompt, shown.stem) if lone else (prompt,)
        options: tuple[OptionValue, ...] = ()
        low = high = key = math.nan
        unit: Unit | None = None
        keyed: tuple[tuple[str, ...], ...] = ()
        match part:
            case NumberEntry():
                key, key_text, unit = _entered(part, decimal)
                low, high = part.tolerance.low, part.tolerance.high
            case Choice():
                options = _options(part, shown.options[at], decimal)
                key, key_text, unit = _keyed(options)
                # options without a unit are numbers without one, unless the question itself says
                asked = tuple(map(_last_sentence, asked))
            case _:
                keyed = arranged(part, shown.options[at])
                key_text = in_line(keyed)
        yield Question(
            item.identifier,
            part.identifier,
            number,
            shown.read.place,
            shown.stem,
            prompt,
            Numbers(stem, prompt),
            key,
            key_text,
            asked_unit(asked) if unit is None and not keyed else unit,
            low,
            high,
            options,
            item.provenance,
            keyed,
            item.language,
        )


def _entered(part: NumberEntry, decimal: Decimal) -> tuple[float, str, Unit | None]:
    """The key of a number to enter, as a number and as written, and the unit stated with it."""
    key, unit = part.key, _unit_of(part.unit)
    if unit is None or math.isnan(key):
        stated = _read(part.key_text, decimal)
        if stated is not None:
            key = float(stated.value) if math.isnan(key) else key
            unit = stated.unit if unit is None else unit
        if unit is None and (shown := _read(part.key_shown, decimal)) is not None:
            unit = shown.unit
    return key, part.key_text, unit


def _last_sentence(text: str) -> str:
    return _SENTENCE_END.split(text[-400:])[-1]


def _options(part: Choice, texts: Sequence[str], decimal: Decimal) -> tuple[OptionValue, ...]:
    return tuple(
        [
            OptionValue(option.identifier, text, _read(text, decimal), option.correct)
            for option, text in zip(part.options, texts, strict=True)
        ]
    )


def _keyed(options: Sequence[OptionValue]) -> tuple[float, str, Unit | None]:
    """The number and unit of a lone keyed option, and the texts of all that are keyed."""
    keyed = [option for option in options if option.keyed]
    text = "; ".join([option.text for option in keyed])
    if len(keyed) == 1 and (quantity := keyed[0].quantity) is not None:
        return float(quantity.value), text, quantity.unit
    return math.nan, text, None


@lru_cache(maxsize=4096)
def _read(text: str, decimal: Decimal) -> Quantity | None:
    return read_number(text, decimal) if text else None


@lru_cache(maxsize=1024)
def _unit_of(text: str) -> Unit | None:
    return read_unit(text) if text else None


def asked_unit(texts: Iterable[str]) -> Unit | None:
    """The unit an answer is wanted in, by the wording: "in newtons", "(kg)", "___ m/s"."""
    for text in texts:
        if not text:
            continue
        found = _asked_unit(text[-400:])
        if found is not None:
            return found
    return None


@lru_cache(maxsize=1024)  # siblings share their prompts
def _asked_unit(text: str) -> Unit | None:
    for gap in _GAP.finditer(text):
        read = unit_at(text, gap.end(), alone=False, decimals=True)
        if read is not None:
            return read[0]
    candidates: list[tuple[int, Unit]] = []
    for match in _WANTED.finditer(text):
        at = match.end() + (text[match.end()] in "([")
        read = unit_at(text, at, decimals=True)
        if read is not None and _is_wanted(text, at, read[1]):
            candidates.append((at, read[0]))
    for match in _BRACKETED.finditer(text):
        unit = read_unit(match["unit"])
        if unit is not None:
            candidates.append((match.start(), unit))
    return max(candidates, key=lambda one: one[0])[1] if candidates else None


def _is_wanted(text: str, at: int, end: int) -> bool:
    """Whether what follows "in" is a unit and not the start of a phrase, as "in a day"."""
    word = text[at:end]
    follows = text[end : end + 1]
    return not (follows.isalnum() or (word in ("h", "d", "A", "a") and follows == " "))
