"""Values that books use for one and the same constant, so that a choice of value is no mistake.

Exact values follow the SI Brochure, 9th edition (2019), section 2.2; measured ones CODATA 2022
(as in `scipy.constants`); standard gravity and the standard atmosphere NIST SP 811 (2008),
appendix B. Rounded values are those textbooks print (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from qbank.expressions.units import Unit, parse_unit
from qbank.family.model import Family, Fixed, Given
from qbank.sampling.kinds import decimal_values, scalar_kind

NEAR = 0.006  # relative: a family's value this near to one in the table is that constant
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Constant:
    """A constant: its name, unit, values as books print them, where those come from, and the
    words of a meaning of which one must be there; none where unit and value say enough."""

    name: str
    unit: str
    values: tuple[str, ...]
    source: str
    words: tuple[str, ...] = ()
    near: float = NEAR


_SI = "SI Brochure 9 (2019), 2.2, and rounded"
_CODATA = "CODATA 2022, and rounded"
_COMMON = "common practice, no source"
_HEAT = "data tables of textbooks, common practice, no source"

CONSTANTS = (
    Constant(
        "free-fall acceleration", "m/s^2",
        ("9.81", "9.8", "9.80665", "9.807", "10", "9.82", "9.79"),
        "NIST SP 811, appendix B (9.80665); the others common practice", near=0.021,
    ),
    Constant("gas constant", "J/(mol K)", ("8.314462618", "8.314", "8.3145", "8.31", "8.3"), _SI),
    Constant(
        "gas constant", "L atm/(mol K)", ("0.0820574", "0.08206", "0.0821", "0.082", "0.082057"),
        _SI,
    ),
    Constant("Avogadro constant", "1/mol", ("6.02214076e23", "6.022e23", "6.02e23"), _SI),
    Constant("Boltzmann constant", "J/K", ("1.380649e-23", "1.381e-23", "1.38e-23"), _SI),
    Constant("Planck constant", "J s", ("6.62607015e-34", "6.626e-34", "6.63e-34"), _SI),
    Constant("speed of light", "m/s", ("299792458", "2.998e8", "3.00e8", "2.9979e8"), _SI),
    Constant("elementary charge", "C", ("1.602176634e-19", "1.602e-19", "1.60e-19"), _SI),
    Constant("Faraday constant", "C/mol", ("96485.33212", "96485", "96500", "9.65e4"), _SI),
    Constant(
        "gravitational constant", "N m^2/kg^2",
        ("6.67430e-11", "6.67e-11", "6.673e-11", "6.674e-11", "6.672e-11", "6.67408e-11"), _CODATA,
    ),
    Constant(
        "electric constant", "F/m", ("8.8541878188e-12", "8.854e-12", "8.85e-12"), _CODATA
    ),
    Constant(
        "Coulomb constant", "N m^2/C^2", ("8.9875517862e9", "8.99e9", "8.988e9", "9.0e9"), _CODATA
    ),
    Constant(
        "magnetic constant", "N/A^2", ("1.25663706127e-6", "1.2566e-6", "1.257e-6", "1.26e-6"),
        _CODATA,
    ),
    Constant(
        "Stefan-Boltzmann constant", "W/(m^2 K^4)", ("5.670374419e-8", "5.67e-8", "5.670e-8"), _SI
    ),
    Constant("Wien displacement constant", "m K", ("2.897771955e-3", "2.898e-3", "2.90e-3"), _SI),
    Constant("electron mass", "kg", ("9.1093837139e-31", "9.109e-31", "9.11e-31"), _CODATA),
    Constant(
        "proton mass", "kg", ("1.67262192595e-27", "1.673e-27", "1.67e-27", "1.6726e-27"), _CODATA,
        ("proton",),
    ),
    Constant(
        "neutron mass", "kg", ("1.67492750056e-27", "1.675e-27", "1.67e-27", "1.6749e-27"),
        _CODATA, ("neutron",),
    ),
    Constant(
        "atomic mass unit", "kg", ("1.66053906892e-27", "1.661e-27", "1.66e-27", "1.6605e-27"),
        _CODATA, ("mass unit", "dalton", "atomic mass"), 0.002,
    ),
    Constant(
        "energy of the atomic mass unit", "MeV/u", ("931.49410372", "931.5", "931.494", "931.49"),
        _CODATA,
    ),
    Constant("standard atmosphere", "Pa", ("101325", "1.013e5", "1.01e5", "1.0e5"),
             "NIST SP 811, appendix B, and rounded", ("atmospher", "air pressure"), 0.015),
    Constant("zero of the Celsius scale", "K", ("273.15", "273", "273.2"), _SI,
             ("celsius", "ice", "freez", "zero"), 0.001),
    Constant("room temperature", "K", ("298.15", "298"), _COMMON, ("temperature",), 0.001),
    Constant("density of water", "kg/m^3", ("1000", "998", "997", "998.2", "1.00e3"), _HEAT,
             ("water",)),
    Constant("density of sea water", "kg/m^3", ("1025", "1030", "1027"), _HEAT, ("sea",)),
    Constant("density of air", "kg/m^3", ("1.20", "1.21", "1.204", "1.225", "1.29", "1.2"), _HEAT,
             ("air",), 0.03),
    Constant("density of mercury", "kg/m^3", ("13600", "13546", "13595", "13534"), _HEAT,
             ("mercury",)),
    Constant("specific heat of water", "J/(kg K)",
             ("4186", "4180", "4184", "4190", "4200", "4187", "4182"), _HEAT, ("water",)),
    Constant("specific heat of ice", "J/(kg K)", ("2090", "2100", "2108", "2060", "2050"), _HEAT,
             ("ice",), 0.025),
    Constant("specific heat of steam", "J/(kg K)", ("2010", "2020", "2000", "1996", "2080"), _HEAT,
             ("steam", "vapour"), 0.03),
    Constant("specific heat of aluminium", "J/(kg K)", ("900", "897", "902", "910"), _HEAT,
             ("aluminium", "aluminum"), 0.015),
    Constant("specific heat of copper", "J/(kg K)", ("385", "387", "386", "390", "384"), _HEAT,
             ("copper",), 0.015),
    Constant("specific heat of iron", "J/(kg K)", ("449", "450", "452", "448", "460"), _HEAT,
             ("iron", "steel"), 0.025),
    Constant("latent heat of melting of ice", "J/kg", ("334e3", "333e3", "333.5e3", "3.34e5",
             "3.33e5", "3.3e5", "335e3", "336e3"), _HEAT, ("melt", "fusion", "ice"), 0.012),
    Constant("latent heat of boiling of water", "J/kg", ("2256e3", "2260e3", "2.26e6", "2257e3",
             "2.3e6", "2.25e6"), _HEAT, ("boil", "vapor", "vapour", "evapor"), 0.02),
    Constant("radius of the Earth", "km", ("6371", "6370", "6378", "6380", "6.4e3", "6360"),
             _COMMON, ("earth",)),
    Constant("mass of the Earth", "kg", ("5.972e24", "5.97e24", "5.98e24", "5.96e24", "6.0e24"),
             _COMMON, ("earth",)),
    Constant("mass of the Sun", "kg", ("1.989e30", "1.99e30", "2.00e30", "1.988e30"), _COMMON,
             ("sun",)),
    Constant("astronomical unit", "m", ("149597870700", "1.496e11", "1.50e11"),
             "IAU 2012 resolution B2, and rounded", ("astronomical", "sun", "earth")),
    Constant("ionic product of water", "mol^2/L^2", ("1.00e-14", "1.008e-14", "1.01e-14"),
             _COMMON, (), 0.02),
    Constant("half-life of carbon-14", "yr", ("5730", "5700", "5715", "5740", "5568"), _COMMON,
             ("half",), 0.005),
    Constant("molar mass of hydrogen", "g/mol", ("1.008", "1.01", "1.0", "1.00794"),
             "IUPAC 2021, and rounded", ("hydrogen",), 0.01),
    Constant("molar mass of carbon", "g/mol", ("12.011", "12.01", "12.0"),
             "IUPAC 2021, and rounded", ("carbon",), 0.001),
    Constant("molar mass of oxygen", "g/mol", ("15.999", "16.00", "16.0"),
             "IUPAC 2021, and rounded", ("oxygen",), 0.001),
    Constant("molar mass of oxygen gas", "g/mol", ("31.998", "32.00", "32.0"),
             "IUPAC 2021, and rounded", ("oxygen",), 0.001),
    Constant("molar mass of water", "g/mol", ("18.015", "18.02", "18.0"),
             "IUPAC 2021, and rounded", ("water",), 0.002),
    Constant("molar mass of carbon dioxide", "g/mol", ("44.009", "44.01", "44.0"),
             "IUPAC 2021, and rounded", ("dioxide",), 0.001),
    Constant("molar mass of propane", "g/mol", ("44.097", "44.1", "44.10", "44.09", "44.0"),
             "IUPAC 2021, and rounded", ("propane",), 0.003),
    Constant("molar mass of sodium chloride", "g/mol", ("58.44", "58.443", "58.5", "58.4"),
             "IUPAC 2021, and rounded", ("chloride", "salt"), 0.002),
)  # fmt: skip

PI_VALUES = (("3.14", 3.14), ("3.142", 3.142), ("3.1416", 3.1416), ("22/7", 22 / 7))
CELSIUS_SHIFTS = (("273", -0.15), ("273.2", 0.05))  # K, against 273.15


@dataclass(frozen=True, slots=True)
class OtherValue:
    """Another value of a given: what it is called, how it is written, and SI."""

    name: str
    text: str
    si: float
    source: str


@cache
def _table() -> tuple[tuple[Constant, tuple[tuple[str, float], ...]], ...]:
    return tuple(
        (constant, tuple((text, parse_unit(constant.unit).to_si(float(text)))
                         for text in constant.values))
        for constant in CONSTANTS
    )  # fmt: skip


def other_values(given: Given) -> list[OtherValue]:
    """Other values that books use for a fixed given, those its family accepts first."""
    kind = scalar_kind(given)
    if kind is None or not isinstance(given.source, Fixed):
        return []
    own = float(kind.values(np.zeros(1, dtype=np.int64))[0])
    found: dict[float, OtherValue] = {}
    for accepted in given.accept:
        number = float(decimal_values(np.array([accepted.mantissa]), accepted.exponent)[0])
        si = float(given.unit.to_si(number))
        found[si] = OtherValue(given.name, f"{number:g} {given.unit.text}".strip(), si,
                               "accepted by the family")  # fmt: skip
    for constant, values in _table():
        unit = parse_unit(constant.unit)
        if unit.dimension != given.unit.dimension:
            continue
        meaning = given.meaning.lower()
        if constant.words and not any(word in meaning for word in constant.words):
            continue
        if not any(math.isclose(own, si, rel_tol=constant.near) for _, si in values):
            continue
        for text, si in values:
            found.setdefault(si, OtherValue(given.name, f"{text} {unit.text}", si, constant.source))
    return [other for si, other in found.items() if not math.isclose(si, own, rel_tol=SAME)]


def own_value(name: str, unit: Unit, si: float) -> OtherValue:
    """The value the family itself takes, for stems that state another."""
    return OtherValue(name, f"{float(unit.from_si(si)):.12g} {unit.text}".strip(), si, "the family")


def family_constants(family: Family) -> Mapping[str, list[OtherValue]]:
    """Fixed given -> its other values, those that have any."""
    found = {name: other_values(given) for name, given in family.given.items()}
    return {name: others for name, others in found.items() if others}
