"""Small families that each ask one thing of the template rules."""

from __future__ import annotations

from qbank.family.loader import read_family
from qbank.family.model import Family

HEAD = """\
family: {name}
title: A {name} problem
subject: testing
level: any
version: 1.0.0
licence: CC-BY-4.0
language: en
"""


def family(name: str, body: str) -> Family:
    """A family from its body; the text shows every given."""
    return read_family(HEAD.format(name=name) + body, f"{name}.yaml")


SQUARE = """
given:
  p: {name: half the sum, draw: -9 .. 9 by 1 m}
  q: {name: the product, draw: -40 .. 40 by 1 m^2}
find:
  x: {name: the greater root, unit: m, figures: 3, choose: x >= p}
laws:
  roots: x^2 - 2*p*x + q = 0
rules:
  - need: p^2 - q >= 1 m^2
    because: there are two roots
  - need: abs(x) >= 0.05 m
    because: the root is no zero
slips:
  halved:
    replace: {roots: x^2 - p*x + q = 0}
    says: The sum is twice as large.
ask:
  - enter: x
    points: 2
text:
  stem: |
    The roots have the half sum {p} and the product {q}.
"""

CUBE = """
given:
  p: {name: the constant, draw: 2 .. 40 by 1}
find:
  x: {name: the root, unit: "1", figures: 3, choose: x > 0}
laws:
  cubic: x^3 + x = p
ask:
  - enter: x
    points: 1
text:
  stem: |
    The constant is {p}.
"""

LISTED = """
given:
  c:
    name: the concentration
    list: 0.5, 0.025, 1.0e-4, 3.20e-6 mol/L
  V: {name: the volume, draw: 0.5 .. 250.0 by 0.5 mL}
find:
  n: {name: the amount, unit: mol, figures: 3}
laws:
  amount: n = c*V
slips:
  divided:
    replace: {amount: n*V = c*(1 mL^2)}
    says: Multiply.
ask:
  - enter: n
    points: 1
text:
  stem: |
    The concentration is {c}, the volume {V}.
"""

RARE = """
given:
  a: {name: the first, draw: 1 .. 1000 by 1 m}
  b: {name: the second, draw: 1 .. 1000 by 1 m}
find:
  s: {name: the sum, unit: m, figures: 4}
laws:
  total: s = a + b
rules:
  - need: abs(a - 2*b) <= 10 m
    because: the first is about twice the second
ask:
  - enter: s
    points: 1
text:
  stem: |
    The numbers are {a} and {b}.
"""
