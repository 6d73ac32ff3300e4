"""The right number, written wrongly."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.audit.causes.work import Alternative, Work, told
from qbank.expressions.numbers import NumberFormat, round_values

POWERS = (-1, 1, -2, 2, -3, 3, -6, 6)
_LEAST_TYPED = 3  # digits of a number of which one may be mistyped


def sign(work: Work) -> Iterator[Alternative]:
    """The sign turned."""
    yield Alternative("sign", -work.answer, 92.0, told("the sign is turned"))


def powers_of_ten(work: Work) -> Iterator[Alternative]:
    """The decimal point shifted, or a power of ten left out."""
    for power in POWERS:
        factor = f"10{'' if power == 1 else f'^{power}'}"
        yield Alternative(
            "power-of-ten",
            work.answer * 10.0**power,
            82.0 if abs(power) <= 3 else 70.0,
            told(f"the right number times {factor}: its decimal point or its prefix is wrong"),
        )
    with np.errstate(all="ignore"):
        power_of = np.floor(np.log10(np.abs(work.answer)) + 1e-12)
        bare = np.where(np.abs(power_of) > 1, work.answer / np.power(10.0, power_of), np.nan)
    yield Alternative("exponent-dropped", bare, 76.0, told("the power of ten is left out"))


def swapped_digits(work: Work) -> Iterator[Alternative]:
    """Two neighbouring digits exchanged."""
    texts = _digits(work)
    most = max(map(len, texts), default=0)
    for at in range(most - 1):
        values = np.full(len(work), np.nan)
        for row, text in enumerate(texts):
            if at + 1 < len(text) and text[at] != text[at + 1] and (at or text[1] != "0"):
                changed = text[:at] + text[at + 1] + text[at] + text[at + 2 :]
                values[row] = _number(work, row, changed)
        yield Alternative(
            "digits-swapped", values, 86.0, told("two neighbouring digits are exchanged"), 2
        )


def mistyped_digit(work: Work) -> Iterator[Alternative]:
    """One digit is another one, is missing, or stands twice."""
    one, lost, twice = (np.full(len(work), np.nan) for _ in range(3))
    for row, text in enumerate(_digits(work)):
        stated = _text(work.keys.value[row], int(work.keys.place[row]))
        same_sign = np.sign(work.keys.value[row]) == np.sign(work.answer[row])
        if len(text) < _LEAST_TYPED or not same_sign:
            continue
        if len(stated) == len(text):
            if sum(a != b for a, b in zip(stated, text, strict=True)) == 1:
                one[row] = work.keys.value[row]
        elif len(stated) == len(text) - 1 >= _LEAST_TYPED:
            if any(text[:i] + text[i + 1 :] == stated for i in range(1, len(text))):
                lost[row] = work.keys.value[row]
        elif len(stated) == len(text) + 1 and any(
            text[:i] + text[i] + text[i:] == stated for i in range(len(text))
        ):
            twice[row] = work.keys.value[row]
    yield Alternative("digit-mistyped", one, 28.0, told("one digit is another one"), 3)
    yield Alternative("digit-missing", lost, 27.0, told("a digit is missing"), 3)
    yield Alternative("digit-doubled", twice, 29.0, told("a digit stands twice"), 3)


def too_few_figures(work: Work) -> Iterator[Alternative]:
    """Rounded to fewer figures than are written."""
    for figures in (4, 3, 2, 1):
        few = round_values(work.answer, NumberFormat(figures=figures))
        values = np.where(figures < work.keys.figures, few, np.nan)
        said = f"rounded to {figures} figure{'s' if figures > 1 else ''} and written with more"
        yield Alternative("too-few-figures", values, 66.0, told(said), 2)


def _digits(work: Work) -> list[str]:
    """The digits of each right number, rounded at the last place of its key."""
    return [
        _text(value, place)
        for value, place in zip(work.answer.tolist(), work.keys.place.tolist(), strict=True)
    ]


def _text(value: float, place: int) -> str:
    with np.errstate(all="ignore"):
        count = np.abs(value) / 10.0**place if place >= -300 else np.nan
    if not np.isfinite(count) or count >= 2**53:
        return ""
    return str(int(np.floor(count * (1 + 1e-12) + 0.5)))


def _number(work: Work, row: int, digits: str) -> float:
    size = float(f"{digits}e{int(work.keys.place[row])}")
    return float(np.copysign(size, work.answer[row]))
