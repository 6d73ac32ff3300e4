"""Reading less of an item: what is read is the same in every format, and the rest is not built."""

from __future__ import annotations

import zipfile
from dataclasses import replace

import pytest

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.formats import qti_usual
from qbank.formats.foreign.asi_usual import usual_item
from qbank.formats.foreign.bank import open_bank
from qbank.formats.package import Package
from qbank.formats.registry import FORMATS
from qbank.formats.skimming import PRESENT, skimmed
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Image, Pool
from qbank.making import make
from tests.formats.arranged import arranged_bank
from tests.formats.packages import change, swap, write_sample
from tests.formats.samples import bank, winch

NAMES = sorted(FORMATS)
QTI = ["qti-2.1", "qti-2.2", "qti-3.0"]
# Choices, several to mark, a drop-down, pictures; an order and a matching; tables.
FAMILIES = ("buffer", "melting-ice", "three-branches", "regression-line")
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"/>'
CRANE = Image("crane.svg", "image/svg+xml", SVG, "A crane.", "Label: m = 2 kg.", 40, 30)
SOLVED = replace(CRANE, name="solved.svg", description="")


def told(path, *, whole):
    """All that a bank is read as, skimmed, with places and losses."""
    with open_bank(path, whole=whole) as reading:
        items = [
            # As text, since a bound that is not a number equals nothing.
            (repr(skimmed(read.item)), str(read.place), list(map(str, read.losses)), read.document)
            for read in reading
        ]
        lost = [*map(str, reading.losses), "unreadable:", *map(str, reading.unreadable)]
        return items, (reading.format, reading.title, lost)


def assert_alike(path):
    assert told(path, whole=False) == told(path, whole=True)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Packages of some families in every format."""
    out = tmp_path_factory.mktemp("made")
    report = make(FAMILIES, count=2, seed=5, formats=NAMES, out=out, name="made")
    return {package.format: package.path for package in report.packages}


@pytest.mark.parametrize("name", NAMES)
def test_families(made, name):
    assert_alike(made[name])


@pytest.mark.parametrize("name", NAMES)
def test_german_with_hints(tmp_path, name):
    lens = load_family(find_family("thin-lens"), language="de")
    report = make([lens], count=2, formats=[name], out=tmp_path, hints=True)
    assert_alike(report.packages[0].path)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("items", [bank, arranged_bank])
def test_items_made_by_hand(tmp_path, name, items):
    info, written = items()
    write_bank(info, written, tmp_path / "bank", name, unpacked=True)
    assert_alike(tmp_path / "bank")


@pytest.mark.parametrize("name", NAMES)
def test_what_is_left_out_is_not_built(made, name):
    with open_bank(made[name], whole=False) as reading:
        for read in reading:
            assert replace(read.item, provenance=None) == replace(
                skimmed(read.item), provenance=None
            )


@pytest.mark.parametrize("name", NAMES)
def test_pictures_are_looked_for_and_not_read(tmp_path, name, monkeypatch):
    item = replace(winch(), stem=(*winch().stem, CRANE), solution=(SOLVED, *winch().solution))
    write_bank(
        BankInfo("b", "B", "en", (Pool("p", "P", 1, 5),)), [item], tmp_path / "b", name,
        unpacked=True,
    )  # fmt: skip
    assert_alike(tmp_path / "b")
    names = []
    read = Package.read

    def watched(self, member, *limit):
        names.append(member)
        return read(self, member, *limit)

    monkeypatch.setattr(Package, "read", watched)
    with open_bank(tmp_path / "b", whole=False) as reading:
        found = [
            block.data
            for each in reading
            for block in (*each.item.stem, *each.item.solution)
            if isinstance(block, Image)
        ]
    assert set(found) == {PRESENT}
    assert not [member for member in names if member.endswith(".svg")]


@pytest.mark.parametrize("name", [n for n in NAMES if n not in ("csv", "jsonl")])
def test_a_picture_that_is_missing_or_empty(tmp_path, name):
    item = replace(winch(), stem=(*winch().stem, CRANE))
    info = BankInfo("b", "B", "en", (Pool("p", "P", 1, 5),))
    write_bank(info, [item], tmp_path / "b", name, unpacked=True)
    (picture,) = (tmp_path / "b").rglob("*crane.svg")
    picture.write_bytes(b"")
    assert_alike(tmp_path / "b")
    picture.unlink()
    assert_alike(tmp_path / "b")


# ---------------------------------------------------------------------------- the usual words

WINCH = "items/quay-winch/i0123456789-0.xml"
LEAST = "items/half/j0.xml"
RULES = "<responseProcessing>\n"


@pytest.mark.parametrize("name", QTI)
def test_what_we_write_is_taken_from_the_text(made, name):
    """All but partial credit: else reading is slow, and nothing else would tell."""
    partial = 0
    with zipfile.ZipFile(made[name]) as package:
        for member in package.namelist():
            if member.startswith("items/") and member.endswith(".xml"):
                data = package.read(member)
                if qti_usual.usual(data) is None:
                    assert b"esponseElse>" in data or b"response-else>" in data
                    partial += 1
    assert partial <= 4  # of eight, those with an order or a matching


def commented(text: str) -> str:
    """The rules in a comment that looks like the end of the body."""
    start = text.index("</itemBody>\n")
    end = text.index("</responseProcessing>\n") + len("</responseProcessing>\n")
    return f"{text[:start]}<!-- {text[start:end]} --></itemBody>\n{text[end:]}"


def doubled(text: str) -> str:
    """The rules once more, after the feedback."""
    start = text.index(RULES)
    end = text.index("</responseProcessing>\n") + len("</responseProcessing>\n")
    rules = text[start:end].replace('baseType="float">2<', 'baseType="float">3<')
    return text.replace("</assessmentItem>", f"{rules}</assessmentItem>")


EDITS = {
    "spaces": lambda text: text.replace("<gte>", "\n  <gte>"),
    "another key": swap("<value>196.2</value>", "<value>197</value>"),
    "no number": swap('<baseValue baseType="float">2</baseValue>',
                      '<baseValue baseType="float">two</baseValue>'),
    "empty bound": lambda text: text.replace("194.238", ""),
    "other quotes": swap('baseType="float"', "baseType='float'"),
    "order of attributes": swap('cardinality="single" baseType="float"',
                                'baseType="float" cardinality="single"'),
    "a comment among rules": swap(RULES, f"{RULES}<!-- no rule -->"),
    "rules in a comment": commented,
    "rules in CDATA": lambda text: commented(text).replace("<!--", "<![CDATA[").replace(
        "-->", "]]>"),
    "rules twice": doubled,
    "another response": swap('<lte><variable identifier="RESPONSE_P"/>',
                             '<lte><variable identifier="RESPONSE_Q"/>'),
    "no end of a condition": swap("</responseCondition>\n", ""),
    "a condition too much": swap("</responseCondition>\n", "</responseCondition>\n" * 2),
    "a declaration at the end": swap(
        "</assessmentItem>", '<outcomeDeclaration identifier="SCORE_P" cardinality="single"'
        ' baseType="float" interpretation="5 %"/></assessmentItem>'),
    "a control character": swap("194.238", "\x01"),
    "a character that XML forbids": swap('interpretation="1 %"', 'interpretation="\ufffe"'),
    "an entity": swap('interpretation="1 %"', 'interpretation="&lt; 1 %"'),
    "an unknown entity": swap('interpretation="1 %"', 'interpretation="&per; 1 %"'),
    "a solution that is not well-formed": swap('<div class="solution">', '<div class="solution'),
    "a formula that is not well-formed": swap("<mi>P</mi>", "<mi>P</mo>"),
    "a second body": swap(RULES, f"<itemBody><p>Two.</p></itemBody>\n{RULES}"),
    "a template": swap(RULES, f"<templateProcessing/>\n{RULES}"),
    "cut off": lambda text: text[: len(text) // 2],
    "a document type": swap("<assessmentItem", "<!DOCTYPE assessmentItem>\n<assessmentItem"),
}  # fmt: skip


@pytest.mark.parametrize("edit", EDITS)
def test_items_of_ours_that_were_changed(tmp_path, edit, monkeypatch):
    folder = write_sample(tmp_path, "qti-2.1")
    change(folder, WINCH, EDITS[edit])
    found = told(folder, whole=False)
    assert found == told(folder, whole=True)
    monkeypatch.setattr("qbank.formats.qti_readback.usual", lambda _data, whole: None)
    assert found == told(folder, whole=True)


def test_a_changed_table_list_or_cartridge(tmp_path):
    edits = {
        "csv": ("items.csv", swap("</p>", "")),
        "jsonl": ("items.jsonl", swap('"points":2.0', '"points":"2"')),
        "qti-1.2": (
            "item-i0123456789-0.xml",
            swap("&lt;p&gt;A winch", "&lt;p&gt;&lt;em&gt;A&lt;/em&gt; winch"),
        ),
        "cartridge-1.3": ("bank.xml", swap("&lt;/p&gt;", "")),
    }
    for name, (member, edit) in edits.items():
        folder = write_sample(tmp_path, name)
        change(folder, member, edit)
        assert_alike(folder)


ITEM_12 = "item-i0123456789-0.xml"
P = "<fieldlabel>qbank_key_P</fieldlabel><fieldentry>"
EDITS_12 = {
    "another key": swap(f"{P}196.2<", f"{P}197.0<"),
    "a key beside its band": swap(f"{P}196.2<", f"{P}297.0<"),
    "a key with a sign": swap(f"{P}196.2<", f"{P}+196.2<"),
    "no key": swap(f"{P}196.2<", f"{P}<"),
    "spaces": swap("<varlte", "\n <varlte"),
    "double space in a prompt": swap("Enter the power", "Enter  the power"),
    "formatting in the stem": swap("&lt;p&gt;A winch", "&lt;p&gt;&lt;em&gt;A&lt;/em&gt; winch"),
    "a link in an option": swap("response_label ident", "response_label rshuffle=\"No\" ident"),
    "a rubric for scorers": swap('view="Candidate"', 'view="Scorer"'),
    "no points": swap('action="Add">2<', 'action="Add">0<'),
    "points taken away": swap('action="Add">2<', 'action="Subtract">2<'),
    "points for two": lambda text: text.replace(
        'title="SLIP_weight-as-mass" continue="Yes">', 'title="RIGHT" continue="Yes">'),
    "a response of no name": lambda text: text.replace("RESPONSE_P", "RESPONSE_"),
    "no title": swap(' title="RIGHT"', ""),
    "feedback that nothing shows": swap("</item>", '<itemfeedback ident="OTHER"><material>'
        '<mattext>No.</mattext></material></itemfeedback>\n</item>'),
    "a rule in a comment": swap("<respcondition ", "<!-- --><respcondition "),
    "an entity": swap(f"{P}196.2<", f"{P}&#49;96.2<"),
    "a control character": swap(f"{P}196.2<", f"{P}\x02<"),
    "cut off": lambda text: text[: len(text) // 2],
    "two items": lambda text: text.replace("</item>", "</item><item ident='x'/>"),
    "text between answer fields": swap(
        '<material label="UNIT">', "<material><mattext>And:</mattext></material>\n"
        '<material label="UNIT">'),
    "a picture that is missing": swap(
        "&lt;p&gt;A winch", '&lt;p&gt;&lt;img src="a.svg" alt="A"/&gt;&lt;/p&gt;&lt;p&gt;A winch'),
    "an unknown element in a formula": swap("&lt;mi&gt;P&lt;/mi&gt;", "&lt;mq&gt;P&lt;/mq&gt;"),
    "HTML that is not well-formed": swap("&lt;p&gt;A winch", "&lt;p&gt;&lt;p&gt;A winch"),
}  # fmt: skip


@pytest.mark.parametrize("edit", EDITS_12)
def test_items_of_qti_12_that_were_changed(tmp_path, edit):
    folder = write_sample(tmp_path, "qti-1.2")
    change(folder, ITEM_12, EDITS_12[edit])
    assert_alike(folder)


def test_what_we_write_in_qti_12_is_taken_from_the_text(made):
    """All but orders and matchings: else reading is slow, and nothing else would tell."""
    usual = []
    with zipfile.ZipFile(made["qti-1.2"]) as package:
        for member in package.namelist():
            if member.startswith("item-"):
                data = package.read(member)
                usual.append(usual_item(data, member, lambda _name: PRESENT) is not None)
                assert usual[-1] or b"qbank_order_" in data or b"qbank_pairs_" in data
    assert sum(usual) >= 4  # of eight


@pytest.mark.parametrize("name", [*QTI, "qti-1.2", "cartridge-1.3"])
def test_packages_read_as_those_of_others(made, name):
    """Of documents that are not ours only MathML is left out, and everything lost is told."""
    found = []
    for whole in (True, False):
        with open_bank(made[name], tolerant=True, whole=whole) as reading:
            found.append([(repr(skimmed(r.item)), str(r.place), r.losses) for r in reading])
    assert found[0] == found[1]
