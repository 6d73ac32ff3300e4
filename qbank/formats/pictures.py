"""Pictures of an item: files of their own in the package, and how markup refers to them.

The alternative text stands in `alt`; the longer description is a block after the picture, tied to
it by `aria-describedby` where a version has the means (2.2, 3.0), and hidden from the eye where
there is a class for that (3.0: `qti-visually-hidden`; mapping note, section d).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from lxml import etree

from qbank.errors import CheckFailed
from qbank.formats.grammar import secure_parser
from qbank.formats.xmltext import escape, quote
from qbank.item import Image, Item

FOLDER = "figures"
MOST_ALT = 256  # string256 in the 2.1 draft
SVG = "image/svg+xml"
PNG = "image/png"
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")
_PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True, slots=True)
class PicturePlace:
    """Where the pictures of one item go: beside its document, under a name of the item's."""

    identifier: str
    hidden: bool = False  # the version can hide a description from the eye
    tied: bool = False  # and tie it to the picture

    def href(self, image: Image) -> str:
        """The picture's path as seen from the item's document."""
        own = image.name if self.identifier in image.name else f"{self.identifier}-{image.name}"
        return f"{FOLDER}/{own}"

    def name(self, href: str) -> str:
        """The name of the picture at a path: what `href` was made of."""
        return href.rpartition("/")[2].removeprefix(f"{self.identifier}-")

    def markup(self, image: Image) -> str:
        """A paragraph with the picture, and its description."""
        alt, description = image.alt, image.description
        if len(alt) > MOST_ALT:
            alt, description = f"{alt[: MOST_ALT - 1]}…", f"{image.alt} {description}".strip()
        sized = image.width > 0 and image.height > 0
        size = f' width="{image.width}" height="{image.height}"' if sized else ""
        tie = told = ""
        if description:
            seen = "qti-visually-hidden" if self.hidden else "description"
            if self.tied:
                tie = f' aria-describedby="D-{image.name}"'
            anchor = f' id="D-{image.name}"' if self.tied else ""
            told = f'<div{anchor} class="{seen}">'
            told += f"<p>{escape(description)}</p></div>\n"
        return f'<p><img src="{self.href(image)}" alt="{quote(alt)}"{size}{tie}/></p>\n{told}'


def images_of(item: Item) -> list[Image]:
    """The pictures of an item, in order."""
    return [block for block in (*item.stem, *item.solution) if isinstance(block, Image)]


def ensure_picture(image: Image) -> None:
    """Raise CheckFailed unless a picture has a name and words and is what it says: a PNG, or a
    well-formed SVG without scripts."""
    if not _NAME.fullmatch(image.name):
        raise CheckFailed(f"a picture has the name '{image.name}', which is no plain file name")
    if not image.alt:
        raise CheckFailed(f"the picture '{image.name}' has no words for who cannot see it")
    if image.media_type == PNG:
        if not image.data.startswith(_PNG_SIGNATURE):
            raise CheckFailed(f"the picture '{image.name}' is no PNG")
        return
    if image.media_type != SVG:
        raise CheckFailed(f"the picture '{image.name}' is of unknown type '{image.media_type}'")
    try:
        root = etree.fromstring(image.data, _parser())
    except etree.XMLSyntaxError as fault:
        raise CheckFailed(f"the picture '{image.name}' is no SVG: {fault.msg}") from fault
    if root.tag != "{http://www.w3.org/2000/svg}svg" or b"<script" in image.data:
        raise CheckFailed(f"the picture '{image.name}' is no SVG, or holds a script")


@cache
def _parser() -> etree.XMLParser:
    return secure_parser()
