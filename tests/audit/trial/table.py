"""What a question of the trial is, and how its keys are written."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

Wrong = tuple[str, float | str]


@dataclass(frozen=True)
class Part:
    """What a part asks for.

    ask      the words, with fields for data that only the part states
    unit     in which the key is stated; `style` says where it stands: "column", "key" (beside the
             number), "words" (the words ask for it) or "none" (nowhere)
    unknown  of the family
    value    the right answer in `unit`, from the formula of any textbook
    figures  with which keys are written
    wrong    codes of causes, those that may be named parted by "|", with the wrong answer
    rounded  answers of authors who rounded on the way
    other    answers with another value of a constant
    """

    ask: str
    unit: str
    unknown: str
    value: float
    figures: int = 3
    style: str = "column"
    wrong: Sequence[Wrong] = ()
    rounded: Sequence[float | str] = ()
    other: Sequence[float | str] = ()


@dataclass(frozen=True)
class Asked:
    """A question: its family, its stem with a field for each datum, the data as a text states
    them, and its parts."""

    name: str
    family: str
    stem: str
    data: Mapping[str, str]
    parts: Sequence[Part] = field(default_factory=tuple)


def sig(value: float, figures: int) -> float:
    """A number rounded to significant figures."""
    return float(f"{value:.{figures - 1}e}")


def cut(value: float, figures: int) -> float:
    """A number with its further figures left off."""
    if not value:
        return 0.0
    place = 10.0 ** (math.floor(math.log10(abs(value))) - figures + 1)
    return math.trunc(value / place * (1 + 1e-12)) * place


def written(value: float | str, figures: int) -> str:
    """A key as it stands in a table: plain where that is short, else with a power of ten."""
    if isinstance(value, str):
        return value
    text = f"{value:.{figures - 1}e}"
    mantissa, _, power = text.partition("e")
    exponent = int(power)
    if -3 <= exponent < figures:
        return f"{float(text):.{max(0, figures - 1 - exponent)}f}"
    if figures <= exponent <= 4:
        return f"{float(text):.0f}"
    return f"{mantissa}e{exponent}"


def swapped(value: float, figures: int, at: int) -> str:
    """The right key with two neighbouring digits exchanged; `at` counts digits from 0."""
    text = written(value, figures)
    places = [i for i, sign in enumerate(text.partition("e")[0]) if sign.isdigit()]
    first = next(i for i, place in enumerate(places) if text[place] != "0")
    one, two = places[first + at], places[first + at + 1]
    signs = list(text)
    signs[one], signs[two] = signs[two], signs[one]
    return "".join(signs)


def deg(degrees: float) -> float:
    """Degrees in radians."""
    return math.radians(degrees)
