"""An XML document of anyone's making, with the bytes that each text and attribute stands in.

Read by expat, which tells the position of everything it meets. A document that declares a type,
or that is not UTF-8, is refused: in it a byte is not a place to write to.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from xml.parsers import expat

from qbank.formats.dialects import camel

MAX_DEPTH = 200
_ATTRIBUTE = re.compile(rb"\s([^\s=<>\"']+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
_PREDEFINED = {b"&": b"&amp;", b"<": b"&lt;", b">": b"&gt;"}


class NotEditable(Exception):  # noqa: N818 - says what holds, is never shown as an error
    """Why a document cannot be written to; `str` of it is a sentence's end."""


@dataclass(frozen=True, slots=True)
class Run:
    """Characters that stand in the document byte by byte, as UTF-8."""

    start: int
    end: int
    text: str


@dataclass(slots=True)
class Element:
    """An element: its 2.1 name without prefix, its attributes by theirs, its place in bytes.

    start, inner, close, end  positions of its start tag, of what follows that, of its end tag
                              and of what follows the element
    runs                      its own characters, those in its children not included; `literal`
                              is whether they stand in the document as they read
    """

    name: str
    attributes: dict[str, str]
    parent: Element | None
    start: int
    inner: int = 0
    close: int = 0
    end: int = 0
    children: list[Element] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    literal: bool = True

    @property
    def text(self) -> str:
        """Its own characters."""
        return "".join(run.text for run in self.runs)

    def iter(self, *names: str) -> Iterator[Element]:
        """The element and all below it, those of the names where some are given."""
        stack = [self]
        while stack:
            element = stack.pop()
            if not names or element.name in names:
                yield element
            stack.extend(reversed(element.children))

    def child(self, name: str) -> Element | None:
        """The first child of that name."""
        return next((child for child in self.children if child.name == name), None)

    def above(self) -> Iterator[Element]:
        """Its parent, the parent of that, and so on."""
        element = self.parent
        while element is not None:
            yield element
            element = element.parent

    def whole_text(self) -> str:
        """All characters in it, in order."""
        runs = [run for element in self.iter() for run in element.runs]
        return "".join(run.text for run in sorted(runs, key=lambda run: run.start))


def read_elements(data: bytes, wanted: Callable[[str, dict[str, str]], bool]) -> list[Element]:
    """The outermost elements for which `wanted(name, attributes)` holds, in order.

    Raises NotEditable for a document that cannot be written to.
    """
    reader = _Reader(data, wanted)
    reader.parse()
    return reader.found


def span_of_text(element: Element, data: bytes) -> tuple[int, int]:
    """Where the characters of an element stand, white space at both ends left out.

    Raises NotEditable where they are broken up by references, comments, tags or CDATA marks.
    """
    joined: list[Run] = []
    for run in element.runs:
        if joined and joined[-1].end == run.start:
            last = joined.pop()
            run = Run(last.start, run.end, last.text + run.text)  # noqa: PLW2901
        joined.append(run)
    solid = [run for run in joined if run.text.strip()]
    if len(solid) != 1 or not element.literal:
        raise NotEditable("its text is broken up")
    run = solid[0]
    text = run.text
    start = run.start + len(text[: len(text) - len(text.lstrip())].encode())
    end = start + len(text.strip().encode())
    if data[start:end] != text.strip().encode():
        raise NotEditable("its text is written with references")
    return start, end


def span_of_attribute(element: Element, name: str, data: bytes) -> tuple[int, int]:
    """Where the value of an attribute stands, without its quotes. Raises NotEditable as above."""
    tag = data[element.start : element.inner]
    for found in _ATTRIBUTE.finditer(tag):
        if camel(found[1].decode()) == name:
            group = 2 if found[2] is not None else 3
            if found[group] != element.attributes[name].encode():
                raise NotEditable(f"the attribute {name} is written with references")
            return element.start + found.start(group), element.start + found.end(group)
    raise NotEditable(f"the attribute {name} was not found")


def as_markup(text: str) -> bytes:
    """A text as bytes of a document, within an element or a quoted attribute."""
    data = text.encode()
    for mark, reference in _PREDEFINED.items():
        data = data.replace(mark, reference)
    return data


class _Reader:
    """Builds the wanted elements; everything else is passed over without keeping it."""

    def __init__(self, data: bytes, wanted: Callable[[str, dict[str, str]], bool]) -> None:
        self.found: list[Element] = []
        self._data = data
        self._wanted = wanted
        self._current: Element | None = None
        self._depth = 0
        self._unended: Element | None = None  # its start tag's end is not known yet
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = False
        self._parser.ordered_attributes = False
        self._parser.XmlDeclHandler = self._declared
        self._parser.StartDoctypeDeclHandler = self._doctype
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._characters
        self._parser.DefaultHandler = self._other

    def parse(self) -> None:
        try:
            self._parser.Parse(self._data, True)
        except expat.ExpatError as fault:
            raise NotEditable(f"its document is not well-formed ({fault})") from fault

    def _at(self) -> int:
        """The position of what is met, which is where a start tag before it ends."""
        at = self._parser.CurrentByteIndex
        if self._unended is not None:
            self._unended.inner = at
            self._unended = None
        return at

    def _declared(self, _version: str, encoding: str | None, _standalone: int) -> None:
        if encoding is not None and encoding.lower() not in ("utf-8", "us-ascii"):
            raise NotEditable(f"its document is written in {encoding}, not in UTF-8")

    def _doctype(self, *_about: object) -> None:
        raise NotEditable("its document declares a document type")

    def _start(self, tag: str, given: dict[str, str]) -> None:
        at = self._at()
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise NotEditable(f"its document is nested deeper than {MAX_DEPTH}")
        name = camel(tag.rpartition(":")[2])
        attributes = {camel(key): value for key, value in given.items()}
        if self._current is None and not self._wanted(name, attributes):
            return
        element = Element(name, attributes, self._current, at)
        if self._current is None:
            self.found.append(element)
        else:
            self._current.children.append(element)
        self._current = self._unended = element

    def _end(self, _tag: str) -> None:
        at = self._parser.CurrentByteIndex
        self._depth -= 1
        element = self._current
        if element is None:
            self._at()
            return
        if self._unended is element:  # an element without content, "<a/>" or "<a></a>"
            empty = not self._data.startswith(b"</", at)
            element.inner = self._after(element.start) if empty else at
            self._unended = None
        self._at()
        element.close = at
        element.end = self._after(at)
        self._current = element.parent

    def _after(self, at: int) -> int:
        """The position after the tag that begins at `at`; ">" may stand in a quoted value."""
        quote = None
        for place in range(at, len(self._data)):
            byte = self._data[place]
            if quote is not None:
                quote = None if byte == quote else quote
            elif byte in (0x22, 0x27):
                quote = byte
            elif byte == 0x3E:
                return place + 1
        return len(self._data)

    def _characters(self, text: str) -> None:
        at = self._at()
        if self._current is None:
            return
        said = text.encode()
        if self._data.startswith(said, at) and not self._data.startswith(b"&", at):
            self._current.runs.append(Run(at, at + len(said), text))
        else:  # a reference, or a line end that is read as another
            self._current.runs.append(Run(at, at, text))
            self._current.literal = self._current.literal and not text.strip()

    def _other(self, _text: str) -> None:
        self._at()
