"""Content of anyone's making as a run of tokens, and tokens as blocks or inline content.

Documents mix text, pictures, tables and interactions at any depth. One walk flattens them to
tokens in reading order: text, formulas, finished blocks, breaks between blocks, and holes where
interactions stand. White space is evened as HTML does. The HTML subsets are those of the
mapping note, section d; what has no place in the neutral item is told as a loss.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from lxml import etree

from qbank.formats.foreign.formulas import formula_of
from qbank.formats.foreign.losses import Losses
from qbank.formats.qti_tree import attribute, local, text_of
from qbank.item import Block, Display, Image, Inline, Math, Paragraph, Table

MAX_DEPTH = 120
WHITE = re.compile(r"[ \t\r\n\f]{2,}|[\t\r\n\f]")  # a single space is even already
_PLAIN_INLINE = frozenset([
    "span", "a", "abbr", "acronym", "cite", "dfn", "label", "font", "q", "time", "data", "mark",
    "bdi", "wbr", "templateInline", "body", "html", "tbody",
])  # fmt: skip
_FORMATTING = frozenset([
    "em", "strong", "b", "i", "u", "s", "big", "small", "tt", "code", "kbd", "samp", "var", "ins",
    "del", "strike",
])  # fmt: skip
_BLOCKS = frozenset([
    "p", "div", "section", "article", "blockquote", "address", "dl", "dt", "dd", "pre", "center",
    "figure", "figcaption", "header", "footer", "main", "aside", "details", "summary", "nav",
    "contentBody", "itemBody", "templateBlock", "li", "tr", "td", "th", "caption",
    "modalFeedback", "fieldset", "legend",
])  # fmt: skip
_HEADINGS = frozenset(["h1", "h2", "h3", "h4", "h5", "h6"])
_SILENT = frozenset(
    ["meta", "link", "title", "head", "param", "source", "track", "col", "colgroup"]
)
_DESCRIPTIONS = frozenset(["description", "qti-visually-hidden"])
_SUPERSCRIPTS = str.maketrans("0123456789+-−=()n", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁻⁼⁽⁾ⁿ")
_RAISED = re.compile(r"[0-9+\-−=()n]+")


class Break:
    """The end of a paragraph."""


BREAK = Break()


class UnitText(str):
    """Text that is marked as the unit of an answer."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Hole:
    """An interaction."""

    element: etree._Element


Token = str | Math | Display | Table | Image | Break | Hole


@dataclass(slots=True)
class ContentReader:
    """Flattens the content of one item.

    picture  makes an image of a source, an alternative text and an element; None where it fails
    printed  the text of a printed variable, and whether an element of a template shows
    """

    losses: Losses
    picture: Callable[[str, str, etree._Element], Image | None]
    printed: Callable[[etree._Element], str | None] = lambda _element: None
    shows: Callable[[etree._Element], bool | None] = lambda _element: None
    aside: Callable[[str, etree._Element], bool] = lambda _name, _element: False
    mathml: bool = True  # whether formulas that have plain text need it

    def tokens(self, element: etree._Element) -> list[Token]:
        """The content of an element, in reading order."""
        found: list[Token] = []
        self._content(element, found, 0)
        return found

    def tokens_of(self, elements: Iterable[etree._Element]) -> list[Token]:
        """Some elements themselves, one after the other, with the text after each."""
        found: list[Token] = []
        for element in elements:
            if isinstance(element.tag, str):
                self._element(element, found, 0)
            if element.tail:
                found.append(element.tail)
        return found

    def inline(self, element: etree._Element) -> tuple[Inline, ...]:
        """The content of an element as one line."""
        if not len(element):  # by far the most
            text = WHITE.sub(" ", element.text or "").strip(" ")
            return (text,) if text else ()
        return self.as_inline(self.tokens(element), element)

    def blocks(self, element: etree._Element) -> tuple[Block, ...]:
        """The content of an element as blocks."""
        return tuple(self.as_blocks(self.tokens(element)))

    # ------------------------------------------------------------------ tokens

    def _content(self, element: etree._Element, found: list[Token], depth: int) -> None:
        if element.text:
            found.append(element.text)
        for child in element:
            if isinstance(child.tag, str):
                self._element(child, found, depth)
            if child.tail:
                found.append(child.tail)

    def _element(self, element: etree._Element, found: list[Token], depth: int) -> None:
        name = local(str(element.tag))
        if depth > MAX_DEPTH:
            self.losses.add("depth", "content is nested too deep: its text is kept", element)
            found.append(text_of(element))
        elif name in _BLOCKS:
            if name == "div" and element.get("class") in _DESCRIPTIONS and _told(element):
                return  # the picture before has it as its description
            if name == "templateBlock" and not self._shown(element):
                return
            found.append(BREAK)
            self._content(element, found, depth + 1)
            found.append(BREAK)
        elif name == "span" and element.get("class") == "unit":
            found.append(UnitText(text_of(element)))
        elif name in _PLAIN_INLINE:
            if name == "a" and element.get("href"):
                self.losses.add("link", "a link is read as its text", element)
            if name == "templateInline" and not self._shown(element):
                return
            self._content(element, found, depth + 1)
        elif name.endswith("Interaction"):
            found.append(Hole(element))
        else:
            self._special(name, element, found, depth)

    def _special(self, name: str, element: etree._Element, found: list[Token], depth: int) -> None:
        if name == "math":
            math = formula_of(element, self.losses, mathml=self.mathml)
            found.append(Display(math) if element.get("display") == "block" else math)
        elif name in ("sub", "sup"):
            self._script(name, element, found)
        elif name in ("br", "hr"):
            found.append(BREAK)
        elif name in ("ul", "ol"):
            self._list(name, element, found, depth)
        elif name == "table":
            self._table(element, found)
        elif name in ("img", "object", "picture", "audio", "video", "embed", "iframe"):
            self._media(name, element, found)
        elif name == "printedVariable":
            found.append(self._printed(element))
        elif name in _HEADINGS:
            self.losses.add("formatting", "headings are read as paragraphs", element)
            found.append(BREAK)
            self._content(element, found, depth + 1)
            found.append(BREAK)
        elif name in _FORMATTING:
            self.losses.add("formatting", f"<{name}> is read as plain text", element)
            self._content(element, found, depth + 1)
        elif name in ("script", "style", "stylesheet"):
            self.losses.add("stylesheet", f"<{name}> is left out", element)
        elif name in _SILENT or self.aside(name, element):
            return
        else:
            self.losses.add("element", f"<{name}> is read as its text", element)
            self._content(element, found, depth + 1)

    def _shown(self, element: etree._Element) -> bool:
        shows = self.shows(element)
        if shows is None:
            self.losses.add("template", "what depends on the draw is read as if it showed", element)
        return shows is not False

    def _printed(self, element: etree._Element) -> str:
        text = self.printed(element)
        if text is None:
            name = attribute(element, "identifier")
            self.losses.add("template", f"the printed variable '{name}' has no value", element)
            return f"{{{name}}}"
        return text

    def _script(self, name: str, element: etree._Element, found: list[Token]) -> None:
        text = text_of(element).strip()
        if name == "sup" and _RAISED.fullmatch(text):
            found.append(text.translate(_SUPERSCRIPTS))
        elif text:
            mark = "^" if name == "sup" else "_"
            found.append(f"{mark}{text}" if text.isalnum() else f"{mark}({text})")

    def _list(self, name: str, element: etree._Element, found: list[Token], depth: int) -> None:
        self.losses.add("list", "the entries of a list are read as paragraphs", element)
        number = 0
        for child in element:
            if not isinstance(child.tag, str):
                continue
            number += 1
            found.extend((BREAK, f"{number}. " if name == "ol" else "• "))
            inner: list[Token] = []
            self._content(child, inner, depth + 1)
            while inner and (
                inner[0] is BREAK or (isinstance(inner[0], str) and not inner[0].strip())
            ):
                inner.pop(0)
            found.extend((*inner, BREAK))

    def _media(self, name: str, element: etree._Element, found: list[Token]) -> None:
        if name == "picture":
            inner = next((c for c in element.iter("{*}img")), None)
            if inner is not None:
                self._media("img", inner, found)
            return
        source = element.get("src") or element.get("data") or ""
        kind = element.get("type") or ""
        is_image = name == "img" or kind.startswith("image/")
        alt = element.get("alt") or ("" if name == "img" else text_of(element).strip())
        if is_image and source:
            image = self.picture(source, alt, element)
            if image is not None:
                found.append(image)
                return
        else:
            self.losses.add("media", f"<{name}> '{source[:80]}' is left out", element)
        if alt:
            found.append(f"[{alt}]")

    def _table(self, table: etree._Element, found: list[Token]) -> None:
        if any(local(str(e.tag)).endswith("Interaction") for e in table.iter(etree.Element)):
            self.losses.add("table", "a table with answer fields is read row by row", table)
            for row in _rows(table):
                found.append(BREAK)
                for cell in row:
                    if isinstance(cell.tag, str):
                        found.append(" ")
                        self._content(cell, found, 1)
                found.append(BREAK)
            return
        caption = ""
        header: tuple[tuple[Inline, ...], ...] = ()
        rows: list[tuple[tuple[Inline, ...], ...]] = []
        row_headers = False
        for child in table:
            if isinstance(child.tag, str) and local(child.tag) == "caption":
                caption = "".join(plain_of(self.inline(child)))
        for row in _rows(table):
            cells = [c for c in row if isinstance(c.tag, str) and local(c.tag) in ("td", "th")]
            if any(c.get("colspan", "1") != "1" or c.get("rowspan", "1") != "1" for c in cells):
                self.losses.add("table", "cells that span several are read as one", row)
            content = tuple(self.inline(cell) for cell in cells)
            parent = row.getparent()
            in_head = parent is not None and local(str(parent.tag)) == "thead"
            all_heads = bool(cells) and all(local(str(c.tag)) == "th" for c in cells)
            if not header and not rows and (in_head or (all_heads and len(cells) > 1)):
                header = content
            elif content:
                row_headers = row_headers or local(str(cells[0].tag)) == "th"
                rows.append(content)
        found.extend((BREAK, Table(caption, header, tuple(rows), row_headers), BREAK))

    # ------------------------------------------------------------------ assembly

    def as_inline(
        self, tokens: Sequence[Token], element: etree._Element | None = None
    ) -> tuple[Inline, ...]:
        """Tokens as one line: breaks become spaces, what is no line is told and kept in words."""
        content: list[Inline] = []
        for token in tokens:
            if isinstance(token, str | Math):
                content.append(token)
            elif isinstance(token, Break):
                content.append(" ")
            elif isinstance(token, Display):
                content.extend((" ", token.math, " "))
            elif isinstance(token, Table):
                self.losses.add("table", "a table within a line is read as its text", element)
                rows = [*([token.header] if token.header else []), *token.rows]
                content.append("; ".join(" | ".join(plain_of(c) for c in row) for row in rows))
            elif isinstance(token, Image):
                self.losses.add(
                    "picture",
                    f"the picture '{token.name}' stands within a line, where there is no place "
                    "for one: its words are kept",
                    element,
                )
                content.append(f"[{token.alt}]" if token.alt else "")
            elif isinstance(token, Hole):
                kind = local(str(token.element.tag))
                self.losses.add("interaction", f"an {kind} within a line is left out", element)
        return evened(content)

    def as_blocks(self, tokens: Sequence[Token]) -> list[Block]:
        """Tokens as paragraphs, tables, pictures and formulas."""
        found: list[Block] = []
        line: list[Inline] = []
        for token in tokens:
            if isinstance(token, str | Math):
                line.append(token)
                continue
            if isinstance(token, Hole):
                kind = local(str(token.element.tag))
                self.losses.add("interaction", f"an {kind} is left out here", token.element)
                continue
            if line:
                content = evened(line)
                line = []
                if content:
                    found.append(Paragraph(content))
            if not isinstance(token, Break):
                found.append(token)
        content = evened(line)
        if content:
            found.append(Paragraph(content))
        return found


def evened(content: Sequence[Inline]) -> tuple[Inline, ...]:
    """Text and formulas with neighbours joined, white space evened and none at either end."""
    found: list[Inline] = []
    for piece in content:
        if isinstance(piece, str) and found and isinstance(found[-1], str):
            found[-1] += piece
        else:
            found.append(piece)
    evens = [WHITE.sub(" ", piece) if isinstance(piece, str) else piece for piece in found]
    if evens and isinstance(evens[0], str):
        evens[0] = evens[0].lstrip(" ")
    if evens and isinstance(evens[-1], str):
        evens[-1] = evens[-1].rstrip(" ")
    return tuple(piece for piece in evens if piece)


def plain_of(content: Iterable[Inline]) -> str:
    """Content as characters alone."""
    return "".join(piece.plain if isinstance(piece, Math) else piece for piece in content)


def _rows(table: etree._Element) -> list[etree._Element]:
    """The rows of a table, not those of tables within it."""
    found = []
    for child in table:
        if not isinstance(child.tag, str):
            continue
        if local(child.tag) == "tr":
            found.append(child)
        elif local(child.tag) in ("thead", "tbody", "tfoot"):
            found.extend(r for r in child if isinstance(r.tag, str) and local(r.tag) == "tr")
    return found


def _told(element: etree._Element) -> bool:
    """Whether an element follows a picture and so describes it."""
    before = element.getprevious()
    return before is not None and next(before.iter("{*}img"), None) is not None
