"""Families made for these tests: a ramp with friction, streams of coolant, a spring."""

from __future__ import annotations

import pytest

from qbank.family.loader import read_family
from qbank.family.model import Family

# The friction force may have either sign, the last case is `otherwise`, and the author writes no
# worked solution at all.
HOPPER = """
family: seed-hopper
title: A seed hopper on a loading ramp
subject: mechanics/statics
version: 1.0.0
licence: CC-BY-4.0
shares: equal
given:
  m: {name: mass of the hopper, draw: 20.0 .. 60.0 by 0.5 kg}
  F: {name: pull of the rope up the ramp, draw: 0 .. 600 by 5 N}
  theta: {name: angle of the ramp, draw: 10 .. 30 by 1 deg}
  mu: {name: coefficient of friction, draw: 0.20 .. 0.50 by 0.01}
  g: {name: free-fall acceleration, fixed: 9.81 m/s^2}
let:
  N: {name: normal force, equals: m*g*cos(theta), unit: N}
cases:
  moves up: {when: F - m*g*sin(theta) > mu*N, set: {s: 1}, say: {motion: moves up}}
  moves down: {when: m*g*sin(theta) - F > mu*N, set: {s: -1}, say: {motion: moves down}}
  stays: {when: otherwise, set: {s: 0}, say: {motion: stays where it is}}
find:
  f: {name: friction force, unit: N, figures: 3}
  a: {name: acceleration, unit: m/s^2, decimals: 2}
laws:
  ramp: F - m*g*sin(theta) - f = m*a
  moves up: {friction: f = s*mu*N}
  moves down: {friction: f = s*mu*N}
  stays: {rest: a = 0}
rules:
  - {need: abs(F - m*g*sin(theta)) >= 5 N, because: the friction force should be plain to see}
confirm:
  - {that: abs(f) <= mu*N, because: friction cannot exceed its greatest value}
slips:
  weight-forgotten: {replace: {ramp: F - f = m*a}, says: The weight has a share along the ramp.}
  cosine:
    replace: {ramp: F - m*g*cos(theta) - f = m*a}
    says: The share along the ramp goes with the sine.
  double-mass: {change: {m: 2*m}, says: The mass counts once.}
  always-up: {cases: {moves down: moves up, stays: moves up}, says: Compare the forces first.}
ask:
  - {which: motion, points: 1}
  - {enter: f, points: 2}
  - {choose: f, options: 2, points: 1}
  - {law: ramp, points: 1}
  - points: 1
    statements:
      - text: The friction force points down the ramp.
        when: f > 0 N
        feedback: Look at the sign.
      - {text: "The normal force is greater than {= 100 N in N}.", when: N > 100 N}
  - {enter: a, points: 1}
text:
  stem: |
    At {say place}, a hopper of mass {m} stands on a ramp at {theta}. A rope pulls up the ramp with
    {F.equation}. The coefficient of friction is {mu}; take {g.equation}.

    Forces up the ramp are positive; friction is counted as positive down the ramp.
  hints: ["Compare {F.symbol} with the share of the weight along the ramp."]
settings:
  - {name: mill, say: {place: an oat mill}}
  - {name: farm, say: {place: a farm}}
"""

COOLANT = """
family: coolant-mix
title: Two streams of coolant
subject: heat/mixing
version: 2.1.0
licence: CC-BY-4.0
given:
  q_1: {name: flow of the warm stream, draw: 1.0 .. 3.0 by 0.1 L/min}
  q_2: {name: flow of the cold stream, draw: 1.0 .. 3.0 by 0.1 L/min}
  T_1: {name: temperature of the warm stream, draw: 60 .. 90 by 1 °C}
  T_2: {name: temperature of the cold stream, draw: -10 .. 20 by 1 °C}
  k: {name: rate constant, list: "1.8e-5, 6.30e-4 1/s"}
find:
  T: {name: the mixed temperature, unit: °C, decimals: 1, tolerance: 0.2 K}
  r: {name: ratio of absolute temperatures, figures: 3, tolerance: 2 %}
  d: {name: decay in a minute, figures: 2, notation: scientific}
laws:
  heat: q_1*(T_1 - T) = q_2*(T - T_2)
  ratio: r = T_1/T_2
  decay: d = k*60 s
slips:
  half-way: {replace: {heat: T = T_1/2 + T_2/2}, says: The flows differ.}
  minutes: {replace: {decay: d = k*1 s}, says: A minute has sixty seconds.}
ask:
  - {enter: [T, r, d], points: 1}
text:
  stem: |
    Coolant at {T_1} flows in at {q_1}, coolant at {T_2} at {q_2}. An additive decays at a rate of
    {k}.
  solution:
    - |
      The heat balance:

      {law heat}

      {law heat with numbers}
    - "Then {law ratio}."
"""

SPRINGS = """
family: spring-sample
title: Rate of a spring
subject: mechanics/springs
version: 1.0.0
licence: CC-BY-4.0
given:
  c: {name: true rate, draw: 2.0 .. 6.0 by 0.1 N/mm, hidden: yes}
  x: {name: extension, sample: "uniform(5 mm, 30 mm)", size: 4 .. 6, decimals: 1, unit: mm}
  F: {name: force, sample: "normal(c*15 mm, 8 N)", size: like x, decimals: 0, unit: N}
let:
  S: {name: sum of the products, equals: sum(x*F), unit: N mm}
  Q: {name: sum of the squares, equals: sum(x^2), unit: mm^2}
find:
  k: {name: rate of the spring, unit: N/mm, figures: 3}
laws:
  fit: k*Q = S
ask:
  - {enter: k, points: 1}
text:
  stem: |
    A spring is pulled.

    {table x F}

    The extensions again: {x}.
  solution: ["{let S with numbers}"]
"""


@pytest.fixture(scope="session")
def hopper() -> Family:
    return read_family(HOPPER, "seed-hopper.yaml")


@pytest.fixture(scope="session")
def coolant() -> Family:
    return read_family(COOLANT, "coolant-mix.yaml")


@pytest.fixture(scope="session")
def springs() -> Family:
    return read_family(SPRINGS, "spring-sample.yaml")
