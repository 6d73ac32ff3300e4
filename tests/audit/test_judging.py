"""Verdicts on published keys and on keys made up from right ones."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from qbank.audit.judging import judge
from qbank.audit.question import OptionValue, Question
from qbank.audit.reading.quantities import read_number
from qbank.audit.resolving import Resolver, resolver_of
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.expressions.numbers import NumberFormat, machine_number
from qbank.expressions.parser import parse_measure
from qbank.expressions.tree import Measure
from qbank.expressions.units import parse_unit
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family, read_family
from qbank.finding import Severity
from qbank.generation import Generator
from qbank.place import Place

RIGHT, ROUNDED, CONSTANT, WRONG = (
    Verdict.RIGHT,
    Verdict.ROUNDED,
    Verdict.OTHER_CONSTANT,
    Verdict.WRONG,
)
HERE = Place("bank.csv", 1, 1)


@cache
def resolver(name: str) -> Resolver:
    return resolver_of(load_family(find_family(name)))


def question(
    key: str, unit: str, low: float = math.nan, high: float = math.nan, number: int = 0
) -> Question:
    read = parse_unit(unit) if unit else None
    item = f"q{number}"
    return Question(item, "R1", number, HERE, "", "", (), float(key), key, read, low, high)


def si(text: str) -> np.ndarray:
    measures = [parse_measure(part) for part in text.split(",")]
    found = [m.unit.si_value(m.value) if isinstance(m, Measure) else m.value for m in measures]
    numbers = np.array([float(x) for x in found])
    return numbers if len(numbers) == 1 else numbers[None]


def verdict(
    family: str, data: Mapping[str, str], unknown: str, key: str, unit: str = ""
) -> Judgement:
    values = {name: si(text) for name, text in data.items()}
    return judge(resolver(family), unknown, values, [question(key, unit)], level=Level.MATCHED)[0]


# OpenStax University Physics 1 to 3 (UP), Chemistry 2e, Introductory Statistics 2e: module and the
# commit that corrected the key, or the number of the worked example. Numbers only.
CLIMB = {"h": "23.5 km", "theta": "10 °", "t": "150 s"}
WAVE = {"mu": "6.0 g/m", "F": "300.00 N", "L": "4.00 m"}
POLAR = {"r_1": "2.500 m", "phi_1": "30 °", "r_2": "3.800 m", "phi_2": "120 °"}
SPEED = {"v_0": "30 m/s", "a": "30 m/s^2", "t": "5 s"}
LIFT = {"m": "1500 kg", "h": "40.0 m", "f": "100 N"}
SPRING = {"k": "14.0 kN/m", "m": "90.0 kg", "h": "2.00 m"}
BEATS = {"F_1": "120 N", "F_2": "130 N", "mu": "6.5 g/m", "L": "2.00 m", "n": "10"}
METAL = {"m": "0.50 kg", "c": "900 J/(kg K)", "T_m": "250 °C", "m_w": "1.0 kg", "T_w": "20 °C"}
WIRES = {"I_1": "2.0 A", "I_2": "5.0 A", "d": "10 cm"}
COPPER = {"p": "40.0 %", "T_1": "20.0 °C", "T_2": "100.0 °C"}
SHIP = {"L_0": "100 m", "L": "25.0 m"}
WAGON = {"F": "763.9 N", "m": "1000.0 kg"}
SALT = {"K": "1.08e-10 mol^2/L^2", "c": "0.0758 mol/L"}
PROPANE = {"m": "25.0 g", "o": "0.275 g/L"}
PRESSURE = {"K_p": "4.08e-25", "n_r": "0", "n_p": "10", "T": "25 °C"}
GRATING = {"d": "1.0 µm", "L": "2.00 m", "l_1": "380 nm", "l_2": "760 nm"}
SAMPLE = {
    "x": "12 min, 4 min, 15 min, 3 min, 11 min, 8 min, 6 min, 8 min",
    "m_0": "10 min",
    "a": "5 %",
}
CRATE = {"m": "20.0 kg", "F": "180 N", "phi": "0 °", "mu_s": "0.700", "mu_k": "0.600"}
DECAY = {"A_0": "100 1/min", "A": "80 1/min"}
SCROLLS = {"A_0": "13.6 1/min", "A": "10.8 1/min"}
CALORIMETER = {
    "m": "0.500 kg", "c": "900 J/(kg K)", "T_m": "150 °C", "m_w": "0.250 kg", "T_w": "20 °C"
}  # fmt: skip
RODS = {
    "k_1": "80 W/(m K)", "k_2": "220 W/(m K)", "d": "1.00 cm", "L": "25.0 cm", "T_h": "100 °C",
    "T_c": "20 °C",
}  # fmt: skip
HELIUM = {"D": "0.0305 u", "A": "4"}
BORE = {"V": "0.780 cm^3", "d": "0.130 mm", "b": "1.8e-4 1/K", "b_g": "2.7e-5 1/K", "T": "1 K"}
CARNOT = {"eta": "0.60", "T_c": "300 K", "W": "300 J"}

PUBLISHED = [
    # keys that were corrected, before and after
    ("UP1 m58282 b5ccc46", "steady-climb", CLIMB, "v", "156.7", "m/s", WRONG),
    ("UP1 m58282 b5ccc46", "steady-climb", CLIMB, "v", "902", "m/s", RIGHT),
    ("UP1 m58373 ea2e1c4", "string-wave", WAVE, "w", "142.43", "1/s", WRONG),
    ("UP1 m58373 ea2e1c4", "string-wave", WAVE, "w", "351.07", "1/s", ROUNDED),
    ("UP1 m58278 19b1825", "polar-distance", POLAR, "d", "6.09", "m", WRONG),
    ("UP1 m58278 19b1825", "polar-distance", POLAR, "d", "4.55", "m", RIGHT),
    ("UP1 m58285 0d5adbb", "speeding-up", SPEED, "x", "375", "m", WRONG),
    ("UP1 m58285 0d5adbb", "speeding-up", SPEED, "x", "525", "m", RIGHT),
    ("UP1 m58285 0d5adbb", "speeding-up", SPEED, "v", "150", "m/s", WRONG),
    ("UP1 m58285 0d5adbb", "speeding-up", SPEED, "v", "180", "m/s", RIGHT),
    ("UP1 m58719 0928999", "lift-work", LIFT, "W_c", "593", "kJ", RIGHT),
    ("UP1 m58719 0928999", "lift-work", LIFT, "W_c", "592", "kJ", CONSTANT),
    ("UP1 m58719 0928999", "lift-work", LIFT, "W_g", "-589", "kJ", RIGHT),
    ("UP1 m58719 0928999", "lift-work", LIFT, "W_g", "-588", "kJ", CONSTANT),
    ("UP1 m58362 aaf73cc", "drop-on-spring", SPRING, "x", "44.3", "cm", WRONG),
    ("UP1 m58380 9c94a75", "string-beats", BEATS, "f_b", "15.00", "Hz", WRONG),
    ("UP1 m58380 9c94a75", "string-beats", BEATS, "f_b", "13.9", "Hz", RIGHT),
    ("UP2 m58389 ec6ddeb", "thermometer-bore", BORE, "x", "1.11", "cm", WRONG),
    ("UP2 m58389 ec6ddeb", "thermometer-bore", BORE, "x", "0.9", "cm", RIGHT),
    ("UP2 m58408 ec824fd", "hot-metal-in-water", METAL, "S", "82", "J/K", WRONG),
    ("UP2 m58408 ec824fd", "hot-metal-in-water", METAL, "S", "80", "J/K", RIGHT),
    ("UP2 m58462 f1731e5", "parallel-wires", WIRES, "q", "8e-6", "N/m", WRONG),
    ("UP2 m58462 f1731e5", "parallel-wires", WIRES, "q", "2e-5", "N/m", RIGHT),
    ("UP2 m58731 b7aa0cc", "temperature-coefficient", COPPER, "a", "0.006", "1/K", WRONG),
    ("UP2 m58731 b7aa0cc", "temperature-coefficient", COPPER, "a", "0.005", "1/K", RIGHT),
    ("UP3 m58572 a57887e", "length-contraction", SHIP, "b", "0.867", "", WRONG),
    ("UP3 m58572 a57887e", "length-contraction", SHIP, "b", "0.968", "", RIGHT),
    ("UP1 m58297 2df46be", "wagon-push", WAGON, "a", "70.639", "m/s^2", WRONG),
    ("UP1 m58297 7d5cb7b", "wagon-push", WAGON, "a", "0.7639", "m/s^2", RIGHT),
    ("Chem m68811 5c0919f", "common-ion", SALT, "s", "3.03e-7", "mol/L", WRONG),
    ("Chem m68811 5c0919f", "common-ion", SALT, "s", "1.42e-9", "mol/L", RIGHT),
    ("Chem m68727 67c437d", "propane-air", PROPANE, "V", "1570", "L", WRONG),
    ("Chem m68727 67c437d", "propane-air", PROPANE, "V", "330", "L", RIGHT),
    ("Chem m68798 04b4b80", "pressure-to-concentration", PRESSURE, "K_c", "5.31e-39", "", RIGHT),
    ("Chem m68798 04b4b80", "pressure-to-concentration", PRESSURE, "K_c", "5.34e-39", "", CONSTANT),
    # still wrong in the newest copy
    ("UP3 example 4.5 m62592", "grating-screen", GRATING, "y_1", "0.815", "m", WRONG),
    ("UP3 example 4.5 m62592", "grating-screen", GRATING, "w", "1.523", "m", WRONG),
    ("Stat m47019 932a", "one-sample-t", SAMPLE, "t", "-1.13", "", WRONG),
    ("Stat m47019 932a", "one-sample-t", SAMPLE, "t", "-1.12", "", RIGHT),
    # worked examples that are right, or right as their author rounded
    ("UP1 6.10 m58304", "pulled-crate", CRATE, "f", "118", "N", RIGHT),
    ("UP1 6.10 m58304", "pulled-crate", CRATE, "a", "3.10", "m/s^2", ROUNDED),
    ("UP3 10.6 m58609", "decay-dating", DECAY, "t", "1844", "yr", ROUNDED),
    ("Chem 21.6 m68854", "decay-dating", SCROLLS, "t", "1910", "yr", RIGHT),
    ("UP2 1.7 m58387", "hot-metal-in-water", CALORIMETER, "T", "59.1", "°C", RIGHT),
    ("UP2 1.11 m58389", "rods-in-series", RODS, "T", "41.3", "°C", RIGHT),
    ("UP2 1.11 m58389", "rods-in-series", RODS, "P", "1.47", "W", RIGHT),
    ("Chem 21.2 m68851", "nucleus-mass-defect", HELIUM, "E", "28.4", "MeV", RIGHT),
    ("Chem 21.2 m68851", "nucleus-mass-defect", HELIUM, "M", "2.74e12", "J/mol", RIGHT),
    ("UP2 4.2 m58406", "carnot-engine", CARNOT, "T_h", "750", "K", RIGHT),
    ("UP2 4.2 m58406", "carnot-engine", CARNOT, "Q_c", "200", "J", RIGHT),
]


@pytest.mark.parametrize(
    ("source", "family", "data", "unknown", "key", "unit", "expected"),
    PUBLISHED,
    ids=[f"{row[1]}-{row[3]}-{row[4]}" for row in PUBLISHED],
)
def test_published_keys(
    source: str,
    family: str,
    data: Mapping[str, str],
    unknown: str,
    key: str,
    unit: str,
    expected: Verdict,
) -> None:
    found = verdict(family, data, unknown, key, unit)
    assert found.verdict is expected, f"{source}: {found}"
    if expected is WRONG:
        assert found.severity is Severity.ERROR
        assert found.expected
        assert unknown in found.how


def test_what_leads_to_real_wrong_keys_is_named() -> None:
    named = [
        ("parallel-wires", WIRES, "q", "8e-6", "N/m", "slip:same-current-twice"),
        ("speeding-up", SPEED, "x", "375", "m", "slip:initial-speed-dropped"),
        ("propane-air", PROPANE, "V", "1570", "L", "slip:share-again"),
        ("steady-climb", CLIMB, "v", "156.7", "m/s", "slip:height-for-path"),
    ]
    for family, data, unknown, key, unit, code in named:
        found = verdict(family, data, unknown, key, unit)
        assert found.code == code
        assert found.cause is not None
        assert found.cause.value == pytest.approx(float(key), rel=0.1)


def test_a_constant_in_the_stem_has_the_value_the_stem_states() -> None:
    """592 kJ is right with g = 9.80 (UP1 m58719), and g is in the stem or it is not; 9.80 for 9.81
    is told in any case and never called wrong."""
    values = {name: si(text) for name, text in LIFT.items()}
    stem = {**values, "g": np.array([9.81])}
    own = resolver("lift-work")
    asked = [question("592", "kJ")]
    free = judge(own, "W_c", values, asked, level=Level.MATCHED)[0]
    assert (free.verdict, free.severity) == (CONSTANT, Severity.NOTE)
    found = judge(own, "W_c", stem, asked, level=Level.MATCHED)[0]
    assert (found.verdict, found.severity) == (CONSTANT, Severity.WARNING)
    assert "not the value the stem states" in (found.cause.says if found.cause else "")
    ten = judge(own, "W_c", stem, [question("604", "kJ")], level=Level.MATCHED)[0]
    assert (ten.verdict, ten.code) == (WRONG, "constant")
    nine_eight = {**values, "g": np.array([9.8])}
    assert judge(own, "W_c", nine_eight, asked, level=Level.MATCHED)[0].verdict is RIGHT


def drum(key: str, low: float = math.nan, high: float = math.nan) -> Judgement:
    """10464/485 = 21.575 rad/s^2 (SymPy, Lagrange's and Kane's methods) is the right key."""
    data = {"m_a": "1.6 kg", "m_b": "4.0 kg", "r": "10 cm", "R": "20 cm", "M_r": "3.0 kg"}
    values = {name: si(text) for name, text in {**data, "M_R": "5.0 kg"}.items()}
    asked = [question(key, "rad/s^2", low, high)]
    return judge(resolver("stepped-drum"), "alpha", values, asked, level=Level.MATCHED)[0]


@pytest.mark.parametrize("key", ["21.6", "22", "21.58", "21.5753", "21.575257731958762"])
def test_however_many_figures_a_right_key_has(key: str) -> None:
    found = drum(key)
    assert (found.verdict, found.code, found.severity) == (RIGHT, "right", None)


@pytest.mark.parametrize(
    ("key", "code"),
    [
        ("21.5752", "cut"),  # 21.575257 cut after four decimals
        ("-21.6", "sign"),
        ("216", "power-of-ten"),
        ("0.0216", "power-of-ten"),
        ("26.1", "digits-swapped"),
        ("206", "unexplained"),
        ("1236", "answer-unit"),  # degrees
    ],
)
def test_keys_made_up_from_the_right_one(key: str, code: str) -> None:
    assert drum(key).code == code


def test_a_key_that_is_off_within_a_band_that_holds_the_answer_is_never_wrong() -> None:
    inside = drum("21.2", 21.0, 22.0)
    assert (inside.verdict, inside.severity) == (ROUNDED, Severity.WARNING)
    assert drum("21.6", 21.3, 21.9).verdict is RIGHT
    outside = drum("21.2", 21.1, 21.3)
    assert (outside.verdict, outside.severity) == (WRONG, Severity.ERROR)
    assert outside.low < 21.575 < outside.high


def test_a_band_that_accepts_a_slip() -> None:
    """22.7 rad/s^2 is what 0.100 kg m^2 gives for the inertia, without the small disc's 0.015."""
    found = drum("21.6", 20.0, 24.0)
    assert (found.verdict, found.code) == (RIGHT, "band-accepts-slip")
    assert found.severity is Severity.WARNING
    assert "'small-disc-forgotten'" in found.how
    assert drum("21.6", 21.4, 21.8).code == "right"


def test_a_band_that_rejects_the_answer_of_which_its_key_is_rounded() -> None:
    found = drum("22", 21.8, 22.2)
    assert (found.verdict, found.code) == (RIGHT, "band-rejects-answer")
    assert found.severity is Severity.WARNING
    assert "rejects this answer" in found.how
    assert drum("22", 21.5, 22.5).code == "right"
    assert drum("22", 22.0, 22.0).code == "right"  # one number, and no band


def test_keys_that_cannot_be_judged_are_not_accused() -> None:
    own = resolver("stepped-drum")
    asked = [question("nan", "rad/s^2"), question("3.1", "rad/s^2", number=1)]
    values = {name: np.array([1.0, np.nan]) for name in own.scalars if name != "g"}
    found = judge(own, "alpha", values, asked, level=Level.MATCHED)
    assert [j.verdict for j in found] == [Verdict.UNCHECKED, Verdict.UNCHECKED]
    assert not any(j.accuses for j in found)


@pytest.mark.parametrize("path", shipped_families(), ids=lambda path: path.stem)
def test_right_keys_are_never_accused(path: object) -> None:
    """Keys with 2, 3, 4 figures or as the family shows them, with and without its bands."""
    family = load_family(path)  # type: ignore[arg-type]
    own = resolver_of(family)
    n = 60
    made = next(Generator(family).generate(n, 5))
    values = {name: made.values[name] for name in (*own.scalars, *own.lists)}
    for name, unknown in family.find.items():
        exact = unknown.unit.from_si(made.values[name])
        formats = [unknown.shown, *(NumberFormat(figures=figures) for figures in (2, 3, 4))]
        for fmt in formats:
            asked = []
            for row in range(n):
                text = machine_number(float(exact[row]), fmt)
                low, high = (float(side[row]) for side in made.tolerance[name])
                band = (low, high) if row % 2 else (math.nan, math.nan)
                asked.append(question(text, unknown.unit.ascii, *band, number=row))
            found = judge(own, name, values, asked, level=Level.MATCHED)
            assert {j.verdict for j in found} == {RIGHT}
            if fmt == unknown.shown:
                assert {j.code for j in found} == {"right"}


@pytest.mark.parametrize("figures", [3, 4])
def test_working_with_a_rounded_inertia_is_no_mistake(figures: int) -> None:
    """The drum by hand: I rounded, then g (m_b R - m_a r) / (I + m_a r^2 + m_b R^2)."""
    own = resolver("stepped-drum")
    made = next(Generator(own.family).generate(300, 2))
    v = made.values
    inertia = (v["M_r"] * v["r"] ** 2 + v["M_R"] * v["R"] ** 2) / 2
    rounded = np.array([float(f"{x:.{figures}g}") for x in inertia])
    torque = 9.81 * (v["m_b"] * v["R"] - v["m_a"] * v["r"])
    by_hand = np.abs(torque) / (rounded + v["m_a"] * v["r"] ** 2 + v["m_b"] * v["R"] ** 2)
    asked = [question(f"{key:.4g}", "rad/s^2", number=i) for i, key in enumerate(by_hand.tolist())]
    values = {name: v[name] for name in own.scalars if name != "g"}
    found = judge(own, "alpha", values, asked, level=Level.MATCHED)
    assert all(j.verdict.right for j in found)
    assert sum(j.verdict is ROUNDED for j in found) > 10


def test_rounding_does_not_excuse_just_any_key() -> None:
    """Keys of three figures that are 1 % to 5 % off: few can be reached by rounding."""
    own = resolver("stepped-drum")
    n = 300
    made = next(Generator(own.family).generate(n, 3))
    rng = np.random.default_rng(5)
    share = rng.uniform(0.01, 0.05, n) * rng.choice([-1, 1], n)
    keys = (made.values["T_a"] * (1 + share)).tolist()
    asked = [question(f"{key:.3g}", "N", number=i) for i, key in enumerate(keys)]
    values = {name: made.values[name] for name in own.scalars}
    found = judge(own, "T_a", values, asked, level=Level.MATCHED, causes=False)
    assert sum(j.verdict is WRONG for j in found) > 0.95 * n


def test_pi_as_three_point_one_four() -> None:
    data = {"d": "2.50 cm", "s": "30.0 cm", "p": "2.4e5 Pa"}  # UP2 m58401: 35.343 J
    assert verdict("piston-work", data, "W", "35.34", "J").verdict is RIGHT
    found = verdict("piston-work", data, "W", "35.325", "J")
    assert found.verdict is CONSTANT
    assert found.cause is not None
    assert "3.14" in found.cause.says


def test_values_that_the_family_accepts_count_although_the_stem_has_another() -> None:
    text = find_family("lift-work").read_text("utf-8")
    own = resolver_of(
        read_family(text.replace("fixed: 9.81 m/s^2", 'fixed: 9.81 m/s^2, accept: "9.8"'), "x")
    )
    values = {name: si(measure) for name, measure in LIFT.items()}
    asked = [question("592", "kJ")]
    found = judge(own, "W_c", {**values, "g": np.array([9.81])}, asked, level=Level.MATCHED)[0]
    assert found.verdict is CONSTANT


def test_the_right_option_is_named() -> None:
    def option(name: str, text: str, keyed: bool = False) -> OptionValue:
        return OptionValue(name, text, read_number(text), keyed)

    options = (
        option("A", "2.16 rad/s²", keyed=True),
        option("B", "21.6 rad/s²"),
        option("C", "43.2 rad/s²"),
    )
    data = {"m_a": "1.6 kg", "m_b": "4.0 kg", "r": "10 cm", "R": "20 cm", "M_r": "3.0 kg"}
    values = {name: si(text) for name, text in {**data, "M_R": "5.0 kg"}.items()}
    asked = [replace(question("2.16", "rad/s^2"), options=options)]
    found = judge(resolver("stepped-drum"), "alpha", values, asked, level=Level.MATCHED)[0]
    assert (found.verdict, found.code, found.correct) == (WRONG, "power-of-ten", ("B",))
