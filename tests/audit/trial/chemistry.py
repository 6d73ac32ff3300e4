# ruff: noqa: E501
# fmt: off
"""Questions on chemistry and statistics. Stories and numbers are invented; the formulas are those of
any introductory textbook."""

from __future__ import annotations

from math import erf, exp, log, log10, sqrt

import numpy as np

from tests.audit.trial.table import Asked, Part, sig, swapped

R, RL = 8.314462618, 0.082057


def _rate() -> Asked:
    k1, k2, t1, t2 = 2.4e-4, 3.1e-2, 298.0, 348.0
    e = R * log(k2 / k1) / (1 / t1 - 1 / t2) / 1000
    return Asked(
        "rate",
        "arrhenius",
        "The hydrolysis of an ester was timed twice. Lower temperature: {T_1}, rate constant {k_1}. Higher"
        " temperature: {T_2}, rate constant {k_2}.",
        {"T_1": "298 K", "k_1": "2.40e-4 1/s", "T_2": "348 K", "k_2": "3.10e-2 1/s"},
        (
            Part("What is the activation energy?", "kJ/mol", "E", e, wrong=[("power-of-ten", e * 1000), ("sign", -e), ("function|slip|law", e / log(10))], rounded=[R * log(k2 / k1) / (0.00336 - 0.00287) / 1000], other=[8.31 * log(k2 / k1) / (1 / t1 - 1 / t2) / 1000], figures=4),
            Part("What is the frequency factor?", "1/s", "A", k1 * exp(e * 1000 / (R * t1)), wrong=[("sign|slip|given-sign|inverse", k1 * exp(-e * 1000 / (R * t1)))], rounded=[k1 * exp(sig(e, 3) * 1000 / (8.314 * t1))]),
        ),
    )


def _buffer() -> Asked:
    v, ca, cb, ka, vs, cs = 0.15, 0.2, 0.18, 1.8e-5, 0.02, 0.25
    na, nb, ns = v * ca, v * cb, vs * cs
    h = ka * (na - ns) / (nb + ns)
    return Asked(
        "buffer",
        "buffer",
        "A buffer was made up: its volume is {V}, the concentration of the weak acid in it {c_a} and that of its anion"
        " {c_b}. The acid constant is {K_a}. Now {V_s} of sodium hydroxide solution with a concentration of {c_s} is"
        " stirred in.",
        {"V": "150 mL", "c_a": "0.200 mol/L", "c_b": "0.180 mol/L", "K_a": "1.80e-5 mol/L", "V_s": "20.0 mL", "c_s": "0.250 mol/L"},
        (
            Part("What is the pH of the mixture?", "", "pH", -log10(h), wrong=[("slip|term|given-dropped", -log10(ka * na / nb)), ("sign", log10(h)), ("slip|sign|term", -log10(ka * (nb + ns) / (na - ns)))], figures=3),
            Part("What is the concentration of hydrogen ions?", "mol/L", "h", h, wrong=[("inverse|slip|law", ka * (nb + ns) / (na - ns)), ("power-of-ten|exponent", h * 10)]),
        ),
    )


def _fluoride() -> Asked:
    k, c = 1.7e-6, 0.045
    s = (-c + sqrt(c * c + 4 * k)) / 2
    return Asked(
        "bromate",
        "common-ion",
        "A sparingly soluble salt AB has a solubility product of {K}. Somebody tries to dissolve it in a solution in which the"
        " concentration of the common ion already is {c}.",
        {"K": "1.70e-6 mol2/L2", "c": "0.0450 mol/L"},
        (
            Part("What is its solubility in pure water?", "mol/L", "s_0", sqrt(k), wrong=[("root-dropped|squared", k), ("half-or-double|factor", sqrt(k) / 2)]),
            Part("What is its solubility in that solution?", "mol/L", "s", s, wrong=[("other-part|parts-swapped", sqrt(k)), ("power-of-ten|exponent", s * 10), ("inverse|slip|law|factor", k * c)], rounded=[k / c]),
        ),
    )


def _plate() -> Asked:
    h, s, i, rho, mm, z = 15e-6, 0.42, 18.0, 8.9, 58.69, 2
    m = h * s * 1e6 * rho
    q = m / mm * z * 96485.0
    return Asked(
        "nickel",
        "electroplating",
        "A bumper is nickel-plated. Area of the surface: {S}. Thickness of the coating: {h}. Density of the metal: {rho}. Molar mass of"
        " the metal: {M}. Charge number of the ion: {z}. The bath is run with a current of {I}.",
        {"S": "0.420 m²", "h": "15.0 µm", "rho": "8.90 g/cm³", "M": "58.69 g/mol", "z": "2", "I": "18.0 A"},
        (
            Part("Which mass has the coating?", "g", "m", m, wrong=[("power-of-ten", m * 10), ("slip|factor|inverse", h * s * 1e6 / rho)]),
            Part("Which charge must flow?", "C", "Q", q, wrong=[("half-or-double|factor|given-dropped|slip", q / 2)], other=[m / mm * z * 96500], figures=5),
            Part("How much time does the plating take?", "h", "t", q / i / 3600, wrong=[("answer-unit|unit|factor", q / i / 60), ("half-or-double|factor|slip", q / i / 7200)], rounded=[sig(q, 3) / i / 3600]),
        ),
    )


def _gibbs() -> Asked:
    h, s, t = -46.0, -99.0, 310.0
    g = h - t * s / 1000
    return Asked(
        "gibbs",
        "free-energy",
        "For a reaction the tables give a standard enthalpy of reaction of {H} and a standard entropy of reaction of {S}. It is"
        " run at a temperature of {T}.",
        {"H": "-46.0 kJ/mol", "S": "-99.0 J/(mol K)", "T": "310 K"},
        (
            Part("What is the standard free energy of reaction?", "kJ/mol", "G", g, wrong=[("sign|slip|term", h + t * s / 1000), ("unit|power-of-ten", h - t * s), ("sign", -g)]),
            Part("What is the equilibrium constant?", "", "K", exp(-g * 1000 / (R * t)), wrong=[("sign|inverse", exp(g * 1000 / (R * t))), ("unit|power-of-ten", exp(-g / (R * t)))], rounded=[exp(15300 / (8.314 * 310))]),
        ),
    )


def _osmosis() -> Asked:
    c, i = 0.15, 2
    return Asked(
        "osmosis",
        "osmotic-pressure",
        "A cell sits in a saline solution at {T}. The concentration of the solute is {c}; each unit that dissolves gives {i}"
        " particles. The density of the solution is {rho}.",
        {"T": "25.0 °C", "c": "0.150 mol/L", "i": "2", "rho": "1.01 g/cm³"},
        (
            Part("What is the osmotic pressure of the solution?", "atm", "P", i * c * RL * 298.15, wrong=[("slip|given-dropped|half|factor", c * RL * 298.15), ("unit", i * c * RL * 25)], other=[i * c * 0.0821 * 298.15, i * c * RL * 298], figures=4),
            Part("What height of a column of the solution would it carry?", "m", "h", i * c * RL * 298.15 * 101325 / (1010 * 9.81), wrong=[("power-of-ten", i * c * RL * 298.15 * 101325 / (1010 * 9.81) * 100)], rounded=[7.34 * 101325 / (1010 * 9.81)]),
        ),
    )


def _kpkc() -> Asked:
    kp, nr, np_, t = 6.5e-3, 4, 2, 450.0
    kc = kp * (RL * (t + 273.15)) ** (nr - np_)
    return Asked(
        "ammonia",
        "pressure-to-concentration",
        "In a synthesis {n_r} molecules of gas stand among the reactants and {n_p} among the products. At a temperature of {T} the"
        " equilibrium constant in pressures (atmospheres) is {K_p}.",
        {"n_r": "4", "n_p": "2", "T": "450 °C", "K_p": "6.50e-3"},
        (
            Part("What is the equilibrium constant in concentrations?", "", "K_c", kc, style="none", wrong=[("inverse|slip|sign|given", kp * (RL * (t + 273.15)) ** (np_ - nr)), ("unit", kp * (RL * t) ** 2), ("power-dropped|slip|root", kp * RL * (t + 273.15))], other=[kp * (RL * 723) ** 2, kp * (0.0821 * 723.15) ** 2], figures=5),
        ),
    )


def _stove() -> Asked:
    m, o = 42.0, 0.28
    n = m / 44.1
    mo = n * 5 * 32.0
    return Asked(
        "stove",
        "propane-air",
        "On a trip a camping stove burns {m} of propane completely, to carbon dioxide and water. Up there each litre of air"
        " contains only {o} of oxygen.",
        {"m": "42.0 g", "o": "0.280 g/L"},
        (
            Part("What amount of propane is burnt?", "mol", "n", n, wrong=[("inverse", 1 / n), ("digits-swapped", swapped(n, 3, 1))]),
            Part("What mass of oxygen is needed?", "g", "m_O", mo, wrong=[("factor|slip", mo / 5), ("half-or-double|factor|slip", mo / 2)], rounded=[0.95 * 160]),
            Part("What volume of air is needed?", "L", "V", mo / o, wrong=[("inverse|factor|slip|law", mo * o), ("power-of-ten", mo / o * 10)]),
        ),
    )


def _salt12() -> Asked:
    k = 3.9e-8
    s = (k / 4) ** (1 / 3)
    return Asked(
        "halide",
        "salt-one-to-two",
        "A salt dissolves so that each formula unit gives one cation and two anions. Its solubility product is {K}; its molar mass is"
        " {M}.",
        {"K": "3.90e-8 mol³/L³", "M": "278.1 g/mol"},
        (
            Part("What is its solubility?", "mol/L", "s", s, wrong=[("slip|factor|law|power", k ** (1 / 3)), ("slip|factor|law|root|power", sqrt(k)), ("digits-swapped", swapped(s, 3, 1))]),
            Part("What is the concentration of the anion in the saturated solution?", "mol/L", "x", 2 * s, wrong=[("half-or-double|other-part|factor", s)]),
            Part("What mass dissolves in a litre?", "g/L", "w", s * 278.1, wrong=[("power-of-ten", s * 278.1 / 1000), ("inverse|law|factor|slip", s / 278.1 * 1000)], rounded=[0.00214 * 278.1]),
        ),
    )


def _waals() -> Asked:
    n, v, t, a, b = 2.5, 3.2, 340.0, 4.17, 0.0371
    p0 = n * RL * t / v
    p = n * RL * t / (v - n * b) - a * n * n / v**2
    return Asked(
        "waals",
        "van-der-waals",
        "A steel vessel with a volume of {V} is filled with {n} of ammonia and warmed to {T}. Take {a} for the constant of attraction and"
        " {b} for the volume taken up by the molecules.",
        {"V": "3.20 L", "n": "2.50 mol", "T": "340 K", "a": "4.17 L² atm/mol²", "b": "0.0371 L/mol"},
        (
            Part("What pressure does the law of the ideal gas give?", "atm", "p_0", p0, wrong=[("inverse|law|slip|factor", n * RL / t / v * 1e4), ("power-of-ten", p0 * 10)], other=[n * 0.0821 * t / v, n * 0.08206 * t / v], figures=4),
            Part("What pressure does the van der Waals equation give?", "atm", "p", p, wrong=[("sign|term|slip", n * RL * t / (v - n * b) + a * n * n / v**2), ("term|slip|given-dropped", n * RL * t / (v - n * b))], rounded=[sig(n * RL * t / (v - n * b), 3) - sig(a * n * n / v**2, 2)]),
        ),
    )


def _vapour() -> Asked:
    p1, p2, t1, t2, p3 = 8.0, 60.0, 290.0, 335.0, 30.0
    h = R * log(p2 / p1) / (1 / t1 - 1 / t2)
    t3 = 1 / (1 / t1 - R * log(p3 / p1) / h)
    return Asked(
        "vapour",
        "vapour-pressure",
        "For a solvent the vapour pressure is {p_1} at the lower temperature of {T_1} and {p_2} at the higher temperature of {T_2}. In a"
        " still it is to boil under a pressure of {p_3}.",
        {"p_1": "8.00 kPa", "T_1": "290 K", "p_2": "60.0 kPa", "T_2": "335 K", "p_3": "30.0 kPa"},
        (
            Part("What is its enthalpy of vaporisation?", "kJ/mol", "H", h / 1000, wrong=[("function|slip|law", h / 1000 / log(10)), ("sign", -h / 1000), ("power-of-ten", h)], rounded=[R * 2.01 / (0.00345 - 0.00299) / 1000]),
            Part("At which temperature does it boil in the still?", "K", "T_3", t3, wrong=[("answer-unit", t3 - 273.15), ("digits-swapped", swapped(t3, 3, 1))]),
        ),
    )


def _acid() -> Asked:
    va, ca, v, ka = 10.0, 0.24, 200.0, 6.3e-5
    c = va * ca / v
    h = (-ka + sqrt(ka * ka + 4 * ka * c)) / 2
    return Asked(
        "acid",
        "weak-acid",
        "Of a stock solution of a weak acid (concentration {c_a}) a student takes {V_a} and fills up with water; the volume after dilution"
        " is {V}. The acid constant is {K_a}.",
        {"c_a": "0.240 mol/L", "V_a": "10.0 mL", "V": "200 mL", "K_a": "6.30e-5 mol/L"},
        (
            Part("What is the pH of the diluted solution?", "", "pH", -log10(h), wrong=[("slip|given|term", -log10((-ka + sqrt(ka * ka + 4 * ka * ca)) / 2)), ("slip|law|term|given", -log10(c)), ("sign", log10(h))], rounded=[-log10(sqrt(ka * c))], figures=3),
            Part("What is the degree of ionisation?", "%", "beta", h / c * 100, wrong=[("unit|power-of-ten", h / c), ("inverse", c / h)]),
        ),
    )


def _normal() -> Asked:
    mu, s, x = 125.0, 6.5, 133.0
    z = (x - mu) / s
    p = 0.5 * (1 - erf(z / sqrt(2)))
    return Asked(
        "normal",
        "normal-share",
        "The masses of apples from an orchard follow a normal distribution; the mean is {mu}, the standard deviation {s}. A buyer sets a"
        " limit at {x}. He also wants to know below which mass {q} of them lie.",
        {"mu": "125 g", "s": "6.5 g", "x": "133 g", "q": "90 %"},
        (
            Part("What is the standard score of the limit?", "", "z", z, wrong=[("sign", -z), ("inverse", 1 / z)]),
            Part("What share lies above the limit?", "", "p", p, wrong=[("complement", 1 - p), ("half-or-double|factor", 2 * p)], rounded=["0.1093"], figures=4),
            Part("Below which value does the stated share lie?", "g", "x_q", mu + 1.2815515655 * s, wrong=[("sign|term|slip", mu - 1.2815515655 * s), ("slip|term|factor|given", mu + 0.9 * s)], rounded=[mu + 1.28 * s], figures=5),
        ),
    )


def _poll() -> Asked:
    n, k = 640, 384
    p = k / n
    e = 1.959963985 * sqrt(p * (1 - p) / n)
    return Asked(
        "poll",
        "proportion-interval",
        "A town asks {n} of its people, picked at random, about a bypass; {k} agree. Use a confidence level of {C}. A later survey should"
        " have a margin of error of {e_2}.",
        {"n": "640", "k": "384", "C": "95 %", "e_2": "3 %"},
        (
            Part("What is the margin of error of the survey?", "", "e", e, wrong=[("root-dropped|squared|slip|power", 1.959963985 * p * (1 - p) / n), ("half-or-double|factor", 2 * e)], other=[], rounded=[], figures=3),
            Part("What is the lower end of the interval?", "", "low", p - e, wrong=[("other-part|parts-swapped|sign|term", p + e), ("complement", 1 - p + e)], rounded=[0.6 - 0.0380]),
            Part("What is the upper end of the interval?", "", "high", p + e, wrong=[("digits-swapped", swapped(p + e, 3, 1))]),
        ),
    )


def _claim() -> Asked:
    n, k, p0 = 240, 78, 0.4
    z = (k / n - p0) / sqrt(p0 * (1 - p0) / n)
    p = 1 - erf(abs(z) / sqrt(2))
    return Asked(
        "claim",
        "proportion-test",
        "A firm claims a proportion of {p_0} of left-handed pairs in its boxes of gloves for left-handers' clubs. Of a sample of {n} pairs, {k}"
        " are. Test the claim, two-sided, at a level of significance of {a}.",
        {"p_0": "40 %", "n": "240", "k": "78", "a": "5 %"},
        (
            Part("What is the test statistic z?", "", "z", z, wrong=[("sign", -z), ("slip|law|term|given", (k / n - p0) / sqrt(k / n * (1 - k / n) / n))], rounded=[(0.325 - 0.4) / 0.0316]),
            Part("What is the p value?", "", "p", p, wrong=[("half-or-double|factor|slip", p / 2), ("complement", 1 - p)], figures=3),
        ),
    )


def _dice() -> Asked:
    obs = (48, 66, 36)
    exp_ = (150 * 0.25, 150 * 0.5, 150 * 0.25)
    x = sum((o - e) ** 2 / e for o, e in zip(obs, exp_, strict=True))
    return Asked(
        "peas",
        "goodness-of-fit",
        "A breeder counts flowers. Claimed: a share of {q_1} of the first kind, {q_2} of the second kind, and the rest of the third kind."
        " Counted: {o_1} of the first kind, {o_2} of the second kind, {o_3} of the third kind. Level of significance: {a}.",
        {"q_1": "25 %", "q_2": "50 %", "o_1": "48", "o_2": "66", "o_3": "36", "a": "5 %"},
        (
            Part("What is the test statistic?", "", "x", x, wrong=[("power-dropped|slip|law|root", sum(abs(o - e) / e for o, e in zip(obs, exp_, strict=True))), ("slip|law|given", sum((o - e) ** 2 / o for o, e in zip(obs, exp_, strict=True)))]),
            Part("What is the p value?", "", "p", exp(-x / 2), wrong=[("complement", 1 - exp(-x / 2)), ("half-or-double|factor", exp(-x / 2) / 2)], figures=3),
        ),
    )


def _pins() -> Asked:
    data = np.array([40.2, 39.7, 40.4, 40.1, 39.9, 40.6])
    s = float(data.std(ddof=1))
    e = 2.570581836 * s / sqrt(6)
    return Asked(
        "pins",
        "mean-interval",
        "Six dowels were measured; measured lengths: {x}. The nominal length is {m_0}. Take the lengths as normally distributed and a confidence"
        " level of {C}.",
        {"x": "40.2, 39.7, 40.4, 40.1, 39.9, 40.6 mm", "m_0": "40.0 mm", "C": "95 %"},
        (
            Part("What is the half-width of the confidence interval of the mean?", "mm", "e", e, wrong=[("slip|law|factor", 2.570581836 * s), ("slip|law|factor", 1.959963985 * s / sqrt(6)), ("slip", 2.570581836 * float(data.std()) / sqrt(6))], rounded=[2.57 * 0.327 / 2.45]),
            Part("What is the upper end of the interval?", "mm", "high", float(data.mean()) + e, wrong=[("sign|term|other-part|parts", float(data.mean()) - e), ("term|slip|intermediate|given", float(data.mean()))], figures=4),
        ),
    )


def _queue() -> Asked:
    data = np.array([9.0, 7.0, 12.0, 8.0, 10.0, 11.0, 6.0])
    t = (float(data.mean()) - 7.5) / (float(data.std(ddof=1)) / sqrt(7))
    return Asked(
        "queue",
        "one-sample-t",
        "An office promises that people wait {m_0} on average. Seven visitors noted their waiting times: {x}. Level of significance: {a}.",
        {"m_0": "7.5 min", "x": "9, 7, 12, 8, 10, 11, 6 min", "a": "5 %"},
        (
            Part("What value has the test statistic?", "", "t", t, wrong=[("sign", -t), ("slip|law|factor|root", t / sqrt(7)), ("slip|law", t * sqrt(6 / 7))], rounded=[(9 - 7.5) / 0.816]),
        ),
    )


def _times() -> Asked:
    a, b = np.array([12.1, 13.4, 11.8, 12.9, 13.0]), np.array([14.2, 13.7, 15.1, 14.6, 13.9])
    se = sqrt(float(a.var(ddof=1)) / 5 + float(b.var(ddof=1)) / 5)
    t = (float(a.mean()) - float(b.mean())) / se
    return Asked(
        "times",
        "two-means",
        "Two ways of packing a parcel are timed. Times of the first kind: {x}. Times of the second kind: {y}. The significance level is"
        " {level}; the variances need not be equal.",
        {"x": "12.1, 13.4, 11.8, 12.9, 13.0 min", "y": "14.2, 13.7, 15.1, 14.6, 13.9 min", "level": "5 %"},
        (
            Part("What is the standard error of the difference of the means?", "min", "se", se, wrong=[("root-dropped|squared", se * se), ("slip|law|factor", se * sqrt(5))]),
            Part("What is the value of the test statistic?", "", "t", t, wrong=[("sign", -t), ("power-of-ten", t * 10)], rounded=[(12.64 - 14.3) / 0.389]),
        ),
    )


def _kiosk() -> Asked:
    x = np.array([12.0, 15.5, 18.0, 21.5, 24.0, 27.0])
    y = np.array([31.0, 42.0, 55.0, 61.0, 78.0, 83.0])
    sxy, sxx, syy = (
        ((x - x.mean()) * (y - y.mean())).sum(),
        ((x - x.mean()) ** 2).sum(),
        ((y - y.mean()) ** 2).sum(),
    )
    b = float(sxy / sxx)
    a = float(y.mean() - b * x.mean())
    r = float(sxy / sqrt(sxx * syy))
    return Asked(
        "kiosk",
        "regression-line",
        "A kiosk keeps a list of the temperature in degrees Celsius and the number of drinks sold. Temperatures: {x}. Numbers: {y}. A"
        " least-squares line is to predict the number from the temperature. Tomorrow's temperature will be {x_0}.",
        {"x": "12.0, 15.5, 18.0, 21.5, 24.0, 27.0", "y": "31, 42, 55, 61, 78, 83", "x_0": "20.0"},
        (
            Part("What is the slope of the line?", "", "b", b, style="none", wrong=[("slip|law|inverse", float(sxy / syy)), ("slip|law|other", r)]),
            Part("What is the intercept of the line?", "", "a", a, style="none", wrong=[("sign", -a), ("slip|given|term", float(y.mean()))], rounded=[float(y.mean()) - sig(b, 3) * float(x.mean())], figures=4),
            Part("Which number does the line predict for tomorrow?", "", "y_0", a + b * 20, style="none", wrong=[("slip|term|given-dropped", b * 20), ("sign|slip|term", b * 20 - a)], rounded=[round(a, 2) + round(b, 2) * 20], figures=4),
            Part("What is the coefficient of correlation?", "", "r", r, style="none", wrong=[("squared|slip", r * r)], figures=3),
        ),
    )


def _lead() -> Asked:
    k, c = 8.5e-9, 0.012
    s = (-c + sqrt(c * c + 4 * k)) / 2
    return Asked(
        "carbonate",
        "common-ion",
        "How many moles of a carbonate MCO3 (solubility product {K}) dissolve in a litre of a soda solution, in which the concentration of the"
        " common ion is {c}? State the solubility in the solution.",
        {"K": "8.5 × 10⁻⁹ mol²/L²", "c": "0.012 mol/L"},
        (
            Part("", "mol/L", "s", s, figures=2, wrong=[("exponent|power-of-ten", "7.1e-6"), ("root|other-part|squared", sqrt(k))]),
        ),
    )


def _vinegar() -> Asked:
    va, ca, v, ka = 25.0, 0.1, 100.0, 1.8e-5
    c = va * ca / v
    h = (-ka + sqrt(ka * ka + 4 * ka * c)) / 2
    return Asked(
        "vinegar",
        "weak-acid",
        "{V_a} of vinegar, a stock solution of acetic acid with a concentration of {c_a}, is diluted with water. Volume after dilution {V}. K_a ="
        " {K_a}.",
        {"V_a": "25.0 mL", "c_a": "0.100 mol/L", "V": "100 mL", "K_a": "1.8·10^-5 mol/L"},
        (
            Part("Concentration of hydrogen ions in it?", "mol/L", "h", h, style="key", wrong=[("power-of-ten|exponent", h / 10), ("slip|given", (-ka + sqrt(ka * ka + 4 * ka * ca)) / 2)], rounded=[sqrt(ka * c)]),
        ),
    )


CHEMISTRY = (
    _rate(), _buffer(), _fluoride(), _plate(), _gibbs(), _osmosis(), _kpkc(), _stove(), _salt12(), _waals(), _vapour(), _acid(),
    _normal(), _poll(), _claim(), _dice(), _pins(), _queue(), _times(), _kiosk(), _lead(), _vinegar(),
)  # fmt: skip
