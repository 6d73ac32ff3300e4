"""YAML text from a stranger -> nodes with places, or an error, in bounded time.

The part of YAML a family file may use is data alone: one document of mappings, lists and text.
Scalars stay text, so `no`, `010`, `1e3` and `12:30` mean what stands there. Tags, anchors and
aliases, further documents and repeated keys are refused.

Within braces YAML splits entries at every comma. An entry without a colon there continues the
plain text before it, so `{list: 4.7, 10 kΩ}` and `{need: max(a, b) > c}` need no quotes.
"""

from __future__ import annotations

import re
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from qbank.errors import FamilyError
from qbank.family.nodes import Entry, Listing, Mapping, Node, Scalar, Source
from qbank.place import Place

MAX_BYTES = 1_000_000
MAX_DEPTH = 20
MAX_NODES = 10_000

# Control characters; line and paragraph separators, which YAML and people count differently; and
# marks that turn the direction of writing, after which a file reads otherwise than it is stored.
_HIDDEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff"
    "\ud800-\udfff]"
)


@dataclass(frozen=True, slots=True)
class Holds:
    """What a file holds, as messages call it: one such thing, two of its keys, its first line."""

    noun: str = "family"
    sections: str = "`given:` and `laws:`"
    first: str = "family: NAME"


FAMILY = Holds()


def read_bytes(path: Path, holds: Holds = FAMILY) -> bytes:
    """The bytes of a family file, or of another file that `holds` says.

    Raises FamilyError when the path is no regular file, cannot be read or is too large.
    """
    place = Place(str(path), 1, 1)
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise FamilyError(
                "expected a file, found a folder or a device",
                place=place,
                hint=f"name the .yaml file of one {holds.noun}",
            )
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise FamilyError("there is no such file", place=place, hint="check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FamilyError(
            f"the file cannot be read: {reason}", place=place, hint="check its permissions"
        ) from None
    if len(data) > MAX_BYTES:
        raise FamilyError(
            f"the file is larger than {MAX_BYTES:,} bytes; a {holds.noun} needs a few thousand",
            place=place,
            hint=f"split it into several files, each with one {holds.noun}",
        )
    return data


def decode(data: bytes, file: str) -> str:
    """The text of a file in UTF-8; FamilyError says at which line it stops being that."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        raise FamilyError(
            f"byte 0x{data[error.start]:02x} is not UTF-8",
            place=Place(file, line, column),
            hint="save the file in the encoding UTF-8",
        ) from None


def read_nodes(text: str, file: str, holds: Holds = FAMILY) -> Mapping:
    """The mapping a family file, or another file that `holds` says, consists of.

    Raises FamilyError, with the place and the mend, for everything that is not plain data.
    """
    source = Source.of(file, text.removeprefix("\ufeff").replace("\r\n", "\n"))
    if len(source.text) > MAX_BYTES:
        raise source.fault(
            f"the text is longer than {MAX_BYTES:,} characters", 0, hint=f"split the {holds.noun}"
        )
    if hidden := _HIDDEN.search(source.text):
        raise source.fault(
            f"the character U+{ord(hidden.group()):04X} cannot be seen and is not allowed",
            hidden.start(),
            hint="delete it; lines end with a line feed",
        )
    try:
        root = _Composer(source, holds).compose()
    except yaml.MarkedYAMLError as error:
        raise _syntax_fault(source, error) from None
    if not isinstance(root, Mapping):
        raise root.fault(
            f"expected the sections of a {holds.noun}, such as {holds.sections}",
            hint=f"start the file with `{holds.first}`",
        )
    return root


@dataclass(slots=True)
class _Frame:
    """A mapping or list that is still being read."""

    start: int
    flow: bool
    entries: dict[str, Entry] | None  # None for a list
    items: list[Node] = field(default_factory=list)
    key: Scalar | None = None


class _Composer:
    """Builds nodes from YAML events on a stack of its own, so that depth cannot hurt."""

    def __init__(self, source: Source, holds: Holds) -> None:
        self.source = source
        self.holds = holds
        self.frames: list[_Frame] = []
        self.root: Node | None = None
        self.nodes = 0

    def compose(self) -> Node:
        documents = 0
        for event in yaml.parse(self.source.text, Loader=yaml.SafeLoader):
            at, end = _position(event.start_mark), _position(event.end_mark)
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise self.source.fault(
                        f"a second document begins here; a file holds one {self.holds.noun}",
                        at,
                        end,
                        "move what follows `---` into a file of its own",
                    )
            elif isinstance(event, yaml.AliasEvent):
                raise self.source.fault(
                    f"an alias (*{event.anchor}) is not part of the {self.holds.noun} language",
                    at,
                    end,
                    "write the value out, or put text that starts with * in quotes",
                )
            elif isinstance(event, yaml.NodeEvent):
                self._begin(event, at, end)
            elif isinstance(event, yaml.CollectionEndEvent):
                self._close(end)
        if self.root is None:
            raise self.source.fault(
                "the file is empty",
                0,
                hint=f"start it with `{self.holds.first}`; see the README",
            )
        return self.root

    def _begin(self, event: yaml.NodeEvent, at: int, end: int) -> None:
        self.nodes += 1
        if self.nodes > MAX_NODES:
            raise self.source.fault(
                f"the file holds more than {MAX_NODES:,} values",
                at,
                hint=f"split the {self.holds.noun}",
            )
        tag = getattr(event, "tag", None)
        if event.anchor is not None or tag is not None:
            named = f"an anchor (&{event.anchor})" if event.anchor else f"a tag ({tag})"
            raise self.source.fault(
                f"{named} is not part of the {self.holds.noun} language",
                at,
                end,
                "delete it, or put text that starts with & or ! in quotes",
            )
        if isinstance(event, yaml.ScalarEvent):
            style = event.style if event.style in ("'", '"', "|", ">") else None
            self._add(Scalar(event.value, self.source, at, end, style))
            return
        if len(self.frames) >= MAX_DEPTH:
            raise self.source.fault(
                f"lists and mappings are nested more than {MAX_DEPTH} deep", at, hint="flatten it"
            )
        if self.frames and self.frames[-1].entries is not None and self.frames[-1].key is None:
            raise self.source.fault(
                "a key must be text; a list or mapping stands here",
                at,
                hint="put text that starts with { or [ in quotes",
            )
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        flow = bool(getattr(event, "flow_style", False))
        self.frames.append(_Frame(at, flow, {} if is_mapping else None))

    def _close(self, end: int) -> None:
        frame = self.frames.pop()
        if frame.entries is not None:
            self._add(Mapping(frame.entries, self.source, frame.start, end))
        else:
            self._add(Listing(tuple(frame.items), self.source, frame.start, end))

    def _add(self, node: Node) -> None:
        if not self.frames:
            self.root = node
            return
        frame = self.frames[-1]
        if frame.entries is None:
            frame.items.append(node)
        elif frame.key is None:
            if not isinstance(node, Scalar):  # refused in _begin
                raise TypeError(node)
            frame.key = node
        else:
            self._add_entry(frame, frame.entries, frame.key, node)
            frame.key = None

    def _add_entry(
        self, frame: _Frame, entries: dict[str, Entry], key: Scalar, value: Node
    ) -> None:
        between = self.source.text[key.end : value.start].lstrip()
        if frame.flow and value.start == value.end and not between.startswith(":"):
            self._continue(entries, key)
        elif key.text in entries:
            line = entries[key.text].key.place.line
            raise key.fault(
                f"the key '{key.text}' stands here a second time; the first is in line {line}",
                hint="delete one of the two, or rename it",
            )
        else:
            entries[key.text] = Entry(key, value)

    def _continue(self, entries: dict[str, Entry], part: Scalar) -> None:
        """Joins an entry without a colon to the plain text before it."""
        last = next(reversed(entries.values()), None)
        if last is None:
            raise part.fault(
                f"expected `key: value` after the brace, found '{part.text}'",
                hint="put text that starts with { in quotes",
            )
        if not isinstance(last.value, Scalar) or last.value.style or part.style:
            raise part.fault(
                f"expected `key: value`, found '{part.text}' without a colon",
                hint="put text that holds a comma in quotes as a whole",
            )
        text = f"{last.value.text}, {part.text}"
        joined = Scalar(text, self.source, last.value.start, part.end)
        entries[last.key.text] = Entry(last.key, joined)


# What YAML's scanner says -> what to tell an author. The first fragment found in the problem wins.
_SYNTAX = (
    (
        "mapping values are not allowed",
        "a colon and a space inside text start a new entry",
        "put the whole text in quotes",
    ),
    (
        "'\\t' that cannot start any token",
        "a tab stands where the line's indentation is read",
        "indent with spaces",
    ),
    (
        "that cannot start any token",
        "text cannot begin with this character",
        "put the text in quotes",
    ),
    (
        "expected ',' or '}'",
        "the mapping in braces is not closed, or its text holds a brace, a bracket or a colon",
        "close it with }, or put the text in quotes",
    ),
    (
        "expected ',' or ']'",
        "the list in brackets is not closed, or its text holds a brace, a bracket or a colon",
        "close it with ], or put the text in quotes",
    ),
    (
        "could not find expected ':'",
        "expected `key: value`, found a line without a colon",
        "add the colon, or indent the line to continue the text above",
    ),
    ("unexpected end of stream", "the quotes opened here are not closed", "close them"),
    (
        "expected <block end>",
        "this line fits neither the indentation nor the quotes of what stands above it",
        "give all keys of a section the same indentation; quote a text as a whole",
    ),
    (
        "expected the node content",
        "expected a value here",
        "put text that starts with a sign of YAML in quotes",
    ),
    (
        "unknown escape character",
        "a backslash inside double quotes starts an escape",
        "use single quotes, or write the backslash twice",
    ),
)


def _position(mark: Any) -> int:
    """The index of a mark; PyYAML's own scanner, used here, always gives one."""
    return int(mark.index)


def _syntax_fault(source: Source, error: yaml.MarkedYAMLError) -> FamilyError:
    problem = error.problem or "the text cannot be read"
    mark = error.problem_mark or error.context_mark
    if "unexpected end of stream" in problem:  # of more use: where the quotes were opened
        mark = error.context_mark or mark
    message, hint = next(
        ((message, hint) for fragment, message, hint in _SYNTAX if fragment in problem),
        (f"this is not YAML: {problem}", "put the text in quotes"),
    )
    return source.fault(message, min(mark.index, len(source.text)) if mark else 0, hint=hint)
