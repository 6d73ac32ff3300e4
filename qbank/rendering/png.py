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

from qbank.errors import OutputError
from qbank.item import Block, Image, Item

SVG, PNG = "image/svg+xml", "image/png"
SCALE = 2.0  # dots a CSS pixel, sharp on dense screens and in print


def png_maker() -> Callable[[Item], Item]:
    """A function that puts PNG in place of an item's SVG pictures; words and size stay.

    Raises OutputError where CairoSVG, or the cairo library it needs, is missing.
    """
    try:
        cairosvg = import_module("cairosvg")  # only here: it is optional, and slow to load
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
    return partial(_with_png, cairosvg.svg2png)


def _with_png(draw: Callable[..., Any], item: Item) -> Item:
    blocks = (*item.stem, *item.solution)
    if not any(isinstance(block, Image) and block.media_type == SVG for block in blocks):
        return item
    return replace(
        item,
        stem=tuple(_drawn(draw, block) for block in item.stem),
        solution=tuple(_drawn(draw, block) for block in item.solution),
    )


def _drawn(draw: Callable[..., Any], block: Block) -> Block:
    if not isinstance(block, Image) or block.media_type != SVG:
        return block
    # no file and no address is read: CairoSVG's own default, and the figures name none
    data: bytes = draw(bytestring=block.data, scale=SCALE, unsafe=False)
    return replace(block, name=block.name.removesuffix(".svg") + ".png", media_type=PNG, data=data)
