"""Proof sheets of banks: what the package holds, derived again where its family is at hand."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

import qbank
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Item, NumberEntry, Pool
from qbank.proof.evidence import Rederived
from qbank.proof.proving import is_bank, write_proof
from tests.formats.samples import winch
from tests.proof.reading import nesting_faults, tree

FAMILY = "thin-lens"


def items_of(name: str, count: int, seed: int = 3) -> list[Item]:
    family = qbank.load_family(qbank.find_family(name))
    renderer = qbank.Renderer(family)
    return [
        item
        for instances in qbank.generate(family, count=count, seed=seed)
        for item in renderer.items(instances)
    ]


def write(items: list[Item], path: Path, kind: str, unpacked: bool = False) -> Path:
    info = BankInfo("b", "b", "en", (Pool("p", "p", len(items), max(len(i.parts) for i in items)),))
    return write_bank(info, items, path, kind, unpacked=unpacked).path


@pytest.mark.parametrize("kind", list(qbank.FORMATS))
def test_a_bank_of_each_format_shows_its_items(kind, tmp_path):
    items = items_of(FAMILY, 6)
    path = write(items, tmp_path / qbank.FORMATS[kind].file_name("lenses", False), kind)
    report = write_proof(path, out=tmp_path / "page.html")
    # a cartridge takes one part an item, and splits items by their parts
    split = kind == "cartridge-1.3"
    count = sum(len(item.parts) for item in items) if split else len(items)
    assert (report.instances, report.shown) == (count, count)
    html = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert nesting_faults(html) == []
    page = tree(html)
    articles = page.xpath('//article[@class="instance"]')
    if split:
        assert len(articles) == count
        return
    for article, item in zip(articles, items, strict=True):
        keys = [part.key_shown for part in item.parts if isinstance(part, NumberEntry)]
        shown = [
            strong.text_content() for strong in article.xpath('.//div[@class="noted"]//strong')
        ]
        assert shown == keys
        assert item.identifier in article.text_content()
    if kind != "csv":
        assert report.differing == 0
    if report.checks_made:
        assert report.checks_passed == report.checks_made
        assert html.count("every key and accepted band is the same") == 6


def test_an_unpacked_bank_is_read_too(tmp_path):
    path = write(items_of(FAMILY, 2), tmp_path / "folder", "qti-3.0", unpacked=True)
    assert is_bank(path)
    assert write_proof(path, out=tmp_path / "page.html").shown == 2


def changed(item: Item, **changes: object) -> Item:
    """The item with its first numeric part changed."""
    parts = list(item.parts)
    place = next(k for k, part in enumerate(parts) if isinstance(part, NumberEntry))
    parts[place] = replace(parts[place], **changes)
    return replace(item, parts=tuple(parts))


def evidence(item: Item):
    rederived = Rederived([item], None)
    return rederived.evidence(item), rederived.checks


def test_a_key_that_is_not_the_familys_is_named():
    (item,) = items_of(FAMILY, 1)
    right, checks = evidence(item)
    assert right.differences == ()
    assert checks.made == checks.passed == right.checks.made > 10
    part = next(p for p in item.parts if isinstance(p, NumberEntry))
    for change in ({"key": part.key * 2}, {"tolerance": replace(part.tolerance, low=part.key / 2)}):
        told, _ = evidence(changed(item, **change))
        assert len(told.differences) == 1
        assert str(part.key) in told.differences[0]
    fewer, _ = evidence(replace(item, parts=item.parts[1:]))
    assert "parts" in fewer.differences[0]


def test_neighbours_and_strangers_are_derived_as_if_alone():
    items = items_of(FAMILY, 700)
    few = [items[k] for k in (0, 1, 2, 400, 699)] + [items[1]]
    together = Rederived(few, None)
    for item in few:
        alone, _ = evidence(item)
        assert together.evidence(item) == alone


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"family": "no-such-family"}, "not at hand"),
        ({"family": "../../etc/passwd"}, "not at hand"),
        ({"family": "x.yaml"}, "not at hand"),
        ({"family": ""}, "not at hand"),
        ({"digest": "0" * 64}, "another content"),
        ({"index": -1}, "does not say"),
        ({"index": 2**62 - 1}, "could not be derived"),
        ({"index": 10**30}, "no family has"),
        ({"seed": -1}, "no family has"),
        ({"seed": 2**63}, "no family has"),
    ],
)
def test_provenance_that_leads_nowhere_is_said(change, said):
    (item,) = items_of(FAMILY, 1)
    told, checks = evidence(replace(item, provenance=replace(item.provenance, **change)))
    assert said in told.sentence
    assert told.checks is None
    assert checks.made == 0


def test_a_bank_without_families_shows_what_it_holds(tmp_path):
    items = [replace(winch(k), provenance=None) for k in range(5)]
    path = write(items, tmp_path / "winch.zip", "qti-3.0")
    report = write_proof(path, out=tmp_path / "page.html", most=3, forms=2)
    assert (report.instances, report.shown, report.checks_made) == (5, 3, 0)
    html = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "the first 3 of 5 instances" in html
    assert html.count("does not say which family") == 3
    page = tree(html)
    # the spread is that of all five, of both numeric parts
    for figure in page.xpath('//figure[@class="spread"]'):
        counts = [int(td.text_content()) for td in figure.xpath(".//tbody//td")]
        assert sum(counts) == 5
    assert "draws were tried" not in html
    # siblings make one question of several forms
    questions = page.xpath('//section[@id="questions"]//article')
    assert len(questions) == 2
    masses = [re.search(r"crate of (\d+) kg", q.text_content())[1] for q in questions]
    assert masses == ["40", "41"]


def test_what_is_no_bank_is_said(tmp_path):
    path = tmp_path / "broken.zip"
    path.write_bytes(b"PK\x03\x04 and no more")
    with pytest.raises(qbank.QbankError, match="no zip file"):
        write_proof(path, out=tmp_path / "page.html")
    with zipfile.ZipFile(tmp_path / "empty.zip", "w") as archive:
        archive.writestr("readme.txt", "nothing")
    with pytest.raises(qbank.QbankError):
        write_proof(tmp_path / "empty.zip", out=tmp_path / "page.html")
    assert not (tmp_path / "page.html").exists()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["broken.zip", "empty.zip"]


TABLE = """No,Ask,Right,Unit,Note
1,"A cart of 3 kg rolls at 2 m/s. What is its momentum?",6,kg m/s,easy
2,"A cart of 4 kg rolls at 2 m/s. What is its momentum?",8,kg m/s,
3,"A cart of 5 kg rolls at 2 m/s. What is its momentum?",,kg m/s,
"""


def test_a_table_of_anyones_is_shown_with_what_it_lacks(tmp_path):
    path = tmp_path / "carts.csv"
    path.write_text(TABLE, encoding="utf-8")
    columns = {"stem": "Ask", "key": "Right"}
    report = write_proof(path, out=tmp_path / "page.html", columns=columns)
    assert (report.instances, report.shown, report.checks_made) == (3, 3, 0)
    assert [sentence.endswith("the key is empty [key]") for sentence in report.lost] == [True]
    html = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert nesting_faults(html) == []
    assert not re.search(r"\bnan\b", html)
    page = tree(html)
    keys = [dl.xpath("string(dd[1])") for dl in page.xpath('//article//dl[dt="Key"]')]
    assert keys == ["6 kg m/s", "8 kg m/s", "none"]
    assert page.xpath('count(//summary[starts-with(., "Not understood in the bank")])') == 1
    # one question of siblings, a form each; the marking guide says that no band is stated
    bands = [td.text_content() for td in page.xpath('//section[@id="marking"]//td[@class="band"]')]
    assert bands == ["–"] * 4


def test_a_bank_of_which_nothing_can_be_read_is_said(tmp_path):
    path = tmp_path / "bank.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("one.xml", "<assessmentItem")
    with pytest.raises(qbank.QbankError, match=r"nothing of .* can be read"):
        write_proof(path, out=tmp_path / "page.html")
    assert not (tmp_path / "page.html").exists()
