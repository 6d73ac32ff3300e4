"""Parallel forms: matched totals, nothing repeated, the same bytes twice."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest

import qbank
from qbank.errors import DrawError, QbankError
from qbank.forms.assembly import Assembly, CannotFillError
from qbank.forms.blueprint import read_blueprint
from qbank.forms.slots import choose_slots
from qbank.forms.writing import make_forms
from qbank.hardness.weights import WEIGHTS
from tests.bench.forms import plain_features, spreads
from tests.forms.blueprints import MOCK, draw


@pytest.fixture(scope="module")
def mock():
    """The mock examination drawn with some seeds."""
    return [draw(MOCK, seed=seed) for seed in range(4)]


# ---------------------------------------------------------------------------- matched sets


def test_totals_agree_at_least_five_times_better_than_by_plain_drawing(mock):
    stated = np.array([[weight.per_unit for weight in WEIGHTS]])
    plain = [spreads(plain_features(drawn), stated)[0] for drawn in mock]
    matched = [drawn.spread for drawn in mock]
    assert min(plain) > 0
    assert 5 * np.mean(matched) <= np.mean(plain)
    for ours, theirs in zip(matched, plain, strict=True):
        assert 5 * ours <= theirs


def test_totals_are_those_of_the_items_and_within_the_band(mock):
    for drawn in mock:
        totals = [sum(item.difficulty for item in form.items) for form in drawn.forms]
        assert [form.difficulty for form in drawn.forms] == pytest.approx(totals, abs=1e-4)
        assert max(totals) - min(totals) <= drawn.band
        assert drawn.spread == pytest.approx(max(totals) - min(totals), abs=1e-4)


def test_every_form_has_the_same_families_and_points_in_the_order_of_the_lines(mock):
    for drawn in mock:
        families = {tuple(item.family for item in form.items) for form in drawn.forms}
        assert len(families) == 1
        (names,) = families
        assert names[:2] == ("thin-lens", "thin-lens")
        assert len(set(names[2:])) == 2
        for item in drawn.forms[0].items[2:]:
            family = item.instance.family
            assert family.subject.startswith("mechanics")
            assert "first-year" in family.level
            assert 4 <= item.points <= 12
        assert len({form.points for form in drawn.forms}) == 1


def test_no_item_appears_twice(mock):
    for drawn in mock:
        items = [(item.family, item.index) for form in drawn.forms for item in form.items]
        assert len(set(items)) == len(items)
        assert drawn.most_shared == 0


def test_an_item_is_the_instance_it_says(mock):
    item = mock[1].forms[2].items[3]
    again = qbank.instance(item.instance.family, 1, item.index)
    assert {n: v.tolist() for n, v in again.values.items()} == {
        n: v.tolist() for n, v in item.instance.values.items()
    }


def test_the_same_seed_gives_the_same_forms_and_another_gives_others(mock):
    again = draw(MOCK, seed=2)
    assert again.as_json() == mock[2].as_json()
    assert again.as_json()["forms"] != mock[3].as_json()["forms"]


def test_forms_alike_have_items_alike(mock):
    # Item by item, forms lie closer together than instances of a family do.
    for drawn in mock:
        for items in zip(*(form.items for form in drawn.forms), strict=True):
            assert np.ptp([item.difficulty for item in items]) < 0.5
            assert np.ptp([item.features["closeness"] for item in items]) < 0.5


# ---------------------------------------------------------------------------- assembly alone


def everything(pools, slots):
    return [np.arange(len(pools[name])) for name in slots]


def test_few_assignments_are_closer_than_the_one_that_is_found():
    # Every assignment is tried: 2 forms, 2 slots, 6 candidates each.
    closer = []
    pairs = list(itertools.permutations(range(6), 2))
    for seed in range(20):
        random = np.random.default_rng(seed)
        pools = {name: random.integers(50_000, 60_000, 6) for name in "ab"}
        assembly = Assembly(pools, "ab", everything(pools, "ab"), 2, 0)
        assembly.fill([int(np.median(pools[name])) for name in "ab"])
        assembly.exchange()
        sums = [
            sum(pools[name][c] for name, c in zip("ab", row, strict=True))
            for row in assembly.choice
        ]
        assert assembly.totals.tolist() == sums
        a, b = (np.array([pools[name][i] - pools[name][j] for i, j in pairs]) for name in "ab")
        spreads_there_are = np.abs(a[:, None] + b)
        closer.append(np.mean(spreads_there_are < assembly.spread))
    assert np.mean(closer) < 0.08
    assert max(closer) < 0.2


def test_exchange_only_ever_brings_totals_together():
    random = np.random.default_rng(3)
    pools = {name: random.integers(50_000, 80_000, 30) for name in "abc"}
    slots = "abcab"
    assembly = Assembly(pools, slots, everything(pools, slots), 5, 0)
    assembly.fill([60_000] * 5)
    before = assembly.totals.var()
    assembly.exchange()
    assert assembly.totals.var() <= before
    assert assembly.spread < 500
    rows = assembly.choice.tolist()
    items = [item for row in rows for item in zip(slots, row, strict=True)]
    assert len(set(items)) == len(items) == 25


@pytest.mark.parametrize("shared", [0, 1, 2])
def test_forms_share_no_more_than_allowed(shared):
    random = np.random.default_rng(shared)
    pools = {
        "a": random.integers(50_000, 60_000, 12 - 2 * shared),
        "b": random.integers(80_000, 90_000, 40),
    }
    slots = ["a", "a", "a", "b", "b"]
    assembly = Assembly(pools, slots, everything(pools, slots), 4, shared)
    assembly.fill([55_000, 55_000, 55_000, 85_000, 85_000])
    assembly.exchange()
    sets = [set(zip(slots, row, strict=True)) for row in assembly.choice.tolist()]
    assert all(len(found) == len(slots) for found in sets)  # nothing twice on a form
    common = [len(a & b) for a, b in itertools.combinations(sets, 2)]
    assert max(common) <= shared
    if shared:
        assert max(common) > 0  # 12 items of `a` are needed, and there are fewer


def test_what_cannot_be_filled_says_which_slot():
    pools = {"a": np.array([1, 2, 3])}
    assembly = Assembly(pools, ["a", "a"], everything(pools, ["a", "a"]), 2, 0)
    with pytest.raises(CannotFillError) as caught:
        assembly.fill([2, 2])
    assert caught.value.slot == 1


def test_candidates_that_are_alike_come_first_and_others_only_when_they_run_out():
    pools = {"a": np.array([1, 1, 1, 1])}
    near = [np.array([1, 3])]
    assembly = Assembly(pools, ["a"], near, 2, 0)
    assembly.fill([1])
    assert sorted(assembly.choice.ravel().tolist()) == [1, 3]
    assembly = Assembly(pools, ["a"], near, 3, 0)
    assembly.fill([1])
    assert {1, 3} < set(assembly.choice.ravel().tolist())


# ---------------------------------------------------------------------------- few instances


def test_a_family_of_the_authors_own_beside_the_blueprint(folder):
    text = "title: t\nforms: 3\nband: 3\nfamilies: few.yaml\ndraw: [{family: few, count: 4}]"
    drawn = draw(text, folder)
    items = {item.index for form in drawn.forms for item in form.items}
    assert items == set(range(12))  # all there are, each once
    by_subject = draw(text.replace("family: few, count: 4", "subject: TEST/FEW"), folder)
    assert {item.family for form in by_subject.forms for item in form.items} == {"few"}


def test_sharing_stretches_a_small_family(folder):
    text = "title: t\nforms: 4\nband: 3\nshared: 1\nfamilies: few.yaml\n"
    drawn = draw(text + "draw: [{family: few, count: 4}]", folder)
    assert drawn.most_shared == 1
    assert drawn.as_json()["shared"] == 1


def test_one_form_is_a_set_too(folder):
    drawn = draw("title: t\nfamilies: few.yaml\ndraw: [{family: few}]", folder, forms=1)
    assert drawn.spread == 0
    assert len(drawn.forms) == 1


def test_lines_get_different_families_where_a_greedy_choice_would_fail():
    # `optics/lenses` fits one family and is contained in no other; the broad line must leave it.
    families = len(qbank.shipped_families())
    text = f"title: t\ndraw:\n- {{subject: /, count: {families - 1}}}\n- {{subject: optics/lenses}}"
    slots = choose_slots(read_blueprint(text, "b.yaml", Path()), seed=0)
    names = [slot.family.name for slot in slots]
    assert names[-1] == "thin-lens"
    assert len(set(names)) == families


# ---------------------------------------------------------------------------- written


PULLS = """\
title: Pulls
forms: 2
families: [pull.yaml, few.yaml]
draw:
  - {family: pull, count: 2}
  - {family: few}
"""


def test_a_form_is_a_bank_that_shows_all_its_items_in_order(folder):
    drawn, packages = make_forms(
        read_blueprint(PULLS, "b.yaml", folder), seed=5, formats=["qti-3.0"], out=folder / "out"
    )
    assert [package.items for package in packages] == [3, 3]
    for form, package in zip(drawn.forms, packages, strict=True):
        assert f"form-{form.number}-" in package.path.name
        items = list(qbank.read_items(package.path))
        found = [(item.provenance.family, item.provenance.index) for item in items]
        assert found == [(item.family, item.index) for item in form.items]
        assert not list(qbank.validate_package(package.path))
        assert sum(item.points for item in items) == form.points == 8


def test_the_same_bytes_twice(folder):
    for name in ("a", "b"):
        make_forms(read_blueprint(PULLS, "b.yaml", folder), seed=1, out=folder / name)
    first, second = (
        {
            str(path.relative_to(folder / name)): path.read_bytes()
            for path in (folder / name).rglob("*")
            if path.is_file()
        }
        for name in "ab"
    )
    assert first == second
    assert len(first) == 2 * (
        1 + 1 + 2
    )  # of each form two packages and a table with its description


def test_nothing_is_written_when_the_forms_cannot_be_drawn(folder):
    blueprint = read_blueprint(PULLS + "band: 0.000001\n", "b.yaml", folder)
    with pytest.raises(DrawError):
        make_forms(blueprint, forms=12, formats=["csv"], out=folder / "out")
    with pytest.raises(QbankError):
        make_forms(blueprint, formats=["cvs"], out=folder / "out")
    assert not (folder / "out").exists()
