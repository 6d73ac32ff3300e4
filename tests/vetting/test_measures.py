"""The measures behind the findings, against calculus, brute force and published figures."""

import numpy as np
import pytest

from qbank.family.loader import read_family
from qbank.generation import Generator
from qbank.vetting.answers import commonest
from qbank.vetting.evidence import instances, joined, percent
from qbank.vetting.prose import counted, reading_ease
from qbank.vetting.sensitivity import effects

POWERS = """\
family: f
title: t
subject: s
version: 1.0.0
given:
  x: {name: first, draw: 20.0 .. 90.0 by 0.1 m}
  y: {name: second, draw: 20.0 .. 90.0 by 0.1 s}
  k: {name: third, fixed: 3.00 m/s}
  T: {name: melting point, fixed: 0 °C}
find:
  p: {name: power, unit: m^3/s^2, figures: 4}
  w: {name: difference, unit: m, figures: 3, tolerance: 1 m}
  u: {name: warmth, unit: K, figures: 4}
laws:
  power: p = x^3/y^2
  difference: w = x - k*y
  warmth: u = 2*T
ask: [{enter: [p, w, u]}]
text: {stem: 'It is {x}, {y}, {k}, {T}.'}
"""


@pytest.fixture(scope="module")
def seen():
    generator = Generator(read_family(POWERS, "f.yaml"))
    made, _ = instances(generator, 0, 1000)
    return effects(generator, made), made


def test_elasticities_are_the_exponents_of_a_power_law(seen):
    """d ln p / d ln x is the exponent, to the order of one grid step (calculus)."""
    effect, _ = seen
    assert effect.of["x"]["p"].elasticity == pytest.approx(3, abs=0.02)
    assert effect.of["y"]["p"].elasticity == pytest.approx(2, abs=0.02)
    assert effect.of["k"]["p"].elasticity == 0
    assert np.isnan(effect.of["T"]["u"].elasticity)  # of 0 °C there is no relative change


def test_what_moves_an_answer(seen):
    effect, _ = seen
    assert effect.of["x"]["w"].share_moved > 0.95
    assert effect.of["k"]["w"].share_moved == 1
    assert effect.of["k"]["p"].share_moved == 0
    assert effect.of["T"]["u"].share_moved > 0


def test_half_a_unit_in_the_third_figure_of_a_difference(seen):
    """w = x - k*y moves by k*0.05 s = 0.15 m with y, less than its tolerance of 1 m."""
    effect, _ = seen
    assert effect.of["y"]["w"].share_third == 0
    assert effect.of["k"]["w"].share_third == 0  # 0.005*y is at most 0.45 m


def test_the_commonest_key_by_brute_force():
    rng = np.random.default_rng(1)
    key = np.round(rng.normal(10, 1, 300), 2)
    low, high = key - 0.3, key + 0.3
    counts = [(np.abs(key - k) <= 0.3 + 1e-12).sum() for k in key]
    value, part = commonest(key, low, high)
    assert part == pytest.approx(max(counts) / 300, abs=1 / 300)
    assert counts[int(np.flatnonzero(key == value)[0])] == max(counts)


# Flesch's own table, from memory: style, syllables in 100 words, words a sentence, the range of
# reading ease (R. Flesch, "A new readability yardstick", Journal of Applied Psychology 32, 1948).
FLESCH = [
    ("very easy", 123, 8, 90, 100),
    ("easy", 131, 11, 80, 90),
    ("fairly easy", 139, 14, 70, 80),
    ("standard", 147, 17, 60, 70),
    ("fairly difficult", 155, 21, 50, 60),
    ("difficult", 167, 25, 30, 50),
    ("very difficult", 192, 29, 0, 30),
]


@pytest.mark.parametrize(("style", "syllables", "length", "low", "high"), FLESCH)
def test_reading_ease_against_the_table_of_its_author(style, syllables, length, low, high):
    assert low <= reading_ease(100, 100 * length, syllables * length) <= high


def test_counting_sentences_words_and_syllables():
    # by hand; a number and a word without vowels count as one syllable
    assert counted(["The cat sat on the table. It weighed 5.2 kg."]) == (2, 10, 11)
    assert counted(["No full stop", "Next one: here it is."]) == (3, 8, 8)
    assert counted([""]) == (0, 0, 0)


def test_chunks_are_joined_in_order():
    generator = Generator(read_family(POWERS, "f.yaml"))
    chunks = (
        list(generator.generate(100)),
        list(generator.generate(60)),
        list(generator.generate(40, start=60)),
    )
    whole, parts = joined(chunks[0]), joined([*chunks[1], *chunks[2]])
    assert (whole.index == parts.index).all()
    for name in whole.values:
        assert (whole.values[name] == parts.values[name]).all()
    for name in whole.tolerance:
        assert (whole.tolerance[name][0] == parts.tolerance[name][0]).all()
    for name in whole.windows:
        assert (whole.windows[name][0] == parts.windows[name][0]).all()


def test_shares_are_never_called_all_or_nothing_unless_they_are():
    assert percent(1 - 1e-9) == "99.99 %"
    assert percent(1e-9) == "0.01 %"
    assert (percent(0.0), percent(1.0)) == ("0 %", "100 %")
