"""Items as questions: a stem with its numbers, and one key, unit and band for each part."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import chain, islice

from qbank.audit.question import OptionValue, Quantity, Question
from qbank.audit.reading.numerals import Decimal, judge_decimal
from qbank.audit.reading.quantities import Numbers, Stem, read_number
from qbank.audit.reading.text import inline_text, plain_text
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
_GAP = re.compile(r"_{2,}\s?|\[\s{0,4}\]\s?|\.{4,}\s?|…\s?")


def questions_of(items: Iterable[ReadItem], decimal: Decimal | None = None) -> Iterator[Question]:
    """A question for each number to enter and each choice, in the order of the bank.

    `decimal` is the sign before decimals; left out, the first items of the bank decide. Parts to
    order or to match give no question.
    """
    stream = iter(items)
    if decimal is None:
        first = list(islice(stream, _JUDGED))
        decimal = judge_decimal(text for read in first for text in _texts(read))
        stream = chain(first, stream)
    for number, read in enumerate(stream):
        yield from _of_item(read, number, decimal)


def _texts(read: ReadItem) -> Iterator[str]:
    yield plain_text(read.item.stem)
    for part in read.item.parts:
        yield inline_text(part.prompt)
        if isinstance(part, Choice):  # the key of a number is often written for a machine
            for option in part.options:
                yield inline_text(option.content)


def _of_item(read: ReadItem, number: int, decimal: Decimal) -> Iterator[Question]:
    item = read.item
    parts = [part for part in item.parts if isinstance(part, NumberEntry | Choice)]
    if not parts:
        return
    stem = Stem(plain_text(item.stem), decimal)
    for part in parts:
        prompt = inline_text(part.prompt)
        lone = len(item.parts) == 1
        asked = [prompt, stem.text] if lone or not prompt else [prompt]
        build = _number if isinstance(part, NumberEntry) else _choice
        yield build(
            part,  # type: ignore[arg-type]  # the kind was just asked for
            asked,
            decimal,
            Question(
                item=item.identifier,
                part=part.identifier,
                number=number,
                place=read.place,
                stem=stem.text,
                prompt=prompt,
                quantities=Numbers(stem, prompt),
                key=math.nan,
                key_text="",
                unit=None,
                low=math.nan,
                high=math.nan,
                provenance=item.provenance,
            ),
        )


def _number(part: NumberEntry, asked: list[str], decimal: Decimal, bare: Question) -> Question:
    stated = _read(part.key_text, decimal)
    key = part.key
    if math.isnan(key) and stated is not None:
        key = float(stated.value)
    unit = _unit_of(part.unit)
    if unit is None and stated is not None:
        unit = stated.unit
    if unit is None and (shown := _read(part.key_shown, decimal)) is not None:
        unit = shown.unit
    if unit is None:
        unit = asked_unit(asked)
    band = part.tolerance
    return replace(bare, key=key, key_text=part.key_text, unit=unit, low=band.low, high=band.high)


def _choice(part: Choice, asked: list[str], decimal: Decimal, bare: Question) -> Question:
    options = []
    for option in part.options:
        text = inline_text(option.content)
        options.append(OptionValue(option.identifier, text, _read(text, decimal), option.correct))
    keyed = [option for option in options if option.keyed]
    key, key_text, unit = math.nan, "; ".join(option.text for option in keyed), None
    if len(keyed) == 1 and (quantity := keyed[0].quantity) is not None:
        key, unit = float(quantity.value), quantity.unit
    if unit is None:
        unit = asked_unit(asked)
    return replace(bare, key=key, key_text=key_text, unit=unit, options=tuple(options))


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
