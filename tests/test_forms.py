"""Parallel forms: matched totals, nothing repeated, the same bytes twice; bad blueprints."""

from __future__ import annotations

import itertools
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

import qbank
from qbank.errors import DrawError, FamilyError, QbankError
from qbank.family.loader import load_family
from qbank.forms.assembly import Assembly, CannotFillError
from qbank.forms.blueprint import BLUEPRINT, LINE, load_blueprint, read_blueprint
from qbank.forms.drawing import draw_forms
from qbank.forms.slots import choose_slots
from qbank.forms.writing import make_forms
from qbank.hardness.features import difficulty
from qbank.hardness.weights import WEIGHTS
from tests.bench.forms import plain_features, spreads

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


load_once = lru_cache(load_family)


@pytest.fixture(autouse=True)
def families_are_loaded_once(monkeypatch):
    """What is drawn does not hang on it; the tests take a third of the time."""
    monkeypatch.setattr("qbank.forms.slots.load_family", load_once)


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


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a family of 12 instances and one of many, where blueprints are put."""
    (tmp_path / "few.yaml").write_text(FEW, encoding="utf-8")
    (tmp_path / "pull.yaml").write_text(PULL, encoding="utf-8")
    return tmp_path


def draw(text: str, folder: Path = Path(), seed: int = 0, forms: int | None = None):
    return draw_forms(read_blueprint(text, "blueprint.yaml", folder), seed, forms)


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


# ---------------------------------------------------------------------------- bad blueprints


class Bad(NamedTuple):
    text: str
    message: str
    hint: str
    at: str  # line:column


GOOD_LINE = "draw: [{family: thin-lens}]\n"
BAD = {
    "empty": Bad("", "the file is empty", "start it with `title: TITLE`; see the README", "1:1"),
    "a list": Bad(
        "- a", "expected the sections of a blueprint, such as `title:` and `draw:`",
        "start the file with `title: TITLE`", "1:1",
    ),
    "an alias": Bad(
        "title: *a\n", "an alias (*a) is not part of the blueprint language",
        "write the value out, or put text that starts with * in quotes", "1:8",
    ),
    "a tag": Bad(
        "title: !!python/object:os.system x\n",
        "a tag (tag:yaml.org,2002:python/object:os.system) is not part of the blueprint language",
        "delete it, or put text that starts with & or ! in quotes", "1:8",
    ),
    "two documents": Bad(
        "title: t\n" + GOOD_LINE + "---\ntitle: u\n",
        "a second document begins here; a file holds one blueprint",
        "move what follows `---` into a file of its own", "3:1",
    ),
    "no title": Bad(
        GOOD_LINE, "blueprint: the key 'title' is missing",
        "add `title:` (what the test is called)", "1:1",
    ),
    "no draw": Bad(
        "title: t\n", "blueprint: the key 'draw' is missing",
        "add `draw:` (the lines: which items each form gets, in this order)", "1:1",
    ),
    "unknown key": Bad(
        "title: t\nform: 3\n" + GOOD_LINE, "blueprint: the key 'form' is not known here",
        "Did you mean forms?", "2:1",
    ),
    "key twice": Bad(
        "title: t\ntitle: u\n" + GOOD_LINE,
        "the key 'title' stands here a second time; the first is in line 1",
        "delete one of the two, or rename it", "2:1",
    ),
    "long title": Bad(
        f"title: {'t' * 81}\n" + GOOD_LINE, "blueprint, title: 81 characters, more than 80",
        "shorten it; it names the files", "1:8",
    ),
    "draw is text": Bad(
        "title: t\ndraw: all\n", "blueprint: 'draw' holds a list, found 'all'",
        "write `draw:` with one `- ` entry a line", "2:7",
    ),
    "no lines": Bad(
        "title: t\ndraw: []\n", "blueprint: 'draw' has 0 lines, expected 1 to 100",
        "write one `- {family: NAME}` or `- {subject: TOPIC}` a line", "2:1",
    ),
    "many lines": Bad(
        "title: t\ndraw:\n" + "- {family: thin-lens}\n" * 101,
        "blueprint: 'draw' has 101 lines, expected 1 to 100",
        "write one `- {family: NAME}` or `- {subject: TOPIC}` a line", "2:1",
    ),
    "many items": Bad(
        "title: t\ndraw:\n" + "- {family: thin-lens, count: 60}\n" * 2,
        "blueprint: a form has 120 items, more than 100", "make several blueprints", "2:1",
    ),
    "a line of text": Bad(
        "title: t\ndraw: [thin-lens]\n",
        "line 1 of draw: expected a mapping with keys such as family, subject, found 'thin-lens'",
        "write `{family: ...}`", "2:8",
    ),
    "neither": Bad(
        "title: t\ndraw: [{count: 2}]\n",
        "line 1 of draw: exactly one of family, subject is needed, found none",
        "add one of them", "2:8",
    ),
    "both": Bad(
        "title: t\ndraw: [{family: thin-lens, subject: optics}]\n",
        "line 1 of draw: exactly one of family, subject is needed, found family and subject",
        "keep one of them", "2:28",
    ),
    "forms of none": Bad(
        "title: t\nforms: 0\n" + GOOD_LINE,
        "blueprint, forms: expected a whole number from 1 to 100, found '0'",
        "write for example 3", "2:8",
    ),
    "forms in words": Bad(
        "title: t\nforms: two\n" + GOOD_LINE,
        "blueprint, forms: expected a whole number from 1 to 100, found 'two'",
        "write for example 3", "2:8",
    ),
    "shared below none": Bad(
        "title: t\nshared: -1\n" + GOOD_LINE,
        "blueprint, shared: expected a whole number from 0 to 100, found '-1'",
        "write for example 3", "2:9",
    ),
    "count of none": Bad(
        "title: t\ndraw: [{family: thin-lens, count: 0}]\n",
        "line 1 of draw, count: expected a whole number from 1 to 100, found '0'",
        "write for example 3", "2:35",
    ),
    "band of none": Bad(
        "title: t\nband: 0\n" + GOOD_LINE,
        "blueprint, band: expected one number above 0 and at most 100, found '0'",
        "write how far the totals may lie apart, such as 0.1", "2:7",
    ),
    "band as a range": Bad(
        "title: t\nband: 0.1 .. 0.2\n" + GOOD_LINE,
        "blueprint, band: expected one number above 0 and at most 100, found '0.1 .. 0.2'",
        "write how far the totals may lie apart, such as 0.1", "2:7",
    ),
    "band with a unit": Bad(
        "title: t\nband: 5 %\n" + GOOD_LINE, "blueprint, band: '%' follows the number",
        "write a number such as 8, or a range such as 8 .. 12", "2:9",
    ),
    "band in words": Bad(
        "title: t\nband: narrow\n" + GOOD_LINE,
        "blueprint, band: expected a number, found 'narrow'",
        "write digits with a point, such as 0.5 or 1.8e-5", "2:7",
    ),
    "points downwards": Bad(
        "title: t\ndraw: [{subject: optics, points: 9 .. 4}]\n",
        "line 1 of draw, points: the range runs downwards", "exchange the two numbers", "2:34",
    ),
    "family outside": Bad(
        "title: t\nfamilies: ../few.yaml\n" + GOOD_LINE,
        "blueprint, families: '../few.yaml' is no .yaml file in the blueprint's folder",
        "put the family file beside the blueprint and write its name, such as kettle.yaml", "2:11",
    ),
    "family at the root": Bad(
        "title: t\nfamilies: [/etc/passwd]\n" + GOOD_LINE,
        "blueprint, families: '/etc/passwd' is no .yaml file in the blueprint's folder",
        "put the family file beside the blueprint and write its name, such as kettle.yaml", "2:12",
    ),
    "family file that is not there": Bad(
        "title: t\nfamilies: [gone.yaml]\n" + GOOD_LINE,
        "blueprint, families: there is no file 'gone.yaml' in the blueprint's folder",
        "check the name", "2:12",
    ),
    "family file through a link": Bad(
        "title: t\nfamilies: link.yaml\n" + GOOD_LINE,
        "blueprint, families: 'link.yaml' is no .yaml file in the blueprint's folder",
        "put the family file beside the blueprint and write its name, such as kettle.yaml", "2:11",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_blueprint_is_refused_at_its_place(name, tmp_path):
    bad = BAD[name]
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "few.yaml").write_text(FEW, encoding="utf-8")
    (home / "link.yaml").symlink_to(tmp_path / "few.yaml")
    with pytest.raises(FamilyError) as caught:
        read_blueprint(bad.text, "b.yaml", home)
    assert caught.value.message == bad.message
    assert caught.value.hint == bad.hint
    assert str(caught.value.place) == f"b.yaml:{bad.at}"


IMPOSSIBLE = {
    "unknown family": Bad(
        "title: t\ndraw: [{family: thin-lense}]", "no family is named 'thin-lense'",
        "Did you mean thin-lens?", "2:17",
    ),
    "unknown subject": Bad(
        "title: t\ndraw: [{subject: optic/lens}]", "no family has the subject 'optic/lens'",
        "Did you mean optics/lenses?", "2:18",
    ),
    "no such level": Bad(
        "title: t\ndraw: [{subject: optics, level: primary}]",
        "of the subject 'optics', no family has the level 'primary'",
        "the levels there are: 'first-year university'", "2:33",
    ),
    "a family of another level": Bad(
        "title: t\nfamilies: few.yaml\ndraw: [{family: few, level: first-year}]",
        "of the family 'few', no family has the level 'first-year'",
        "the levels there are: 'any'", "3:29",
    ),
    "no such points": Bad(
        "title: t\nfamilies: few.yaml\ndraw: [{subject: few, points: 3 .. 4}]",
        "of the subject 'few', no family gives 3 .. 4 points", "few gives 2", "3:31",
    ),
    "more families than fit": Bad(
        "title: t\ndraw: [{subject: optics/lenses, count: 2}]",
        "2 items of the subject 'optics/lenses' need as many families, each used once; left for "
        "this line: thin-lens",
        "ask for fewer, widen the line, or name a family to have siblings of it", "2:9",
    ),
    "families that other lines name": Bad(
        "title: t\ndraw: [{family: thin-lens}, {subject: optics/lenses}]",
        "1 item of the subject 'optics/lenses' need as many families, each used once; left for this"
        " line: none",
        "ask for fewer, widen the line, or name a family to have siblings of it", "2:30",
    ),
    "more forms than instances": Bad(
        "title: t\nforms: 7\nfamilies: few.yaml\ndraw: [{family: few, count: 2}]",
        "7 forms need 14 different instances of 'few', which has 12",
        "ask for fewer forms or items, or allow `shared:` items", "4:9",
    ),
    "more than sharing can stretch": Bad(
        "title: t\nforms: 50\nshared: 1\nband: 9\nfamilies: few.yaml\n"
        "draw: [{family: few, count: 4}]",
        "50 forms that share at most 1 items cannot be filled: the 12 instances of 'few' run out",
        "ask for fewer forms or items, or allow more `shared:` items", "6:9",
    ),
    "two families of one name": Bad(
        "title: t\nfamilies: [few.yaml, sub/few.yaml]\ndraw: [{family: few}]",
        "two files of the blueprint hold a family named 'few'", "rename one of them", "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_an_impossible_blueprint_is_refused_at_its_line(name, folder):
    bad = IMPOSSIBLE[name]
    (folder / "sub").mkdir()
    (folder / "sub" / "few.yaml").write_text(FEW, encoding="utf-8")
    with pytest.raises((DrawError, FamilyError)) as caught:
        draw(bad.text, folder)
    assert caught.value.message == bad.message
    assert caught.value.hint == bad.hint
    if bad.at:
        assert str(caught.value.place) == f"blueprint.yaml:{bad.at}"


def test_a_band_that_cannot_be_met_says_the_spread_that_is_reached(folder):
    # Twelve forms of one item each use up the twelve instances: their whole range remains.
    text = "title: t\nforms: 12\nband: 0.01\nfamilies: few.yaml\ndraw: [{family: few}]"
    (chunk,) = qbank.generate(qbank.load_family(folder / "few.yaml"), count=12)
    with pytest.raises(DrawError) as caught:
        draw(text, folder)
    assert caught.value.message == (
        f"the totals of the difficulty index lie {np.ptp(difficulty(chunk).index):.4f} apart"
        " between the 12 forms, and the band is 0.01"
    )
    assert caught.value.hint == (
        "widen `band:`, ask for fewer forms, or name families with more instances"
    )
    assert str(caught.value.place) == "blueprint.yaml:3:1"


def test_a_broken_family_of_the_authors_is_reported_at_its_own_place(folder):
    (folder / "few.yaml").write_text(FEW.replace("v = a + b", "v = a + c"), encoding="utf-8")
    with pytest.raises(FamilyError) as caught:
        draw("title: t\nfamilies: few.yaml\ndraw: [{family: few}]", folder)
    assert caught.value.place.file.endswith("few.yaml")


def test_a_file_that_is_not_there_or_no_text(tmp_path):
    with pytest.raises(FamilyError, match="there is no such file"):
        load_blueprint(tmp_path / "no.yaml")
    with pytest.raises(FamilyError, match="a folder or a device") as caught:
        load_blueprint(tmp_path)
    assert caught.value.hint == "name the .yaml file of one blueprint"
    (tmp_path / "b.yaml").write_bytes(b"title: \xff\n")
    with pytest.raises(FamilyError, match="byte 0xff is not UTF-8"):
        load_blueprint(tmp_path / "b.yaml")


def test_a_number_of_forms_out_of_range_is_a_fault_of_the_caller(tmp_path):
    with pytest.raises(ValueError, match="expected 1 to 100 forms, got 0"):
        draw(MOCK, tmp_path, forms=0)


def test_the_example_of_the_schema_is_a_good_blueprint(tmp_path):
    blueprint = read_blueprint(BLUEPRINT.example, "b.yaml", tmp_path)
    assert blueprint.items == 3
    assert {key.name for key in LINE.keys} == {"family", "subject", "level", "points", "count"}
    assert draw(BLUEPRINT.example, tmp_path).spread <= 0.1
