"""Figures as PNG, for platforms that take no SVG.

The drawing itself is left to CairoSVG, an optional dependency (`pip install 'qbank[png]'`), which
needs the cairo library. One machine makes the same bytes each time; two machines with other
versions of cairo or other fonts may not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from importlib import import_module
from typing import Any

from lxml import etree

from qbank.errors import OutputError
from qbank.formats.grammar import secure_parser
from qbank.item import Block, Image, Item

SVG, PNG = "image/svg+xml", "image/png"
Ruler = Callable[[str, float, bool], float]
"""The width of a text of a font size, upright or italic."""

_SVG = "{http://www.w3.org/2000/svg}"
_SHIFTS = {"middle": 0.5, "end": 1.0}
SCALE = 2.0  # dots a CSS pixel, sharp on dense screens and in print


def png_maker() -> Callable[[Item], Item]:
    """A function that puts PNG in place of an item's SVG pictures; words and size stay.

    Raises OutputError where CairoSVG, or the cairo library it needs, is missing.
    """
    try:
        # only here: they are optional, and slow to load
        draw, cairo = import_module("cairosvg").svg2png, import_module("cairocffi")
    except ImportError as fault:
        raise OutputError(
            "cannot draw figures as PNG: CairoSVG is not installed",
            hint="pip install 'qbank[png]', or leave --pictures out",
        ) from fault
    except OSError as fault:
        raise OutputError(
            "cannot draw figures as PNG: CairoSVG does not find the cairo library",
            hint="install cairo (Debian's package is libcairo2), or leave --pictures out",
        ) from fault
    return partial(_with_png, draw, _ruler(cairo))


def _with_png(draw: Callable[..., Any], ruler: Ruler, item: Item) -> Item:
    blocks = (*item.stem, *item.solution)
    if not any(isinstance(block, Image) and block.media_type == SVG for block in blocks):
        return item
    return replace(
        item,
        stem=tuple(_drawn(draw, ruler, block) for block in item.stem),
        solution=tuple(_drawn(draw, ruler, block) for block in item.solution),
    )


def _drawn(draw: Callable[..., Any], ruler: Ruler, block: Block) -> Block:
    if not isinstance(block, Image) or block.media_type != SVG:
        return block
    # no file and no address is read: CairoSVG's own default, and the figures name none
    data: bytes = draw(bytestring=_spread(block.data, ruler), scale=SCALE, unsafe=False)
    return replace(block, name=block.name.removesuffix(".svg") + ".png", media_type=PNG, data=data)


# ---------------------------------------------------------------------------- labels


def _ruler(cairo: Any) -> Ruler:
    """Measures as CairoSVG writes: in the first font the figures name, or what stands for it."""
    context = cairo.Context(cairo.ImageSurface(cairo.FORMAT_A8, 1, 1))

    def width(text: str, size: float, italic: bool) -> float:
        context.select_font_face("Arial", cairo.FONT_SLANT_ITALIC if italic else 0)
        context.set_font_size(size)
        advance: float = context.text_extents(text)[4]
        return advance

    return width


def _spread(svg: bytes, ruler: Ruler) -> bytes:
    """The drawing with each run of a label at a place of its own.

    CairoSVG centres the runs of a label one by one and drops the spaces at their ends, so that
    they would lie over each other.
    """
    root = etree.fromstring(svg, secure_parser())
    for label in list(root.iter(f"{_SVG}text")):
        parent = label.getparent()
        if parent is None or not len(label):
            continue
        size = float(parent.get("font-size", "15"))
        runs = _runs(label, size)
        widths = [ruler(text, height, italic) for text, height, italic, _ in runs]
        shift = _SHIFTS.get(label.get("text-anchor", ""), 0.0)
        x, y = float(label.get("x", "0")) - shift * sum(widths), float(label.get("y", "0"))
        for (text, height, italic, drop), width in zip(runs, widths, strict=True):
            indent = text[: len(text) - len(text.lstrip())]
            run = etree.SubElement(parent, f"{_SVG}text")
            run.text = text.strip()
            run.set("x", f"{x + ruler(indent, height, italic):.2f}")
            run.set("y", f"{y + drop:.2f}")
            run.set("font-size", f"{height:g}")
            run.set("font-style", "italic" if italic else "normal")
            x += width
        parent.remove(label)
    return etree.tostring(root)


def _runs(label: etree._Element, size: float) -> list[tuple[str, float, bool, float]]:
    """Text, font size, whether italic, and how far below the baseline, run by run."""
    runs = [(label.text or "", size, False, 0.0)]
    drop = 0.0
    for span in label:
        drop += float(span.get("dy", "0"))
        italic = span.get("font-style") == "italic"
        runs.append((span.text or "", float(span.get("font-size", size)), italic, drop))
        runs.append((span.tail or "", size, False, drop))
    return [run for run in runs if run[0]]
