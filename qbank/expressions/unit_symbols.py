"""The units the language knows, and the kinds of quantity it can name, as plain tables.

Sources: SI Brochure, 9th edition (2019), tables 2-5, 7 and 8; NIST SP 811 (2008), appendix B,
for atm, bar, cal, mmHg, Å and customary units; CODATA 2022 for u; IAU resolution B2 of 2012 for
au. `eV` is exact since 2019.
"""

from __future__ import annotations

import math
from fractions import Fraction

BASE_SYMBOLS = ("kg", "m", "s", "A", "K", "mol", "cd")

PREFIXES = {
    "Q": 30, "R": 27, "Y": 24, "Z": 21, "E": 18, "P": 15, "T": 12, "G": 9, "M": 6, "k": 3,
    "h": 2, "da": 1, "d": -1, "c": -2, "m": -3, "µ": -6, "n": -9, "p": -12, "f": -15, "a": -18,
    "z": -21, "y": -24, "r": -27, "q": -30,
}  # fmt: skip

ALL = frozenset(PREFIXES)
LARGE = frozenset("kMGT")
NONE: frozenset[str] = frozenset()

# symbol: (coherent SI unit, how many of it, prefixes it takes); a float factor is not rational
UNITS: dict[str, tuple[str, Fraction | float, frozenset[str]]] = {
    "g": ("kg", Fraction(1, 1000), ALL),
    "m": ("m", Fraction(1), ALL),
    "s": ("s", Fraction(1), ALL),
    "A": ("A", Fraction(1), ALL),
    "K": ("K", Fraction(1), ALL),
    "mol": ("mol", Fraction(1), ALL),
    "cd": ("cd", Fraction(1), ALL),
    "rad": ("", Fraction(1), ALL),
    "sr": ("", Fraction(1), ALL),
    "Hz": ("s^-1", Fraction(1), ALL),
    "N": ("kg m s^-2", Fraction(1), ALL),
    "Pa": ("kg m^-1 s^-2", Fraction(1), ALL),
    "J": ("kg m^2 s^-2", Fraction(1), ALL),
    "W": ("kg m^2 s^-3", Fraction(1), ALL),
    "C": ("s A", Fraction(1), ALL),
    "V": ("kg m^2 s^-3 A^-1", Fraction(1), ALL),
    "F": ("kg^-1 m^-2 s^4 A^2", Fraction(1), ALL),
    "Ω": ("kg m^2 s^-3 A^-2", Fraction(1), ALL),
    "S": ("kg^-1 m^-2 s^3 A^2", Fraction(1), ALL),
    "Wb": ("kg m^2 s^-2 A^-1", Fraction(1), ALL),
    "T": ("kg s^-2 A^-1", Fraction(1), ALL),
    "H": ("kg m^2 s^-2 A^-2", Fraction(1), ALL),
    "lm": ("cd", Fraction(1), ALL),
    "lx": ("m^-2 cd", Fraction(1), ALL),
    "Bq": ("s^-1", Fraction(1), ALL),
    "Gy": ("m^2 s^-2", Fraction(1), ALL),
    "Sv": ("m^2 s^-2", Fraction(1), ALL),
    "kat": ("s^-1 mol", Fraction(1), ALL),
    "°C": ("K", Fraction(1), NONE),
    "min": ("s", Fraction(60), NONE),
    "h": ("s", Fraction(3600), NONE),
    "d": ("s", Fraction(86400), NONE),
    "°": ("", math.pi / 180, NONE),
    "rev": ("", 2 * math.pi, NONE),
    "rpm": ("s^-1", 2 * math.pi / 60, NONE),
    "ha": ("m^2", Fraction(10_000), NONE),
    "L": ("m^3", Fraction(1, 1000), ALL),
    "l": ("m^3", Fraction(1, 1000), ALL),
    "t": ("kg", Fraction(1000), LARGE),
    "u": ("kg", Fraction("1.66053906892e-27"), NONE),
    "eV": ("kg m^2 s^-2", Fraction("1.602176634e-19"), ALL),
    "bar": ("kg m^-1 s^-2", Fraction(100_000), ALL),
    "atm": ("kg m^-1 s^-2", Fraction(101_325), NONE),
    "mmHg": ("kg m^-1 s^-2", Fraction("133.322387415"), NONE),
    "cal": ("kg m^2 s^-2", Fraction("4.184"), ALL),  # the thermochemical calorie
    "Wh": ("kg m^2 s^-2", Fraction(3600), ALL),
    "Ah": ("s A", Fraction(3600), ALL),
    "Å": ("m", Fraction(1, 10**10), NONE),
    "%": ("", Fraction(1, 100), NONE),
    "‰": ("", Fraction(1, 1000), NONE),
    "ppm": ("", Fraction(1, 10**6), NONE),
    # customary units, NIST SP 811, appendix B.8; the inch, the pound and standard gravity are exact
    "in": ("m", Fraction("0.0254"), NONE),
    "ft": ("m", Fraction("0.3048"), NONE),
    "yd": ("m", Fraction("0.9144"), NONE),
    "mi": ("m", Fraction("1609.344"), NONE),
    "acre": ("m^2", Fraction("4046.8564224"), NONE),  # 43 560 square feet of today's foot
    "gal": ("m^3", Fraction("3.785411784e-3"), NONE),  # 231 cubic inches
    "lb": ("kg", Fraction("0.45359237"), NONE),
    "oz": ("kg", Fraction("0.45359237") / 16, NONE),
    "slug": ("kg", Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.3048"), NONE),
    "lbf": ("kg m s^-2", Fraction("0.45359237") * Fraction("9.80665"), NONE),
    "psi": (
        "kg m^-1 s^-2",
        Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
        NONE,
    ),
    "mph": ("m s^-1", Fraction("0.44704"), NONE),
    "kn": ("m s^-1", Fraction(1852, 3600), NONE),
    "Btu": ("kg m^2 s^-2", Fraction("1055.05585262"), NONE),  # International Table
    "hp": (
        "kg m^2 s^-3",
        550 * Fraction("0.3048") * Fraction("0.45359237") * Fraction("9.80665"),
        NONE,
    ),
    "°F": ("K", Fraction(5, 9), NONE),
    "torr": ("kg m^-1 s^-2", Fraction(101_325, 760), NONE),
    "P": ("kg m^-1 s^-1", Fraction(1, 10), frozenset("cm")),
    "St": ("m^2 s^-1", Fraction(1, 10_000), frozenset("c")),
    "dyn": ("kg m s^-2", Fraction(1, 10**5), NONE),
    "erg": ("kg m^2 s^-2", Fraction(1, 10**7), NONE),
    "G": ("kg s^-2 A^-1", Fraction(1, 10**4), frozenset("m")),
    "Ci": ("s^-1", Fraction(37 * 10**9), ALL),
    "ly": ("m", Fraction(299_792_458 * 31_557_600), NONE),  # a Julian year, as astronomers use it
    "au": ("m", Fraction(149_597_870_700), NONE),
    "pc": ("m", 149_597_870_700 * 648_000 / math.pi, LARGE),
    "yr": ("s", Fraction(31_557_600), NONE),  # the Julian year of 365.25 d
}

# what is added to `factor * value` for coherent SI
OFFSETS = {"°C": Fraction("273.15"), "°F": Fraction("459.67") * 5 / 9}

# what people type -> the symbol shown
SPELLINGS = {
    "ohm": "Ω", "Ω": "Ω", "degC": "°C", "℃": "°C", "degF": "°F", "℉": "°F",
    "deg": "°", "angstrom": "Å", "Å": "Å",
    "permille": "‰", "Torr": "torr",
}  # fmt: skip
ASCII = {
    "°C": "degC", "°F": "degF", "°": "deg", "Ω": "ohm", "µ": "u", "Å": "angstrom", "‰": "permille",
}  # fmt: skip

# words and habits that are no symbols -> the symbol that is meant
HABITS = {
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "hr": "h", "hrs": "h", "hour": "h",
    "hours": "h", "minute": "min", "minutes": "min", "mins": "min", "day": "d", "days": "d",
    "kgs": "kg", "kilogram": "kg", "kilograms": "kg", "gram": "g", "grams": "g", "gr": "g",
    "meter": "m", "metre": "m", "meters": "m", "metres": "m", "mtr": "m", "micron": "µm",
    "newton": "N", "newtons": "N", "joule": "J", "joules": "J", "watt": "W", "watts": "W",
    "volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A",
    "ohms": "Ω", "Ohms": "Ω", "farad": "F", "henry": "H", "tesla": "T", "hertz": "Hz",
    "pascal": "Pa", "kelvin": "K", "Kelvin": "K", "celsius": "°C", "Celsius": "°C", "oC": "°C",
    "degree": "deg", "degrees": "deg", "radian": "rad", "radians": "rad", "rads": "rad",
    "mole": "mol", "moles": "mol", "litre": "L", "liter": "L", "litres": "L", "liters": "L",
    "cc": "cm^3", "kph": "km/h", "kmh": "km/h", "kmph": "km/h", "M": "mol/L", "percent": "%",
    "tonne": "t", "tonnes": "t", "Da": "u", "amu": "u",
    "Nm": "N m", "turn": "rev", "turns": "rev", "hectare": "ha",
}  # fmt: skip

# coherent SI unit: what a person calls a quantity measured in it
KINDS = {
    "": "a pure number",
    "kg": "a mass",
    "m": "a length",
    "s": "a time",
    "A": "an electric current",
    "K": "a temperature",
    "mol": "an amount of substance",
    "cd": "a luminous intensity",
    "m^2": "an area",
    "m^3": "a volume",
    "m^4": "a second moment of area",
    "m^-1": "an inverse length",
    "s^-1": "a frequency or an angular speed",
    "s^-2": "an angular acceleration",
    "m s^-1": "a speed",
    "m s^-2": "an acceleration",
    "m^3 s^-1": "a volume flow rate",
    "m^2 s^-1": "a kinematic viscosity or a diffusivity",
    "m^2 s^-2": "an energy per mass",
    "kg s^-1": "a mass flow rate",
    "kg m^-1": "a mass per length",
    "kg m^-2": "a mass per area",
    "kg m^-3": "a density",
    "kg m": "a mass times a length",
    "kg m^2": "a moment of inertia",
    "kg m s^-1": "a momentum",
    "kg m^2 s^-1": "an angular momentum",
    "kg m s^-2": "a force",
    "kg s^-2": "a stiffness or a surface tension",
    "kg m^2 s^-2": "a torque or an energy",
    "kg m^2 s^-3": "a power",
    "kg s^-3": "a power per area",
    "kg m^-1 s^-2": "a pressure or a stress",
    "kg m^-1 s^-1": "a dynamic viscosity",
    "m^2 s^-2 K^-1": "a specific heat capacity",
    "kg m^2 s^-2 K^-1": "a heat capacity or an entropy",
    "kg m^2 s^-2 K^-1 mol^-1": "a molar heat capacity",
    "kg m^2 s^-2 mol^-1": "an energy per amount of substance",
    "kg m s^-3 K^-1": "a thermal conductivity",
    "kg s^-3 K^-1": "a heat transfer coefficient",
    "kg^-1 m^-2 s^3 K": "a thermal resistance",
    "K^-1": "a thermal expansion coefficient",
    "kg mol^-1": "a molar mass",
    "m^-3 mol": "a concentration",
    "m^-3 s^-1 mol": "a reaction rate",
    "kg^-1 mol": "a molality",
    "s A": "an electric charge",
    "m^-2 A": "a current density",
    "kg m^2 s^-3 A^-1": "a voltage",
    "kg m s^-3 A^-1": "an electric field",
    "kg m^2 s^-3 A^-2": "a resistance",
    "kg m^3 s^-3 A^-2": "a resistivity",
    "kg^-1 m^-2 s^3 A^2": "a conductance",
    "kg^-1 m^-3 s^3 A^2": "a conductivity",
    "kg^-1 m^-2 s^4 A^2": "a capacitance",
    "kg m^2 s^-2 A^-2": "an inductance",
    "kg s^-2 A^-1": "a magnetic flux density",
    "kg m^2 s^-2 A^-1": "a magnetic flux",
    "m^-1 A": "a magnetic field strength",
    "m^-2 cd": "an illuminance or a luminance",
    "kg^-1 m^3 s^-2": "a gravitational constant",
}
