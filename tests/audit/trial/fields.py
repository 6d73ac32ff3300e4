# ruff: noqa: E501
# fmt: off
"""Questions on heat, fluids, electricity, optics, modern physics and orbits. Stories and numbers are
invented; the formulas are those of any introductory textbook."""

from __future__ import annotations

from math import asin, degrees, exp, log, log10, pi, sin, sqrt, tan

from tests.audit.trial.table import Asked, Part, deg, sig, swapped

H_EV, C, ME, EV = 4.135667696e-15, 2.99792458e8, 9.1093837e-31, 1.602176634e-19


def _carnot() -> Asked:
    eta, w = 0.38, 450.0
    q = w / eta
    return Asked(
        "carnot",
        "carnot-engine",
        "A manufacturer claims that his ideal heat engine delivers {W} of work in each cycle. The cold side"
        " is kept at {T_c} by a river; the efficiency is {eta}.",
        {"W": "450 J", "T_c": "17 °C", "eta": "38 %"},
        (
            Part("Find the temperature of the hot side.", "K", "T_h", 290.15 / (1 - eta), wrong=[("unit", 17 / (1 - eta)), ("slip|complement|law|term|factor", 290.15 / eta)], other=[290 / (1 - eta)], figures=4),
            Part("Find the heat taken up in each cycle.", "J", "Q_h", q, wrong=[("inverse|slip|factor|law", w * eta), ("power-of-ten", q * 10)]),
            Part("Find the heat given off in each cycle.", "J", "Q_c", q - w, wrong=[("sign", w - q), ("slip|sign|term", q + w)], rounded=[1180 - 450]),
        ),
    )


def _carnot2() -> Asked:
    return Asked(
        "carnot2",
        "carnot-engine",
        "An engine that may be taken as ideal rejects its waste heat at {T_c} and reaches an efficiency of"
        " {eta}. It does {W} of work per cycle.",
        {"T_c": "312 K", "eta": "0.44", "W": "2.20 kJ"},
        (
            Part("How hot is its hot side, in kelvin?", "", "T_h", 312 / 0.56, style="words", wrong=[("digits-swapped", swapped(312 / 0.56, 3, 1)), ("slip|factor|law|term", 312 / 0.44)]),
            Part("How much heat, in kJ, is taken up in each cycle?", "", "Q_h", 5.0, style="words", wrong=[("power-of-ten", "50.0"), ("slip|complement|factor|law|term|other", 2.2 / 0.56)]),
        ),
    )


def _quench() -> Asked:
    m, c, tm, mw, tw = 0.35, 450.0, 240.0, 1.5, 18.0
    a, b = m * c, mw * 4186
    t = (a * tm + b * tw) / (a + b)
    q = a * (tm - t) / 1000
    sm, sw = a * log((t + 273.15) / (tm + 273.15)), b * log((t + 273.15) / (tw + 273.15))
    return Asked(
        "quench",
        "hot-metal-in-water",
        "A smith drops a hot horseshoe into a bucket. Water in the bucket: {m_w} at {T_w}. The metal has a"
        " mass of {m}, a specific heat of {c} and a temperature of {T_m}. For water use {c_w}. Nothing boils"
        " and nothing is lost.",
        {"m_w": "1.50 kg", "T_w": "18.0 °C", "m": "350 g", "c": "450 J/(kg K)", "T_m": "240 °C", "c_w": "4186 J/(kg K)"},
        (
            Part("What final temperature is reached?", "°C", "T", t, wrong=[("digits-swapped", swapped(t, 3, 1)), ("slip|law|given|factor|term|half", (tm + tw) / 2)]),
            Part("How much heat is exchanged?", "kJ", "Q", q, wrong=[("power-of-ten", q * 1000), ("slip|given|term|law", a * tm / 1000)], rounded=[a * (tm - round(t)) / 1000], figures=4),
            Part("What is the change of the water's entropy?", "J/K", "S_w", sw, wrong=[("sign", -sw), ("unit", b * log(t / tw))]),
            Part("What is the change of the whole entropy?", "J/K", "S", sm + sw, wrong=[("term|sign|slip", sw - sm), ("other-part|parts-swapped", sw)]),
        ),
    )


def _ice() -> Asked:
    mw, mv, tw, mi, ti = 0.5, 0.25, 32.0, 0.12, -8.0
    cw, ci, cv, lat = 4.18, 2.10, 0.385, 334.0
    warm = mw * cw + mv * cv
    t = (warm * tw - mi * (ci * -ti + lat)) / (warm + mi * cw)
    return Asked(
        "ice",
        "melting-ice",
        "A copper can with a mass of {m_v} contains {m_w} of water, can and water both at {T_w}. Ice from a"
        " freezer is dropped in; the mass of the ice is {m_i}, and it comes at {T_i}. No heat gets in or out."
        " Data: water {c_w}, ice {c_i}, copper {c_v}, latent heat of melting {L}.",
        {"m_v": "250 g", "m_w": "500 g", "T_w": "32.0 °C", "m_i": "120 g", "T_i": "-8.0 °C", "c_w": "4.18 kJ/(kg K)", "c_i": "2.10 kJ/(kg K)", "c_v": "0.385 kJ/(kg K)", "L": "334 kJ/kg"},
        (
            Part("What is the final temperature?", "°C", "T", t, wrong=[("slip|given-dropped|term", (warm * tw - mi * ci * -ti) / (warm + mi * cw)), ("slip|given-dropped|term", (mw * cw * tw - mi * (ci * -ti + lat)) / (mw * cw + mi * cw)), ("sign", -t)]),
        ),
    )


def _rods() -> Asked:
    k1, k2, d, length, th, tc = 390.0, 80.0, 0.015, 0.3, 100.0, 15.0
    area = pi * d * d / 4
    t = (k1 * th + k2 * tc) / (k1 + k2)
    return Asked(
        "rods",
        "rods-in-series",
        "Two round rods, each {L} long and both with a diameter of {d}, are joined end to end and lagged. The"
        " rod at the hot end has a conductivity of {k_1}, the rod at the cold end one of {k_2}. The hot end is"
        " held at {T_h}, the cold end at {T_c}.",
        {"L": "30.0 cm", "d": "15.0 mm", "k_1": "390 W/(m K)", "k_2": "80 W/(m K)", "T_h": "100 °C", "T_c": "15.0 °C"},
        (
            Part("Which temperature is found where the rods meet?", "°C", "T", t, wrong=[("givens-swapped|slip|law", (k2 * th + k1 * tc) / (k1 + k2)), ("slip|law|half|factor", (th + tc) / 2)]),
            Part("Which heat flow passes through the rods?", "W", "P", k1 * area * (th - t) / length, wrong=[("half-or-double|factor|slip", 4 * k1 * area * (th - t) / length)], rounded=[k1 * area * (th - 85.5) / length]),
        ),
    )


def _piston() -> Asked:
    d, s, p = 0.06, 0.18, 3.2e5
    area = pi * d * d / 4
    return Asked(
        "piston",
        "piston-work",
        "Steam keeps a pressure of {p} while it moves a piston outwards. The diameter of the piston is {d} and"
        " the stroke is {s}.",
        {"p": "3.20 bar", "d": "60.0 mm", "s": "18.0 cm"},
        (
            Part("What is the area of the piston?", "cm²", "A", area * 1e4, wrong=[("half-or-double|factor|slip", 4 * area * 1e4), ("power-of-ten|unit", area * 1e6)], other=[3.14 * 9]),
            Part("What is the force on the piston?", "N", "F", p * area, wrong=[("power-of-ten|unit", p * area / 1000)]),
            Part("What is the work done on the piston?", "J", "W", p * area * s, wrong=[("unit|power-of-ten", p * area * 18), ("factor|half|slip", 4 * p * area * s)], rounded=[905 * 0.18]),
        ),
    )


def _diesel() -> Asked:
    p, v1, v2, t, k = 101.0, 480.0, 30.0, 295.0, 1.4
    p2 = p * (v1 / v2) ** k
    t2 = t * (v1 / v2) ** (k - 1)
    return Asked(
        "diesel",
        "adiabatic-compression",
        "In a Diesel engine air is squeezed so fast that no heat passes. At first the pressure is {p_1}, the"
        " volume {V_1} and the temperature {T_1}. At the end the volume is {V_2}. Treat the air as an ideal gas"
        " whose ratio of the specific heats is {k}.",
        {"p_1": "101 kPa", "V_1": "480 cm³", "T_1": "295 K", "V_2": "30.0 cm³", "k": "1.40"},
        (
            Part("What is the pressure at the end?", "kPa", "p_2", p2, wrong=[("slip|power-dropped|law", p * v1 / v2), ("power-of-ten", p2 / 1000)]),
            Part("What is the temperature at the end?", "K", "T_2", t2, wrong=[("slip|law|power|factor", t * (v1 / v2) ** k), ("digits-swapped", swapped(t2, 3, 0))], rounded=[sig(p2, 3) * 30 / (101 * 480) * 295]),
            Part("How much work is done by the gas?", "J", "W", (p * v1 - p2 * v2) / (k - 1) / 1000, wrong=[("sign", -(p * v1 - p2 * v2) / (k - 1) / 1000)]),
        ),
    )


def _bore() -> Asked:
    v, d, b, bg, dt = 0.55, 0.02, 2.4e-4, 2.5e-5, 5.0
    area = pi * d * d / 4
    return Asked(
        "bore",
        "thermometer-bore",
        "The bulb of a thermometer has a volume of {V}; above it is a bore with a diameter of {d}. The liquid"
        " has a volume expansion of {b}, the glass one of {b_g}. Then the temperature rises; the rise in"
        " temperature is {T}.",
        {"V": "0.550 cm³", "d": "0.200 mm", "b": "2.40e-4 1/K", "b_g": "2.50e-5 1/K", "T": "5.00 K"},
        (
            Part("By how much does the liquid rise?", "cm", "x", v * (b - bg) * dt / area, wrong=[("slip|sign|term|given-sign", v * (b + bg) * dt / area), ("half-or-double|factor|slip", v * (b - bg) * dt / area / 4)]),
            Part("By how much would the liquid rise if the glass did not expand?", "cm", "x_0", v * b * dt / area, wrong=[("power-of-ten", v * b * dt / area * 10)]),
        ),
    )


def _pipe() -> Asked:
    d, k, length, v, nu, rho = 0.05, 1e-4, 60.0, 1.2, 1e-6, 998.0
    re = v * d / nu
    f = 0.02
    for _ in range(60):
        f = (-2 * log10(k / d / 3.7 + 2.51 / (re * sqrt(f)))) ** -2
    return Asked(
        "pipe",
        "pipe-friction",
        "Cold water (density {rho}, kinematic viscosity {nu}) runs through a steel pipe. Length of the pipe:"
        " {len}. Inner diameter of the pipe: {D}. Roughness of the wall: {k}. Mean velocity: {v}.",
        {"rho": "998 kg/m³", "nu": "1.00 mm²/s", "len": "60.0 m", "D": "50.0 mm", "k": "0.10 mm", "v": "1.20 m/s"},
        (
            Part("Find the volume flow.", "L/s", "Q", v * pi * d * d / 4 * 1000, wrong=[("half-or-double|factor|slip", v * pi * d * d * 1000), ("power-of-ten", v * pi * d * d / 4)], other=[v * 3.14 * d * d / 4 * 1000], figures=4),
            Part("Find the loss of pressure to friction.", "kPa", "dp", f * length / d * rho * v * v / 2 / 1000, wrong=[("half-or-double|factor|slip", f * length / d * rho * v * v / 1000)], rounded=[sig(f, 3) * length / d * rho * v * v / 2 / 1000]),
        ),
    )


def _discharge() -> Asked:
    c, r, v0, v1 = 330e-6, 47e3, 325.0, 50.0
    return Asked(
        "discharge",
        "capacitor-discharge",
        "The smoothing capacitor of an amplifier, {C}, stands at {V_0} when the mains is switched off; a bleeder"
        " resistor of {R} lies across it. A voltage of {V_1} is regarded as harmless; the waiting time on the"
        " label is {t_w}. (Only trained people may open such a device.)",
        {"C": "330 µF", "V_0": "325 V", "R": "47 kΩ", "V_1": "50 V", "t_w": "60 s"},
        (
            Part("How long does it take until the voltage has fallen to the harmless value?", "s", "t", r * c * log(v0 / v1), wrong=[("function|slip|law", r * c * log10(v0 / v1)), ("power-of-ten", r * c * log(v0 / v1) / 1000), ("sign", -r * c * log(v0 / v1))], rounded=[15.5 * 1.87]),
            Part("What current flows at switch-off?", "mA", "i_0", v0 / r * 1000, wrong=[("power-of-ten", v0 / r), ("factor|law|inverse|slip", "15.3")]),
            Part("What power does the resistor take at switch-off?", "W", "P_0", v0 * v0 / r, wrong=[("power-dropped|slip|law|factor", "6.91"), ("half-or-double|factor", v0 * v0 / r / 2)], rounded=[325 * 6.91e-3]),
        ),
    )


def _caps() -> Asked:
    c1, c2, c3, v = 6.0, 3.3, 4.7, 12.0
    c = c1 * (c2 + c3) / (c1 + c2 + c3)
    return Asked(
        "caps",
        "joined-capacitors",
        "The first capacitor, {C_1}, is in series with a pair that lies side by side: the second capacitor,"
        " {C_2}, and the third capacitor, {C_3}. A source with a voltage of {V} charges the whole.",
        {"C_1": "6.00 µF", "C_2": "3.30 µF", "C_3": "4.70 µF", "V": "12.0 V"},
        (
            Part("What is the capacitance of the whole?", "µF", "C", c, wrong=[("slip|law|sum", c1 + c2 + c3), ("inverse|slip", 1 / c)]),
            Part("What is the charge on the first capacitor?", "µC", "Q", c * v, wrong=[("slip|factor|law", c1 * v)], rounded=[3.43 * 12]),
            Part("How much energy is stored in all?", "mJ", "W", c * v * v / 2 / 1000, wrong=[("half-or-double|factor|slip", c * v * v / 1000), ("power-of-ten", c * v * v / 2)]),
        ),
    )


def _wires() -> Asked:
    i1, i2, d = 12.0, 8.5, 0.04
    b = 2e-7 * i1 / d * 1e6
    return Asked(
        "wires",
        "parallel-wires",
        "Two long wires are stretched parallel to each other. The current in the first wire is {I_1}; the current"
        " in the second wire is {I_2} and flows the same way. The distance between the wires is {d}.",
        {"I_1": "12.0 A", "I_2": "8.50 A", "d": "4.00 cm"},
        (
            Part("How large is the magnetic field of the first wire at the second?", "µT", "B", b, wrong=[("unit|power-of-ten", b / 100), ("slip|power|law|given|factor", 2e-7 * i1 / d**2 * 1e6), ("factor|slip|half", b * pi)]),
            Part("How large is the force on each metre of wire?", "N/m", "q", b * i2 * 1e-6, wrong=[("slip|given-twice|squared", b * i1 * 1e-6)], figures=3),
        ),
    )


def _bridge() -> Asked:
    v, r1, r2, r3, r4, rg = 6.0, 220.0, 330.0, 470.0, 390.0, 100.0
    # node equations
    a11, a12, b1 = 1 / r1 + 1 / r2 + 1 / rg, -1 / rg, v / r1
    a21, a22, b2 = -1 / rg, 1 / r3 + 1 / r4 + 1 / rg, v / r3
    det = a11 * a22 - a12 * a21
    vl, vr = (b1 * a22 - a12 * b2) / det, (a11 * b2 - b1 * a21) / det
    return Asked(
        "bridge",
        "resistor-bridge",
        "A bridge of four resistors is fed with a supply voltage of {V_s}. From the supply to node L: {R_1}; from"
        " node L to the return: {R_2}. From the supply to node R: {R_3}; from node R to the return: {R_4}. The"
        " resistance of the galvanometer arm between the nodes is {R_g}.",
        {"V_s": "6.00 V", "R_1": "220 Ω", "R_2": "330 Ω", "R_3": "470 Ω", "R_4": "390 Ω", "R_g": "100 ohm"},
        (
            Part("Find the size of the current through the galvanometer.", "mA", "I_g", (vl - vr) / rg * 1000, wrong=[("power-of-ten", (vl - vr) / rg * 100), ("slip|term|law", (v * r2 / (r1 + r2) - v * r4 / (r3 + r4)) / rg * 1000)]),
            Part("Find the potential of node L.", "V", "V_L", vl, wrong=[("other-part|parts-swapped", vr), ("slip|given-dropped|term|law", v * r2 / (r1 + r2))]),
        ),
    )


def _rlc() -> Asked:
    ind, c, r, v = 12e-3, 2.2e-6, 8.0, 5.0
    w = 1 / sqrt(ind * c)
    return Asked(
        "rlc",
        "series-resonance",
        "In a receiver a coil (inductance {L}), a capacitor (capacitance {C}) and a resistance of {R} are connected"
        " in series. The source has an amplitude of {V}.",
        {"L": "12.0 mH", "C": "2.20 µF", "R": "8.00 Ω", "V": "5.00 V"},
        (
            Part("At what frequency is the circuit in resonance?", "Hz", "f", w / 2 / pi, wrong=[("factor|other-part|slip", w), ("root-dropped|power|law|factor|slip", 1 / (2 * pi * ind * c))], other=[w / 2 / 3.14], figures=4),
            Part("How large is its quality factor?", "", "Q", w * ind / r, wrong=[("inverse", r / (w * ind)), ("digits-swapped", swapped(w * ind / r, 3, 1))], rounded=[6150 * ind / r], figures=4),
            Part("What average power does it take at resonance?", "W", "P", v * v / r / 2, wrong=[("half-or-double|factor|slip", v * v / r)]),
        ),
    )


def _coil() -> Asked:
    p, t1, t2 = 0.22, 20.0, 76.0
    a = p / (t2 - t1)
    return Asked(
        "coil",
        "temperature-coefficient",
        "The winding of a motor warms up in service: its temperature is {T_1} at first and {T_2} at the end, and"
        " its resistance increases by {p}.",
        {"T_1": "20.0 °C", "T_2": "76.0 °C", "p": "22.0 %"},
        (
            Part("Find the temperature coefficient of the resistance at the first temperature.", "1/K", "a", a, wrong=[("power-of-ten|unit", 100 * a), ("slip|given-dropped|term", p / t2)]),
            Part("At which temperature would the resistance be double what it was at first?", "°C", "T_d", t1 + 1 / a, wrong=[("slip|term|given-dropped", 1 / a), ("answer-unit", t1 + 1 / a + 273.15)], rounded=[20 + 1 / 0.00393]),
        ),
    )


def _cells() -> Asked:
    e1, e2, e3, r1, r2, r3 = 6.0, 4.5, 1.5, 4.0, 6.0, 10.0
    v = (e1 / r1 + e2 / r2 - e3 / r3) / (1 / r1 + 1 / r2 + 1 / r3)
    return Asked(
        "cells",
        "three-branches",
        "Nodes A and B are joined by three branches, each with a cell and a resistance. First branch: electromotive"
        " force {E_1}, resistance {R_1}. Second branch: electromotive force {E_2}, resistance {R_2}. Third branch:"
        " electromotive force {E_3}, resistance {R_3}. The first two cells drive current towards node A, the third drives current away from it.",
        {"E_1": "6.00 V", "R_1": "4.00 Ω", "E_2": "4.50 V", "R_2": "6.00 Ω", "E_3": "1.50 V", "R_3": "10.0 Ω"},
        (
            Part("What is the voltage of node A against node B?", "V", "V", v, wrong=[("sign", -v), ("slip|term|law|factor", e1)]),
            Part("What is the current in the first branch towards node A?", "A", "I_1", (e1 - v) / r1, wrong=[("sign", (v - e1) / r1), ("power-of-ten", (e1 - v) / r1 * 10)], rounded=[(6 - sig(v, 3)) / 4]),
        ),
    )


def _grating() -> Asked:
    d, length, l1, l2 = 1e-3 / 500, 1.4, 410e-9, 680e-9
    y1, y2 = (length * tan(asin(lam / d)) for lam in (l1, l2))
    return Asked(
        "grating",
        "grating-screen",
        "Light from a filament passes a grating; neighbouring slits are {d} apart. A screen stands at a distance of"
        " {L}. In the first order the shortest wavelength that can be seen is {l_1}, the longest wavelength {l_2}.",
        {"d": "2.00 µm", "L": "140 cm", "l_1": "410 nm", "l_2": "680 nm"},
        (
            Part("At what distance from the middle lies the shortest wavelength?", "cm", "y_1", y1 * 100, wrong=[("slip|function|law", length * l1 / d * 100), ("other-part|parts-swapped", y2 * 100)]),
            Part("How wide is the spectrum on the screen?", "m", "w", y2 - y1, wrong=[("sign", y1 - y2), ("power-of-ten", 10 * (y2 - y1))], rounded=[round(y2, 3) - round(y1, 3)]),
        ),
    )


def _lens() -> Asked:
    f, d, h = 12.0, 30.0, 18.0
    i = 1 / (1 / f - 1 / d)
    return Asked(
        "lens",
        "thin-lens",
        "A slide is projected with a thin converging lens. Focal length of the lens: {f}. The slide stands at a"
        " distance of {d_o} from the lens, and its picture of a tower has a height of {h_o}.",
        {"f": "120 mm", "d_o": "30.0 cm", "h_o": "18.0 mm"},
        (
            Part("Where is the image? State the distance of the image from the lens.", "cm", "d_i", i, wrong=[("slip|sign|term", 1 / (1 / f + 1 / d)), ("inverse|slip|law", "0.0500"), ("sign", -i)]),
            Part("State the size of the magnification.", "", "m", i / d, wrong=[("inverse", d / i)]),
            Part("State the height of the image.", "mm", "h_i", h * i / d, wrong=[("power-of-ten", 1.2), ("inverse|slip|law", h * d / i)]),
        ),
    )


def _glass() -> Asked:
    t, n1, n2 = 48.0, 1.512, 1.655
    r = degrees(asin(sin(deg(t)) / n1))
    return Asked(
        "glass",
        "two-glasses",
        "A beam of red light meets a first glass, whose index for red is {n_1}, under an angle of incidence of {t_1}."
        " A blue beam meets a second glass, index {n_2} for blue.",
        {"n_1": "1.512", "t_1": "48.0°", "n_2": "1.655"},
        (
            Part("What is the angle of refraction in the first glass?", "°", "r", r, wrong=[("slip|law|term", 48.0 / n1), ("unit|answer-unit", asin(sin(deg(t)) / n1)), ("digits-swapped", swapped(r, 3, 1))]),
            Part("Under which angle of incidence on the second glass is blue refracted at the same angle?", "°", "t_2", degrees(asin(n2 * sin(deg(r)))), wrong=[("inverse|slip|givens|law", degrees(asin(sin(deg(t)) * n1 / n2)))], rounded=[degrees(asin(n2 * round(sin(deg(29.4)), 3)))], figures=3),
        ),
    )


def _dating() -> Asked:
    a0, a = 13.6, 5.9
    t = 5730 / log(2) * log(a0 / a)
    return Asked(
        "dating",
        "decay-dating",
        "Charcoal was dug up in a cave. The activity of the sample, counted per gram of carbon, is {A}; the activity of"
        " fresh material is {A_0}. The half-life of carbon-14 is {T}.",
        {"A": "5.90 1/min", "A_0": "13.6 1/min", "T": "5730 yr"},
        (
            Part("Calculate the age of the sample.", "yr", "t", t, wrong=[("function|slip|law", 5730 / log(2) * log10(a0 / a)), ("factor|slip", 5730 * log(a0 / a)), ("sign", -t)], rounded=[5730 / 0.693 * 0.835, log(a0 / a) / 1.21e-4], figures=4),
            Part("Which share of the isotope is left?", "%", "q", 100 * a / a0, wrong=[("complement", 100 - 100 * a / a0), ("inverse", 100 * a0 / a)]),
        ),
    )


def _ship() -> Asked:
    l0, length = 120.0, 95.0
    gamma = l0 / length
    b = sqrt(1 - 1 / gamma**2)
    return Asked(
        "ship",
        "length-contraction",
        "At rest a probe has a length of {L_0}. Seen in flight from a mark it passes, its length is only {L}.",
        {"L_0": "120 m", "L": "95.0 m"},
        (
            Part("Find the speed as a share of the speed of light.", "", "b", b, wrong=[("root-dropped|squared|power", b * b), ("slip|law|power|term", 1 - 1 / gamma), ("slip|law|complement|root|term", sqrt(1 - 1 / gamma))]),
            Part("Find the time it takes to pass the mark.", "ns", "t", length / (b * C) * 1e9, wrong=[("slip|given|other", l0 / (b * C) * 1e9), ("power-of-ten", length / (b * C) * 1e6)], rounded=[length / (0.611 * 3e8) * 1e9]),
        ),
    )


def _nucleus() -> Asked:
    d, a = 0.528, 56
    e = d * 931.494
    return Asked(
        "nucleus",
        "nucleus-mass-defect",
        "For a nucleus of iron, which has {A} nucleons, the mass defect is {D}.",
        {"A": "56", "D": "0.528 u"},
        (
            Part("What is the binding energy of the nucleus?", "MeV", "E", e, wrong=[("factor|slip|other-part", e / a), ("digits-swapped", swapped(e, 3, 0))]),
            Part("What is the binding energy of each nucleon?", "MeV", "e", e / a, wrong=[("other-part|parts-swapped|factor", e), ("power-of-ten", e / a * 10)], rounded=[round(e, 0) / a], figures=4),
        ),
    )


def _photo() -> Asked:
    lam, w = 320e-9, 2.3
    e = H_EV * C / lam
    k = e - w
    return Asked(
        "photo",
        "photoelectric",
        "Ultraviolet light with a wavelength of {l} falls on a clean metal in a vacuum tube. The work function of the"
        " metal is {w}.",
        {"l": "320 nm", "w": "2.30 eV"},
        (
            Part("Find the energy of a photon of this light.", "eV", "E", e, wrong=[("power-of-ten", e / 10), ("digits-swapped", swapped(e, 3, 1))], other=[]),
            Part("Find the greatest kinetic energy of an electron.", "eV", "K", k, wrong=[("slip|sign|term", e + w), ("other-part", e)], rounded=[3.87 - 2.3]),
            Part("Find the longest wavelength that sets electrons free.", "nm", "l_0", H_EV * C / w * 1e9, wrong=[("power-of-ten", H_EV * C / w * 1e8)], other=[4.14e-15 * 3e8 / w * 1e9]),
        ),
    )


def _redshift() -> Asked:
    lam, b = 0.21, 0.34
    s = sqrt((1 + b) / (1 - b))
    return Asked(
        "redshift",
        "redshift",
        "A distant galaxy flies away from us; its speed is {b} of the speed of light. It sends a radio line whose"
        " wavelength at the source is {l_s}.",
        {"b": "0.340", "l_s": "21.0 cm"},
        (
            Part("What is the wavelength at the receiver?", "cm", "l", 100 * lam * s, wrong=[("sign|slip|given-sign|inverse|term", 100 * lam / s), ("slip|root|term|law", 100 * lam * (1 + b)), ("root-dropped", 100 * lam * s * s)]),
            Part("What is the relative change of the wavelength?", "", "z", s - 1, wrong=[("slip|law|term", b), ("slip|term", s)], rounded=[round(lam * s, 3) / lam - 1]),
        ),
    )


def _orbit() -> Asked:
    h, r, gm = 780e3, 6.371e6, 6.674e-11 * 5.972e24
    v = sqrt(gm / (r + h))
    return Asked(
        "orbit",
        "circular-orbit",
        "A telephone satellite goes round the Earth on a circular orbit; its height above the ground is {h}.",
        {"h": "780 km"},
        (
            Part("With what speed does it move on its orbit?", "km/s", "v", v / 1000, wrong=[("slip|given-dropped|term|other", sqrt(gm / h) / 1000), ("power-of-ten", v)], other=[sqrt(6.67e-11 * 5.98e24 / (6.38e6 + h)) / 1000]),
            Part("What is its period?", "h", "T", 2 * pi * (r + h) / v / 3600, wrong=[("answer-unit|unit|factor", 2 * pi * (r + h) / v / 60), ("factor|slip", (r + h) / v / 3600)], rounded=[2 * pi * 7150 / 7.47 / 3600]),
            Part("How large is the free-fall acceleration at this height?", "m/s²", "g_h", gm / (r + h) ** 2, wrong=[("slip|given|term", gm / r**2), ("power-dropped|slip|law|factor", gm / (r + h))]),
        ),
    )


def _battery() -> Asked:
    c, v0, v1 = 150e-6, 240.0, 30.0
    return Asked(
        "bleeder",
        "capacitor-discharge",
        "Given: capacitance {C}, bleeder resistor {R}, voltage at switch-off {V_0}, harmless value {V_1}. A label tells people to"
        " wait {t_w}.",
        {"C": "150 uF", "R": "82 kohm", "V_0": "240 V", "V_1": "30.0 V", "t_w": "1 min"},
        (
            Part("Energy released as heat until the voltage is harmless?", "J", "W", c * (v0 * v0 - v1 * v1) / 2, wrong=[("slip|term|law|power", c * (v0 - v1) ** 2 / 2), ("half-or-double|factor", c * (v0 * v0 - v1 * v1))]),
        ),
    )


def _mirror() -> Asked:
    f, d, h = 15.0, 10.0, 6.0
    i = 1 / (1 / f - 1 / d)
    return Asked(
        "loupe",
        "thin-lens",
        "An object {h_o} high is held at {d_o} from a thin lens whose focal length is {f}.",
        {"h_o": "6.00 mm", "d_o": "10.0 cm", "f": "15.0 cm"},
        (
            Part("What is the distance of its image from the lens?", "cm", "d_i", abs(i), style="key", wrong=[("slip|sign|term", 1 / (1 / f + 1 / d))]),
            Part("What is the height of the image?", "mm", "h_i", h * abs(i / d), style="key", wrong=[("power-of-ten", 1.8), ("squared|slip|factor|law", h * (i / d) ** 2)]),
        ),
    )


def _swing() -> Asked:
    eta = exp(0)  # a share of one
    return Asked(
        "band",
        "series-resonance",
        "L = {L}, C = {C}, R = {R}, amplitude of the source V = {V}. The three parts are in series.",
        {"L": "40.0 mH", "C": "0.50 µF", "R": "12.5 Ω", "V": "2.00 V"},
        (
            Part("Angular frequency at resonance?", "1/s", "w", eta / sqrt(0.04 * 0.5e-6), wrong=[("factor|other-part", 1 / sqrt(0.04 * 0.5e-6) / 2 / pi), ("power-of-ten", 1 / sqrt(0.04 * 0.5e-6) * 10)]),
            Part("Amplitude of the current at resonance?", "mA", "I", 160.0, wrong=[("power-of-ten", 1.6), ("inverse|slip|law", 12.5 / 2)]),
        ),
    )


FIELDS = (
    _carnot(), _carnot2(), _quench(), _ice(), _rods(), _piston(), _diesel(), _bore(), _pipe(), _discharge(), _caps(),
    _wires(), _bridge(), _rlc(), _coil(), _cells(), _grating(), _lens(), _glass(), _dating(), _ship(), _nucleus(),
    _photo(), _redshift(), _orbit(), _battery(), _mirror(), _swing(),
)  # fmt: skip
