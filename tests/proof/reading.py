"""A page read back for tests: a tree, its texts, and whether its markup nests."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html.parser import HTMLParser

import lxml.html
from lxml import etree

from qbank.item import Block, Display, Image, Inline, Math, Paragraph, Table

# Elements that have no end tag: HTML Living Standard, "Void elements"; from memory.
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source"}
VOID |= {"track", "wbr"}


class Nesting(HTMLParser):
    """Collects what does not nest: an end tag without its start, a start without its end."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.faults: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.faults.append(f"{self.getpos()}: <{tag}> repeats an attribute")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass  # of SVG: <path/>

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"{self.getpos()}: </{tag}> within {self.open[-3:]}")
        else:
            self.open.pop()


def nesting_faults(html: str) -> list[str]:
    """What does not nest in a page."""
    parser = Nesting()
    parser.feed(html)
    parser.close()
    return parser.faults + [f"<{tag}> is never closed" for tag in parser.open]


def tree(html: str) -> lxml.html.HtmlElement:
    """The page as a tree."""
    return lxml.html.document_fromstring(html)


def squeezed(text: str) -> str:
    """Text without white space, which markup may add or drop."""
    return re.sub(r"\s+", "", text)


def text_of(element: lxml.html.HtmlElement) -> str:
    return squeezed(element.text_content())


def expected_inline(content: Iterable[Inline]) -> str:
    """What the text of some content must be, its formulas read by an XML parser."""
    return squeezed(
        "".join(
            "".join(etree.fromstring(piece.mathml).itertext()) if isinstance(piece, Math) else piece
            for piece in content
        )
    )


def expected_blocks(blocks: Iterable[Block]) -> str:
    """What the text of some blocks must be."""
    pieces = []
    for block in blocks:
        match block:
            case Paragraph(content=content):
                pieces.append(expected_inline(content))
            case Display(math=math):
                pieces.append(expected_inline((math,)))
            case Table():
                pieces.append(block.caption)
                pieces += [expected_inline(cell) for cell in block.header]
                pieces += [expected_inline(cell) for row in block.rows for cell in row]
            case Image():
                pieces += ["Description", block.description] if block.description else []
    return squeezed("".join(pieces))
