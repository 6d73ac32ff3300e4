"""Units: factors against published tables, dimensions against SymPy, and what is refused."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cache

import numpy as np
import pytest
import scipy.constants as codata
from hypothesis import given
from hypothesis import strategies as st
from sympy.physics import units as sympy_units
from sympy.physics.units.systems.si import SI, dimsys_SI

from qbank.errors import ExpressionError
from qbank.expressions import unit_symbols
from qbank.expressions.units import (
    DIMENSIONLESS,
    ONE,
    Unit,
    _atoms,
    match_unit,
    nearest_unit,
    parse_unit,
)

# NIST Special Publication 811 (2008), appendix B.8, factors to SI as printed there.
NIST_SP_811 = {
    "Å": 1.0e-10,
    "atm": 1.01325e5,
    "bar": 1.0e5,
    "cal": 4.184,
    "kcal": 4.184e3,
    "d": 8.64e4,
    "deg": 1.745329e-2,
    "ha": 1.0e4,
    "h": 3.6e3,
    "km/h": 2.777778e-1,
    "kWh": 3.6e6,
    "L": 1.0e-3,
    "min": 6.0e1,
    "mbar": 1.0e2,
    "mmHg": 1.333224e2,
    "rev": 6.283185,
    "rpm": 1.047198e-1,
    "t": 1.0e3,
    "Ah": 3.6e3,
    "g/cm^3": 1.0e3,
    "kg/L": 1.0e3,
    "cal/(g K)": 4.184e3,
    "acre": 4.046873e3,  # of survey feet, which differ in the sixth figure; see below
    "Btu": 1.055056e3,
    "Ci": 3.7e10,
    "dyn": 1.0e-5,
    "erg": 1.0e-7,
    "ft": 3.048e-1,
    "G": 1.0e-4,
    "gal": 3.785412e-3,
    "hp": 7.456999e2,
    "in": 2.54e-2,
    "kn": 5.144444e-1,
    "lb": 4.535924e-1,
    "lbf": 4.448222,
    "mi": 1.609344e3,
    "mph": 4.4704e-1,
    "oz": 2.834952e-2,
    "P": 1.0e-1,
    "cP": 1.0e-3,
    "psi": 6.894757e3,
    "slug": 1.459390e1,
    "St": 1.0e-4,
    "torr": 1.333224e2,
    "yd": 9.144e-1,
    "degF": 5.555556e-1,
    "lb/ft^3": 1.601846e1,
    "ft lbf": 1.355818,
}


@pytest.mark.parametrize(("text", "factor"), NIST_SP_811.items())
def test_factors_of_nist_sp_811(text, factor):
    rel = 1e-5 if text == "acre" else 5e-7  # seven figures are printed
    assert parse_unit(text).factor == pytest.approx(factor, rel=rel)


CODATA_2022 = {
    "eV": codata.eV,
    "u": codata.atomic_mass,
    "cal": codata.calorie,
    "Å": codata.angstrom,
    "°": codata.degree,
    "atm": codata.atm,
    "km/h": codata.kmh,
    "ha": codata.hectare,
    "L": codata.liter,
    "t": codata.metric_ton,
    "d": codata.day,
    "in": codata.inch,
    "ft": codata.foot,
    "yd": codata.yard,
    "mi": codata.mile,
    "acre": codata.acre,
    "gal": codata.gallon,
    "lb": codata.pound,
    "oz": codata.oz,
    "lbf": codata.pound_force,
    "psi": codata.psi,
    "slug": codata.slug,
    "mph": codata.mph,
    "kn": codata.knot,
    "hp": codata.hp,
    "Btu": codata.Btu,
    "torr": codata.torr,
    "dyn": codata.dyn,
    "erg": codata.erg,
    "ly": codata.light_year,
    "au": codata.au,
    "pc": codata.parsec,
    "yr": codata.Julian_year,
    "degF": codata.degree_Fahrenheit,
}


@pytest.mark.parametrize(("text", "factor"), CODATA_2022.items())
def test_factors_of_scipy_constants(text, factor):
    assert parse_unit(text).factor == pytest.approx(factor, rel=1e-15)


PINT_NAMES = {
    "in": "inch", "ft": "foot", "yd": "yard", "mi": "mile",
    "gal": "gallon", "lb": "pound", "oz": "ounce", "lbf": "force_pound", "psi": "psi",
    "slug": "slug", "mph": "mph", "kn": "knot", "hp": "horsepower", "Btu": "Btu_it",
    "torr": "torr", "dyn": "dyne", "erg": "erg", "P": "poise", "St": "stokes", "G": "tesla",
    "Ci": "curie", "ly": "light_year", "au": "astronomical_unit", "pc": "parsec",
    "yr": "julian_year", "mmHg": "mmHg", "atm": "atm", "cal": "calorie", "u": "dalton",
    "ppm": "ppm",
}  # fmt: skip


@cache
def _registry(pint):
    return pint.UnitRegistry()


@pytest.mark.parametrize(("text", "name"), PINT_NAMES.items())
def test_factors_of_pint(text, name):
    pint = pytest.importorskip("pint", reason="pint is not installed; it is compared where it is")
    theirs = _registry(pint).Quantity(1.0, name).to_base_units().magnitude
    factor = parse_unit(text).factor
    scale = {"G": 1e-4}.get(text, 1.0)
    # the atomic mass constant is measured: CODATA of another year differs in the tenth figure
    assert theirs * scale == pytest.approx(factor, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "kelvin"), [("32", 273.15), ("212", 373.15), ("-459.67", 0.0), ("68", 293.15)]
)
def test_degrees_fahrenheit(value, kelvin):
    # NIST SP 811, appendix B.8: T/K = (t/°F + 459.67)/1.8
    unit = parse_unit("degF")
    assert unit.si_value(Fraction(value)) == pytest.approx(kelvin, abs=1e-12)
    assert unit.to_si(float(value)) == pytest.approx(kelvin, abs=1e-12)


PREFIX_NAMES = {
    "Q": "quetta", "R": "ronna", "Y": "yotta", "Z": "zetta", "E": "exa", "P": "peta", "T": "tera",
    "G": "giga", "M": "mega", "k": "kilo", "h": "hecto", "da": "deka", "d": "deci", "c": "centi",
    "m": "milli", "µ": "micro", "n": "nano", "p": "pico", "f": "femto", "a": "atto", "z": "zepto",
    "y": "yocto", "r": "ronto", "q": "quecto",
}  # fmt: skip


@pytest.mark.parametrize(("prefix", "name"), PREFIX_NAMES.items())
def test_prefixes_of_scipy_constants(prefix, name):
    # SciPy has no names yet for the four prefixes of 2022: CGPM resolution 3 gives 30 and 27
    added = {"quetta": 1e30, "ronna": 1e27, "ronto": 1e-27, "quecto": 1e-30}
    assert parse_unit(f"{prefix}m").factor == added.get(name, getattr(codata, name, None))


SYMPY_NAMES = {
    "N": "newton", "Pa": "pascal", "J": "joule", "W": "watt", "C": "coulomb", "V": "volt",
    "F": "farad", "Ω": "ohm", "S": "siemens", "Wb": "weber", "T": "tesla", "H": "henry",
    "Hz": "hertz", "Gy": "gray", "Bq": "becquerel", "kat": "katal", "bar": "bar",
    "atm": "atmosphere", "eV": "electronvolt", "L": "liter", "lx": "lux",
}  # fmt: skip
SYMPY_BASES = ("mass", "length", "time", "current", "temperature", "amount_of_substance",
               "luminous_intensity")  # fmt: skip


@pytest.mark.parametrize(("symbol", "name"), SYMPY_NAMES.items())
def test_dimensions_of_sympy(symbol, name):
    dimension = SI.get_quantity_dimension(getattr(sympy_units, name))
    powers = {str(base.name): power for base, power in
              dimsys_SI.get_dimensional_dependencies(dimension).items()}  # fmt: skip
    expected = tuple(powers.get(base, 0) for base in SYMPY_BASES)
    assert parse_unit(symbol).dimension.exponents == expected


def test_every_symbol_has_one_meaning():
    # "min" is minutes and no prefix makes another unit of it; the same for all symbols
    seen = {}
    for symbol, (_, _, prefixes) in unit_symbols.UNITS.items():
        for prefix in ["", *prefixes]:
            for typed in {prefix, prefix.replace("µ", "u")}:
                assert seen.setdefault(typed + symbol, (prefix, symbol)) == (prefix, symbol)


def test_kinds_are_spelled_as_dimensions_are():
    known = {str(parse_unit(text).dimension) for text in unit_symbols.KINDS if text}
    assert known | {""} == set(unit_symbols.KINDS)


@pytest.mark.parametrize(
    ("typed", "shown", "plain"),
    [
        ("m/s^2", "m/s²", "m/s^2"),
        ("kg m^2", "kg·m²", "kg m^2"),
        ("kg·m²", "kg·m²", "kg m^2"),
        ("kg*m^2", "kg·m²", "kg m^2"),
        ("degC", "°C", "degC"),
        ("kohm", "kΩ", "kohm"),
        ("deg", "°", "deg"),
        ("us", "µs", "us"),
        ("J/(kg K)", "J/(kg·K)", "J/(kg K)"),
        ("m s^-2", "m·s⁻²", "m s^-2"),
        ("m s⁻²", "m·s⁻²", "m s^-2"),
        ("1/s", "1/s", "1/s"),
        ("MPa m^(1/2)", "MPa·m^(1/2)", "MPa m^(1/2)"),
        ("1", "", "1"),
        ("%", "%", "%"),
    ],
)
def test_shown_and_ascii(typed, shown, plain):
    unit = parse_unit(typed)
    assert (unit.text, unit.ascii) == (shown, plain)
    assert unit.ascii.isascii()
    assert parse_unit(unit.ascii) == unit


@given(st.sampled_from(sorted(_atoms())), st.integers(-3, 3).filter(bool), st.booleans())
def test_ascii_reads_back(symbol, power, below):
    atom = _atoms()[symbol]
    if atom.offset:
        return
    text = f"kg/{symbol}^{abs(power)}" if below else f"kg {symbol}^{power}"
    unit = parse_unit(text)
    assert parse_unit(unit.ascii) == unit
    assert parse_unit(unit.text) == unit


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("N", "a force (kg m s^-2)"),
        ("N m", "a torque or an energy (kg m^2 s^-2)"),
        ("1", "a pure number"),
        ("rad", "a pure number"),
        ("m^7", "a quantity in m^7"),
        ("m^(1/2)", "a quantity in m^(1/2)"),
    ],
)
def test_dimensions_in_words(text, words):
    assert parse_unit(text).dimension.describe() == words


def test_decimals_stay_exact():
    values = np.arange(1.0, 1000.0)
    np.testing.assert_array_equal(parse_unit("cm").to_si(values), values / 100)
    np.testing.assert_array_equal(parse_unit("km/h").to_si(values * 18), values * 5)
    assert parse_unit("cm").to_si(12.0) == 0.12
    assert parse_unit("mL").to_si(3.0) == 3e-6
    assert parse_unit("°C").to_si(20.0) == 293.15


def test_conversion_keeps_its_argument():
    values = np.array([1.0, 2.0])
    for text in ("m", "cm", "°C", "1"):
        unit = parse_unit(text)
        unit.to_si(values)[:] = 0
        unit.from_si(values)[:] = 0
    assert values.tolist() == [1.0, 2.0]


@given(st.sampled_from(sorted(_atoms())), st.floats(-1e6, 1e6))
def test_from_si_undoes_to_si(symbol, value):
    unit = _atoms()[symbol]
    there_and_back = unit.from_si(unit.to_si(value))
    assert there_and_back == pytest.approx(value, rel=1e-14, abs=1e-12)


def test_a_unit_made_by_hand_converts_by_its_factor():
    assert Unit("furlong", parse_unit("m").dimension, 201.168).to_si(2.0) == 402.336


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("sec", "'sec' is not a unit that is known here", "Did you mean s?"),
        ("KG", "'KG' is not a unit that is known here", "Did you mean kg?"),
        ("m2", "'m2' is not a unit that is known here", "Did you mean m^2?"),
        ("kmph", "'kmph' is not a unit that is known here", "Did you mean km/h?"),
        ("J/kg K", "the unit 'J/kg K' can be read in two ways", "in brackets"),
        ("m/s/s", "the unit 'm/s/s' can be read in two ways", "m/s^2"),
        ("W/°C", "°C inside the unit 'W/°C' has no meaning of its own", "Use K"),
        ("°C^2", "°C inside the unit '°C²' has no meaning of its own", "Use K"),
        ("", "expected a unit, found nothing", '"1"'),
        ("m/", "expected a unit, found the end", None),
        ("(m)", "expected a unit, found '('", None),
        ("m^99", "a unit to the power 99; at most 12 is read", None),
        ("m^(1/0)", "a power with the denominator 0", None),
        ("J/(kg", "expected ')' in the unit", None),
        ("m + s", "'+' is not a unit that is known here", "SI symbols"),
        ("m" * 81, "a unit of 81 characters; at most 80 are read", None),
    ],
)
def test_refused(text, message, hint):
    with pytest.raises(ExpressionError) as caught:
        parse_unit(text)
    assert caught.value.message == message
    assert (hint or "") in (caught.value.hint or "")
    assert caught.value.span is not None or text == ""


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("rad/s^2 < x", "rad/s²"),
        ("N/m_a", "N"),
        ("N / m", "N"),
        ("N/(m + 2)", "N"),
        ("J/(kg K)*x", "J/(kg·K)"),
        ("N m*x", "N·m"),
        ("cm and x", "cm"),
        ("kg*m", "kg"),
        ("m_a", None),
        ("min(x)", None),
        ("and y", None),
    ],
)
def test_units_inside_expressions(text, unit):
    found = match_unit(text, 0)
    assert (found and found[0].text) == unit


def test_pure_numbers():
    assert parse_unit("1") == ONE
    assert ONE.dimension == DIMENSIONLESS
    assert parse_unit("rev").factor == 2 * math.pi
    assert nearest_unit("wordlike") is None
