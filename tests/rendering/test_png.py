"""Figures as PNG: in the packages, of twice the size, with the same words, and clear errors."""

from __future__ import annotations

import struct
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from qbank.cli.main import exit_code_of
from qbank.errors import OutputError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.formats.pictures import ensure_picture
from qbank.generation import instance
from qbank.item import Image, Item
from qbank.making import make
from qbank.rendering.png import _spread, png_maker
from qbank.rendering.renderer import Renderer


@pytest.fixture
def item() -> Item:
    family = load_family(find_family("stepped-drum"))
    return Renderer(family).item(instance(family, 0, 0), 0)


def images(item: Item) -> list[Image]:
    return [block for block in (*item.stem, *item.solution) if isinstance(block, Image)]


def needs_cairo() -> None:
    try:
        png_maker()
    except OutputError as fault:
        pytest.skip(str(fault))


def test_words_and_size_stay_and_the_picture_has_two_dots_a_pixel(item: Item) -> None:
    needs_cairo()
    made = png_maker()(item)
    assert len(images(made)) == len(images(item)) == 2
    for before, after in zip(images(item), images(made), strict=True):
        ensure_picture(after)
        assert after.media_type == "image/png"
        assert after.name == before.name.replace(".svg", ".png")
        assert (after.alt, after.description) == (before.alt, before.description)
        assert (after.width, after.height) == (before.width, before.height)
        # width and height stand in the IHDR chunk (PNG, W3C Recommendation 2003, 11.2.2)
        size = struct.unpack(">II", after.data[16:24])
        assert size == (2 * before.width, 2 * before.height)
    assert made.parts == item.parts
    assert png_maker()(item) == made


def test_an_item_without_figures_stays_as_it_is(item: Item) -> None:
    needs_cairo()
    bare = replace(item, stem=item.stem[:1], solution=item.solution[:1])
    assert not images(bare)
    assert png_maker()(bare) is bare


def test_packages_hold_png_and_read_back(tmp_path: Path) -> None:
    needs_cairo()
    make(["stepped-drum"], count=2, out=tmp_path, unpacked=True, pictures="png",
         formats=["qti-2.1", "qti-3.0", "cartridge-1.3", "csv"])  # fmt: skip
    assert len(list(tmp_path.rglob("*.png"))) >= 4
    assert not list(tmp_path.rglob("*.svg"))
    for document in tmp_path.rglob("*.xml"):
        text = document.read_text(encoding="utf-8")
        assert ".svg" not in text
        assert "svg+xml" not in text


@pytest.mark.parametrize("gone", ["cairosvg", "cairocffi"])
def test_without_the_library_nothing_is_written_and_the_mend_is_told(
    gone: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for name in [name for name in sys.modules if name.partition(".")[0] == "cairosvg"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, gone, None)
    out = tmp_path / "bank"
    assert exit_code_of(["make", "stepped-drum", "--pictures", "png", "--out", str(out)]) == 2
    assert "pip install 'qbank[png]'" in capsys.readouterr().err
    assert not out.exists()


def test_one_item_takes_no_pictures(capsys: pytest.CaptureFixture[str]) -> None:
    assert exit_code_of(["make", "two-glasses", "--one-item", "--pictures", "png"]) == 2
    assert "--pictures cannot go with --one-item" in capsys.readouterr().err


def test_the_runs_of_a_label_stand_one_after_the_other() -> None:
    """With a font whose letters are all half as wide as the font is large."""
    label = (
        b'<svg xmlns="http://www.w3.org/2000/svg"><g font-size="10">'
        b'<text x="100" y="50" text-anchor="middle"><tspan font-style="italic">d</tspan>'
        b'<tspan dy="4" font-size="8">o</tspan><tspan dy="-4"> = 5 m</tspan></text></g></svg>'
    )
    root = etree.fromstring(_spread(label, lambda text, size, italic: len(text) * size / 2))
    runs = [(e.text, float(e.get("x")), float(e.get("y"))) for e in root.iter("{*}text")]
    # widths of 5, 4 and 30, so the label begins at 100 - 39/2; the space before "=" is kept
    assert runs == [("d", 80.5, 50.0), ("o", 85.5, 54.0), ("= 5 m", 94.5, 50.0)]
