# ruff: noqa: E501
# fmt: off
"""Questions on mechanics, waves and structures. Stories and numbers are invented; the formulas are
those of any introductory textbook."""

from __future__ import annotations

from math import cos, pi, sin, sqrt, tan

from tests.audit.trial.table import Asked, Part, deg, sig, swapped

G = 9.81


def _launch() -> Asked:
    v, h = 4.0, 1.35
    t = sqrt(2 * h / G)
    return Asked(
        "launch",
        "level-launch",
        "A skateboard without a rider rolls off a loading dock. The top of the dock is {h} above"
        " the street. At the edge the board moves horizontally at {v_0}. Neglect the drag of the"
        " air.",
        {"h": "1.35 m", "v_0": "14.4 km/h"},
        (
            Part("How long does the board stay in the air?", "s", "t", t, wrong=[("root-dropped|squared|law|power-dropped|term|function", 2 * h / G), ("half-or-double|factor|slip", sqrt(h / G))], other=[sqrt(2 * h / 10)]),
            Part("How far from the foot of the dock, measured along the street, does it land?", "m", "x", v * t, wrong=[("unit", 14.4 * t)], rounded=[v * 0.525]),
            Part("Find the speed with which it reaches the street.", "m/s", "v", sqrt(v * v + (G * t) ** 2), wrong=[("term|slip", G * t), ("slip|term|law", v + G * t)], rounded=[sqrt(16 + round(G * t, 1) ** 2)], figures=4),
        ),
    )


def _cliff() -> Asked:
    v, h, g = 18.0, 44.0, 9.8
    t = sqrt(2 * h / g)
    return Asked(
        "cliff",
        "level-launch",
        "From a cliff a gull, gliding level at {v_0}, lets a shell slip from its beak. Below lie flat"
        " rocks; the drop is {h}. (Use g = {g}.)",
        {"v_0": "18.0 m/s", "h": "44.0 m", "g": "9.8 m/s2"},
        (
            Part("After what time does the shell crack on the rocks?", "s", "t", t, style="key", wrong=[("power-of-ten", t * 10)], other=[sqrt(2 * h / 9.81)], figures=4),
            Part("What horizontal distance has it covered by then?", "m", "x", v * t, wrong=[("digits-swapped", swapped(v * t, 3, 1))]),
        ),
    )


def _throw() -> Asked:
    v, a, h = 12.5, 38.0, 6.2
    up, along = v * sin(deg(a)), v * cos(deg(a))
    t = (up + sqrt(up * up + 2 * G * h)) / G
    return Asked(
        "throw",
        "line-throw",
        "An angler stands on a pier and casts a sinker. It leaves the tip of the rod {h} above the"
        " water with a launch speed of {v_0}, and the launch angle is {theta} above the horizontal."
        " The line is light and air resistance is ignored.",
        {"v_0": "12.5 m/s", "theta": "38.0 degrees", "h": "6.20 m"},
        (
            Part("How long is the sinker in flight until the splash?", "s", "t", t, wrong=[("function|complement|slip", (v * cos(deg(a)) + sqrt((v * cos(deg(a))) ** 2 + 2 * G * h)) / G)]),
            Part("At what horizontal distance from the launch point does it splash in?", "m", "x", along * t, wrong=[("slip|function|term|law", along * 2 * up / G)], rounded=[sig(along, 3) * sig(t, 3)], figures=4),
            Part("What is the greatest height above the water that the sinker reaches?", "m", "H", h + up * up / (2 * G), wrong=[("term|slip|given-dropped", up * up / (2 * G)), ("unit", h + (v * sin(38.0)) ** 2 / (2 * G))]),
        ),
    )


def _speeding() -> Asked:
    v, a, t = 9.0, 1.4, 8.0
    return Asked(
        "speeding",
        "speeding-up",
        "A tram is already moving at {v_0} when the signal turns green. The driver then chooses a"
        " constant acceleration of {a}; she holds it for {t}.",
        {"v_0": "32.4 km/h", "a": "1.40 m/s^2", "t": "8.00 s"},
        (
            Part("Which speed has the tram at the end of this time?", "m/s", "v", v + a * t, wrong=[("unit", 32.4 + a * t), ("digits-swapped", "22.0")]),
            Part("Which distance does it cover during this time?", "m", "x", v * t + a * t * t / 2, figures=4, wrong=[("half-or-double|factor|term|slip|law", v * t + a * t * t), ("power-dropped|slip|law|term", v * t + a * t / 2)]),
        ),
    )


def _climb() -> Asked:
    h, a = 310.0, 27.0
    s = h / sin(deg(a))
    return Asked(
        "climb",
        "steady-climb",
        "A cable railway runs up a hillside in a straight line. Duration of the climb: {t}. Angle of"
        " the track above the horizontal: {theta}. Height gained: {h}.",
        {"t": "4.333 min", "theta": "27.0°", "h": "310 m"},
        (
            Part("How long is the track?", "m", "s", s, wrong=[("function|complement|slip", h / cos(deg(a)))], other=[]),
            Part("What average speed along the track does a car have?", "m/s", "v", s / 259.98, figures=3, wrong=[("unit|power-of-ten", s / 4.333), ("slip|intermediate|law|factor", h / 259.98)], rounded=[]),
            Part("How large is the horizontal distance covered?", "m", "x", h / tan(deg(a)), wrong=[("inverse|function|slip|factor|law", h * tan(deg(a)))]),
        ),
    )


def _wagon() -> Asked:
    f, m = 420.0, 1250.0
    a = f / m
    return Asked(
        "wagon",
        "wagon-push",
        "Two people lean against a parked delivery van. Mass of the van with its load: {m}. The net"
        " force on it, after friction has been taken off, comes to {F}. It starts from rest.",
        {"m": "1.25 t", "F": "420 N"},
        (
            Part("Give its acceleration.", "m/s^2", "a", a, wrong=[("inverse", m / f), ("power-of-ten|unit", a * 1000)]),
        ),
    )


def _atwood() -> Asked:
    a_, b_, m, h = 3.2, 4.7, 1.6, 1.1
    a = (b_ - a_) * G / (a_ + b_ + m / 2)
    return Asked(
        "atwood",
        "atwood-disc",
        "Over a pulley, a solid disc with mass {M}, runs a cord that does not slip. The heavy load,"
        " {m_2}, hangs on one end. The light load, {m_1}, hangs on the other. The heavy load starts"
        " from rest at a height of {h} above the floor.",
        {"M": "1.60 kg", "m_2": "4.70 kg", "m_1": "3.20 kg", "h": "110 cm"},
        (
            Part("Which acceleration do the loads get?", "m/s²", "a", a, wrong=[("slip|given-dropped", (b_ - a_) * G / (a_ + b_)), ("slip|half|factor|law|term", (b_ - a_) * G / (a_ + b_ + m))]),
            Part("Which tension acts in the cord on the light side?", "N", "T_1", a_ * (G + a), wrong=[("other-part|parts-swapped", b_ * (G - a)), ("term|sign|slip", a_ * (G - a))], rounded=[a_ * (G + sig(a, 3))], figures=4),
            Part("With which speed does the heavy load arrive at the floor?", "m/s", "v", sqrt(2 * a * h), wrong=[("unit", sqrt(2 * a * 110)), ("root-dropped|squared", 2 * a * h)], rounded=[sqrt(2 * h * sig(a, 3))]),
        ),
    )


def _spring() -> Asked:
    k, m, h = 6.4e3, 14.0, 0.75
    w = m * G
    x = (w + sqrt(w * w + 2 * k * w * h)) / k
    return Asked(
        "spring",
        "drop-on-spring",
        "Packages are tested by letting them drop on an upright coil spring. One package has a mass of"
        " {m}; it is released from rest at a height of {h} above the upper end of the spring, and the"
        " spring constant is {k}.",
        {"m": "14.0 kg", "h": "75 cm", "k": "64 N/cm"},
        (
            Part("With what speed does the package meet the spring?", "m/s", "v", sqrt(2 * G * h), wrong=[("unit", sqrt(2 * G * 75)), ("digits-swapped", swapped(sqrt(2 * G * h), 3, 1))], other=[sqrt(2 * 10 * h)]),
            Part("Find the greatest compression of the spring.", "cm", "x", 100 * x, wrong=[("slip|term|law|given-dropped", 100 * sqrt(2 * w * h / k)), ("power-of-ten", x)]),
            Part("What is the greatest force of the spring on the package?", "N", "F", k * x, figures=4, style="key", wrong=[("half-or-double|factor", 2 * k * x)], rounded=[k * sig(x, 3)]),
        ),
    )


def _lift() -> Asked:
    m, h, f = 950.0, 17.5, 640.0
    return Asked(
        "lift",
        "lift-work",
        "In a department store an elevator car, {m} with the people in it, is hauled up through {h} at"
        " constant speed. The guide rails hold it back with a friction force of {f}. The trip takes"
        " {*}.",
        {"m": "950 kg", "h": "17.5 m", "f": "0.64 kN", "*": "22 seconds"},
        (
            Part("Calculate the work done by the cable.", "kJ", "W_c", (m * G + f) * h / 1000, wrong=[("slip|term|given-dropped", m * G * h / 1000), ("slip|sign|given-sign|term", (m * G - f) * h / 1000)], other=[(m * 10 + f) * h / 1000]),
            Part("Calculate the work done by gravity.", "kJ", "W_g", -m * G * h / 1000, wrong=[("sign", m * G * h / 1000)], other=[-m * 9.8 * h / 1000], figures=4),
        ),
    )


def _crate() -> Asked:
    m, f, a, s, k, g = 32.0, 145.0, 25.0, 0.35, 0.25, 9.8
    n = m * g - f * sin(deg(a))
    return Asked(
        "crate",
        "pulled-crate",
        "Somebody drags a wooden crate across a level floor by a rope. Known: mass of the crate {m}; pull"
        " in the rope {F}; angle of the rope above the floor {phi}; coefficient of static friction"
        " {mu_s}; coefficient of kinetic friction {mu_k}; g = {g}.",
        {"m": "32.0 kg", "F": "145 N", "phi": "25.0°", "mu_s": "0.35", "mu_k": "0.25", "g": "9.8 m/s²"},
        (
            Part("Determine the normal force of the floor.", "N", "N", n, wrong=[("slip|term|given-dropped", m * g), ("slip|term|given-sign", m * g + f * sin(deg(a)))]),
            Part("Determine the acceleration of the crate.", "m/s²", "a", (f * cos(deg(a)) - k * n) / m, wrong=[("unit", (f * cos(25.0) - k * (m * g - f * sin(25.0))) / m), ("slip|given-twice|givens|law", (f * cos(deg(a)) - s * n) / m)], rounded=[(131 - 63) / m]),
        ),
    )


def _terminal() -> Asked:
    m, a, c, rho = 2.8, 0.18, 1.1, 1.2
    v = sqrt(2 * m * G / (rho * c * a))
    return Asked(
        "terminal",
        "terminal-speed",
        "A weather sonde comes down on a small parachute. Sonde and parachute together have a mass of"
        " {m}; the area across the fall is {A}, and the drag coefficient is about {C}. Near the ground"
        " the density of the air is {rho}.",
        {"m": "2.80 kg", "A": "0.18 m2", "C": "1.10", "rho": "1.20 kg/m3"},
        (
            Part("Estimate its terminal speed.", "m/s", "v", v, wrong=[("root-dropped|squared", v * v), ("factor|slip|half|law", v / sqrt(2)), ("digits-swapped", swapped(v, 3, 0))], other=[sqrt(2 * m * 9.8 / (rho * c * a))], figures=4),
        ),
    )


def _collision() -> Asked:
    a, b, u, v = 0.24, 0.36, 0.9, -0.4
    w1 = ((a - b) * u + 2 * b * v) / (a + b)
    w2 = ((b - a) * v + 2 * a * u) / (a + b)
    return Asked(
        "collision",
        "elastic-collision",
        "Two gliders meet on an air track without loss of energy: the collision is elastic. Left glider:"
        " mass {m_1}, velocity before the collision {v_1}. Right glider: mass {m_2}, velocity before the"
        " collision {v_2}; the minus sign means that it moves to the left.",
        {"m_1": "240 g", "v_1": "0.90 m/s", "m_2": "360 g", "v_2": "-0.40 m/s"},
        (
            Part("What velocity does the left glider have after the collision?", "m/s", "w_1", w1, 2, wrong=[("sign", -w1), ("other-part|parts-swapped", w2)]),
            Part("What velocity does the right glider have after the collision?", "m/s", "w_2", w2, 2, wrong=[("given-sign|slip|sign", ((b - a) * 0.4 + 2 * a * u) / (a + b))]),
            Part("How large is the impulse on either glider?", "N s", "J", b * (w2 - v), figures=3, wrong=[("unit|power-of-ten", 1000 * b * (w2 - v)), ("slip|term|law|given", b * w2)]),
        ),
    )


def _pendulum() -> Asked:
    length, t, l2 = 0.842, 1.842, 1.6
    g = 4 * pi**2 * length / t**2
    return Asked(
        "pendulum",
        "pendulum-gravity",
        "Students measure gravity with a simple pendulum. Its length is {L}, and a swing to and fro takes"
        " {t} on average. Afterwards they hang up a second pendulum with a length of {L_2}.",
        {"L": "84.2 cm", "t": "1.842 s", "L_2": "1.60 m"},
        (
            Part("Which value of the free-fall acceleration do they find?", "m/s^2", "g", g, wrong=[("slip|power-dropped|factor|root|law", 4 * pi**2 * length / t), ("factor|slip|law|power", 4 * pi * length / t**2)], other=[4 * 3.14**2 * length / t**2], figures=4),
            Part("What period should the second pendulum have?", "s", "t_2", 2 * pi * sqrt(l2 / g), wrong=[("inverse|slip|law|factor", t * l2 / length)], rounded=[2 * pi * sqrt(l2 / sig(g, 3))], figures=4),
        ),
    )


def _polar() -> Asked:
    r1, r2, a, b = 26.0, 41.0, 35.0, 118.0
    d = sqrt(r1 * r1 + r2 * r2 - 2 * r1 * r2 * cos(deg(b - a)))
    return Asked(
        "polar",
        "polar-distance",
        "A surveyor stands at the origin. The first point is at a distance of {r_1} in the direction"
        " {phi_1}; the second point is at a distance of {r_2} in the direction {phi_2}. Directions are"
        " counted anticlockwise from the x axis.",
        {"r_1": "26.0 m", "phi_1": "35.0°", "r_2": "41.0 m", "phi_2": "118.0°"},
        (
            Part("Work out the distance between the two points.", "m", "d", d, wrong=[("slip|term|law", sqrt(r1 * r1 + r2 * r2)), ("slip|term|law", sqrt(r1 * r1 + r2 * r2 + 2 * r1 * r2 * cos(deg(b - a)))), ("unit", sqrt(r1 * r1 + r2 * r2 - 2 * r1 * r2 * cos(b - a)))]),
            Part("Work out the area of the triangle that they form with the origin.", "m²", "A", r1 * r2 * sin(deg(b - a)) / 2, wrong=[("half-or-double|factor|slip", r1 * r2 * sin(deg(b - a)))]),
        ),
    )


def _drum() -> Asked:
    ma, mb, r, rr, m1, m2 = 5.0, 2.5, 0.11, 0.24, 5.5, 7.0
    inertia = (m1 * r * r + m2 * rr * rr) / 2
    alpha = G * (mb * rr - ma * r) / (inertia + ma * r * r + mb * rr * rr)
    return Asked(
        "drum",
        "stepped-drum",
        "A small disc (mass {M_r}, radius {r}) and a large disc (mass {M_R}, radius {R}) are fixed to each"
        " other and turn as a drum about their common axis. The left load, {m_a}, hangs on a cord wound on"
        " the small disc; the right load, {m_b}, hangs on a cord wound on the large disc.",
        {"M_r": "5.50 kg", "r": "11.0 cm", "M_R": "7.00 kg", "R": "24.0 cm", "m_a": "5.00 kg", "m_b": "2.50 kg"},
        (
            Part("What angular acceleration has the drum?", "rad/s²", "alpha", alpha, wrong=[("slip|term|given-dropped|law|factor", G * (mb * rr - ma * r) / (ma * r * r + mb * rr * rr)), ("sign", -alpha)]),
            Part("What is the tension in the right cord?", "N", "T_b", mb * (G - rr * alpha), wrong=[("other-part|parts-swapped", ma * (G + r * alpha)), ("slip|sign|term", mb * (G + rr * alpha))]),
        ),
    )


def _slope() -> Asked:
    m1, m2, m, th, s, k = 18.0, 26.0, 6.0, 30.0, 0.4, 0.3
    a = (m2 - m1 * (sin(deg(th)) + k * cos(deg(th)))) * G / (m1 + m2 + m / 2)
    return Asked(
        "slope",
        "rough-slope-pulley",
        "A loaded sledge of {m_1} rests on a rough slope whose angle is {theta}. A cord leads from it, along"
        " the slope, over a heavy pulley at the top (a uniform disc, {m}) down to a hanging counterweight of"
        " {m_2}. Static friction: coefficient {mu_s}. Kinetic friction: coefficient {mu_k}. Everything is"
        " let go from rest.".replace("{m}", "{M}"),
        {"m_1": "18.0 kg", "theta": "30.0°", "M": "6.00 kg", "m_2": "26.0 kg", "mu_s": "0.40", "mu_k": "0.30"},
        (
            Part("Find the size of the acceleration of the sledge.", "m/s²", "a", a, wrong=[("slip|given-dropped", (m2 - m1 * (sin(deg(th)) + k * cos(deg(th)))) * G / (m1 + m2)), ("slip|given-twice|givens", (m2 - m1 * (sin(deg(th)) + s * cos(deg(th)))) * G / (m1 + m2 + m / 2))]),
            Part("Find the tension in the hanging part of the cord.", "N", "T_2", m2 * (G - a), wrong=[("slip|sign|term", m2 * (G + a))], rounded=[m2 * (9.81 - sig(a, 3))], figures=3),
        ),
    )


def _beats() -> Asked:
    f1, f2, mu, length, n = 92.0, 99.0, 4.2e-3, 0.8, 3
    a, b = n * sqrt(f1 / mu) / (2 * length), n * sqrt(f2 / mu) / (2 * length)
    return Asked(
        "beats",
        "string-beats",
        "Two equal strings are stretched side by side. Each string is {L} long and has a mass per length of"
        " {mu}. One is a little slack: the tension of the slack string is {F_1}, that of the tight string is"
        " {F_2}. Both are made to sound in harmonic number {n}.",
        {"L": "80.0 cm", "mu": "4.20 g/m", "F_1": "92.0 N", "F_2": "99.0 N", "n": "3"},
        (
            Part("Which frequency has the slack string?", "Hz", "f_1", a, wrong=[("given-dropped|factor|slip", a / n), ("half-or-double|factor|slip", 2 * a)]),
            Part("How many beats are heard each second?", "Hz", "f_b", b - a, figures=3, wrong=[("sign", a - b), ("slip|factor|law|term|other", (a + b) / 2)], rounded=[round(b, 1) - round(a, 1)]),
        ),
    )


def _wave() -> Asked:
    mu, f, lam = 2.4e-3, 65.0, 0.55
    v = sqrt(f / mu)
    return Asked(
        "wave",
        "string-wave",
        "A generator drives one end of a long string. Tension: {F}. Mass per length of the string: {mu}. The"
        " crests of the wave on it follow each other at a wavelength of {L}.",
        {"F": "65.0 N", "mu": "2.40 g/m", "L": "55.0 cm"},
        (
            Part("At what speed does the wave run along the string?", "m/s", "v", v, wrong=[("root-dropped|squared", f / mu), ("unit", sqrt(f / 2.4))]),
            Part("What is the frequency of the wave?", "Hz", "f", v / lam, wrong=[("inverse|factor|slip|law", v * lam), ("factor", 2 * pi * v / lam)], rounded=[165 / lam]),
            Part("What is its wave number?", "1/m", "k", 2 * pi / lam, wrong=[("factor", 1 / lam)], other=[2 * 3.14 / lam], figures=4),
        ),
    )


def _doppler() -> Asked:
    f, v, c = 420.0, 25.0, 340.0
    return Asked(
        "doppler",
        "doppler-passing",
        "A fire engine sounds its horn and drives past a listener who stands at the kerb. Frequency of the"
        " horn: {f}. Speed of the source: {v_s}. Speed of sound in the air: {c}.",
        {"f": "420 Hz", "v_s": "90.0 km/h", "c": "340 m/s"},
        (
            Part("Which frequency is heard while it comes closer?", "Hz", "f_1", f / (1 - v / c), wrong=[("other-part|parts-swapped|sign|term", f / (1 + v / c)), ("slip|law|inverse", f * (1 + v / c)), ("digits-swapped", swapped(f / (1 - v / c), 3, 1))]),
            Part("Which frequency is heard while it goes away?", "Hz", "f_2", f / (1 + v / c), wrong=[("unit", f / (1 + 90 / c))], rounded=[]),
        ),
    )


def _ladder() -> Asked:
    w, length, th = 240.0, 5.0, 63.0
    n = w / (2 * tan(deg(th)))
    return Asked(
        "ladder",
        "ladder-on-wall",
        "A painter leans a uniform ladder against a wall that is so smooth that it exerts no friction. Weight"
        " of the ladder: {W}. Length of the ladder: {L}. Angle between ladder and floor: {theta}.",
        {"W": "240 N", "L": "5.00 m", "theta": "63.0°"},
        (
            Part("Compute the force of the wall.", "N", "N", n, wrong=[("half-or-double|factor|slip", 2 * n), ("unit", abs(w / (2 * tan(63.0)))), ("function|slip", w * tan(deg(th)) / 2)]),
            Part("Compute the least coefficient of static friction at the foot.", "", "mu", n / w, wrong=[("inverse", w / n)], rounded=[]),
            Part("Compute the height at which the ladder touches the wall.", "m", "H", length * sin(deg(th)), wrong=[("function|slip|complement", length * cos(deg(th)))]),
        ),
    )


def _beam() -> Asked:
    span, a, p, w, s = 6.4, 2.4, 15.0, 5.0, 850e-6
    rb = p * a / span + w * span / 2
    ra = p + w * span - rb
    m = (
        ra * ra / (2 * w)
        if ra / w < a
        else (
            ra * a - w * a * a / 2
            if (ra - p) / w < a
            else ra * ((ra - p) / w) - p * ((ra - p) / w - a) - w * ((ra - p) / w) ** 2 / 2
        )
    )
    return Asked(
        "beam",
        "floor-beam",
        "A floor beam rests on supports A and B at its ends; the span is {L}. It carries its share of the"
        " floor as a uniform load of {w}. A machine whose weight is {P} stands on it at a distance of {a}"
        " from support A. From a table: elastic section modulus {S}.",
        {"L": "6.40 m", "w": "5.00 kN/m", "P": "15.0 kN", "a": "2.40 m", "S": "850 cm³"},
        (
            Part("What is the reaction at support A?", "kN", "R_A", ra, wrong=[("other-part|parts-swapped", rb), ("slip|term|given-dropped", p - p * a / span)]),
            Part("What is the reaction at support B?", "kN", "R_B", rb, wrong=[("power-of-ten", rb / 10)]),
            Part("How large is the greatest bending moment?", "kN m", "M", m, wrong=[("slip|term|law|half|factor", 2 * m)]),
            Part("How large is the greatest bending stress?", "MPa", "sigma", m / s / 1000, wrong=[("power-of-ten|unit", m / s / 1e6)], rounded=[sig(m, 3) / s / 1000]),
        ),
    )


def _rod() -> Asked:
    m, a, length, y = 320.0, 0.45e-4, 3.5, 110e9
    s = m * G / a
    return Asked(
        "rod",
        "hanging-rod",
        "A load ({m}) is suspended from the ceiling of a workshop by a metal rod. The rod has a length of"
        " {L}, a cross-section of {A}, and an elastic modulus of {Y}. Its own weight does not count.",
        {"m": "320 kg", "L": "3.50 m", "A": "0.450 cm²", "Y": "1.10e11 Pa"},
        (
            Part("What tensile stress does the load cause?", "MPa", "s", s / 1e6, wrong=[("slip|factor|given|law", m / a / 1e6), ("power-of-ten|unit", s / 1e9)], other=[m * 9.8 / a / 1e6, m * 10 / a / 1e6]),
            Part("By how much does the rod stretch?", "mm", "x", s * length / y * 1000, wrong=[("slip|factor|law|other", s / y * 1000), ("power-of-ten", s * length / y * 100)], rounded=[sig(s, 3) * length / y * 1000]),
        ),
    )


def _deck() -> Asked:
    v, a, h, g = 18.0, 52.0, 3.0, 9.8
    up, along = v * sin(deg(a)), v * cos(deg(a))
    t = (up + sqrt(up * up + 2 * g * h)) / g
    return Asked(
        "deck",
        "line-throw",
        "What is the speed of a water balloon when it bursts on the water of a pond? It was launched from a"
        " raft, {h} above the water, at a launch angle of {theta} above the horizontal; the launch speed was"
        " {v_0}. Take {g} for the free-fall acceleration.",
        {"h": "3.00 m", "theta": "52°", "v_0": "18.0 m/s", "g": "9.80 m/s²"},
        (
            Part("", "m/s", "v", sqrt(v * v + 2 * g * h), wrong=[("term|slip", v), ("term|sign|slip", sqrt(v * v - 2 * g * h))], rounded=[sqrt(sig(along, 3) ** 2 + sig(up - g * sig(t, 3), 3) ** 2)], figures=4),
        ),
    )


def _motor() -> Asked:
    return Asked(
        "motor",
        "speeding-up",
        "v0 = {v_0}, a = {a}, t = {t}: a rowing shell speeds up evenly during the final spurt.",
        {"v_0": "5.20 m/s", "a": "0.25 m/s²", "t": "12.0 s"},
        (
            Part("(i) speed at the end of the spurt", "m/s", "v", 5.2 + 0.25 * 12, style="key", wrong=[("power-of-ten", 82.0), ("slip|given-dropped|term", "3.00")]),
            Part("(ii) distance covered in the spurt", "m", "x", 5.2 * 12 + 0.125 * 144, style="key", wrong=[("slip|given-dropped|term", 5.2 * 12), ("sign|term|given-sign", 5.2 * 12 - 18)]),
        ),
    )


MECHANICS = (
    _launch(), _cliff(), _throw(), _speeding(), _climb(), _wagon(), _atwood(), _spring(), _lift(), _crate(), _terminal(),
    _collision(), _pendulum(), _polar(), _drum(), _slope(), _beats(), _wave(), _doppler(), _ladder(), _beam(), _rod(),
    _deck(), _motor(),
)  # fmt: skip
