"""What a family file holds before it means anything: scalars as text, mappings and lists.

Every node knows where it stands in the source, down to the single character of a scalar,
whatever way the author quoted, folded or indented it.
"""

from __future__ import annotations

import hashlib
import json
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field

from qbank.errors import ExpressionError, FamilyError
from qbank.expressions.tree import Span
from qbank.place import Place

# Escapes of double-quoted scalars that are followed by a fixed number of hexadecimal digits.
_HEX_ESCAPES = {"x": 4, "u": 6, "U": 10}


@dataclass(frozen=True, slots=True)
class Source:
    """The text of a file; positions in it count characters from 0."""

    file: str
    text: str = field(repr=False)
    line_starts: tuple[int, ...] = field(repr=False)

    @classmethod
    def of(cls, file: str, text: str) -> Source:
        """The source with its lines found; lines end with a line feed."""
        starts = [0, *(at + 1 for at, letter in enumerate(text) if letter == "\n")]
        return cls(file, text, tuple(starts))

    def place(self, index: int) -> Place:
        """The line and column of a position."""
        line = bisect_right(self.line_starts, index)
        return Place(self.file, line, index - self.line_starts[line - 1] + 1)

    def fault(
        self, message: str, start: int, end: int | None = None, hint: str | None = None
    ) -> FamilyError:
        """An error about the characters `start .. end`, with their line as excerpt."""
        place = self.place(start)
        first = self.line_starts[place.line - 1]
        last = self.text.find("\n", first)
        line = self.text[first : last if last >= 0 else len(self.text)]
        indent = len(line) - len(line.lstrip())
        shown = line.strip()
        left = max(0, start - first - indent)
        right = max(left + 1, min((end or start + 1) - first - indent, len(shown)))
        return FamilyError(message, place=place, excerpt=shown, span=(left, right), hint=hint)


@dataclass(frozen=True, slots=True)
class Scalar:
    """A piece of text. `style` is None for plain, else one of `' " | >`."""

    text: str
    source: Source = field(repr=False)
    start: int
    end: int
    style: str | None = None

    @property
    def place(self) -> Place:
        """Where the text begins."""
        return self.source.place(self.index_of(0))

    def index_of(self, offset: int) -> int:
        """The position in the source of character `offset` of the text.

        The text and its source are walked side by side: white space may differ between them
        (folding, indentation), other characters appear in both in the same order.
        """
        raw, at = self.source.text, self.start
        if self.style in ("'", '"'):
            at += 1
        elif self.style in ("|", ">"):
            at = raw.find("\n", at) + 1
        for letter in self.text[:offset]:
            at = self._seek(at, letter) + self._width(at, letter)
        if offset < len(self.text):
            at = self._seek(at, self.text[offset])
        return min(at, self.end)

    def _seek(self, at: int, letter: str) -> int:
        """The next position from `at` where `letter` of the text stands in the source."""
        raw = self.source.text
        if letter.isspace():
            return at
        while at < self.end:
            if self.style == '"' and raw[at] == "\\":
                if raw[at + 1] != "\n":  # else the escape joins two lines and stands for nothing
                    return at
                at += 2
            elif raw[at] == letter:
                return at
            else:
                at += 1
        return at

    def _width(self, before: int, letter: str) -> int:
        """How many source characters `letter` takes, sought from `before`."""
        raw = self.source.text
        at = self._seek(before, letter)
        if at >= self.end:
            return 0
        if self.style == '"' and raw[at] == "\\":
            return _HEX_ESCAPES.get(raw[at + 1], 2)
        if letter.isspace():
            return 1 if raw[at].isspace() else 0
        return 2 if self.style == "'" and letter == "'" else 1

    def fault(self, message: str, span: Span | None = None, hint: str | None = None) -> FamilyError:
        """An error about the part `span` of the text, or about all of it."""
        if not self.text:
            return self.source.fault(message, self.start, self.end, hint)
        first, last = span if span is not None else (0, len(self.text))
        first = max(0, min(first, len(self.text) - 1))
        last = max(first + 1, min(last, len(self.text)))
        start = self.index_of(first)
        end = start + 1 if last == first + 1 else self.index_of(last - 1) + 1
        return self.source.fault(message, start, end, hint)

    def located(self, error: ExpressionError, what: str, offset: int = 0) -> FamilyError:
        """`error` about the text from `offset` on, as an error about the file."""
        span = None
        if error.span is not None:
            span = (error.span[0] + offset, error.span[1] + offset)
        return self.fault(f"{what}: {error.message}", span, error.hint)


@dataclass(frozen=True, slots=True)
class Listing:
    """A YAML sequence."""

    items: tuple[Node, ...]
    source: Source = field(repr=False)
    start: int
    end: int

    @property
    def place(self) -> Place:
        """Where the list begins."""
        return self.source.place(self.start)

    def fault(self, message: str, span: Span | None = None, hint: str | None = None) -> FamilyError:
        """An error about the list as a whole; `span` is for scalars and not used here."""
        del span
        return self.source.fault(message, self.start, self.end, hint)


@dataclass(frozen=True, slots=True)
class Entry:
    """A key of a mapping and what it holds."""

    key: Scalar
    value: Node


@dataclass(frozen=True, slots=True)
class Mapping:
    """A YAML mapping; keys are scalars and differ from each other."""

    entries: dict[str, Entry]
    source: Source = field(repr=False)
    start: int
    end: int

    @property
    def place(self) -> Place:
        """Where the mapping begins."""
        return self.source.place(self.start)

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries.values())

    def fault(self, message: str, span: Span | None = None, hint: str | None = None) -> FamilyError:
        """An error about the mapping as a whole; `span` is for scalars and not used here."""
        del span
        return self.source.fault(message, self.start, self.end, hint)


Node = Scalar | Listing | Mapping


def _content(node: Node) -> object:
    match node:
        case Scalar(text=text):
            return text
        case Listing(items=items):
            return ["list", *(_content(item) for item in items)]
        case Mapping(entries=entries):
            return ["map", *([key, _content(entry.value)] for key, entry in entries.items())]


def digest(*nodes: Node) -> str:
    """SHA-256 of what the nodes say, in hexadecimal; comments and layout make no difference."""
    text = json.dumps([_content(node) for node in nodes], ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()
