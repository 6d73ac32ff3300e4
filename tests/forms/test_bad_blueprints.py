"""Blueprints that say what cannot be: refused at their place, with the mend."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

import qbank
from qbank.errors import DrawError, FamilyError
from qbank.forms.blueprint import BLUEPRINT, LINE, load_blueprint, read_blueprint
from qbank.hardness.features import difficulty
from tests.forms.blueprints import FEW, MOCK, draw


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
