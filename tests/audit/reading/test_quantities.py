"""Numbers with units as people type them, read exactly.

Meanings of unit symbols: SI Brochure, 9th edition; the spellings are common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.audit.reading import judge_decimal, read_number, read_quantities, read_unit
from qbank.expressions.units import parse_unit

# a text; each number in it as "value" or "value|unit"
POINT = [
    # numbers
    ("12", "12"), ("12.50", "12.50"), (".5 kg", "0.5|kg"), ("0.05", "0.05"),
    ("1,500 N", "1500|N"), ("1,234,567.8 J", "1234567.8|J"), ("1\u2009500 N", "1500|N"),
    ("1\u00a0500\u00a0N", "1500|N"), ("1\u202f500,0", "1500.0"), ("10 000 N", "10000|N"),
    ("1 250 000 Pa", "1250000|Pa"), ("1'500 kg", "1500|kg"), ("1,5 kg", "1.5|kg"),
    ("0,125 m", "0.125|m"), ("(1,5)", "1; 5"), ("1.5e3 m", "1500|m"), ("1.5E-3", "0.0015"),
    ("1.5 x 10^3 m", "1500|m"), ("1.5×10³ m", "1500|m"), ("3·10⁸ m/s", "3e8|m/s"),
    ("3 * 10^8 m/s", "3e8|m/s"), ("3 × 10^{8} m/s", "3e8|m/s"), ("10^-4 m", "1e-4|m"),
    ("10⁻⁴ m", "1e-4|m"), ("2.0 x 10^(-3) kg", "0.002|kg"), ("2.0 x 10**-3 kg", "0.002|kg"),
    ("6.0 x 10-3 m", "0.006|m"), ("2.0 x 10^−3 kg", "0.002|kg"), ("1.6x10^-19C", "1.6e-19|C"),
    ("½ m", "1/2|m"), ("2½ h", "5/2|h"), ("3/4 L", "3/4|L"), ("2 1/2 in.", "5/2|in"),
    ("1/3", "1/3"), ("−3 m", "-3|m"), ("–3 m", "-3|m"), ("-3 m", "-3|m"), ("= − 3 m", "-3|m"),
    ("−3.5·10⁴ J", "-35000|J"), ("the mass – 3 kg – moves", "3|kg"), ("+5 V", "5|V"),
    # uncertainties, ranges, lists
    ("2.0 ± 0.1 kg", "2.0|kg"), ("(2.0 ± 0.1) kg", "2.0|kg"), ("2.0 +/- 0.1 kg", "2.0|kg"),
    ("2.0 kg ± 0.1 kg", "2.0|kg"), ("12 cm by 30 cm", "12|cm; 30|cm"),
    ("12 by 30 cm", "12|cm; 30|cm"), ("12 × 30 cm", "12|cm; 30|cm"),
    ("20.0 to 100.0 °C", "20.0|°C; 100.0|°C"), ("20–30 °C", "20|°C; 30|°C"),
    ("20-30 °C", "20|°C; 30|°C"), ("between 2.0 and 3.0 m", "2.0|m; 3.0|m"),
    ("65, 65, 70 and 67 mm", "65|mm; 65|mm; 70|mm; 67|mm"), ("3 or 5 kg", "3|kg; 5|kg"),
    ("10, 20 and 30%", "10|%; 20|%; 30|%"), ("1.2; 1.4; 1.6 s", "1.2|s; 1.4|s; 1.6|s"),
    # spellings of units
    ("5 kilograms", "5|kg"), ("1 kilogram", "1|kg"), ("5 kgs", "5|kg"), ("5 Kg", "5|kg"),
    ("5 metres per second", "5|m/s"), ("5 meters per second squared", "5|m/s^2"),
    ("5 metres per second per second", "5|m/s^2"), ("5 m/s^2", "5|m/s^2"), ("5 m/s/s", "5|m/s^2"),
    ("5 m s⁻²", "5|m s^-2"), ("5 m s-2", "5|m s^-2"), ("5 ms-2", "5|m s^-2"),
    ("5 ms⁻²", "5|m s^-2"), ("5 ms^-1", "5|m s^-1"), ("5 m/s²", "5|m/s^2"),
    ("5 m·s^-2", "5|m s^-2"),
    ("5 m.s-2", "5|m s^-2"), ("5 km/h", "5|km/h"), ("5 kph", "5|km/h"), ("5 mph", "5|mph"),
    ("5 miles per hour", "5|mi/h"), ("5 ms", "5|ms"), ("5 mm", "5|mm"), ("5 kg·m²", "5|kg m^2"),
    ("5 kg*m^2", "5|kg m^2"), ("5 kg m^2", "5|kg m^2"), ("5 kgm^2", "5|kg m^2"),
    ("5 kgm-3", "5|kg m^-3"), ("5 kg/m3", "5|kg/m^3"), ("5 kg/m^3", "5|kg/m^3"),
    ("5 g/cm3", "5|g/cm^3"), ("5 Nm", "5|N m"), ("5 N m", "5|N m"), ("5 N·m", "5|N m"),
    ("5 N.m", "5|N m"), ("5 N-m", "5|N m"), ("5 newton metres", "5|N m"),
    ("5 newton-meters", "5|N m"), ("5 N/m", "5|N/m"), ("5 newtons per metre", "5|N/m"),
    ("5 Ω", "5|ohm"), ("5 Ω", "5|ohm"), ("5 ohm", "5|ohm"), ("5 ohms", "5|ohm"),
    ("5 kOhm", "5|kohm"), ("5 kΩ", "5|kohm"), ("5 kilo-ohms", "5"), ("5 kilohms", "5|kohm"),
    ("5 megohm", "5|Mohm"), ("5 μF", "5|uF"), ("5 µF", "5|uF"), ("5 uF", "5|uF"),
    ("5 microfarads", "5|uF"), ("5 \\mu F", "5|uF"), ("5 mA", "5|mA"), ("5 amps", "5|A"),
    ("5 milliamps", "5|mA"), ("5 A", "5|A"), ("5 volts", "5|V"), ("5 V/m", "5|V/m"),
    ("30°", "30|deg"), ("30 °", "30|deg"), ("30 deg", "30|deg"), ("30 degrees", "30|deg"),
    ("30º", "30|deg"), ("20 °C", "20|°C"), ("20°C", "20|°C"), ("20 ° C", "20|°C"),
    ("20 ºC", "20|°C"), ("20 oC", "20|°C"), ("20 deg C", "20|°C"), ("20 degrees Celsius", "20|°C"),
    ("20 degrees C", "20|°C"), ("20℃", "20|°C"), ("68 °F", "68|degF"),
    ("68 degrees Fahrenheit", "68|degF"), ("5 rad s^-1", "5|rad s^-1"), ("5 rads-1", "5|rad s^-1"),
    ("5 radians per second", "5|rad/s"), ("5 rev/min", "5|rev/min"), ("5 rpm", "5|rpm"),
    ("5 J/(kg K)", "5|J/(kg K)"), ("5 J/(kg·K)", "5|J/(kg K)"), ("5 J/kg·K", "5|J/(kg K)"),
    ("5 J/kg K", "5|J/(kg K)"), ("5 J/kg/K", "5|J/(kg K)"), ("5 J kg^-1 K^-1", "5|J kg^-1 K^-1"),
    ("5 J/(kg °C)", "5|J/(kg K)"), ("5 JK-1mol-1", "5|J K^-1 mol^-1"), ("5 W/m²", "5|W/m^2"),
    ("5 J/mol", "5|J/mol"), ("5 kJ/mol", "5|kJ/mol"), ("5 mol/L", "5|mol/L"),
    ("5 mol dm-3", "5|mol dm^-3"), ("5 moles per litre", "5|mol/L"), ("0.10 M HCl", "0.10|mol/L"),
    ("0.10 M NaOH", "0.10|mol/L"), ("2 M solution", "2|mol/L"), ("0.10 M and", "0.10|mol/L"),
    ("5 mM", "5|mmol/L"), ("5 percent", "5|%"), ("5 per cent", "5|%"), ("5%", "5|%"),
    ("5 litres", "5|L"), ("5 mL", "5|mL"), ("5 ml", "5|mL"), ("5 cm3", "5|cm^3"),
    ("5 cc", "5|cm^3"),
    ("5 cubic metres", "5|m^3"), ("5 square centimetres", "5|cm^2"), ("5 metres squared", "5|m^2"),
    ("5 minutes", "5|min"), ("5 min", "5|min"), ("5 hours", "5|h"), ("5 hrs", "5|h"),
    ("12 h", "12|h"),
    ("5 seconds", "5|s"), ("5 sec", "5|s"), ("5 s", "5|s"), ("5 days", "5|d"), ("5 years", "5|yr"),
    ("5 atm", "5|atm"), ("5 mmHg", "5|mmHg"), ("760 torr", "760|torr"), ("30 psi", "30|psi"),
    ("5 kPa", "5|kPa"), ("5 Mpa", "5|MPa"), ("5 bar", "5|bar"), ("5 eV", "5|eV"),
    ("5 MeV", "5|MeV"),
    ("5 u", "5|u"), ("5 amu", "5|u"), ("5 cal", "5|cal"), ("5 kcal", "5|kcal"), ("5 kWh", "5|kWh"),
    ("5 kW h", "5|kW h"), ("5 mAh", "5|mAh"), ("5 Hz", "5|Hz"), ("5 kilohertz", "5|kHz"),
    ("5 ft", "5|ft"), ("5 feet", "5|ft"), ("5 inches", "5|in"), ("6.0 in.", "6.0|in"),
    ("5 lb", "5|lb"), ("5 lbs", "5|lb"), ("5 lbf", "5|lbf"), ("5 ft-lb", "5|ft lb"),
    ("5 lb/ft3", "5|lb/ft^3"), ("5 lb/in^2", "5|lb/in^2"), ("5 hp", "5|hp"), ("5 gallons", "5|gal"),
    ("5 W m-2", "5|W m^-2"), ("5 W m⁻¹ K⁻¹", "5|W m^-1 K^-1"), ("5 W/m·K", "5|W/(m K)"),
    ("3.32 1/min", "3.32|1/min"), ("6.2 × 10⁻⁴ 1/s", "6.2e-4|1/s"),
    ("5 per second", "5|1/s"), ("5 /s", "5|1/s"), ("5 s⁻¹", "5|s^-1"), ("5 s-1", "5|s^-1"),
    ("3.0 × 10⁻⁶ /°C", "3e-6|1/K"), ("5 Pa s", "5|Pa s"), ("5 Pa·s", "5|Pa s"), ("5 cP", "5|cP"),
    ("5 Ω m", "5|ohm m"), ("5 Ω·m", "5|ohm m"), ("5 T", "5|T"), ("5 mT", "5|mT"), ("5 nC", "5|nC"),
    ("5 Å", "5|angstrom"), ("5 nm", "5|nm"), ("5 C", "5|C"), ("5 K", "5|K"), ("5 g", "5|g"),
    ("5(m/s²)", "5|m/s^2"), ("5 (m/s)", "5|m/s"), ("5-kg block", "5|kg"), ("30-cm rod", "30|cm"),
    ("5kg", "5|kg"), ("5N", "5|N"),
    # symbols, TeX
    ("\\( m = 2.0\\,\\mathrm{kg} \\)", "2.0|kg"), ("$v = 3.0\\times 10^{8}~m/s$", "3e8|m/s"),
    ("\\(30^\\circ\\)", "30|deg"), ("\\(20\\,^{\\circ}\\mathrm{C}\\)", "20|°C"),
    ("$\\frac{1}{2}$", "1/2"), ("\\SI{9.81}{\\metre\\per\\second\\squared}", "9.81|m/s^2"),
    ("\\(5\\ \\Omega\\)", "5|ohm"), ("$5\\,\\text{m s}^{-1}$", "5|m s^-1"),
    # words and units that are neither
    ("5 m in 3 s", "5|m; 3|s"), ("20 cars in 3 rows", "20; 3"), ("a 5 A fuse at 12 V", "5|A; 12|V"),
    ("3 identical resistors", "3"), ("2 degrees of freedom", "2"), ("200 turns of wire", "200"),
    ("2 C atoms", "2"), ("5 as long", "5"), ("3 at a time", "3"), ("50 mL of 2 apples", "50|mL; 2"),
    ("4 man team", "4"), ("5 m long and 3 m wide", "5|m; 3|m"), ("4 h a day", "4|h"),
    ("at t = 0, 5.0 m apart", "0; 5.0|m"), ("2.0M H2SO4", "2|mol/L"), ("250. mL", "250|mL"),
    ("at 300. K", "300|K"), ("it takes 5. A block", "5"), ("it takes 5. Second, stop", "5"),
    ("3t^2 + 2t", ""), ("T = 20 C", "20|°C"), ("a temperature of 20 C", "20|°C"),
    ("a charge of 20 C", "20|C"), ("5.0 × 10 −3 m", "0.005|m"), ("5.0 kg m2", "5|kg m^2"),
    # no quantities
    ("in 1/s", ""), ("to 3 significant figures", ""), ("to 2 decimal places", ""),
    ("H2O and CO2", ""), ("Ca(OH)2", ""), ("U-235", ""), ("the 2nd and 3rd", ""),
    ("m_1 and x2", ""),
    ("x^2", ""), ("v^-2", ""), ("Figure 3 shows", ""), ("see part 2.", ""), ("Table 12", ""),
    ("on 12.05.2021", ""), ("2021-05-03", ""), ("3/4/2021", ""), ("at 12:30", ""), ("in 1998", ""),
    ("May 5", ""), ("1. A block", ""), ("(2) the force", ""), ("v1.2.3", ""), ("H₂SO₄", ""),
    ("1e999999999", ""), ("1e300 m", ""), ("10^-300 m", ""), ("10^999999999 m", ""),
    ("9" * 100, ""), ("CO_2", ""), ("Cs-137", ""),
]  # fmt: skip
COMMA = [
    ("20 Grad Celsius", "20|°C"), ("unter 30 Grad", "30|deg"), ("4,5 Sekunden lang", "4.5|s"),
    ("roule à 12,5 mètres par seconde", "12.5|m/s"), ("5 gélules", "5"), ("760 mm Hg", "760|mmHg"),
    ("1,5 kg", "1.5|kg"), ("1.500 kg", "1500|kg"), ("1.500,25 kg", "1500.25|kg"),
    ("0,125 m", "0.125|m"), ("3,0·10⁸ m/s", "3e8|m/s"), ("1.5 kg", "1.5|kg"),
    ("2,0; 3,0 und 4,5 m", "2|m; 3|m; 4.5|m"), ("20,0 bis 100,0 °C", "20|°C; 100|°C"),
    ("−1,5e-3 V", "-0.0015|V"), ("1 500,5 N", "1; 500.5|N"), ("12,125 m", "12.125|m"),
]  # fmt: skip


def _expected(text):
    pairs = []
    for one in filter(None, (part.strip() for part in text.split(";"))):
        value, _, unit = one.partition("|")
        pairs.append((Fraction(value), parse_unit(unit) if unit else None))
    return pairs


def _same(found, wanted):
    if found is None or wanted is None:
        return found is wanted
    return (
        found.dimension == wanted.dimension
        and found.factor == pytest.approx(wanted.factor, rel=1e-14)
        and found.offset == wanted.offset
    )


def _check(text, wanted, decimal):
    found = read_quantities(text, decimal)
    expected = _expected(wanted)
    assert [one.value for one in found] == [value for value, _ in expected], found
    for one, (_, unit) in zip(found, expected, strict=True):
        assert _same(one.unit, unit), (one.unit, unit)
        assert text[one.start : one.end] == one.text


@pytest.mark.parametrize(("text", "wanted"), POINT)
def test_spellings(text, wanted):
    _check(text, wanted, ".")


@pytest.mark.parametrize(("text", "wanted"), COMMA)
def test_decimal_comma(text, wanted):
    _check(text, wanted, ",")


def test_enough_spellings():
    assert len(POINT) >= 150


@pytest.mark.parametrize(("text", "wanted"), [row for row in POINT if row[1]])
def test_spellings_within_a_sentence(text, wanted):
    if not text[0].isdigit() or text.endswith((".", "0,0", "and")):
        return
    _check(f"Suppose that {text}, and then it stops.", wanted, ".")


@pytest.mark.parametrize(
    ("text", "figures", "place"),
    [
        ("12", 2, 0), ("12.50", 4, -2), ("0.050", 2, -3), ("1500", 4, 0), ("1,500", 4, 0),
        ("1.5e3", 2, 2), ("3·10⁸", 1, 8), ("10^-4", 1, -4), ("0.00", 3, -2), ("½", 1, -1),
        ("1/3", 15, -15), ("2.0 x 10^-3", 2, -4),
    ],
)  # fmt: skip
def test_figures_and_last_place(text, figures, place):
    (one,) = read_quantities(text)
    assert (one.figures, one.place) == (figures, place)


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("m = 2.0 kg", "m"), ("m_1 = 2.0 kg", "m_1"), ("m₁=2 kg", "m_1"), ("m1 = 2 kg", "m_1"),
        ("θ = 30°", "θ"), ("ΔT = 5 K", "ΔT"), ("where R_max ≈ 5 Ω", "R_max"), ("mass 2 kg", ""),
        ("v_0 = −5 m/s", "v_0"), ("\\(m_{1} = 2\\,\\mathrm{kg}\\)", "m_1"),
        ("\\(\\theta = 30^\\circ\\)", "θ"), ("pH = 3.5", "pH"),
    ],
)  # fmt: skip
def test_symbols(text, symbol):
    (one,) = read_quantities(text)
    assert one.symbol == symbol


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("15.0 N", "15", "N"), ("approximately 15 N", "15", "N"), ("−3.5·10⁴ J", "-35000", "J"),
        ("B) 12 cm", "12", "cm"), ("a. 12 cm", "12", "cm"), ("15.0", "15", None),
        ("0.10 M", "0.10", "mol/L"), ("T = 300 K", "300", "K"), ("2 M", "2", "mol/L"),
        ("15 N upwards", "15", "N"), ("\\(v = 3\\,\\mathrm{m/s}\\)", "3", "m/s"),
        ("(c) 4.0 s", "4", "s"), ("more than 24 cm", "24", "cm"), ("½", "1/2", None),
    ],
)  # fmt: skip
def test_one_number(text, value, unit):
    one = read_number(text)
    assert one.value == Fraction(value)
    assert _same(one.unit, parse_unit(unit) if unit else None)
    assert text[one.start : one.end] == one.text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "none of these",
        "3 N and 5 N",
        "it doubles",
        "x" * 1000,
        "η = 1 − T_c/T_h",
        "q = 1 − t/(2·T)",
        "The hot side is above 500 K.",
        "m·g·(h + x) = k·x²/2",
    ],
)
def test_no_one_number(text):
    assert read_number(text) is None


@pytest.mark.parametrize(
    ("texts", "sign"),
    [
        (["1,5 kg", "2,25 m"], ","), (["1.5 kg"], "."), (["1,500 kg"], "."), ([], "."),
        (["1.234,5"], ","), (["1,234.5"], "."), (["0,125"], ","), (["(1,5) and [2,3]"], "."),
        (["1,5", "2.5", "3,5"], ","),
    ],
)  # fmt: skip
def test_convention_of_a_bank(texts, sign):
    assert judge_decimal(texts) == sign


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("N", "N"), ("(kN)", "kN"), ("newton metres", "N m"), ("metres per second", "m/s"),
        ("M", "mol/L"), ("kg m s", "kg m s"), ("in", "in"), ("%", "%"), ("°", "deg"),
        ("MPa m^(1/2)", "MPa m^(1/2)"), ("1/s", "1/s"), ("apples", None), ("", None),
        ("x" * 99, None), ("mm Hg", "mmHg"), ("Grad", "deg"), ("Grad Celsius", "°C"), ("PS", None),
        ("Sekunden", "s"), ("Meter pro Sekunde", "m/s"), ("Kilogramm", "kg"), ("Prozent", "%"),
        ("mètres", "m"), ("mètres par seconde", "m/s"), ("degrés", "deg"), ("heures", "h"),
        ("metros por segundo", "m/s"), ("mhos", "S"), ("Å", "Å"), ("at", None),
    ],
)  # fmt: skip
def test_units_alone(text, unit):
    assert _same(read_unit(text), parse_unit(unit) if unit else None)


_UNITS = [
    ("kg", "kg"), ("m/s^2", "m/s^2"), ("m s⁻²", "m s^-2"), ("Ω", "ohm"), ("°C", "°C"), ("kN", "kN"),
    ("J/(kg K)", "J/(kg K)"), ("metres", "m"), ("µF", "uF"), ("%", "%"), ("", None),
]  # fmt: skip


@given(
    st.integers(-(10**9), 10**9),
    st.integers(0, 6),
    st.integers(-12, 12),
    st.sampled_from(["plain", "e", "x 10^", "·10", "×10^{"]),
    st.sampled_from([".", ","]),
    st.sampled_from(_UNITS),
    st.sampled_from(["", "\u2009", "\u00a0", " "]),
    st.sampled_from(["-", "−", "–"]),
)
def test_numbers_written_come_back(mantissa, places, power, style, decimal, unit, gap, minus):
    raised = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
    digits = str(abs(mantissa)).rjust(places + 1, "0")
    number = digits if not places else f"{digits[:-places]}{decimal}{digits[-places:]}"
    value = Fraction(mantissa, 10**places)
    if style != "plain":
        value *= Fraction(10) ** power
        tail = {"e": f"e{power}", "x 10^": f" x 10^{power}", "×10^{": f"×10^{{{power}}}"}
        number += tail.get(style) or f"·10{str(power).translate(raised)}"
    if style == "e" and unit[0] == "":
        gap = ""
    text = f"{minus if mantissa < 0 else ''}{number}{gap or ' '}{unit[0]}".strip()
    (one,) = read_quantities(f"The value is {text}.", decimal)
    if style == "plain" and places == 3 and abs(mantissa) >= 1000 and len(digits) <= 6:
        assert one.value == value  # its own sign groups nothing
    assert one.value == value
    assert _same(one.unit, parse_unit(unit[1]) if unit[1] else None)
    assert one.place == (power if style != "plain" else 0) - places


@given(
    st.text(alphabet="0123456789.,-−^x×·e10 kgmsN/()±½\\{}$_%°=", max_size=80),
    st.sampled_from(".,"),
)
def test_any_text_is_read_without_error(text, decimal):
    for one in read_quantities(text, decimal):
        assert 0 <= one.start < one.end <= len(text)
        assert text[one.start : one.end] == one.text
        assert abs(one.place) < 1000
        assert one.figures >= 1
