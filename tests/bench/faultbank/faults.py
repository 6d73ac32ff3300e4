"""Faults put into keys: what the key becomes, and whether that is wrong.

A key is wrong where it leaves the band a fair tolerance accepts and the reach of honest rounding;
both are measured by the family itself when it makes an instance.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from qbank.expressions.units import parse_unit
from qbank.family.model import Fixed, Given
from qbank.instances import Floats
from tests.bench.faultbank.siblings import Siblings

Random = np.random.Generator
ALIKE = 2e-6  # relative: a cause that gives this number is the cause

_TAKEN = {  # unit of the coherent system -> what it is taken for, in SI per unit
    "m": 100.0, "kg": 1000.0, "s": 60.0, "m/s": 3.6, "Pa": 1e-3, "m^3": 1e3, "V": 1e3, "A": 1e3,
    "Ω": 1e-3, "J": 1e-3, "N": 1e-3, "W": 1e-3, "F": 1e6,
}  # fmt: skip
_BY_DIMENSION = {parse_unit(text).dimension: factor for text, factor in _TAKEN.items()}
_USUAL = (9.8, 9.81, 10.0)
_GRAVITY = parse_unit("m/s^2").dimension
_TEMPERATURE = parse_unit("K").dimension


@dataclass(frozen=True, slots=True)
class Fault:
    """A key that was replaced.

    value   the number the mistake leads to, unrounded, in the shown unit
    key     as written in the bank; `text` its digits
    codes   what may be told as its cause by name; another is right where it gives `value`
    wrong   whether the key is beyond tolerance and rounding
    """

    kind: str
    value: float
    key: float
    text: str
    codes: tuple[str, ...]
    wrong: bool


Found = tuple[float, tuple[str, ...]] | tuple[float, tuple[str, ...], str]
Maker = Callable[[Siblings, str, int, Random], Found | None]


def make_fault(kind: str, own: Siblings, unknown: str, row: int, random: Random) -> Fault | None:
    """The fault of a kind in one key; None where there can be none, or it changes nothing."""
    found = KINDS[kind](own, unknown, row, random)
    if found is None or not math.isfinite(found[0]):
        return None
    value = float(found[0])
    text = found[2] if len(found) > 2 else own.key_texts(unknown, np.array([value]))[0]
    key = float(text)
    true = float(own.made.rounded[unknown][row])
    if key == true or abs(key) > 1e15 or (key == 0 and true != 0 and kind != "slip"):
        return None
    low, high = (float(side[row]) for side in own.made.tolerance[unknown])
    slack = float(own.made.windows[unknown][0][row])
    beyond = not low <= key <= high and not abs(key - true) <= slack
    return Fault(kind, value, key, text, found[1], beyond)


# ---------------------------------------------------------------------------- the hand


def _digits(own: Siblings, unknown: str, row: int, random: Random) -> Found | None:
    text = own.key_texts(unknown, own.made.rounded[unknown])[row]
    mantissa, mark, exponent = text.partition("e")
    at = [i for i, letter in enumerate(mantissa) if letter.isdigit()]
    first = next((k for k, i in enumerate(at) if mantissa[i] != "0"), len(at))
    pairs = [
        (i, j)
        for i, j in zip(at[first:], at[first + 1 :], strict=False)
        if mantissa[i] != mantissa[j] and not (i == at[first] and mantissa[j] == "0")
    ]
    if not pairs:
        return None
    i, j = pairs[int(random.integers(len(pairs)))]
    letters = list(mantissa)
    letters[i], letters[j] = letters[j], letters[i]
    swapped = "".join(letters) + mark + exponent
    return float(swapped), ("digits-swapped",), swapped


def _sign(own: Siblings, unknown: str, row: int, _random: Random) -> Found:
    text = own.key_texts(unknown, own.made.rounded[unknown])[row]
    turned = text[1:] if text.startswith("-") else f"-{text}"
    return -exact(own, unknown, row), ("sign",), turned


def _ten(own: Siblings, unknown: str, row: int, random: Random) -> Found:
    power = int(random.choice([-3, -1, 1, 3]))
    text = own.key_texts(unknown, own.made.rounded[unknown])[row]
    moved = str(Decimal(text).scaleb(power))
    return exact(own, unknown, row) * 10.0**power, ("power-of-ten",), moved


def _few(own: Siblings, unknown: str, row: int, _random: Random) -> Found | None:
    value = _true(own, unknown, row)
    if value == 0:
        return None
    for figures in (2, 1):
        few = float(f"{value:.{figures - 1}e}")
        if abs(few - value) > 0.01 * abs(value):
            return few, ("too-few-figures", "rounded-early")
    return None


# ---------------------------------------------------------------------------- other keys


def _neighbour(own: Siblings, unknown: str, row: int, random: Random) -> Found:
    step = 1 if row == 0 or (random.random() < 0.5 and row + 1 < len(own)) else -1
    if row + step >= len(own):
        step = -1
    return exact(own, unknown, row + step), ("neighbour-key",)


def _other_part(own: Siblings, unknown: str, row: int, random: Random) -> Found | None:
    others = [name for name in own.asked if name != unknown]
    if not others:
        return None
    other = others[int(random.integers(len(others)))]
    text = own.key_texts(other, own.made.rounded[other])[row]
    return exact(own, other, row), (f"other-part:{other}", "parts-swapped"), text


# ---------------------------------------------------------------------------- the work


def _unit(own: Siblings, unknown: str, row: int, random: Random) -> Found | None:
    """Metres taken for centimetres, degrees for radians, kilograms for grams, °C for K, ..."""
    names = [
        name
        for name, given in own.family.given.items()
        if not given.hidden and not isinstance(given.source, Fixed) and own.data[name].ndim == 1
    ]
    random.shuffle(names)
    for name in names:
        unit = own.family.given[name].unit
        if unit.offset:
            changed = own.data[name] - 273.15
        elif unit.text == "°":
            changed = own.data[name] * 180 / math.pi
        elif unit.text and unit.dimension in _BY_DIMENSION:
            factor = _BY_DIMENSION[unit.dimension]
            changed = own.data[name] * (factor if random.random() < 0.5 else 1 / factor)
        else:
            continue
        value = float(own.again({name: changed})[unknown][row])
        if math.isfinite(value) and not math.isclose(value, _true(own, unknown, row), rel_tol=1e-3):
            return value, ("unit",)
    return None


def _early(own: Siblings, unknown: str, row: int, random: Random) -> Found | None:
    """An intermediate quantity, or a given, rounded to one figure before it is used."""
    data = own.solver.lets(own.data, len(own))
    names = [name for name in own.family.let if np.ndim(data[name]) == 1]
    random.shuffle(names)
    for name in names:
        shown = np.asarray(own.family.let[name].unit.from_si(data[name]))
        with np.errstate(all="ignore"):
            power = np.floor(np.log10(np.abs(shown)))
        coarse = np.round(shown / 10.0**power) * 10.0**power
        found = own.again({}, {name: np.asarray(own.family.let[name].unit.to_si(coarse))})
        value = float(found[unknown][row])
        if not math.isclose(value, _true(own, unknown, row), rel_tol=0.02):
            return value, ("rounded-early", "unexplained")
    return None


def _gravity(own: Siblings, unknown: str, row: int, random: Random) -> Found | None:
    """Another usual value of the free-fall acceleration."""
    for name, given in own.family.given.items():
        if isinstance(given.source, Fixed) and given.unit.dimension == _GRAVITY:
            values = [g for g in _USUAL if not math.isclose(g, own.data[name].flat[0])]
            g = float(random.choice(values))
            value = float(own.again({name: np.full(len(own), g)})[unknown][row])
            return value, ("constant",)
    return None


def _factor(own: Siblings, unknown: str, row: int, random: Random) -> Found:
    factor = float(random.choice([2.0, 0.5, math.pi, 1 / math.pi, 4.0, 0.25, math.sqrt(2)]))
    return exact(own, unknown, row) * factor, ("factor", "half-or-double")


def _slip(own: Siblings, unknown: str, row: int, random: Random) -> Found | None:
    names = list(own.made.wrong)
    random.shuffle(names)
    for name in names:
        value = float(_in_unit(own, unknown, own.made.wrong[name][unknown])[row])
        if math.isfinite(value) and not math.isclose(value, _true(own, unknown, row), rel_tol=5e-3):
            return value, (f"slip:{name}",)
    return None


def slip_values(own: Siblings, unknown: str, row: int) -> Iterator[float]:
    """What the slips lead to, in the shown unit."""
    for found in own.made.wrong.values():
        value = float(_in_unit(own, unknown, found[unknown])[row])
        if math.isfinite(value):
            yield value


def _in_unit(own: Siblings, unknown: str, si: Floats) -> Floats:
    return np.asarray(own.family.find[unknown].unit.from_si(si))


def with_other_g(
    own: Siblings, unknown: str, row: int, unstated: Callable[[Given], bool]
) -> Iterator[float]:
    """The answers with other usual values of a free-fall acceleration that a stem leaves out."""
    for name, given in own.family.given.items():
        if isinstance(given.source, Fixed) and given.unit.dimension == _GRAVITY and unstated(given):
            for g in _USUAL:
                yield float(own.again({name: np.full(len(own), g)})[unknown][row])


def exact(own: Siblings, unknown: str, row: int) -> float:
    return float(_in_unit(own, unknown, own.made.values[unknown])[row])


def _true(own: Siblings, unknown: str, row: int) -> float:
    return float(own.made.rounded[unknown][row])


KINDS: dict[str, Maker] = {
    "digits": _digits,
    "sign": _sign,
    "power of ten": _ten,
    "too few figures": _few,
    "neighbour": _neighbour,
    "other part": _other_part,
    "unit of a given": _unit,
    "rounded early": _early,
    "other g": _gravity,
    "factor": _factor,
    "slip": _slip,
}
