"""The right formula with a quantity in the wrong unit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cache

import numpy as np

from qbank.audit.causes.work import Alternative, Floats, Work, told
from qbank.expressions.units import DIMENSIONLESS, Unit, parse_unit

# pairs of units of one kind that are taken for each other, besides those of SI prefixes
_PAIRS = (
    ("m", "cm"), ("m", "mm"), ("m", "km"), ("cm", "mm"), ("m", "µm"), ("m", "nm"),
    ("kg", "g"), ("g", "mg"), ("kg", "mg"), ("kg", "t"),
    ("s", "min"), ("s", "h"), ("min", "h"), ("s", "ms"), ("s", "d"), ("h", "d"),
    ("m/s", "km/h"), ("m/s", "cm/s"), ("m/s", "km/s"),
    ("m^2", "cm^2"), ("m^2", "mm^2"), ("cm^2", "mm^2"),
    ("m^3", "L"), ("m^3", "cm^3"), ("L", "mL"), ("m^3", "mm^3"),
    ("rad", "°"), ("1", "%"),
    ("Pa", "kPa"), ("Pa", "atm"), ("Pa", "bar"), ("Pa", "MPa"), ("kPa", "atm"), ("Pa", "mmHg"),
    ("J", "kJ"), ("J", "cal"), ("J", "eV"), ("J", "kW h"), ("J", "MJ"),
    ("W", "kW"), ("N", "kN"), ("V", "kV"), ("V", "mV"), ("A", "mA"), ("A", "µA"),
    ("Ω", "kΩ"), ("Ω", "MΩ"), ("F", "µF"), ("F", "nF"), ("F", "mF"), ("F", "pF"),
    ("H", "mH"), ("mol/L", "mol/m^3"), ("kg/m^3", "g/cm^3"), ("kg/mol", "g/mol"),
    ("J/(kg K)", "kJ/(kg K)"), ("J/(kg K)", "J/(g K)"), ("J/kg", "kJ/kg"), ("J/mol", "kJ/mol"),
    ("N/m", "N/cm"), ("N/m", "kN/m"), ("T", "mT"), ("C", "µC"), ("C", "nC"), ("Hz", "kHz"),
    ("rad/s", "Hz"), ("rad/s", "°/s"), ("rad/s^2", "°/s^2"), ("min", "yr"), ("d", "yr"),
    ("L/s", "m^3/s"), ("L/min", "m^3/s"),
)  # fmt: skip
_CELSIUS = parse_unit("°C")
_FULL_TURN = 2 * math.pi


_BOTH_WAYS = (
    "s",
    "m/s",
    "rad/s",
    "rad/s^2",
    "1",
    "Pa",
    "m^3",
)  # kinds converted by a factor one must recall
_LIKE = 1e-9
_LEAST, _LARGEST = 1e-4, 1e7  # a number further off leaves no trace of what it was
_TRACE = 2e-3  # so small, a quantity might as well be left out, which is likelier


@cache
def _factors(unit: Unit) -> tuple[tuple[float, str], ...]:
    """By what a number in a unit is off when it is taken for one in another, and in words."""
    found: dict[float, str] = {}
    for one, other in _PAIRS:
        a, b = parse_unit(one), parse_unit(other)
        if a.dimension != unit.dimension or a.dimension != b.dimension:
            continue
        for own, taken in ((a, b), (b, a)):
            if not math.isclose(own.factor, unit.factor, rel_tol=_LIKE):
                continue
            ratio = float(f"{taken.factor / own.factor:.12g}")
            name, word = own.text or "pure numbers", taken.text or "pure numbers"
            found.setdefault(ratio, f"{name} taken for {word}")
            if any(a.dimension == parse_unit(kind).dimension for kind in _BOTH_WAYS):
                found.setdefault(1 / ratio, f"the factor between {name} and {word} inverted")
    if unit.dimension == parse_unit("Hz").dimension:
        found.setdefault(_FULL_TURN, "turns taken for radians")
        found.setdefault(1 / _FULL_TURN, "radians taken for turns")
    return tuple((f, says) for f, says in found.items() if _LEAST < f < _LARGEST and f != 1)


def _angle(unit: Unit) -> bool:
    return unit.text in ("°", "rad", "mrad")


def _fitting(unit: Unit) -> Iterator[tuple[float, str]]:
    for factor, says in _factors(unit):
        if unit.dimension == DIMENSIONLESS and ("%" in says) == _angle(unit):
            continue  # angles are no shares, and shares no angles
        yield factor, says


def unit_of_a_given(work: Work) -> Iterator[Alternative]:
    """One given, or all of one kind, put in as if its number were in another unit."""
    by_unit: dict[str, list[str]] = {}
    for name, datum in work.resolver.scalars.items():
        if name not in work.values:
            continue
        by_unit.setdefault(datum.unit.text, []).append(name)
        for factor, says in _fitting(datum.unit):
            yield _scaled(work, [name], factor, f"{name}, {datum.meaning}: {says}", 74.0)
        if datum.unit.offset:
            for shift in (_CELSIUS.offset, -_CELSIUS.offset):
                values = work.again({name: work.values[name] - shift})
                yield Alternative("unit", values, 74.0, told(f"{name}: °C taken for K"))
    for text, names in by_unit.items():
        if len(names) > 1 and text:
            unit = work.resolver.scalars[names[0]].unit
            for factor, says in _fitting(unit):
                yield _scaled(work, names, factor, f"all of {', '.join(names)}: {says}", 72.0)
            if unit.offset:
                moved = {name: work.values[name] - _CELSIUS.offset for name in names}
                said = f"{', '.join(names)}: °C taken for K"
                yield Alternative("unit", work.again(moved), 75.0, told(said))


def unit_of_the_answer(work: Work) -> Iterator[Alternative]:
    """The answer in another unit than is asked for."""
    unit = work.resolver.family.find[work.unknown].unit
    for factor, says in _fitting(unit):
        said = told(f"the answer is in another unit: {says}")
        if not math.log10(factor).is_integer():  # else it is a power of ten
            yield Alternative("answer-unit", work.answer * factor, 80.0, said)
    if unit.dimension == _CELSIUS.dimension:
        for shift in (_CELSIUS.offset, -_CELSIUS.offset):
            other = told("the temperature is on the other scale, K or °C")
            yield Alternative("answer-unit", work.answer + shift, 79.0, other)


def _scaled(work: Work, names: list[str], factor: float, says: str, prior: float) -> Alternative:
    changed: Mapping[str, Floats] = {name: np.asarray(work.values[name]) * factor for name in names}
    return Alternative("unit", work.again(changed), prior, told(says))
