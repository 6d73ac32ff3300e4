"""The difficulty index: features against examples worked by hand and against other routes."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

import qbank
from qbank.expressions.tree import (
    Binary,
    Measure,
    Name,
    Negate,
    Number,
    names_in,
    walk,
)
from qbank.family.loader import read_family
from qbank.hardness.features import Difficulty, Features, difficulty
from qbank.hardness.spread import BAR, MOST_BINS, spread_of
from qbank.hardness.weights import WEIGHTS


def shipped(name: str) -> qbank.Family:
    return qbank.load_family(qbank.find_family(name))


def of_data(family: qbank.Family, **data: str) -> Features:
    return difficulty(qbank.work(family, data).instances)


HEAD = "family: f\ntitle: t\nsubject: s\nversion: 1.0.0\n"


def small(body: str) -> qbank.Family:
    return read_family(HEAD + body, "f.yaml")


# ---------------------------------------------------------------------------- by hand


def test_the_stepped_drum_by_hand():
    # Steps: the moment of inertia 1, the direction 1, three laws together 3 + 3.
    # Figures: 1.6 | 4.0 | 10.0 | 20.0 | 3.0 | 5.0 | 9.81 have 2+1+1+1+1+1+3 without end zeros.
    # Conversions: two radii in cm. Negatives: all terms positive.
    # Decades: powers of ten of 1.6 4 10 20 3 5 9.81 and of the answers 19.1 22.0 21.6.
    # Closeness: the torques are as 0.16 to 0.80. Round: 22.0 N, one answer of three.
    features = of_data(
        shipped("stepped-drum"), m_a="1.6kg", m_b="4.0kg", r="10cm", R="20cm", M_r="3.0kg",
        M_R="5.0kg",
    )  # fmt: skip
    numbers = [1.6, 4, 10, 20, 3, 5, 9.81, 19.1, 22.0, 21.6]
    decades = sum(abs(np.log10(x)) for x in numbers) / 10
    assert features.row(0) == pytest.approx(
        {
            "steps": 8, "figures": 10, "conversions": 2, "negatives": 0,
            "decades": decades, "closeness": 0.2, "round_answers": 1 / 3,
        },
        abs=1e-4,
    )  # fmt: skip
    by_hand = 8 + 0.05 * 10 + 0.5 * 2 + 0.5 * decades + 2 * 0.2 - 0.5 / 3
    assert features.index[0] == pytest.approx(by_hand, abs=1e-4)


@pytest.mark.parametrize(
    ("data", "negatives", "closeness", "round_answers"),
    [
        # d_i 20.0 cm, m 0.667, h_i 2.67 mm; 30 against 12
        ({"f": "12cm", "d_o": "30cm"}, 0, 0.4, 1 / 3),
        # d_i 36.0 cm, m 4.00, h_i 16.0 mm; the term s/d_i is negative; 9 against 12
        ({"f": "12cm", "d_o": "9cm"}, 1, 0.75, 1),
        # f, the term s/d_i and the whole right side are negative; a negative f is near no boundary
        ({"f": "-12cm", "d_o": "30cm"}, 3, 0, 0),
    ],
)
def test_the_thin_lens_by_hand(data, negatives, closeness, round_answers):
    row = of_data(shipped("thin-lens"), **data, h_o="4mm").row(0)
    assert row["negatives"] == negatives
    assert row["closeness"] == pytest.approx(closeness, abs=1e-4)
    assert row["round_answers"] == pytest.approx(round_answers, abs=1e-4)
    assert row["steps"] == 4  # the kind of image, and three laws one after the other
    assert row["conversions"] == 5  # f, d_o, h_o and the answers d_i and h_i


def test_a_sign_set_by_the_case_makes_neither_direction_harder():
    family = shipped("stepped-drum")
    (chunk,) = qbank.generate(family, count=400, seed=3)
    negatives = difficulty(chunk).negatives
    assert set(np.unique(chunk.case)) == {0, 1}
    assert not negatives.any()


LADDER = """
given: {h: {name: height, draw: 1 .. 9 by 1 m}}
find: {v: {name: a, unit: m, figures: 3%s}%s}
laws: {one: %s%s}
ask: [{enter: v}]
text: {stem: 'It is {h}.'}
"""


@pytest.mark.parametrize(
    ("family", "steps"),
    [
        (LADDER % ("", "", "v = 2*h", ""), 1),
        (LADDER % (", choose: v > 0 m", "", "v^2 = h^2", ""), 2),
        (LADDER % (", between: 0 m .. 9 m", "", "v = 2*h - v", ""), 4),
        # one after the other: two steps; together: two to put in and one to eliminate
        (LADDER % ("", ", u: {name: b, unit: m, figures: 3}", "v = 2*h", ", two: u = v + h"), 2),
        (LADDER % ("", ", u: {name: b, unit: m, figures: 3}", "v = h - u", ", two: u = v/2"), 3),
    ],
)
def test_steps_follow_how_the_laws_hang_together(family, steps):
    (chunk,) = qbank.generate(small(family), count=3, seed=0)
    assert difficulty(chunk).steps.tolist() == [steps] * 3


def test_an_intermediate_quantity_counts_only_where_the_case_needs_it():
    family = small("""
given:
  a: {name: a, draw: 1 .. 9 by 1 m}
  b: {name: b, draw: 1.5 .. 9.5 by 1 m}
let:
  q: {name: q, equals: p + 1 m, unit: m}
  p: {name: p, equals: 2*a, unit: m}
cases: {up: {when: a > b}, down: {when: a < b}}
find: {v: {name: v, unit: m, figures: 3}}
laws: {up: {one: v = q + b}, down: {one: v = a + b}}
ask: [{enter: v}]
text: {stem: 'There are {a} and {b}.'}
""")
    (chunk,) = qbank.generate(family, count=20, seed=0)
    # deciding, the law, and for `up` q and the p behind it
    assert difficulty(chunk).steps.tolist() == [4.0 if case == 0 else 2.0 for case in chunk.case]


# ---------------------------------------------------------------------------- by other routes


def printed_data(item: qbank.Item) -> list[str]:
    """The numbers of the data as the worked solution prints them in its first table."""
    table = next(block for block in item.solution if hasattr(block, "rows"))
    cells = "; ".join(str(row[-1][0]).replace(" × 10", "") for row in table.rows)
    return re.findall(r"[0-9]+(?:\.[0-9]+)?", cells)  # exponents are printed in superscript


@pytest.mark.parametrize("name", ["stepped-drum", "weak-acid", "two-means", "three-branches"])
def test_figures_are_those_of_the_printed_data(name):
    family = shipped(name)
    (chunk,) = qbank.generate(family, count=20, seed=5)
    renderer = qbank.Renderer(family)
    for row, figures in enumerate(difficulty(chunk).figures.tolist()):
        printed = [Decimal(text) for text in printed_data(renderer.item(chunk, row))]
        assert figures == sum(len(number.normalize().as_tuple().digits) for number in printed)


@pytest.mark.parametrize("name", ["stepped-drum", "thin-lens", "buffer"])
def test_closeness_is_the_lesser_side_as_a_share_of_the_greater(name):
    sides = {
        "stepped-drum": lambda v: (v["m_b"] * v["R"], v["m_a"] * v["r"]),
        "thin-lens": lambda v: (v["d_o"], v["f"]),
        "buffer": lambda v: (v["c_s"] * v["V_s"], v["c_a"] * v["V"]),
    }
    family = shipped(name)
    (chunk,) = qbank.generate(family, count=300, seed=2)
    closeness = difficulty(chunk).closeness
    left, right = sides[name](chunk.values)
    small_side, large_side = np.minimum(left, right), np.maximum(left, right)
    expected = np.where(small_side > 0, small_side / large_side, 0.0)
    assert closeness == pytest.approx(expected, abs=1e-9)


def test_closeness_to_zero_is_measured_by_what_is_subtracted():
    family = small("""
given:
  a: {name: a, draw: 1 .. 9 by 1 m}
  b: {name: b, draw: 1.5 .. 9.5 by 1 m}
let: {d: {name: d, equals: a - b, unit: m}}
cases: {up: {when: d > 0 m}, down: {when: not (d > 0 m)}}
find: {v: {name: v, unit: m, figures: 3}}
laws: {one: v = a + b}
ask: [{enter: v}]
text: {stem: 'There are {a} and {b}.'}
""")
    (chunk,) = qbank.generate(family, count=30, seed=0)
    a, b = chunk.values["a"], chunk.values["b"]
    assert difficulty(chunk).closeness == pytest.approx(np.minimum(a, b) / np.maximum(a, b))


def test_negative_values_against_plain_python():
    family = shipped("elastic-collision")
    (chunk,) = qbank.generate(family, count=50, seed=1)
    measured = difficulty(chunk).negatives
    laws = {law.name: law.equation for law in family.laws}
    names = {name for law in laws.values() for name in names_in(law)}
    for row in range(len(chunk)):
        values = {name: float(chunk.values[name][row]) for name in chunk.values}
        terms = {text: value for law in laws.values() for text, value in signed(law, values)}
        terms |= {name: values[name] for name in names if name in values}
        assert measured[row] == sum(value < 0 for value in terms.values())


def signed(equation, values):
    """Every sum and difference of a law with its value, by walking the tree in plain Python."""

    def value(node):
        match node:
            case Number():
                return float(node.value)
            case Measure():
                return node.unit.si_value(node.value)
            case Name(id=name):
                return values[name]
            case Negate(operand=operand):
                return -value(operand)
            case Binary(operator=operator, left=left, right=right):
                a, b = value(left), value(right)
                steps = {"+": lambda: a + b, "-": lambda: a - b, "*": lambda: a * b,
                         "/": lambda: a / b, "^": lambda: a**b}  # fmt: skip
                return steps[operator]()

    for side in (equation.left, equation.right):
        for node in walk(side):
            if isinstance(node, Negate) or (isinstance(node, Binary) and node.operator in "+-"):
                yield repr(node), value(node)


# ---------------------------------------------------------------------------- sense


@pytest.mark.parametrize("weight", WEIGHTS, ids=lambda weight: weight.feature)
def test_the_index_grows_with_each_feature_by_its_weight_and_no_other(weight):
    (chunk,) = qbank.generate(shipped("thin-lens"), count=5, seed=0)
    before = difficulty(chunk)
    after = replace(before, **{weight.feature: before.of(weight.feature) + 1})
    assert after.index - before.index == pytest.approx(np.full(5, weight.per_unit), abs=2e-4)
    assert (weight.per_unit < 0) == (weight.feature == "round_answers")
    assert len(weight.reason) > 40


def test_harder_data_have_a_greater_index():
    drum = {"m_a": "2kg", "m_b": "4kg", "r": "10cm", "R": "20cm", "M_r": "3kg", "M_R": "5kg"}
    family = shipped("stepped-drum")
    plain = of_data(family, **drum)
    more_figures = of_data(family, **{**drum, "M_r": "3.137kg"})
    nearer_balance = of_data(family, **{**drum, "m_a": "7.0kg"})
    assert more_figures.figures[0] == plain.figures[0] + 3
    assert nearer_balance.closeness[0] > plain.closeness[0]
    assert more_figures.index[0] > plain.index[0]
    assert nearer_balance.index[0] > plain.index[0]


def test_every_shipped_family_has_features_that_are_finite_and_in_range():
    for path in qbank.shipped_families():
        family = qbank.load_family(path)
        measure = Difficulty(family)
        for chunk in qbank.generate(family, count=300, seed=4):
            features = measure(chunk)
            assert len(features) == len(chunk)
            for weight in WEIGHTS:
                values = features.of(weight.feature)
                assert values.shape == (len(chunk),)
                assert np.isfinite(values).all()
                assert (values >= 0).all()
            assert (features.closeness <= 1).all()
            assert (features.round_answers <= 1).all()
            assert (features.steps >= 1).all()
            assert np.ptp(features.index) > 0


def test_an_instance_has_the_same_features_alone_and_among_others():
    family = shipped("two-means")
    (chunk,) = qbank.generate(family, count=40, seed=9)
    together = difficulty(chunk)
    for k in (0, 17, 39):
        alone = difficulty(qbank.instance(family, 9, k))
        assert alone.row(0) == together.row(k)
        assert alone.index[0] == together.index[k]


def test_instances_of_another_family_are_refused():
    with pytest.raises(ValueError, match="expected instances of thin-lens"):
        Difficulty(shipped("thin-lens"))(qbank.instance(shipped("buffer"), 0, 0))


def test_figures_of_hand_given_data_are_those_that_were_typed():
    family = shipped("thin-lens")
    assert of_data(family, f="12.34cm", d_o="30cm", h_o="4mm").figures[0] == 4 + 1 + 1


# ---------------------------------------------------------------------------- spread


def test_the_spread_counts_every_instance_once():
    family = shipped("stepped-drum")
    features = [difficulty(chunk) for chunk in qbank.generate(family, count=500, seed=0)]
    spread = spread_of(features)
    index = np.concatenate([chunk.index for chunk in features])
    assert sum(spread.counts) == spread.n == 500
    assert len(spread.counts) <= MOST_BINS
    assert spread.edges[0] <= index.min()
    assert spread.edges[-1] > index.max()
    assert spread.quantiles[2] == pytest.approx(np.median(index), abs=1e-4)
    assert sum(mean for mean, _, _ in spread.parts.values()) == pytest.approx(
        index.mean(), abs=1e-3
    )
    text = spread.as_text()
    assert max(map(len, text.splitlines())) <= 80
    bars = [len(re.findall("█", line)) for line in text.splitlines() if ".." in line]
    assert max(bars) == BAR
    for bar, count in zip(bars, spread.counts, strict=True):
        assert abs(bar - BAR * count / max(spread.counts)) <= 1


def test_a_single_instance_has_a_spread_too():
    spread = spread_of([difficulty(qbank.instance(shipped("thin-lens"), 0, 0))])
    assert spread.counts == (1,)
    assert spread.as_json()["least"] == spread.as_json()["most"]
