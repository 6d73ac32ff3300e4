"""A mock examination, two small families, and drawing the forms of a blueprint's text."""

from __future__ import annotations

from pathlib import Path

from qbank.forms.blueprint import read_blueprint
from qbank.forms.drawing import draw_forms

MOCK = """\
title: Mock examination
forms: 3
draw:
  - {family: thin-lens, count: 2}
  - {subject: mechanics, level: first-year, points: 4 .. 12, count: 2}
"""

# 12 instances in all; for what runs out.
FEW = """\
family: few
title: Few
subject: test/few
level: any
version: 1.0.0
given:
  a: {name: a, draw: 1 .. 6 by 1 m}
  b: {name: b, list: 1.5, 20 m}
find: {v: {name: v, unit: m, figures: 3}}
laws: {one: v = a + b}
ask: [{enter: v, points: 2}]
text: {stem: 'There are {a} and {b}.'}
"""

# Two ways it can go and some 50,000 instances; quick to draw and to write.
PULL = """\
family: pull
title: Two pulls
subject: test/pulls
level: any
version: 1.0.0
given:
  F_l: {name: pull to the left, draw: 10 .. 99 by 1 N}
  F_r: {name: pull to the right, draw: 10.5 .. 99.5 by 1 N}
  m: {name: mass of the cart, draw: 200 .. 800 by 100 g}
cases:
  left: {when: F_l > F_r, set: {s: -1}, say: {goes: left}}
  right: {when: F_r > F_l, set: {s: 1}, say: {goes: right}}
find: {a: {name: acceleration, unit: m/s^2, figures: 3}}
laws: {motion: s*(F_r - F_l) = m*a}
ask: [{which: goes, points: 1}, {enter: a, points: 2}]
text: {stem: 'A cart of {m} is pulled by {F_l} and {F_r}.'}
"""


def draw(text: str, folder: Path = Path(), seed: int = 0, forms: int | None = None):
    return draw_forms(read_blueprint(text, "blueprint.yaml", folder), seed, forms)
