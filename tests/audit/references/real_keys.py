"""Keys that textbooks really printed: wrong ones with their corrections, and right ones.

The books are OpenStax University Physics volumes 1 to 3 (UP1, UP2, UP3), Chemistry 2e (Chem) and
Introductory Statistics 2e (Stat). Their public histories record corrections of printed answers:
`printed` is the key before the commit named, `corrected` the publisher's own correction. Entries
without a commit still stand as `printed` in the copies of 2026-06-11 (physics, d0ed34a) and
2026-07-07 (statistics, 1f6a358), or are worked examples whose printed answers are right. Only
numbers are taken from the books. The questions are worded afresh, and `ours` is computed here.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from qbank.audit.verdict import Verdict
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Item, NumberEntry, Paragraph, Pool, Tolerance

RIGHT, WRONG, DEFECT = Verdict.RIGHT, Verdict.WRONG, Verdict.DEFECT
ROUNDED, CONSTANT, UNCHECKED = Verdict.ROUNDED, Verdict.OTHER_CONSTANT, Verdict.UNCHECKED


@dataclass(frozen=True)
class Key:
    """A key as printed, the verdict that checking should come to, and the cause it should name.

    `cause` is the code of a slip that reproduces the number, empty where none is known to.
    """

    text: str
    verdict: Verdict
    cause: str = ""


@dataclass(frozen=True)
class Entry:
    """One question with the keys it had.

    `wording` has a field in braces for each of the `data` of `family`, which solves for `unknown`;
    these are empty where no shipped family fits. `ours` is in `unit`; `kind` says what went wrong.
    """

    name: str
    source: str
    wording: str
    unit: str
    ours: float
    kind: str
    printed: Key | None
    corrected: Key | None = None
    family: str = ""
    unknown: str = ""
    data: Mapping[str, str] = field(default_factory=dict)

    @property
    def asked(self) -> str:
        """The wording, with the unit in which to answer."""
        unit = {"°": "degrees"}.get(self.unit, self.unit)
        return f"{self.wording} Give it in {unit}." if unit else self.wording

    @property
    def question(self) -> str:
        """What a student reads."""
        return self.asked.format_map(self.data)


ENTRIES = (
    Entry(
        "climb", "UP1 m58282, b5ccc46 2023-11-30",
        "A craft climbs along a straight path at an angle of {theta} above the horizontal and "
        "gains a height of {h} in {t}. What is its average speed along the path?",
        "m/s", 902.21, "wrong side of the triangle",
        Key("156.7", WRONG, "slip:height-for-path"), Key("902", RIGHT),
        "steady-climb", "v",
        {"h": "23.5 km", "theta": "10°", "t": "150 s"},
    ),
    Entry(
        "string", "UP1 m58373, ea2e1c4 2025-01-27",
        "A string with a mass per length of {mu} is under a tension of {F}. A sinusoidal wave "
        "with a wavelength of {L} travels along it. What is its angular frequency?",
        "1/s", 351.24, "divided by the wave number; the correction uses a rounded wave number",
        Key("142.43", WRONG), Key("351.07", ROUNDED),
        "string-wave", "w",
        {"mu": "0.0060 kg/m", "F": "300.00 N", "L": "4.00 m"},
    ),
    Entry(
        "polar", "UP1 m58278, 19b1825 2023-01-19",
        "Seen from a fixed mark, one post stands at a distance of {r_1} in the direction {phi_1}, "
        "another at {r_2} in the direction {phi_2}, both measured anticlockwise from the same "
        "axis. What is the distance between the two posts?",
        "m", 4.54863, "distance",
        Key("6.09", WRONG, "slip:angles-added"), Key("4.55", RIGHT),
        "polar-distance", "d",
        {"r_1": "2.500 m", "phi_1": "30.0°", "r_2": "3.800 m", "phi_2": "120.0°"},
    ),
    Entry(
        "speeding-way", "UP1 m58285, 1495e8a 2022-02-04, 0d5adbb 2022-09-16",
        "A sledge moves straight ahead at {v_0}. It then speeds up with a constant acceleration "
        "of {a} for {t}. What distance does it cover in this time?",
        "m", 525.0, "initial speed dropped",
        Key("375", WRONG, "slip:initial-speed-dropped"), Key("525", RIGHT),
        "speeding-up", "x",
        {"v_0": "30 m/s", "a": "30 m/s²", "t": "5 s"},
    ),
    Entry(
        "speeding-end", "UP1 m58285, 1495e8a 2022-02-04, 0d5adbb 2022-09-16",
        "A sledge moves straight ahead at {v_0}. It then speeds up with a constant acceleration "
        "of {a} for {t}. What is its speed at the end?",
        "m/s", 180.0, "initial speed dropped",
        Key("150", WRONG, "slip:initial-speed-dropped"), Key("180", RIGHT),
        "speeding-up", "v",
        {"v_0": "30 m/s", "a": "30 m/s²", "t": "5 s"},
    ),
    Entry(
        "lift-cable", "UP1 m58719, 0928999 2022-09-15",
        "A lift car with a mass of {m} is pulled up through a height of {h} at constant speed. "
        "The friction force in the guide rails is {f}. How much work does the cable do? Take the "
        "free-fall acceleration to be {g}.",
        "kJ", 592.0, "another free-fall acceleration",
        Key("593", CONSTANT), Key("592", RIGHT),
        "lift-work", "W_c",
        {"m": "1500 kg", "h": "40.0 m", "f": "100 N", "g": "9.80 m/s²"},
    ),
    Entry(
        "lift-gravity", "UP1 m58719, 0928999 2022-09-15",
        "A lift car with a mass of {m} is pulled up through a height of {h} at constant speed. "
        "The friction force in the guide rails is {f}. How much work does gravity do? Take the "
        "free-fall acceleration to be {g}.",
        "kJ", -588.0, "another free-fall acceleration",
        Key("-589", CONSTANT), Key("-588", RIGHT),
        "lift-work", "W_g",
        {"m": "1500 kg", "h": "40.0 m", "f": "100 N", "g": "9.80 m/s²"},
    ),
    Entry(
        "spring", "UP1 m58362, aaf73cc 2022-09-15",
        "A load with a mass of {m} is let go from rest at a height of {h} above the upper end of "
        "an upright spring with a spring constant of {k}. What is the greatest compression of the "
        "spring? Take the free-fall acceleration to be {g}.",
        "cm", 56.893, "the last fall counted with the wrong sign",
        Key("44.3", WRONG, "slip:last-fall-subtracted"), Key("56.9", RIGHT),
        "drop-on-spring", "x",
        {"k": "1.40e4 N/m", "m": "90.0 kg", "h": "2.00 m", "g": "9.80 m/s²"},
    ),
    Entry(
        "beats", "UP1 m58380, 9c94a75 2022-11-09",
        "Two strings are {L} long, fixed at both ends, and have a mass per length of {mu}. The "
        "tension of the slack string is {F_1}, that of the tight string is {F_2}. Both sound in "
        "the harmonic of number {n}. What is the frequency of the beats?",
        "Hz", 13.8703, "arithmetic",
        Key("15.00", WRONG), Key("13.9", RIGHT),
        "string-beats", "f_b",
        {"F_1": "120 N", "F_2": "130 N", "mu": "0.0065 kg/m", "L": "2.00 m", "n": "10"},
    ),
    Entry(
        "thermometer", "UP2 m58389, ec6ddeb 2025-10-01",
        "The bulb of a thermometer has a volume of {V}, and the diameter of the bore is {d}. The "
        "volume expansion of the liquid is {b}, that of the glass is {b_g}. By how much does the "
        "liquid rise when the temperature rises by {T}?",
        "cm", 0.8991, "sign of a correction",
        Key("1.11", WRONG, "slip:linear-and-added"), Key("0.9", RIGHT),
        "thermometer-bore", "x",
        {"V": "0.780 cm³", "d": "0.130 mm", "b": "1.8e-4 1/K", "b_g": "2.7e-5 1/K", "T": "1.00 K"},
    ),
    Entry(
        "entropy", "UP2 m58408, ec824fd 2025-11-18",
        "A piece of metal with a mass of {m}, a specific heat of {c} and a temperature of {T_m} "
        "is dropped into {m_w} of water at {T_w}. By how much does the whole entropy change? "
        "Water has a specific heat of {c_w}.",
        "J/K", 79.63, "arithmetic",
        Key("82", WRONG), Key("80", RIGHT),
        "hot-metal-in-water", "S",
        {"m": "0.50 kg", "c": "900 J/(kg K)", "T_m": "250 °C", "m_w": "1.0 kg", "T_w": "20 °C",
         "c_w": "4186 J/(kg K)"},
    ),
    Entry(
        "wires", "UP2 m58462, f1731e5 2022-06-08",
        "Two long straight wires run parallel to each other at a distance of {d}. The current in "
        "the first wire is {I_1}, the current in the second wire is {I_2} in the same direction. "
        "What is the size of the force on each metre of wire?",
        "N/m", 2e-05, "the same current used twice",
        Key("8e-6", WRONG, "slip:same-current-twice"), Key("2e-5", RIGHT),
        "parallel-wires", "q",
        {"I_1": "2.0 A", "I_2": "5.0 A", "d": "10 cm"},
    ),
    Entry(
        "coefficient", "UP2 m58731, b7aa0cc 2023-01-17",
        "The resistance of a coil increases by {p} when its temperature rises from {T_1} at first "
        "to {T_2} at the end. What is the temperature coefficient of the resistance?",
        "1/K", 0.005, "arithmetic",
        Key("0.006", WRONG), Key("0.005", RIGHT),
        "temperature-coefficient", "a",
        {"p": "40.0 %", "T_1": "20.0 °C", "T_2": "100.0 °C"},
    ),
    Entry(
        "glasses", "UP3 m58512, b9f67a3 2024-12-02",
        "Red light falls at an angle of incidence of {t_1} on a first glass with an index of "
        "{n_1}. A second glass has an index of {n_2} for blue light. At which angle of incidence "
        "on the second glass is the blue light refracted at the same angle as the red?",
        "°", 71.34, "wrong index from a table",
        Key("72.8", WRONG), Key("71.3", RIGHT),
        "two-glasses", "t_2",
        {"t_1": "55.0°", "n_1": "1.456", "n_2": "1.684"},
    ),
    Entry(
        "contraction", "UP3 m58572, a57887e 2025-09-18",
        "A ship has a length of {L_0} at rest. As seen in flight from a mark, its length is {L}. "
        "What is its speed as a share of the speed of light?",
        "", 0.968246, "a square forgotten; its last digit is off as well",
        Key("0.867", WRONG), Key("0.968", RIGHT),
        "length-contraction", "b",
        {"L_0": "100 m", "L": "25.0 m"},
    ),
    Entry(
        "uranium-235", "UP3 m58608, e0f03b1 2026-04-23",
        "A nucleus with {A} nucleons has a mass defect of {D}. What is the binding energy of each "
        "nucleon?",
        "MeV", 7.5909, "parts swapped",
        Key("7.570", WRONG), Key("7.591", RIGHT),
        "nucleus-mass-defect", "e",
        {"D": "1.915056 u", "A": "235"},
    ),
    Entry(
        "uranium-238", "UP3 m58608, e0f03b1 2026-04-23",
        "A nucleus with {A} nucleons has a mass defect of {D}. What is the binding energy of each "
        "nucleon?",
        "MeV", 7.5701, "parts swapped",
        Key("7.591", WRONG), Key("7.570", RIGHT),
        "nucleus-mass-defect", "e",
        {"D": "1.934192 u", "A": "238"},
    ),
    Entry(
        "newton", "UP1 m58297, 2df46be, 7d5cb7b",
        "A wagon with a mass of {m} is at rest on level track. The net force on it is {F}. What "
        "is its acceleration?",
        "m/s^2", 0.7639, "a misprint brought in by a correction",
        Key("70.639", WRONG), Key("0.7639", RIGHT),
        "wagon-push", "a",
        {"F": "763.9 N", "m": "1000.0 kg"},
    ),
    Entry(
        "sulfate", "Chem m68811, 5c0919f 2023-11-08",
        "A salt of two ions has a solubility product of {K}. What is its solubility in a solution "
        "in which the concentration of the common ion is {c}?",
        "mol/L", 1.4248e-09, "a solubility product from another table",
        Key("3.03e-7", WRONG), Key("1.42e-9", RIGHT),
        "common-ion", "s",
        {"K": "1.08e-10 mol²/L²", "c": "0.0758 mol/L"},
    ),
    Entry(
        "propane", "Chem m68727, 67c437d 2022-08-05",
        "A stove burns {m} of propane completely to carbon dioxide and water. Each litre of air "
        "holds {o} of oxygen. What volume of air is needed?",
        "L", 329.84, "a factor applied again",
        Key("1570", WRONG, "slip:share-again"), Key("330", RIGHT),
        "propane-air", "V",
        {"m": "25.0 g", "o": "0.275 g/L"},
    ),
    Entry(
        "equilibrium", "Chem m68798, 04b4b80 2023-08-29",
        "A reaction has {n_r} molecules of gas among its reactants and {n_p} among its products. "
        "At {T} its equilibrium constant is {K_p}, with pressures in atmospheres. What is its "
        "equilibrium constant with concentrations in moles per litre?",
        "", 5.309e-39, "273 for 273.15, to the tenth power",
        Key("5.34e-39", CONSTANT), Key("5.31e-39", RIGHT),
        "pressure-to-concentration", "K_c",
        {"K_p": "4.08e-25", "n_r": "0", "n_p": "10", "T": "25 °C"},
    ),
)  # fmt: skip

# Printed to this day, so that nobody can have fitted a checker to a correction.
STANDING = (
    Entry(
        "grating-place", "UP3 Example 4.5, m62592",
        "Light falls at right angles on a grating whose slits are {d} apart. On a screen at a "
        "distance of {L}, the spectrum of first order reaches from the shortest wavelength, "
        "{l_1}, to the longest wavelength, {l_2}. How far from the middle is the shortest "
        "wavelength?",
        "m", 0.82163, "arithmetic",
        Key("0.815", WRONG), None,
        "grating-screen", "y_1",
        {"d": "1.00 µm", "L": "2.00 m", "l_1": "380 nm", "l_2": "760 nm"},
    ),
    Entry(
        "grating-width", "UP3 Example 4.5, m62592",
        "Light falls at right angles on a grating whose slits are {d} apart. On a screen at a "
        "distance of {L}, the spectrum of first order reaches from the shortest wavelength, "
        "{l_1}, to the longest wavelength, {l_2}. What is the width of the spectrum?",
        "m", 1.5171, "carried on",
        Key("1.523", WRONG), None,
        "grating-screen", "w",
        {"d": "1.00 µm", "L": "2.00 m", "l_1": "380 nm", "l_2": "760 nm"},
    ),
    Entry(
        "waiting-statistic", "Stat m47019 element-932a",
        "Waiting times: {x}. Test the claim that their mean is {m_0} against the "
        "alternative that it is another, at a level of {a}. What is the test statistic?",
        "", -1.120048, "a neighbour's answer pasted in; it was -1.12 until a1ccad7",
        Key("-1.13", WRONG), Key("-1.12", RIGHT),
        "one-sample-t", "t",
        {"x": "12, 4, 15, 3, 11, 8, 6, 8 min", "m_0": "10 min", "a": "5 %"},
    ),
    Entry(
        "waiting-p", "Stat m47019 element-932a",
        "Waiting times in minutes: 12, 4, 15, 3, 11, 8, 6, 8. Test the claim that their mean is "
        "10 min against the alternative that it is another. What is the p value?",
        "", 0.299646, "a neighbour's answer pasted in; it was 0.300 until a1ccad7",
        Key("0.1299", UNCHECKED), Key("0.300", UNCHECKED),
    ),
    Entry(
        "edge-time", "UP1 m58358 fs-id1170960013224",
        "A ball leaves the edge of a level table with a horizontal velocity of {v_0} and drops "
        "{h} to the floor. What is the time of fall? Take the free-fall acceleration to be {g}.",
        "s", 0.55328, "it was 0.55 s before",
        Key("0.17", WRONG), Key("0.55", RIGHT),
        "level-launch", "t",
        {"v_0": "3.28 m/s", "h": "1.5 m", "g": "9.80 m/s²"},
    ),
    Entry(
        "edge-distance", "UP1 m58358 fs-id1170960013224",
        "A ball leaves the edge of a level table with a horizontal velocity of {v_0} and drops "
        "{h} to the floor. At which horizontal distance from the edge does it land? Take the "
        "free-fall acceleration to be {g}.",
        "m", 1.8148, "it was 1.81 m before",
        Key("1.57", WRONG), Key("1.81", RIGHT),
        "level-launch", "x",
        {"v_0": "3.28 m/s", "h": "1.5 m", "g": "9.80 m/s²"},
    ),
    Entry(
        "piston", "UP2 m58401 fs-id1172096052198",
        "Gas at a constant pressure of {p} pushes a round piston with a diameter of {d} outwards "
        "through a stroke of {s}. What is the work done on the piston?",
        "J", 35.343, "the number is missing in print",
        Key("", DEFECT), Key("35.3", RIGHT),
        "piston-work", "W",
        {"d": "2.50 cm", "s": "30.0 cm", "p": "2.4e5 Pa"},
    ),
)  # fmt: skip

# Worked examples whose answers are right as printed, or right with the rounding they show.
EXAMPLES = (
    Entry(
        "calorimetry", "UP2 Example 1.7, m58387",
        "A piece of metal with a mass of {m}, a specific heat of {c} and a temperature of {T_m} "
        "is dropped into {m_w} of water at {T_w}. What is the final temperature? Water has a "
        "specific heat of {c_w}.",
        "°C", 59.0912, "",
        Key("59.1", RIGHT), None,
        "hot-metal-in-water", "T",
        {"m": "0.500 kg", "c": "900 J/(kg K)", "T_m": "150 °C", "m_w": "0.250 kg",
         "T_w": "20.0 °C",
         "c_w": "4186 J/(kg K)"},
    ),
    Entry(
        "rods-joint", "UP2 Example 1.11, m58389",
        "Two round rods with a diameter of {d}, each {L} long, are joined end to end. The "
        "conductivity of the rod at the hot end is {k_1}, that of the rod at the cold end is "
        "{k_2}. The hot end is at {T_h}, the cold end at {T_c}. What is the temperature where the "
        "rods meet?",
        "°C", 41.3333, "",
        Key("41.3", RIGHT), None,
        "rods-in-series", "T",
        {"k_1": "80 W/(m K)", "k_2": "220 W/(m K)", "d": "1.00 cm", "L": "25.0 cm",
         "T_h": "100 °C", "T_c": "20 °C"},
    ),
    Entry(
        "rods-flow", "UP2 Example 1.11, m58389",
        "Two round rods with a diameter of {d}, each {L} long, are joined end to end. The "
        "conductivity of the rod at the hot end is {k_1}, that of the rod at the cold end is "
        "{k_2}. The hot end is at {T_h}, the cold end at {T_c}. What is the heat flow?",
        "W", 1.47445, "",
        Key("1.47", RIGHT), None,
        "rods-in-series", "P",
        {"k_1": "80 W/(m K)", "k_2": "220 W/(m K)", "d": "1.00 cm", "L": "25.0 cm",
         "T_h": "100 °C", "T_c": "20 °C"},
    ),
    Entry(
        "carnot", "UP2 Example 4.2, m58406",
        "An ideal heat engine with an efficiency of {eta} does {W} of work in each cycle. Its "
        "cold side is at a temperature of {T_c}. What is the temperature of the hot side?",
        "K", 750.0, "",
        Key("750", RIGHT), None,
        "carnot-engine", "T_h",
        {"eta": "0.60", "T_c": "300 K", "W": "300 J"},
    ),
    Entry(
        "carbon", "UP3 Example 10.6, m58609",
        "The activity of fresh material is {A_0}, the activity of a sample is {A}. The half-life "
        "is 5730 yr. What is the age of the sample?",
        "yr", 1844.65, "rounded logarithms",
        Key("1844", ROUNDED), None,
        "decay-dating", "t",
        {"A_0": "100 1/min", "A": "80 1/min"},
    ),
    Entry(
        "scrolls", "Chem Example 21.6, m68854",
        "The activity of fresh material is {A_0}, the activity of a sample is {A}. The half-life "
        "is 5730 yr. What is the age of the sample?",
        "yr", 1905.66, "",
        Key("1.91e3", RIGHT), None,
        "decay-dating", "t",
        {"A_0": "13.6 1/min", "A": "10.8 1/min"},
    ),
    Entry(
        "helium", "Chem Example 21.2, m68851",
        "A nucleus with {A} nucleons has a mass defect of {D}. What is the binding energy of the "
        "nucleus?",
        "MeV", 28.4106, "",
        Key("28.4", RIGHT), None,
        "nucleus-mass-defect", "E",
        {"D": "0.0305 u", "A": "4"},
    ),
    Entry(
        "plating", "Chem Example 17.10, m68827",
        "A surface of {S} is to be coated with a layer of chromium with a thickness of {h} by a "
        "current of {I}. The density of the metal is {rho}, its molar mass {M}, and the charge "
        "number of the ion is {z}. What time does it take?",
        "s", 39472.5, "",
        Key("3.95e4", RIGHT), None,
        "electroplating", "t",
        {"h": "0.010 mm", "S": "3.3 m²", "I": "33.46 A", "rho": "7.19 g/cm³", "M": "51.996 g/mol",
         "z": "3"},
    ),
    Entry(
        "growth", "Stat Example 9.16, m47019",
        "Waiting times: {x}. Test the claim that their mean is {m_0} against the "
        "alternative that it is another, at a level of {a}. What is the test statistic?",
        "", 1.978141, "",
        Key("1.9781", RIGHT), None,
        "one-sample-t", "t",
        {"x": "65, 65, 70, 67, 66, 63, 63, 68, 72, 71 min", "m_0": "65 min", "a": "5 %"},
    ),
    Entry(
        "crate-friction", "UP1 Example 6.10, m58304",
        "A crate with a mass of {m} stands at rest on a level floor. It is pulled with {F} at an "
        "angle of {phi} to the floor. The coefficient of static friction is {mu_s}, the "
        "coefficient of kinetic friction is {mu_k}. What is the size of the friction force? Take "
        "the free-fall acceleration to be {g}.",
        "N", 117.6, "",
        Key("118", RIGHT), None,
        "pulled-crate", "f",
        {"m": "20.0 kg", "F": "180 N", "phi": "0°", "mu_s": "0.700", "mu_k": "0.600",
         "g": "9.80 m/s²"},
    ),
    Entry(
        "crate-acceleration", "UP1 Example 6.10, m58304",
        "A crate with a mass of {m} stands at rest on a level floor. It is pulled with {F} at an "
        "angle of {phi} to the floor. The coefficient of static friction is {mu_s}, the "
        "coefficient of kinetic friction is {mu_k}. What is the size of the acceleration? Take "
        "the free-fall acceleration to be {g}.",
        "m/s^2", 3.12, "friction rounded to 118 N",
        Key("3.10", ROUNDED), None,
        "pulled-crate", "a",
        {"m": "20.0 kg", "F": "180 N", "phi": "0°", "mu_s": "0.700", "mu_k": "0.600",
         "g": "9.80 m/s²"},
    ),
    Entry(
        "terminal", "UP1 Example 6.17, m58306",
        "A diver with a mass of {m} falls straight down through still air with a density of "
        "{rho}. The area across the fall is {A} and the drag coefficient is {C}. Take the "
        "free-fall acceleration to be {g}. What is the terminal speed?",
        "m/s", 44.350, "", Key("44", RIGHT), None,
        "terminal-speed", "v",
        {"m": "85 kg", "A": "0.70 m²", "C": "1.0", "rho": "1.21 kg/m³", "g": "9.80 m/s²"},
    ),
    Entry(
        "resonance", "UP2 Example 15.4, m58492",
        "A coil with an inductance of {L}, a capacitor of {C} and a resistor of {R} are in series "
        "with a source of alternating voltage with an amplitude of {V}. What is the frequency at "
        "resonance?",
        "Hz", 102.734, "", Key("103", RIGHT), None,
        "series-resonance", "f",
        {"L": "3.00 mH", "C": "800 µF", "R": "4.00 Ω", "V": "0.100 V"},
    ),
    Entry(
        "resonance-current", "UP2 Example 15.4, m58492",
        "A coil with an inductance of {L}, a capacitor of {C} and a resistor of {R} are in series "
        "with a source of alternating voltage with an amplitude of {V}. What is the amplitude of "
        "the current at resonance?",
        "A", 0.025, "", Key("2.50e-2", RIGHT), None,
        "series-resonance", "I",
        {"L": "3.00 mH", "C": "800 µF", "R": "4.00 Ω", "V": "0.100 V"},
    ),
    Entry(
        "quality", "UP2 Example 15.5, m58492",
        "A coil with an inductance of {L}, a capacitor of {C} and a resistor of {R} are in series "
        "with a source of alternating voltage with an amplitude of {V}. What is the quality "
        "factor?",
        "", 223.607, "", Key("224", RIGHT), None,
        "series-resonance", "Q",
        {"L": "4.0 mH", "C": "2.0 µF", "R": "0.200 Ω", "V": "4.00 V"},
    ),
    Entry(
        "resonance-power", "UP2 Example 15.5, m58492",
        "A coil with an inductance of {L}, a capacitor of {C} and a resistor of {R} are in series "
        "with a source of alternating voltage with an amplitude of {V}. What is the average power "
        "at resonance?",
        "W", 40.0, "", Key("40.0", RIGHT), None,
        "series-resonance", "P",
        {"L": "4.0 mH", "C": "2.0 µF", "R": "0.200 Ω", "V": "4.00 V"},
    ),
    Entry(
        "hydroxide", "Chem Example 15.4, m68811",
        "A salt gives one cation and two anions. Its solubility product is {K} and its molar mass "
        "{M}. What is its solubility in water?",
        "mol/L", 0.00687534, "", Key("6.9e-3", RIGHT), None,
        "salt-one-to-two", "s",
        {"K": "1.3e-6 mol³/L³", "M": "74.09 g/mol"},
    ),
    Entry(
        "ladder-wall", "UP1 Example 12.5, m58341",
        "A uniform ladder with a weight of {W} and a length of {L} leans against a smooth wall at "
        "an angle of {theta} to the floor. What is the force of the wall?",
        "N", 150.711, "", Key("150.7", RIGHT), None,
        "ladder-on-wall", "N",
        {"W": "400 N", "L": "5.0 m", "theta": "53°"},
    ),
    Entry(
        "ladder-friction", "UP1 Example 12.5, m58341",
        "A uniform ladder with a weight of {W} and a length of {L} leans against a smooth wall at "
        "an angle of {theta} to the floor. What is the least coefficient of static friction "
        "between ladder and floor?",
        "", 0.376777, "", Key("0.377", RIGHT), None,
        "ladder-on-wall", "mu",
        {"W": "400 N", "L": "5.0 m", "theta": "53°"},
    ),
    Entry(
        "rod-stress", "UP1 Example 12.8, m58342",
        "A load with a mass of {m} hangs from a rod with a cross-section of {A}, a length of {L} "
        "and an elastic modulus of {Y}. What is the tensile stress in the rod? Take the free-fall "
        "acceleration to be {g}.",
        "MPa", 179.667, "", Key("1.8e2", RIGHT), None,
        "hanging-rod", "s",
        {"m": "550 kg", "A": "0.30 cm²", "L": "2.0 m", "Y": "200 GPa", "g": "9.80 m/s²"},
    ),
    Entry(
        "rod-stretch", "UP1 Example 12.8, m58342",
        "A load with a mass of {m} hangs from a rod with a cross-section of {A}, a length of {L} "
        "and an elastic modulus of {Y}. By how much does the rod stretch? Take the free-fall "
        "acceleration to be {g}.",
        "mm", 1.79667, "", Key("1.8", RIGHT), None,
        "hanging-rod", "x",
        {"m": "550 kg", "A": "0.30 cm²", "L": "2.0 m", "Y": "200 GPa", "g": "9.80 m/s²"},
    ),
    Entry(
        "pendulum", "UP1 Example 15.3, m58364",
        "A simple pendulum with a length of {L} has a period of {t}. Another pendulum has a length "
        "of {L_2}. What is the free-fall acceleration?",
        "m/s^2", 9.828148, "", Key("9.8281", RIGHT), None,
        "pendulum-gravity", "g",
        {"L": "75.000 cm", "t": "1.7357 s", "L_2": "100.0 cm"},
    ),
    Entry(
        "horn-coming", "UP1 Example 17.8, m58381",
        "A horn with a frequency of {f} moves past a listener with a speed of {v_s}. The speed of "
        "sound is {c}. Which frequency is heard while it comes closer?",
        "Hz", 167.213, "", Key("167", RIGHT), None,
        "doppler-passing", "f_1",
        {"f": "150 Hz", "v_s": "35.0 m/s", "c": "340 m/s"},
    ),
    Entry(
        "horn-going", "UP1 Example 17.8, m58381",
        "A horn with a frequency of {f} moves past a listener with a speed of {v_s}. The speed of "
        "sound is {c}. Which frequency is heard while it goes away?",
        "Hz", 136.0, "", Key("136", RIGHT), None,
        "doppler-passing", "f_2",
        {"f": "150 Hz", "v_s": "35.0 m/s", "c": "340 m/s"},
    ),
    Entry(
        "adiabat-temperature", "UP2 Example 3.7, m58401",
        "At first a volume of {V_1} holds an ideal gas at a pressure of {p_1} and a temperature of "
        "{T_1}; the ratio of its specific heats is {k}. It is compressed to a volume of {V_2} at "
        "the end without exchange of heat. What is the temperature at the end?",
        "K", 599.968, "", Key("600", RIGHT), None,
        "adiabatic-compression", "T_2",
        {"k": "1.40", "p_1": "1.00e5 Pa", "V_1": "240 cm³", "T_1": "293 K", "V_2": "40 cm³"},
    ),
    Entry(
        "adiabat-work", "UP2 Example 3.7, m58401",
        "At first a volume of {V_1} holds an ideal gas at a pressure of {p_1} and a temperature of "
        "{T_1}; the ratio of its specific heats is {k}. It is compressed to a volume of {V_2} at "
        "the end without exchange of heat. What is the work done by the gas?",
        "J", -62.860, "", Key("-63", RIGHT), None,
        "adiabatic-compression", "W",
        {"k": "1.40", "p_1": "1.00e5 Pa", "V_1": "240 cm³", "T_1": "293 K", "V_2": "40 cm³"},
    ),
    Entry(
        "redshift", "UP3 Example 5.11, m58570",
        "A source flies straight away with a speed that is a share of {b} of the speed of light. "
        "The wavelength at the source is {l_s}. What is the wavelength at the receiver?",
        "m", 1.69540, "", Key("1.70", RIGHT), None,
        "redshift", "l",
        {"b": "0.825", "l_s": "0.525 m"},
    ),
    Entry(
        "gas-ideal", "Chem Example 9.24, m68759",
        "A vessel with a volume of {V} holds {n} of a gas at {T}. Its van der Waals constants are "
        "{a} and {b}. What is the pressure by the law of the ideal gas?",
        "atm", 33.536, "", Key("33.5", RIGHT), None,
        "van-der-waals", "p_0",
        {"V": "4.25 L", "n": "3.46 mol", "T": "502 K", "a": "3.59 L²·atm/mol²",
         "b": "0.0427 L/mol"},
    ),
    Entry(
        "gas-real", "Chem Example 9.24, m68759",
        "A vessel with a volume of {V} holds {n} of a gas at {T}. Its van der Waals constants are "
        "{a} and {b}. What is the pressure by the van der Waals equation?",
        "atm", 32.364, "", Key("32.4", RIGHT), None,
        "van-der-waals", "p",
        {"V": "4.25 L", "n": "3.46 mol", "T": "502 K", "a": "3.59 L²·atm/mol²",
         "b": "0.0427 L/mol"},
    ),
    Entry(
        "vaporisation", "Chem Example 10.7, m68768",
        "The vapour pressure of a liquid is {p_1} at the lower temperature, {T_1}, and {p_2} at "
        "the higher temperature, {T_2}. It is to boil under {p_3}. What is its enthalpy of "
        "vaporisation?",
        "kJ/mol", 33.763, "", Key("33.8", RIGHT), None,
        "vapour-pressure", "H",
        {"p_1": "10.0 kPa", "T_1": "307.2 K", "p_2": "100.0 kPa", "T_2": "372.0 K",
         "p_3": "50.0 kPa"},
    ),
    Entry(
        "osmosis", "Chem Example 11.10, m68783",
        "A solution has a concentration of {c} of a solute, each unit of which gives {i} particle, "
        "a density of {rho} and a temperature of {T}. What is its osmotic pressure?",
        "atm", 7.6313, "", Key("7.6", RIGHT), None,
        "osmotic-pressure", "P",
        {"c": "0.30 mol/L", "i": "1", "rho": "1.00 g/cm³", "T": "310 K"},
    ),
    Entry(
        "share-above", "Stat Example 6.8, m46973",
        "Masses are normally distributed with a mean of {mu} and a standard deviation of {s}. The "
        "limit is {x}, and {q} lie below another value. What share lies above the limit?",
        "", 0.344578, "", Key("0.3446", RIGHT), None,
        "normal-share", "p",
        {"mu": "63 g", "s": "5 g", "x": "65 g", "q": "90 %"},
    ),
    Entry(
        "share-quantile", "Stat Example 6.8, m46973",
        "Masses are normally distributed with a mean of {mu} and a standard deviation of {s}. The "
        "limit is {x}. Below which value does a share of {q} lie?",
        "g", 69.40776, "", Key("69.4", RIGHT), None,
        "normal-share", "x_q",
        {"mu": "63 g", "s": "5 g", "x": "65 g", "q": "90 %"},
    ),
    Entry(
        "proportion-low", "Stat Example 8.11, m46999",
        "Of a sample of {n}, {k} say yes. Find the confidence interval for the proportion at a "
        "level of {C}; later a margin of error of {e_2} is wanted. What is the lower end of the "
        "interval?",
        "", 0.563963, "", Key("0.564", RIGHT), None,
        "proportion-interval", "low",
        {"n": "500", "k": "300", "C": "90 %", "e_2": "3 %"},
    ),
    Entry(
        "proportion-p", "Stat Example 9.18, m47019",
        "In a sample of {n}, {k} say yes. Test the claim that the proportion is {p_0} against the "
        "alternative that it is another, at a level of {a}. What is the p value?",
        "", 0.7215797, "", Key("0.7216", RIGHT), None,
        "proportion-test", "p",
        {"n": "150", "k": "43", "p_0": "30 %", "a": "5 %"},
    ),
    Entry(
        "fit-statistic", "Stat Example 11.4, m47064",
        "The claimed shares are {q_1} of the first kind, {q_2} of the second, and the rest of the "
        "third. A sample has {o_1} of the first kind, {o_2} of the second and {o_3} of the third. "
        "The level of significance is {a}. What is the test statistic?",
        "", 2.14, "", Key("2.14", RIGHT), None,
        "goodness-of-fit", "x",
        {"q_1": "25 %", "q_2": "50 %", "o_1": "20", "o_2": "57", "o_3": "23", "a": "5 %"},
    ),
    Entry(
        "fit-p", "Stat Example 11.4, m47064",
        "The claimed shares are {q_1} of the first kind, {q_2} of the second, and the rest of the "
        "third. A sample has {o_1} of the first kind, {o_2} of the second and {o_3} of the third. "
        "The level of significance is {a}. What is the p value?",
        "", 0.3430085, "", Key("0.3430", RIGHT), None,
        "goodness-of-fit", "p",
        {"q_1": "25 %", "q_2": "50 %", "o_1": "20", "o_2": "57", "o_3": "23", "a": "5 %"},
    ),
    Entry(
        "fit-line", "Stat Example 12.11, m47105 (data of 12.6)",
        "A first mark x and a second mark y were noted in pairs. First marks: {x}. Second marks: "
        "{y}. A least-squares line predicts the second mark from the first. Which second mark does "
        "the line predict for a first mark of {x_0}?",
        "", 145.0947, "slope and intercept found in full and rounded to two decimals",
        Key("145.27", ROUNDED), None,
        "regression-line", "y_0",
        {"x": "65, 67, 71, 71, 66, 75, 67, 70, 71, 69, 69",
         "y": "175, 133, 185, 163, 126, 198, 153, 163, 159, 151, 159", "x_0": "66"},
    ),
)  # fmt: skip

ALL = (*ENTRIES, *STANDING, *EXAMPLES)


def keys(entries: Iterable[Entry], which: str) -> Iterator[tuple[Entry, Key]]:
    """The entries that have such a key, with it; `which` is "printed" or "corrected"."""
    for entry in entries:
        key = getattr(entry, which)
        if key is not None:
            yield entry, key


def write_csv(path: Path, entries: Iterable[Entry], which: str) -> int:
    """A table as a stranger would keep it: id, question, answer, unit. Returns its rows."""
    rows = [(e.name, e.question, key.text, e.unit) for e, key in keys(entries, which)]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("id", "question", "answer", "unit"))
        writer.writerows(rows)
    return len(rows)


def item(entry: Entry, key: Key) -> Item:
    """One number to enter, accepted within half a unit of the last place of its key."""
    value = float(key.text)
    mantissa, _, exponent = key.text.partition("e")
    decimals = len(mantissa.partition(".")[2])
    place = 10.0 ** (int(exponent or 0) - decimals)
    reach = 0.5 * place
    number = NumberEntry(
        "RESPONSE", (), value, key.text, f"{key.text} {entry.unit}".strip(), entry.unit,
        Tolerance(value - reach, value + reach, "half a unit of the last place"), 1.0,
        figures=len(mantissa.lstrip("-").replace(".", "").lstrip("0")),
    )  # fmt: skip
    return Item(entry.name, "A question", "en", (Paragraph((entry.question,)),), (number,))


def write_qti(path: Path, entries: Iterable[Entry], which: str, name: str = "qti-3.0") -> int:
    """A package with an item for each key; one without a number is left out. Returns its items."""
    items = [item(e, key) for e, key in keys(entries, which) if key.text]
    pools = tuple(Pool(one.identifier, one.title, 1, 1) for one in items)
    write_bank(BankInfo("keys", "Keys in print", "en", pools), items, path, name)
    return len(items)


def write_binding(path: Path, entries: Iterable[Entry]) -> int:
    """A file that says which number of a question is which given. Returns how many it reads."""
    known = [entry for entry in entries if entry.family]
    lines = ["bindings:"]
    for entry in known:
        lines.append(f"  - family: {entry.family}")
        lines.append(f"    wording: {json.dumps(entry.asked, ensure_ascii=False)}")
        lines.append(f"    answers: [{{find: {entry.unknown}}}]")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return len(known)


def fits(entry: Entry, key: Key) -> bool:
    """Whether a printed key can stand for `ours`, half a unit in its last place or less away."""
    if not key.text:
        return False
    mantissa, _, exponent = key.text.partition("e")
    place = 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))
    if "." not in mantissa:  # zeros at the end of a whole number may be fillers
        digits = mantissa.lstrip("-").rstrip("0") or "0"
        place *= 10.0 ** (len(mantissa.lstrip("-")) - len(digits))
    away = abs(entry.ours - float(key.text))
    return math.isfinite(away) and away <= 0.5000001 * place
