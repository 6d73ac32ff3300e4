"""Content read back from markup of any version and from HTML cells: the twin of `content`."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from urllib.parse import unquote

from lxml import etree

from qbank.formats.dialects import MATHML
from qbank.formats.grammar import secure_parser
from qbank.formats.pictures import PNG, SVG, PicturePlace
from qbank.formats.qti_tree import KINDS, child, descendants, text_of
from qbank.item import Block, Display, Image, Inline, Math, Paragraph, Table

_MATH = f"{{{MATHML}}}math"
_START = re.compile(r'<math((?: [\w:.-]+="[^"]*")*)(?=/?>)')
_ATTRIBUTE = re.compile(r' [\w:.-]+="[^"]*"')
_DROPPED = (" alttext=", " display=", " xmlns:xsi=")  # those of ours that a formula alone lacks
_PICTURE = re.compile(
    r'<p><img [^<>]*/></p>(?:\s<div class="description"><p>[^<]*</p></div>)?(?=\s|$)'
)
MARKED = re.compile(r"[<&\r]|]]>")  # what plain text that is no markup cannot hold
_TEXT = "qbank-text"  # an element that stands in no text
_PARSER = secure_parser()
_DESCRIPTIONS = ("description", "qti-visually-hidden")


@dataclass(frozen=True, slots=True)
class PictureReader:
    """Makes pictures of `img` elements; `read` gives the bytes at a path beside the item."""

    place: PicturePlace
    read: Callable[[str], bytes]

    def image(self, element: etree._Element, following: etree._Element | None) -> Image:
        """The picture, with its description when that follows."""
        href = unquote(element.get("src", ""))
        told = following is not None and following.get("class") in _DESCRIPTIONS
        return Image(
            name=self.place.name(href),
            media_type=PNG if href.endswith(".png") else SVG,
            data=self.read(href),
            alt=element.get("alt", ""),
            description=text_of(following) if told and following is not None else "",
            width=int(element.get("width", "0")),
            height=int(element.get("height", "0")),
        )


def blocks(
    container: etree._Element | list[etree._Element], pictures: PictureReader, *, whole: bool = True
) -> Iterator[Block]:
    """Paragraphs, formulas on their own line, tables and pictures, in order.

    `whole` is as in `inline`.
    """
    for element in container:
        kind = KINDS[element.tag]
        if element.tag == _MATH:
            yield Display(_math(element, whole))
        elif kind == "p" and len(element) and KINDS[element[0].tag] == "img":
            yield pictures.image(element[0], element.getnext())
        elif kind == "p":
            yield Paragraph(inline(element, whole=whole))
        elif kind == "table":
            yield _table(element, whole)
        elif kind == "div" and element.get("class") not in _DESCRIPTIONS:
            yield from blocks(element, pictures, whole=whole)


def images(container: etree._Element, pictures: PictureReader) -> Iterator[Image]:
    """The pictures among the blocks of an element, without reading the others."""
    for picture in container.iter("{*}img"):
        paragraph = picture.getparent()
        if paragraph is None or paragraph[0] is not picture or KINDS[paragraph.tag] != "p":
            continue
        above = paragraph.getparent()
        while above is not None and above is not container and _shows(above):
            above = above.getparent()
        if above is container:
            yield pictures.image(picture, paragraph.getnext())


def picture_paragraphs(html: str) -> str:
    """The paragraphs with pictures of an HTML text of ours, with their descriptions; empty where
    there is none, or one that stands elsewhere."""
    count = html.count("<img")
    found = _PICTURE.findall(html) if count else []
    return "".join(found) if len(found) == count else ""


def _shows(element: etree._Element) -> bool:
    """Whether the content of an element is read as blocks."""
    return KINDS[element.tag] == "div" and element.get("class") not in _DESCRIPTIONS


def inline(
    element: etree._Element, stop: etree._Element | None = None, *, whole: bool = True
) -> tuple[Inline, ...]:
    """Text and formulas of an element in turn, up to the child `stop`.

    Unless `whole`, formulas that have plain text come without their MathML.
    """
    text = element.text
    content: list[Inline] = [text] if text else []
    for part in element:
        if part is stop:
            break
        if part.tag == _MATH:
            content.append(_math(part, whole))
        else:
            content.append(text_of(part))
        if tail := part.tail:
            content.append(tail)
    return tuple(content)


def _math(element: etree._Element, whole: bool) -> Math:
    if not whole and (plain := element.get("alttext")):
        return Math("", plain)
    text = etree.tostring(element, encoding="unicode", with_tail=False)
    start = _START.match(text)
    if start is not None and "xsi:" not in text[start.end() :]:
        kept = [said for said in _ATTRIBUTE.findall(start[1]) if not said.startswith(_DROPPED)]
        if not any(said.startswith(" xmlns:") for said in kept):
            return Math(f"<math{''.join(kept)}{text[start.end() :]}", element.get("alttext", ""))
    alone = copy.deepcopy(element)
    alone.tail = None
    plain = str(alone.attrib.pop("alttext", ""))
    alone.attrib.pop("display", "")
    etree.cleanup_namespaces(alone)
    return Math(etree.tostring(alone, encoding="unicode"), plain)


def _table(table: etree._Element, whole: bool) -> Table:
    caption = child(table, "caption")
    header: tuple[tuple[Inline, ...], ...] = ()
    rows = []
    row_headers = False
    for row in descendants(table, "tr"):
        cells = tuple(inline(cell, whole=whole) for cell in row)
        parent = row.getparent()
        if parent is not None and KINDS[parent.tag] == "thead":
            header = cells
        else:
            row_headers = row_headers or (len(row) > 0 and KINDS[row[0].tag] == "th")
            rows.append(cells)
    said = "" if caption is None else text_of(caption)
    return Table(said, header, tuple(rows), row_headers)


def parse_html(text: str) -> etree._Element:
    """HTML cells, which are well-formed XML, as one element."""
    return etree.fromstring(f"<div>{text}</div>", _PARSER)


class HtmlTexts:
    """Reads HTML texts of one row, those that are given parsed together.

    Each starting of a parser costs as much as a sentence does. Between marks that stand in none of
    them, texts that are well-formed together are so one by one.
    """

    def __init__(self, texts: Iterable[str], *, whole: bool) -> None:
        self._whole = whole
        self._roots: dict[str, etree._Element] = {}
        marked = [text for text in dict.fromkeys(texts) if MARKED.search(text)]
        joined = "".join([f"<{_TEXT}>{text}</{_TEXT}>" for text in marked])
        if len(marked) < 2 or joined.count(_TEXT) != 2 * len(marked):
            return
        try:
            root = parse_html(joined)
        except etree.XMLSyntaxError:
            return  # which of them it is shows when it is read alone
        if len(root) == len(marked):
            self._roots = dict(zip(marked, root, strict=True))

    def root(self, text: str) -> etree._Element:
        """An element that holds the text's content."""
        found = self._roots.get(text)
        return parse_html(text) if found is None else found

    def inline(self, text: str) -> tuple[Inline, ...]:
        """A text as one line."""
        if not MARKED.search(text):
            return (text,) if text else ()
        return inline(self.root(text), whole=self._whole)

    def aside(self, text: str) -> tuple[Inline, ...]:
        """Feedback, where it is wanted."""
        return self.inline(text) if self._whole else ()

    def blocks(self, text: str, pictures: PictureReader) -> tuple[Block, ...]:
        """A text as blocks."""
        return tuple(blocks(self.root(text), pictures, whole=self._whole))

    def images(self, text: str, pictures: PictureReader) -> tuple[Block, ...]:
        """The pictures of a text."""
        if "<img" not in text:
            return ()
        return tuple(images(parse_html(picture_paragraphs(text) or text), pictures))
