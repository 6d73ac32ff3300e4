# ruff: noqa: E501
# fmt: off
"""Questions in the terms that textbooks of chemistry and statistics use, not those of the families.
Stories and numbers are invented."""

from __future__ import annotations

from math import erf, log, log10, sqrt

import numpy as np

from tests.audit.trial.table import Asked, Part, swapped

G = 9.81
R, RL = 8.314462618, 0.082057


def _arrh() -> Asked:
    k1, k2, t1, t2 = 5.0e-4, 1.6e-2, 300.0, 340.0
    e = R * log(k2 / k1) / (1 / t1 - 1 / t2)
    return Asked(
        "kinetics",
        "arrhenius",
        "The rate constant for a first-order reaction is {k_1} at {T_1} and {k_2} at {T_2}.",
        {"k_1": "5.0 × 10⁻⁴ s⁻¹", "T_1": "27 °C", "k_2": "1.6 × 10⁻² s⁻¹", "T_2": "67 °C"},
        (
            Part("Calculate Ea, the activation energy of the reaction.", "kJ/mol", "E", R * log(k2 / k1) / (1 / 300.15 - 1 / 340.15) / 1000, wrong=[("unit", R * log(k2 / k1) / (1 / 27 - 1 / 67) / 1000), ("function|slip", e / 1000 / log(10)), ("sign", -e / 1000)], other=[e / 1000]),
        ),
    )


def _ksp() -> Asked:
    k = 1.8e-10
    return Asked(
        "chloride",
        "common-ion",
        "For silver chloride, Ksp = {K}. Calculate the molar solubility of silver chloride in a solution that is {c} in chloride ion.",
        {"K": "1.8 × 10⁻¹⁰", "c": "0.10 M"},
        (
            Part("", "M", "s", 1.8e-9, figures=2, wrong=[("root|other|squared", sqrt(k)), ("power-of-ten|exponent", 1.8e-8)]),
        ),
    )


def _fluorite() -> Asked:
    k = 3.45e-11
    s = (k / 4) ** (1 / 3)
    return Asked(
        "fluorite",
        "salt-one-to-two",
        "The solubility product of calcium fluoride, CaF2, is {K}, and its molar mass is {M}. Each formula unit gives one cation and two anions.",
        {"K": "3.45 × 10⁻¹¹", "M": "78.07 g/mol"},
        (
            Part("What is its molar solubility in water?", "mol/L", "s", s, wrong=[("slip|factor|power", k ** (1 / 3)), ("root|slip|power", sqrt(k))]),
        ),
    )


def _gas() -> Asked:
    n, v, t, a, b = 1.2, 2.0, 400.0, 1.39, 0.0391
    p = n * RL * t / (v - n * b) - a * n * n / v**2
    return Asked(
        "nitrogen",
        "van-der-waals",
        "Use the van der Waals equation to find the pressure of {n} of nitrogen in a {V} container at {T}. For nitrogen, a = {a} and b = {b}.",
        {"n": "1.20 mol", "V": "2.00-L", "T": "400 K", "a": "1.39 L²·atm/mol²", "b": "0.0391 L/mol"},
        (
            Part("", "atm", "p", p, wrong=[("other|slip|term", n * RL * t / v), ("sign|term|slip", n * RL * t / (v - n * b) + a * n * n / v**2)], rounded=[20.17 - 0.50], figures=4),
        ),
    )


def _osm() -> Asked:
    c, t = 0.2, 298.0
    return Asked(
        "glucose",
        "osmotic-pressure",
        "What is the osmotic pressure, in atmospheres, of a {c} solution of glucose at {T}? Glucose does not dissociate, so that its van 't Hoff factor is {i}.",
        {"c": "0.200 M", "T": "298 K", "i": "1"},
        (
            Part("", "atm", "P", c * RL * t, wrong=[("power-of-ten", c * RL * t * 10), ("digits-swapped", swapped(c * RL * t, 3, 1))], other=[c * 0.0821 * t], figures=3),
        ),
    )


def _hf() -> Asked:
    va, ca, v, ka = 20.0, 0.5, 250.0, 6.8e-4
    c = va * ca / v
    h = (-ka + sqrt(ka * ka + 4 * ka * c)) / 2
    return Asked(
        "dilution",
        "weak-acid",
        "A chemist dilutes {V_a} of {c_a} HF to {V} with water. Ka for HF is {K_a}.",
        {"V_a": "20.0 mL", "c_a": "0.500 M", "V": "250 mL", "K_a": "6.8 × 10⁻⁴"},
        (
            Part("Calculate the pH of the resulting solution.", "", "pH", -log10(h), wrong=[("slip|law|term|given", -log10(c)), ("sign", log10(h))], rounded=[-log10(sqrt(ka * c))]),
        ),
    )


def _nagibbs() -> Asked:
    g = -92.2 + 298.15 * 0.1987
    return Asked(
        "haber",
        "free-energy",
        "For the formation of ammonia, ΔH° = {H} and ΔS° = {S}. Calculate ΔG° at {T}.",
        {"H": "-92.2 kJ/mol", "S": "-198.7 J/(mol·K)", "T": "25 °C"},
        (
            Part("", "kJ/mol", "G", g, wrong=[("sign|slip|term", -92.2 - 298.15 * 0.1987), ("unit", -92.2 + 25 * 0.1987)], other=[-92.2 + 298 * 0.1987], figures=3),
        ),
    )


def _cc() -> Asked:
    p1, p2, t1, t2 = 24.0, 96.0, 300.0, 335.0
    return Asked(
        "solvent",
        "vapour-pressure",
        "The vapor pressure of a liquid is {p_1} at {T_1} and {p_2} at {T_2}.",
        {"p_1": "24.0 kPa", "T_1": "300 K", "p_2": "96.0 kPa", "T_2": "335 K"},
        (
            Part("Use the Clausius-Clapeyron equation to find its molar enthalpy of vaporization.", "kJ/mol", "H", R * log(p2 / p1) / (1 / t1 - 1 / t2) / 1000, wrong=[("function|slip", R * log10(p2 / p1) / (1 / t1 - 1 / t2) / 1000), ("power-of-ten", R * log(p2 / p1) / (1 / t1 - 1 / t2) / 100)]),
        ),
    )


def _chrome() -> Asked:
    return Asked(
        "copper",
        "electroplating",
        "A plate with a total surface area of {S} is to be covered with {h} of copper (density {rho}, atomic mass {M}). A current of {I} is used, and copper is deposited from Cu2+ ions,"
        " so that {z} electrons are needed for each atom.",
        {"S": "250 cm²", "h": "0.0300 mm", "rho": "8.96 g/cm³", "M": "63.55 g/mol", "I": "4.00 A", "z": "2"},
        (
            Part("How long will the electrolysis take?", "s", "t", 250 * 0.003 * 8.96 / 63.55 * 2 * 96485 / 4, wrong=[("half|factor|given|slip", 250 * 0.003 * 8.96 / 63.55 * 96485 / 4), ("power-of-ten", 250 * 0.003 * 8.96 / 63.55 * 2 * 96485 / 40)], other=[250 * 0.003 * 8.96 / 63.55 * 2 * 96500 / 4]),
        ),
    )


def _exam() -> Asked:
    z = (600 - 520) / 95
    return Asked(
        "exam",
        "normal-share",
        "Scores on an entrance exam are normally distributed with mean μ = {mu} and standard deviation σ = {s}. A college admits those who score above {x}; the top tenth begins where {q} score lower.",
        {"mu": "520", "s": "95", "x": "600", "q": "90%"},
        (
            Part("Find the z-score of the cutoff.", "", "z", z, wrong=[("sign", -z), ("inverse", 1 / z)]),
            Part("Find the probability that a randomly chosen score is above the cutoff.", "", "p", 0.5 * (1 - erf(z / sqrt(2))), figures=4, wrong=[("complement", 0.5 * (1 + erf(z / sqrt(2)))), ("half|factor", 1 - erf(z / sqrt(2)))], rounded=["0.2005"]),
        ),
    )


def _survey() -> Asked:
    p, n = 0.55, 800
    e = 1.644853627 * sqrt(p * (1 - p) / n)
    return Asked(
        "survey",
        "proportion-interval",
        "Out of {n} randomly chosen voters, {k} favor a new library. Construct a {C} confidence interval for the population proportion. For the next survey an error bound of {e_2} is planned.",
        {"n": "800", "k": "440", "C": "90%", "e_2": "2%"},
        (
            Part("What is the error bound?", "", "e", e, wrong=[("slip|given", 1.959963985 * sqrt(p * (1 - p) / n)), ("half|factor", 2 * e)], rounded=[]),
            Part("What is the upper limit of the interval?", "", "high", p + e, wrong=[("other|sign|term", p - e), ("digits-swapped", swapped(p + e, 3, 1))]),
        ),
    )


def _coin() -> Asked:
    z = (92 / 160 - 0.5) / sqrt(0.25 / 160)
    return Asked(
        "coin",
        "proportion-test",
        "To test at the {a} level whether a coin is fair (null hypothesis p = {p_0}), it is tossed {n} times and comes up heads {k} times.",
        {"a": "5%", "p_0": "0.50", "n": "160", "k": "92"},
        (
            Part("What is the test statistic?", "", "z", z, wrong=[("sign", -z), ("slip|given|law", (92 / 160 - 0.5) / sqrt(92 / 160 * 68 / 160 / 160))]),
            Part("What is the two-sided p-value?", "", "p", 1 - erf(z / sqrt(2)), figures=4, wrong=[("half|factor|slip", 0.5 - 0.5 * erf(z / sqrt(2)))]),
        ),
    )


def _genetics() -> Asked:
    obs, ex = (58, 112, 30), (50, 100, 50)
    x = sum((o - e) ** 2 / e for o, e in zip(obs, ex, strict=True))
    return Asked(
        "genetics",
        "goodness-of-fit",
        "Genetic theory predicts {q_1} red, {q_2} pink and the remainder white offspring. An experiment yields {o_1} red, {o_2} pink and {o_3} white plants. Carry out a chi-square goodness-of-fit test ({a} level).",
        {"q_1": "25%", "q_2": "50%", "o_1": "58", "o_2": "112", "o_3": "30", "a": "5%"},
        (
            Part("What is the chi-square statistic?", "", "x", x, figures=4, wrong=[("slip|law", sum((o - e) ** 2 / o for o, e in zip(obs, ex, strict=True))), ("power|root|slip", sum(abs(o - e) / e for o, e in zip(obs, ex, strict=True)))]),
        ),
    )


def _battery() -> Asked:
    data = np.array([11.2, 9.8, 10.5, 12.1, 10.9, 9.6])
    t = (float(data.mean()) - 10) / (float(data.std(ddof=1)) / sqrt(6))
    return Asked(
        "battery",
        "one-sample-t",
        "A maker states that its charger needs a mean time of {m_0}. Six trials gave {x}. Carry out a hypothesis test at the {a} level.",
        {"m_0": "10.0 min", "x": "11.2, 9.8, 10.5, 12.1, 10.9, 9.6 min", "a": "5%"},
        (
            Part("What is the t statistic?", "", "t", t, wrong=[("sign", -t), ("slip|law|factor", t * sqrt(5 / 6))]),
        ),
    )


def _height() -> Asked:
    x = np.array([2.0, 3.0, 5.0, 6.0, 8.0, 9.0])
    y = np.array([52.0, 58.0, 66.0, 71.0, 79.0, 88.0])
    b = float(((x - x.mean()) * (y - y.mean())).sum() / ((x - x.mean()) ** 2).sum())
    a = float(y.mean() - b * x.mean())
    return Asked(
        "study",
        "regression-line",
        "Six students report the hours they studied, {x}, and their scores, {y}, in the same order. Use the least-squares regression line to predict the score of a student who studies for {x_0} hours.",
        {"x": "2.0, 3.0, 5.0, 6.0, 8.0, 9.0", "y": "52, 58, 66, 71, 79, 88", "x_0": "7.0"},
        (
            Part("", "", "y_0", a + b * 7, figures=4, style="none", wrong=[("slip|term|given", b * 7), ("digits-swapped", swapped(a + b * 7, 4, 1))], rounded=[round(a, 2) + round(b, 2) * 7]),
        ),
    )


MATTER = (
    _arrh(), _ksp(), _fluorite(), _gas(), _osm(), _hf(), _nagibbs(), _cc(), _chrome(), _exam(),
    _survey(), _coin(), _genetics(), _battery(), _height(),
)
