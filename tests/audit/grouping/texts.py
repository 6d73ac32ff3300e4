"""Questions made of plain text, for tests: numbers and the units after them are found simply."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from qbank.audit.question import OptionValue, Quantity, Question
from qbank.expressions.units import Unit, match_unit, parse_unit
from qbank.place import Place

_NUMBER = re.compile(
    r"(?:(?P<symbol>\b[A-Za-z](?:_\w+)?) = )?(?<![\w_.])(?P<number>-?\d+(?:\.\d+)?)"
)


def quantities(text: str) -> tuple[Quantity, ...]:
    found: list[Quantity] = []
    for match in _NUMBER.finditer(text):
        start, end = match.span("number")
        if found and start < found[-1].end:  # a power in a unit
            continue
        unit: Unit | None = None
        after = match_unit(text, end + 1) if text[end : end + 1] == " " else None
        after = after or (match_unit(text, end) if text[end : end + 1] in ("°", "%") else None)
        number = match["number"]
        if after is not None and text[end + 1 :][:2] not in ("a ", "h ", "d "):
            unit, stop = after
        else:
            stop = end
        decimals = len(number.partition(".")[2])
        figures = len(number.replace(".", "").lstrip("-0")) or 1
        found.append(
            Quantity(
                text[start:stop],
                Fraction(number),
                unit,
                start,
                stop,
                figures,
                -decimals,
                match["symbol"] or "",
            )
        )
    return tuple(found)


def question(
    stem: str,
    prompt: str = "",
    number: int = 0,
    *,
    key: float = 1.0,
    key_text: str = "",
    unit: str | None = None,
    part: str = "RESPONSE",
    options: tuple[OptionValue, ...] = (),
) -> Question:
    text = f"{stem}\n{prompt}" if prompt else stem
    return Question(
        item=f"item-{number}",
        part=part,
        number=number,
        place=Place("bank.xml", number + 1, 1),
        stem=stem,
        prompt=prompt,
        quantities=quantities(text),
        key=key,
        key_text=key_text or repr(key),
        unit=None if unit is None else parse_unit(unit),
        low=math.nan,
        high=math.nan,
        options=options,
    )
