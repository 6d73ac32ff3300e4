"""Pictures: files of their own, listed, tied to their item, described, and read back."""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import etree

from qbank.errors import CheckFailed
from qbank.formats.dialects import DIALECTS
from qbank.formats.readback import read_items
from qbank.formats.registry import FORMATS
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Image, Pool
from tests.formats.packages import change, swap
from tests.formats.samples import winch

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"><title>crane</title></svg>'
PNG = b"\x89PNG\r\n\x1a\n..."
CRANE = Image(
    "crane.svg", "image/svg+xml", SVG, 'A crane "at rest" & a crate.', "Label: m = 2 kg.", 40, 30
)
SOLVED = Image("figure-i0123456789-0-solved.png", "image/png", PNG, "The forces on the crate.")
# A cartridge splits items and lists numbers; what comes back of them: test_cartridge.
EVERY = [name for name in FORMATS if name != "cartridge-1.3"]


def pictured(index=0, **change):
    item = winch(index)
    solved = replace(SOLVED, name=f"figure-{item.identifier}-solved.png")
    return replace(
        item,
        stem=(*item.stem, replace(CRANE, **change)),
        solution=(solved, *item.solution),
    )


def write(folder, name, items):
    info = BankInfo("b", "B", "en", (Pool("p", "P", len(items), 5),))
    write_bank(info, items, folder, name, unpacked=True)
    return folder


@pytest.mark.parametrize("name", EVERY)
def test_pictures_come_back_with_their_words(tmp_path, name):
    items = [pictured(0), winch(1), pictured(2)]
    folder = write(tmp_path / "bank", name, items)
    assert validate_package(folder) == []
    for written, read in zip(items, read_items(folder), strict=True):
        assert read.stem == written.stem
        assert read.solution == written.solution


@pytest.mark.parametrize("name", list(DIALECTS))
def test_a_missing_or_unlisted_picture_is_caught(tmp_path, name):
    folder = write(tmp_path / "bank", name, [pictured()])
    line = '<file href="items/p/figures/i0123456789-0-crane.svg"/>\n'
    change(folder, "imsmanifest.xml", swap(line, ""))
    assert {f.rule for f in validate_package(folder)} == {"picture.file", "manifest.complete"}
    (folder / "items/p/figures/i0123456789-0-crane.svg").unlink()
    assert {f.rule for f in validate_package(folder)} == {"picture.file"}


@pytest.mark.parametrize("name", list(DIALECTS))
def test_a_picture_needs_its_words(tmp_path, name):
    folder = write(tmp_path / "bank", name, [pictured()])
    change(folder, "items/p/i0123456789-0.xml", swap(' alt="The forces on the crate."', ""))
    assert f"{name}:img" in {f.rule for f in validate_package(folder)}


@pytest.mark.parametrize(
    ("name", "seen"), [("qti-2.2", "description"), ("qti-3.0", "qti-visually-hidden")]
)
def test_a_description_is_tied_to_its_picture(tmp_path, name, seen):
    folder = write(tmp_path / "bank", name, [pictured()])
    root = etree.parse(folder / "items/p/i0123456789-0.xml").getroot()
    (described,) = [e.get("aria-describedby") for e in root.iter("{*}img")][:1]
    (block,) = [e for e in root.iter("{*}div") if e.get("id") == described]
    assert block.get("class") == seen
    change(folder, "items/p/i0123456789-0.xml", swap(f'id="{described}"', 'id="D-other"'))
    assert "picture.described" in {f.rule for f in validate_package(folder)}


def test_a_missing_picture_of_a_table_is_caught(tmp_path):
    folder = write(tmp_path / "bank", "csv", [pictured()])
    (folder / "figures/i0123456789-0-crane.svg").unlink()
    assert {f.rule for f in validate_package(folder)} == {"picture.file"}


@pytest.mark.parametrize("name", [name for name in EVERY if name != "jsonl"])
def test_words_that_are_too_long_for_alt_go_on_in_the_description(tmp_path, name):
    folder = write(tmp_path / "bank", name, [pictured(alt="a crane " * 60)])
    assert validate_package(folder) == []
    image = next(read_items(folder)).stem[-1]
    assert len(image.alt) == 256
    assert image.description.startswith("a crane " * 60)


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"data": b"<svg"}, "is no SVG"),
        ({"data": b"<p/>"}, "is no SVG"),
        ({"data": SVG.replace(b"<title>", b"<script>x</script><title>")}, "holds a script"),
        ({"data": SVG, "media_type": "image/png"}, "is no PNG"),
        ({"media_type": "text/html"}, "unknown type"),
        ({"alt": ""}, "words"),
        ({"name": "../up.svg"}, "name"),
        ({"name": "a b.svg"}, "name"),
    ],
)
def test_what_is_no_sound_picture_is_refused(tmp_path, name, change, said):
    with pytest.raises(CheckFailed, match=said):
        write(tmp_path / "bank", name, [pictured(**change)])
    assert list(tmp_path.iterdir()) == []
