"""Stems in other words than the families use, driven by their givens alone.

Each kind words all families its own way: which order the data have, how units are typed, whether
constants stand there, and what else is told that plays no part.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from decimal import Decimal

import numpy as np

from qbank.expressions.units import Unit
from qbank.family.model import Fixed, Given
from tests.bench.faultbank.siblings import Siblings

PEOPLE = ("Amara", "Jonas", "Mei", "Tomás", "Ingrid", "Kofi", "Lucía", "Pavel")
_SLOPPY = {"°C": "deg C", "°": "degrees", "Ω": "ohm", "µ": "u", "·": " ", "%": "percent"}
_POWER = re.compile(r"([A-Za-zΩµ]+)\^(\d+)")


def listed(own: Siblings, row: int) -> str:
    """The data as a list of symbols, constants among them, the title before."""
    data = [f"{_symbol(g)} = {_values(own, g, row)}" for g in _shown(own.family.given.values())]
    return f"{own.family.title}. Data: {', '.join(data)}."


def prose(own: Siblings, row: int) -> str:
    """Sentences with the meanings; constants are left to the reader, and someone is named."""
    who = PEOPLE[row % len(PEOPLE)]
    told = [
        f"the {_plain(given.meaning)} is {_values(own, given, row)}"
        for given in _shown(own.family.given.values())
        if not isinstance(given.source, Fixed)
    ]
    first, *rest = told or ["nothing is stated"]
    more = "".join(f" It is known that {one}." for one in rest)
    return f"{who} looks into this: {own.family.title.lower()}. Here {first}.{more}"


def sloppy(own: Siblings, row: int) -> str:
    """Data from the last to the first, units as they are typed in a hurry, numbers that do not
    matter."""
    data = [
        f"{_plain(given.meaning)}: {_values(own, given, row, _typed)}"
        for given in _shown(own.family.given.values())
    ]
    lines = "; ".join(reversed(data))
    return (
        f"Exercise on {own.family.subject.partition('/')[2] or own.family.subject}, for 4 points,"
        f" to be done in 20 minutes. Measured were {lines}. Use what you need."
    )


KINDS: dict[str, Callable[[Siblings, int], str]] = {
    "listed": listed,
    "prose": prose,
    "sloppy": sloppy,
}
ASKS = {
    "listed": "Find {symbol}, the {meaning}, in {unit}.",
    "prose": "Which {meaning} results? Answer in {unit}.",
    "sloppy": "Determine the {meaning} ({unit}).",
}


def asks(kind: str, own: Siblings, unknown: str) -> str:
    """What is asked for, in the words of a kind."""
    wanted = own.family.find[unknown]
    text = ASKS[kind] if wanted.unit.text else re.split(r",? in \{|\. Answer| \(", ASKS[kind])[0]
    if not wanted.unit.text:
        text = text.rstrip(".?") + "."
    return text.format(symbol=unknown, meaning=_plain(wanted.meaning), unit=wanted.unit.ascii)


def leaves_out(kind: str, given: Given) -> bool:
    """Whether the stems of a kind do not state a given."""
    return given.hidden or (kind == "prose" and isinstance(given.source, Fixed))


def _shown(givens: Iterable[Given]) -> list[Given]:
    return [given for given in givens if not given.hidden]


def _plain(meaning: str) -> str:
    return meaning.rstrip(".")


def _symbol(given: Given) -> str:
    return given.name


def _values(
    own: Siblings, given: Given, row: int, unit_text: Callable[[Unit], str] | None = None
) -> str:
    numbers = [_number(value, given) for value in own.number(given.name, row)]
    unit = given.unit
    text = unit.text if unit_text is None else unit_text(unit)
    if not text:
        return ", ".join(numbers)
    return ", ".join(numbers) + ("" if text == "°" else " ") + text


def _number(value: Decimal, given: Given) -> str:
    plain = f"{value:f}"
    if not given.scientific and len(plain.strip("-0.")) <= 8 and abs(value) < 10**6:
        return plain
    power = value.adjusted()
    mantissa = value.scaleb(-power)
    return f"{mantissa:f} x 10^{power}" if power else f"{mantissa:f}"


def _typed(unit: Unit) -> str:
    """A unit as typed in a hurry: "m s-2" for m/s^2."""
    text = unit.ascii if unit.text else ""
    top, slash, bottom = text.partition("/")
    if slash and "/" not in bottom:
        factors = bottom.strip("()").split()
        powers = [
            _POWER.sub(r"\1-\2", factor) if "^" in factor else f"{factor}-1" for factor in factors
        ]
        text = " ".join(([] if top == "1" else [_POWER.sub(r"\1\2", top)]) + powers)
    else:
        text = _POWER.sub(r"\1\2", text)
    for sign, plain in _SLOPPY.items():
        text = text.replace(sign, plain)
    return text


def some_rows(random: np.random.Generator, n: int, share: float) -> list[int]:
    """Which of n rows get a fault; at least one where there is a share at all."""
    count = min(n, max(1, round(share * n))) if share else 0
    return sorted(random.choice(n, count, replace=False).tolist())
