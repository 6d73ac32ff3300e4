# ruff: noqa: E501
# fmt: off
"""Questions in the terms that textbooks use, not those of the families: Young's modulus, perigee,
emf, work function, threshold, z-score. Stories and numbers are invented."""

from __future__ import annotations

from math import asin, cos, log, log10, pi, sin, sqrt, tan

from tests.audit.trial.matter import MATTER
from tests.audit.trial.table import Asked, Part, deg, sig, swapped

G = 9.81
R, RL = 8.314462618, 0.082057


def _wire() -> Asked:
    m, a, length, y, g = 85.0, 2.0e-6, 4.2, 200e9, 9.8
    s = m * g / a
    return Asked(
        "steel",
        "hanging-rod",
        "An {m} climber dangles from a vertical steel wire. The unstretched wire is {L} long and its cross-sectional area"
        " is {A}. Young's modulus for steel is {Y}; g = {g}.",
        {"m": "85.0-kg", "L": "4.20 m", "A": "2.00 mm²", "Y": "2.00 × 10^11 N/m²", "g": "9.80 m/s²"},
        (
            Part("(a) Find the stress in the wire.", "Pa", "s", s, wrong=[("unit|power", s / 1000), ("factor|slip|given", m / a)]),
            Part("(b) Find the elongation.", "mm", "x", s * length / y * 1000, wrong=[("power-of-ten", s * length / y * 100), ("half-or-double|factor", s * length / y * 2000)]),
        ),
    )


def _satellite() -> Asked:
    h, r, g, m = 1.2e6, 6.37e6, 6.67e-11, 5.98e24
    v = sqrt(g * m / (r + h))
    return Asked(
        "mapping",
        "circular-orbit",
        "A mapping satellite circles our planet at an altitude of {h}. (Earth: radius {R}, mass {M}; G = {G}.)",
        {"h": "1200 km", "R": "6.37 × 10⁶ m", "M": "5.98 × 10²⁴ kg", "G": "6.67 × 10⁻¹¹ N·m²/kg²"},
        (
            Part("Determine its orbital speed.", "m/s", "v", v, wrong=[("slip|given|term", sqrt(g * m / h)), ("power-of-ten|answer", v / 100)], rounded=[]),
            Part("Determine the time for one revolution.", "min", "T", 2 * pi * (r + h) / v / 60, wrong=[("answer-unit|unit", 2 * pi * (r + h) / v / 3600), ("half|factor", pi * (r + h) / v / 60)], rounded=[2 * pi * (r + h) / sig(v, 3) / 60]),
        ),
    )


def _perigee() -> Asked:
    hp, ha, r, mu, t = 500.0, 12000.0, 6371.0, 398600.0, 45 * 60.0
    a = (hp + ha) / 2 + r
    e = (ha - hp) / (2 * a)
    m = sqrt(mu / a**3) * t
    ecc = m
    for _ in range(100):
        ecc = m + e * sin(ecc)
    d = a * (1 - e * cos(ecc))
    return Asked(
        "perigee",
        "elliptic-orbit",
        "A spacecraft is on an elliptical path round the Earth, with perigee altitude {h_p} and apogee altitude {h_a}. We look at it {t} after"
        " it went through perigee.",
        {"h_p": "500 km", "h_a": "12 000 km", "t": "45.0 min"},
        (
            Part("How far is it from the Earth's center?", "km", "r", d, figures=4, wrong=[("term|slip|given", d - r), ("digits-swapped", swapped(d, 4, 1))]),
            Part("How fast is it going?", "km/s", "v", sqrt(mu * (2 / d - 1 / a)), wrong=[("slip|term|law|root", sqrt(mu / d)), ("power-of-ten", 10 * sqrt(mu * (2 / d - 1 / a)))]),
        ),
    )


def _table() -> Asked:
    v, h, g = 2.6, 0.82, 9.8
    t = sqrt(2 * h / g)
    return Asked(
        "marble",
        "level-launch",
        "A steel marble rolls along a tabletop at {v_0} and goes over the edge. The tabletop is {h} above the floor, and g is {g}.",
        {"v_0": "260 cm/s", "h": "82.0 cm", "g": "9.80 m/s²"},
        (
            Part("How long does it take to reach the floor?", "s", "t", t, wrong=[("half|factor|slip", t / sqrt(2)), ("squared|root|law|power", t * t)], rounded=[]),
            Part("How far from the base of the table does it land?", "m", "x", v * t, wrong=[("power-of-ten|unit", 100 * v * t), ("factor|slip|law|inverse", v / t)], rounded=[2.6 * 0.41]),
        ),
    )


def _kick() -> Asked:
    a, h = 40.0, 1.8
    return Asked(
        "shot",
        "line-throw",
        "An athlete puts the shot. It leaves her hand {h} above the ground with an initial velocity of {v_0} directed {theta} above the horizontal.",
        {"h": "1.80 m", "v_0": "11.5 m/s", "theta": "40.0°"},
        (
            Part("How far does it travel horizontally before it hits the ground?", "m", "x", 11.5 * cos(deg(a)) * (11.5 * sin(deg(a)) + sqrt((11.5 * sin(deg(a))) ** 2 + 2 * G * h)) / G, wrong=[("slip|term|given", 11.5**2 * sin(deg(2 * a)) / G), ("function|complement|slip", 11.5 * sin(deg(a)) * (11.5 * sin(deg(a)) + sqrt((11.5 * sin(deg(a))) ** 2 + 2 * G * h)) / G)]),
            Part("What maximum height does it reach?", "m", "H", h + (11.5 * sin(deg(a))) ** 2 / (2 * G), wrong=[("slip|term|given", (11.5 * sin(deg(a))) ** 2 / (2 * G)), ("half|factor|term", h + (11.5 * sin(deg(a))) ** 2 / G)]),
        ),
    )


def _sprint() -> Asked:
    v, a, t = 7.5, 2.1, 4.0
    return Asked(
        "cyclist",
        "speeding-up",
        "A cyclist riding at an initial velocity of {v_0} accelerates uniformly at {a}. How far does she get in the following {t}?",
        {"v_0": "27.0 km/h", "a": "2.10 m/s²", "t": "4.00 s"},
        (
            Part("", "m", "x", v * t + a * t * t / 2, wrong=[("unit", 27 * t + a * t * t / 2), ("slip|given|term", a * t * t / 2)]),
        ),
    )


def _weights() -> Asked:
    a_, b_, m, g = 2.0, 3.5, 1.0, 9.8
    a = (b_ - a_) * g / (a_ + b_ + m / 2)
    return Asked(
        "machine",
        "atwood-disc",
        "Blocks of mass m1 = {m_1} and m2 = {m_2} are joined by a light string that passes over a pulley. The pulley is a uniform disk of mass"
        " {M} with frictionless bearings, and the string does not slip. The blocks are let go; m2 starts {h} above the floor. Use g = {g}.",
        {"m_1": "2.00 kg", "m_2": "3.50 kg", "M": "1.00 kg", "h": "0.80 m", "g": "9.80 m/s²"},
        (
            Part("What is the magnitude of the acceleration of the blocks?", "m/s²", "a", a, wrong=[("slip|given|term", (b_ - a_) * g / (a_ + b_)), ("slip|half|factor|law", (b_ - a_) * g / (a_ + b_ + m))]),
            Part("How fast is m2 moving just before it hits the floor?", "m/s", "v", sqrt(1.6 * a), wrong=[("half|factor|slip", sqrt(0.8 * a)), ("squared|root", 1.6 * a)], rounded=[]),
        ),
    )


def _elevator() -> Asked:
    m, h, f, g = 1200.0, 25.0, 800.0, 9.8
    return Asked(
        "hoist",
        "lift-work",
        "A loaded freight elevator with a total mass of {m} is raised {h} at constant speed by its cable. A frictional force of {f} opposes the"
        " motion. (g = {g})",
        {"m": "1.20 × 10³ kg", "h": "25.0 m", "f": "800 N", "g": "9.80 m/s²"},
        (
            Part("How much work is done by the cable tension?", "J", "W_c", (m * g + f) * h, wrong=[("slip|term|given", m * g * h), ("power-of-ten", (m * g + f) * h / 1000)]),
            Part("How much work is done by the gravitational force?", "J", "W_g", -m * g * h, wrong=[("sign", m * g * h)]),
        ),
    )


def _trunk() -> Asked:
    m, f, a, s, k, g = 45.0, 230.0, 30.0, 0.45, 0.35, 9.8
    n = m * g - f * sin(deg(a))
    return Asked(
        "trunk",
        "pulled-crate",
        "A trunk of mass {m} is initially at rest on a horizontal floor. The coefficients of friction are {mu_s} (static) and {mu_k} (kinetic). A"
        " worker pulls on a strap with a force of {F} directed {phi} above the horizontal. Let g = {g}.",
        {"m": "45.0 kg", "mu_s": "0.450", "mu_k": "0.350", "F": "230 N", "phi": "30.0°", "g": "9.80 m/s²"},
        (
            Part("What is the normal force on the trunk?", "N", "N", n, wrong=[("slip|term|given|complement", m * g), ("function|slip|complement", m * g - f * cos(deg(a)))]),
            Part("What is the acceleration of the trunk?", "m/s²", "a", (f * cos(deg(a)) - k * n) / m, wrong=[("slip|term|given", (f * cos(deg(a)) - k * m * g) / m), ("slip|given", (f * cos(deg(a)) - s * n) / m)]),
        ),
    )


def _skydiver() -> Asked:
    m, a, c, rho, g = 75.0, 0.6, 1.0, 1.21, 9.8
    v = sqrt(2 * m * g / (rho * c * a))
    return Asked(
        "skydiver",
        "terminal-speed",
        "Find the terminal velocity of a {m} skydiver falling spread-eagled. Take her frontal area as {A}, the drag coefficient as {C}, the air"
        " density as {rho}, and g as {g}.",
        {"m": "75.0-kg", "A": "0.600 m²", "C": "1.00", "rho": "1.21 kg/m³", "g": "9.80 m/s²"},
        (
            Part("", "m/s", "v", v, wrong=[("factor|slip|half", v / sqrt(2)), ("squared|root", v * v), ("given|slip|factor", v / sqrt(g))]),
        ),
    )


def _carts() -> Asked:
    a, b, u, v = 0.5, 0.3, 2.0, -1.0
    w1 = ((a - b) * u + 2 * b * v) / (a + b)
    return Asked(
        "carts",
        "elastic-collision",
        "A {m_1} cart moving at {v_1} to the right makes a head-on elastic collision with a {m_2} cart whose velocity is {v_2} (that is, to the left).",
        {"m_1": "500-g", "v_1": "2.00 m/s", "m_2": "300-g", "v_2": "-1.00 m/s"},
        (
            Part("Find the final velocity of the first cart.", "m/s", "w_1", w1, 2, wrong=[("sign", -w1), ("other", w1 + u - v)]),
            Part("Find the final velocity of the second cart.", "m/s", "w_2", w1 + u - v, wrong=[("digits-swapped", "7.25")]),
        ),
    )


def _clock() -> Asked:
    length, t = 0.65, 1.62
    return Asked(
        "gravity",
        "pendulum-gravity",
        "A geologist sets up a simple pendulum {L} long and finds its period to be {t}.",
        {"L": "65.0 cm", "t": "1.620 s"},
        (
            Part("What is the acceleration due to gravity at that place?", "m/s²", "g", 4 * pi**2 * length / t**2, figures=3, wrong=[("power-of-ten|unit", 100 * 4 * pi**2 * length / t**2), ("half|factor|power|law", 4 * pi * length / t**2)]),
        ),
    )


def _string() -> Asked:
    mu, f, lam = 5.0e-3, 80.0, 0.4
    v = sqrt(f / mu)
    return Asked(
        "rope",
        "string-wave",
        "A sinusoidal wave travels on a rope. The rope has a linear mass density of {mu} and is under a tension of {F}; the wavelength is {L}.",
        {"mu": "5.00 × 10⁻³ kg/m", "F": "80.0 N", "L": "40.0 cm"},
        (
            Part("What is the wave speed?", "m/s", "v", v, wrong=[("squared|root", v * v), ("half|factor", 2 * v)]),
            Part("What is the angular frequency?", "rad/s", "w", 2 * pi * v / lam, wrong=[("other|factor", v / lam), ("slip|inverse|factor|law", 2 * pi * v * lam)], rounded=[2 * pi * sig(v / lam, 3)]),
        ),
    )


def _train() -> Asked:
    f, v, c = 500.0, 30.0, 343.0
    return Asked(
        "whistle",
        "doppler-passing",
        "A train whistle of {f} is sounded while the train travels at {v_s}. The speed of sound is {c}. You are standing beside the track.",
        {"f": "500 Hz", "v_s": "30.0 m/s", "c": "343 m/s"},
        (
            Part("What frequency do you hear as the train approaches?", "Hz", "f_1", f * c / (c - v), wrong=[("other|sign|term", f * c / (c + v)), ("slip|law|inverse", f * (1 + v / c))]),
            Part("What frequency do you hear as it recedes?", "Hz", "f_2", f * c / (c + v), wrong=[("digits-swapped", swapped(f * c / (c + v), 3, 1))]),
        ),
    )


def _leaning() -> Asked:
    w, th = 180.0, 60.0
    n = w / (2 * tan(deg(th)))
    return Asked(
        "leaning",
        "ladder-on-wall",
        "A uniform {L} ladder that weighs {W} rests against a frictionless vertical wall and makes an angle of {theta} with the level ground.",
        {"L": "4.00-m", "W": "180 N", "theta": "60.0°"},
        (
            Part("Find the force exerted by the wall on the ladder.", "N", "N", n, wrong=[("half|factor|slip", 2 * n), ("inverse|function|slip", w * tan(deg(th)) / 2)]),
            Part("Find the minimum coefficient of static friction between ladder and ground.", "", "mu", n / w, wrong=[("inverse", w / n), ("half|factor", 2 * n / w)]),
        ),
    )


def _calorimeter() -> Asked:
    m, c, tm, mw, tw = 0.2, 385.0, 200.0, 0.8, 20.0
    a, b = m * c, mw * 4186
    t = (a * tm + b * tw) / (a + b)
    return Asked(
        "calorimeter",
        "hot-metal-in-water",
        "A {m} copper block ({c}) at {T_m} is put into {m_w} of water at {T_w}. Assume that no heat is exchanged with the surroundings. The specific heat"
        " of water is {c_w}.",
        {"m": "200-g", "c": "385 J/kg·°C", "T_m": "200 °C", "m_w": "800 g", "T_w": "20.0 °C", "c_w": "4186 J/kg·°C"},
        (
            Part("What is the final equilibrium temperature?", "°C", "T", t, wrong=[("digits-swapped", swapped(t, 3, 1)), ("answer-unit", t + 273.15), ("given|slip|law", (tm + tw) / 2)]),
        ),
    )


def _bars() -> Asked:
    k1, k2, d, length, th, tc = 400.0, 50.0, 0.02, 0.2, 90.0, 10.0
    t = (k1 * th + k2 * tc) / (k1 + k2)
    return Asked(
        "bars",
        "rods-in-series",
        "A copper rod and a steel rod, each {L} long and {d} in diameter, are welded end to end and insulated along their sides. The free end of the copper is"
        " kept at {T_h}, that of the steel at {T_c}. The thermal conductivities are {k_1} for copper and {k_2} for steel.",
        {"L": "20.0 cm", "d": "2.00 cm", "T_h": "90.0 °C", "T_c": "10.0 °C", "k_1": "400 W/m·K", "k_2": "50.0 W/m·K"},
        (
            Part("What is the temperature of the junction?", "°C", "T", t, wrong=[("givens|slip|law", (k2 * th + k1 * tc) / (k1 + k2)), ("slip|law|half", 50.0)]),
            Part("At what rate does heat flow along the rods?", "W", "P", k1 * pi * d * d / 4 * (th - t) / length, wrong=[("half|factor", 4 * k1 * pi * d * d / 4 * (th - t) / length), ("power-of-ten|unit", k1 * pi * d * d / 4 * (th - t) / length / 100)]),
        ),
    )


def _compress() -> Asked:
    p, v1, v2, t, k = 1.0e5, 600.0, 75.0, 300.0, 1.4
    p2 = p * (v1 / v2) ** k
    return Asked(
        "pump",
        "adiabatic-compression",
        "An ideal diatomic gas ({k}) is compressed adiabatically from {V_1} to {V_2}. It starts out at {p_1} and {T_1}.",
        {"k": "γ = 1.40", "V_1": "600 cm³", "V_2": "75.0 cm³", "p_1": "1.00 × 10⁵ Pa", "T_1": "300 K"},
        (
            Part("What is the final pressure?", "Pa", "p_2", p2, wrong=[("power|slip|law", p * v1 / v2), ("power-of-ten|exponent", p2 * 10)]),
            Part("What is the final temperature?", "K", "T_2", t * 8**0.4, wrong=[("slip|law|power", t * 8**1.4), ("answer-unit", t * 8**0.4 - 273.15)]),
        ),
    )


def _heat() -> Asked:
    return Asked(
        "reservoir",
        "carnot-engine",
        "A Carnot engine rejects heat to a reservoir at {T_c}. Its efficiency is {eta}, and it does {W} of work during each cycle.",
        {"T_c": "320 K", "eta": "35.0%", "W": "700 J"},
        (
            Part("What is the temperature of the hot reservoir?", "K", "T_h", 320 / 0.65, wrong=[("slip|law|complement|factor", 320 / 0.35), ("digits-swapped", swapped(320 / 0.65, 3, 0))]),
            Part("How much heat is absorbed from the hot reservoir in each cycle?", "J", "Q_h", 2000.0, wrong=[("inverse|slip|factor", 245.0), ("other", 1300.0)], figures=3),
        ),
    )


def _rc() -> Asked:
    c, r, v0, v1 = 220e-6, 33e3, 400.0, 60.0
    return Asked(
        "flash",
        "capacitor-discharge",
        "A {C} capacitor, initially charged to {V_0}, is discharged through a {R} resistor down to a potential difference of {V_1}. The label of the device advises waiting {t_w}.",
        {"C": "220-µF", "V_0": "400 V", "R": "33.0-kΩ", "V_1": "60.0 V", "t_w": "30 s"},
        (
            Part("What is the initial current?", "mA", "i_0", v0 / r * 1000, wrong=[("power-of-ten", v0 / r * 100), ("inverse|law|slip", r / v0)]),
            Part("How long does it take for the potential difference to drop that far?", "s", "t", r * c * log(v0 / v1), wrong=[("function|slip", r * c * log10(v0 / v1)), ("inverse|law|slip|given", r * c)]),
        ),
    )


def _network() -> Asked:
    c1, v = 4.0, 20.0
    c = c1 * 12 / 16
    return Asked(
        "network",
        "joined-capacitors",
        "A {C_1} capacitor is connected in series with the parallel combination of a {C_2} and a {C_3} capacitor. A {V} battery is connected across the network.",
        {"C_1": "4.00-µF", "C_2": "3.00-µF", "C_3": "9.00-µF", "V": "20.0-V"},
        (
            Part("Find the equivalent capacitance.", "µF", "C", c, wrong=[("slip|law", 16.0), ("inverse", 1 / c)]),
            Part("Find the total energy stored.", "J", "W", c * v * v / 2 * 1e-6, wrong=[("half|factor|slip", c * v * v * 1e-6), ("power-of-ten|exponent", c * v * v / 2 * 1e-3)]),
        ),
    )


def _lines() -> Asked:
    i1, i2, d = 15.0, 25.0, 0.06
    return Asked(
        "busbars",
        "parallel-wires",
        "Two long straight parallel conductors are separated by {d}. They carry {I_1} and {I_2} in the same direction.",
        {"d": "6.00 cm", "I_1": "15.0 A", "I_2": "25.0 A"},
        (
            Part("What is the magnitude of the force per unit length between them?", "N/m", "q", 2e-7 * i1 * i2 / d, wrong=[("half|factor|slip", 2e-7 * i1 * i2 / d / 2), ("power-of-ten|unit|exponent", 2e-7 * i1 * i2 / d / 100), ("given|slip", 2e-7 * i1 * i1 / d)]),
        ),
    )


def _rlc() -> Asked:
    ind, c, r, v = 0.025, 4e-6, 20.0, 30.0
    w = 1 / sqrt(ind * c)
    return Asked(
        "tuner",
        "series-resonance",
        "An RLC series circuit has a {R} resistor, a {L} inductor and a {C} capacitor. It is driven by an ac source whose voltage amplitude is {V}.",
        {"R": "20.0-Ω", "L": "25.0-mH", "C": "4.00-µF", "V": "30.0 V"},
        (
            Part("What is its resonant frequency?", "Hz", "f", w / 2 / pi, wrong=[("other|factor", w), ("power-of-ten", w / 20 / pi)]),
            Part("What is the average power dissipated at resonance?", "W", "P", v * v / r / 2, wrong=[("half|factor|slip", v * v / r)]),
        ),
    )


def _filament() -> Asked:
    return Asked(
        "filament",
        "temperature-coefficient",
        "When a coil of wire is heated from {T_1} to {T_2}, its resistance goes up by {p}.",
        {"T_1": "20.0 °C", "T_2": "85.0 °C", "p": "26.0%"},
        (
            Part("Find the temperature coefficient of resistivity of the metal.", "(°C)⁻¹", "a", 0.26 / 65, style="words", wrong=[("power-of-ten|unit", 0.4), ("slip|given|term", 0.26 / 85)]),
        ),
    )


def _spectrum() -> Asked:
    d, length, l1, l2 = 1.25e-6, 1.5, 400e-9, 700e-9
    y1, y2 = (length * tan(asin(lam / d)) for lam in (l1, l2))
    return Asked(
        "rainbow",
        "grating-screen",
        "White light is normally incident on a diffraction grating whose slit spacing is {d}; the first-order rainbow falls on a screen {L} away. Visible light extends from"
        " {l_1} (violet) to {l_2} (red).",
        {"d": "1.25 µm", "L": "1.50 m", "l_1": "400 nm", "l_2": "700 nm"},
        (
            Part("How wide is the first-order spectrum on the screen?", "m", "w", y2 - y1, wrong=[("slip|function|law", length * (l2 - l1) / d), ("power-of-ten", 10 * (y2 - y1))], rounded=[round(y2, 3) - round(y1, 3)]),
            Part("How far from the central maximum is the red end?", "m", "y_2", y2, wrong=[("other|parts", y1), ("slip|function|law", length * l2 / d)]),
        ),
    )


def _camera() -> Asked:
    f, d, h = 50.0, 600.0, 40.0
    i = 1 / (1 / f - 1 / d)
    return Asked(
        "camera",
        "thin-lens",
        "A thin converging lens of focal length {f} forms an image of a toy. The toy is {h_o} tall and stands {d_o} in front of the lens.",
        {"f": "5.00 cm", "h_o": "40.0 mm", "d_o": "60.0 cm"},
        (
            Part("How far from the lens is the image?", "cm", "d_i", i / 10, wrong=[("slip|sign|term", 0.1 / (1 / f + 1 / d)), ("inverse|law", 10 / i)]),
            Part("How tall is the image?", "mm", "h_i", h * i / d, wrong=[("inverse|slip", h * d / i), ("power-of-ten", h * i / d / 10)]),
        ),
    )


def _electron() -> Asked:
    lam, w, hc = 250e-9, 4.2, 4.135667696e-15 * 2.99792458e8
    k = hc / lam - w
    return Asked(
        "aluminium",
        "photoelectric",
        "Aluminum has a work function of {w}. Light of wavelength {l} shines on an aluminum plate.",
        {"w": "4.20 eV", "l": "250 nm"},
        (
            Part("What is the maximum kinetic energy of the photoelectrons?", "eV", "K", k, wrong=[("sign|slip|term", hc / lam + w), ("other", hc / lam)], rounded=[sig(hc / lam, 3) - w]),
            Part("What is the threshold wavelength of aluminum?", "nm", "l_0", hc / w * 1e9, wrong=[("power-of-ten", hc / w * 1e10), ("digits-swapped", swapped(hc / w * 1e9, 3, 1))]),
        ),
    )


def _relativity() -> Asked:
    return Asked(
        "starship",
        "length-contraction",
        "A starship whose proper length is {L_0} flies past a space station. The station crew measure its length as {L}.",
        {"L_0": "250 m", "L": "150 m"},
        (
            Part("How fast is the starship moving relative to the station, as a fraction of c?", "", "b", 0.8, wrong=[("squared|root|power", 0.64), ("slip|law|complement", 0.6)], figures=3),
        ),
    )


def _galaxy() -> Asked:
    b = 0.25
    s = sqrt(1.25 / 0.75)
    return Asked(
        "galaxy",
        "redshift",
        "A galaxy recedes from us at {b}. It emits a spectral line of wavelength {l_s}.",
        {"b": "0.250c", "l_s": "0.656 µm"},
        (
            Part("At what wavelength do we observe this line?", "nm", "l", 656 * s, wrong=[("sign|slip|inverse|term", 656 / s), ("slip|law|term|root", 656 * (1 + b))]),
        ),
    )


def _bone() -> Asked:
    a0, a = 15.0, 4.1
    t = 5730 / log(2) * log(a0 / a)
    return Asked(
        "bone",
        "decay-dating",
        "The carbon of a bone found in a mound shows {A}, where the carbon of living tissue shows {A_0} (decays per minute and gram). The half-life of ¹⁴C is {T}.",
        {"A": "4.10 1/min", "A_0": "15.0 1/min", "T": "5730 years"},
        (
            Part("How old is the bone?", "years", "t", t, figures=4, wrong=[("function|slip", 5730 / log(2) * log10(a0 / a)), ("factor|slip", 5730 * log(a0 / a))], rounded=[log(a0 / a) / 1.21e-4, 5730 / 0.693 * log(a0 / a)]),
        ),
    )


def _binding() -> Asked:
    e = 0.09894 * 931.494
    return Asked(
        "carbon12",
        "nucleus-mass-defect",
        "The mass defect of carbon-12 ({A} nucleons) is {D}.",
        {"A": "12", "D": "0.09894 u"},
        (
            Part("Calculate its binding energy per nucleon.", "MeV/nucleon", "e", e / 12, style="words", wrong=[("other|factor|slip", e), ("power-of-ten", e / 120)], other=[0.09894 * 931.5 / 12], figures=4),
        ),
    )


_PHYSICS = (
    _wire(), _satellite(), _perigee(), _table(), _kick(), _sprint(), _weights(), _elevator(),
    _trunk(), _skydiver(), _carts(), _clock(), _string(), _train(), _leaning(), _calorimeter(),
    _bars(), _compress(), _heat(), _rc(), _network(), _lines(), _rlc(), _filament(), _spectrum(),
    _camera(), _electron(), _relativity(), _galaxy(), _bone(), _binding(),
)

TEXTBOOK = (*_PHYSICS, *MATTER)
