"""Cases over the whole range: by logic, by interval arithmetic, by points."""

import numpy as np
import pytest

from qbank.expressions.parser import parse_condition
from qbank.family.library import shipped_families
from qbank.family.loader import load_family, read_family
from qbank.generation import Generator
from qbank.vetting.coverage import coverage
from qbank.vetting.evidence import draw
from qbank.vetting.signs import SignTable

FAMILY = """\
family: f
title: t
subject: s
version: 1.0.0
given:
  x: {{name: first, draw: 1 .. 40 by 1 m}}
  y: {{name: second, draw: 1 .. 40 by 1 m}}
let:
  q: {{name: square, equals: x^2, unit: m^2}}
cases:
  one: {{when: {one}, say: {{w: a}}}}
  two: {{when: {two}, say: {{w: b}}}}
find:
  z: {{name: sum, unit: m, figures: 3}}
laws: {{sum: z = x + y + sqrt(q)}}
rules:
  - {{need: {rule}, because: of the test}}
ask: [{{enter: z}}, {{which: w}}]
text: {{stem: 'It is {{x}} and {{y}}.'}}
"""


def seen(one, two, rule="x + y < 79 m"):
    family = read_family(FAMILY.format(one=one, two=two, rule=rule), "f.yaml")
    generator = Generator(family)
    return coverage(generator, draw(generator, 0), 0)


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("x > y", "x < y"),
        ("x > y", "y > x"),
        ("x - y > 0", "x < y"),
        ("x*y > 3 m^2", "y*x < 3 m^2"),
        ("x + y >= 9 m", "not y + x >= 9 m"),
        ("x > y and x > 3 m", "x <= y or x <= 3 m"),
        ("x > y", "otherwise"),
    ],
)
def test_what_logic_decides(one, two):
    found = seen(one, two)
    assert found.proved
    assert found.way == "the signs of what is compared leave no other possibility (logic)"
    assert not ((found.holding != 1) & ~found.boundary).any()


@pytest.mark.parametrize(
    ("one", "two", "rule"),
    [
        ("x > 10 m", "x < 10000 mm", "x + y < 79 m"),
        ("q > 100 m^2", "x < 10 m", "x + y < 79 m"),
        ("x + y > 0 m", "x*y < 0 m^2", "x + y < 79 m"),
        ("x > 20 m", "x < 10 m", "x < 9 m or x > 22 m"),
    ],
)
def test_what_interval_arithmetic_decides_or_leaves_to_the_points(one, two, rule):
    found = seen(one, two, rule)
    accused = (found.holding != 1) & ~found.boundary & ~found.ruled_out
    assert not accused.any()
    assert found.proved == found.way.startswith("interval arithmetic on ")


def test_intervals_prove_what_signs_alone_leave_open():
    assert seen("x + y > 0 m", "x*y < 0 m^2").proved
    assert seen("x > 20 m", "x < 10 m", "x < 9 m or x > 22 m").proved


@pytest.mark.parametrize(
    ("one", "two", "holding"),
    [
        ("x > y", "x < 1.5*y", 2),
        ("x > 1.5*y", "x < y", 0),
        ("x > 39 m and y > 39.5 m", "x < 39.5 m or y < 38.5 m", 0),  # at one point alone
        ("x < 1.5 m and y < 1.5 m", "otherwise", 1),
    ],
)
def test_overlaps_and_gaps_are_found_and_never_proved_away(one, two, holding):
    found = seen(one, two)
    odd = (found.holding == holding) & ~found.boundary
    assert odd.any() == (holding != 1) or holding == 1
    assert found.proved == (holding == 1)


@pytest.mark.parametrize("path", shipped_families(), ids=lambda path: path.stem)
def test_a_proof_agrees_with_every_point_of_shipped_families(path):
    family = load_family(path)
    if len(family.cases) < 2:
        pytest.skip("no cases")
    generator = Generator(family)
    found = coverage(generator, draw(generator, 1), 1)
    accused = (found.holding != 1) & ~found.boundary & ~found.ruled_out
    assert not accused.any()


# ---------------------------------------------------------------------------- signs


def table(*conditions):
    return SignTable([parse_condition(text) for text in conditions])


@pytest.mark.parametrize(
    ("conditions", "count"),
    [
        (("a > b", "b < a", "not a <= b"), 1),
        (("a*b*c > d", "c*a*b < d", "d < b*c*a"), 1),
        (("0 < a < b",), 2),
        (("a - b > 0", "b > a", "0 > a - b"), 1),
        (("a/b > c", "b/a > c"), 2),
        (("a - b > c", "b - a > c"), 2),
    ],
)
def test_differences_that_are_the_same_are_one(conditions, count):
    assert len(table(*conditions).differences) == count


def test_signs_and_conditions_agree_with_numbers():
    texts = ["0 < a < b", "not (a >= b or b == c)", "a != c and c - a <= 0"]
    signs = table(*texts)
    rng = np.random.default_rng(0)
    values = {name: rng.integers(-2, 3, 500).astype(float) for name in "abc"}
    found = signs.signs(values, 500)
    a, b, c = values.values()
    truth = np.array([
        (a > 0) & (a < b), ~((a >= b) | (b == c)), (a != c) & (c - a <= 0),
    ])  # fmt: skip
    for row in range(500):
        assert signs.holding(tuple(found[:, row])) == truth[:, row].tolist()


def test_a_large_chain_of_intermediate_quantities_is_not_written_out():
    lets = "\n".join(
        f"  q{i}: {{name: n, equals: q{i - 1}/2 + q{i - 1}/2, unit: m^2}}" for i in range(1, 39)
    )
    text = FAMILY.format(one="q38 > 100 m^2", two="x < 10 m", rule="x + y < 79 m")
    text = text.replace("  q: {name: square", "  q0: {name: square").replace("sqrt(q)", "sqrt(q0)")
    text = text.replace("cases:\n", lets + "\ncases:\n")
    generator = Generator(read_family(text, "f.yaml"))
    found = coverage(generator, draw(generator, 0), 0)
    assert found.way == "what they compare has no simple bounds, so the points decide"
