"""An item as a JSON value and back, exactly; `schemas/items.schema.json` says the same in words.

Each record is a table of fields, so that writing and reading cannot part ways. What is read may
be from anyone: every value is checked, and a fault names the place within the record.
"""

from __future__ import annotations

import base64
import binascii
import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from qbank.item import (
    BankInfo,
    Choice,
    Display,
    Image,
    Item,
    Matching,
    Math,
    Metadata,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Pool,
    Provenance,
    Table,
    Tolerance,
    WrongValue,
)


class ValueFault(Exception):  # noqa: N818 - says what it is about
    """A JSON value that is not what stands at its place; `at` is a path such as `parts[0].key`."""

    def __init__(self, at: str, said: str) -> None:
        super().__init__(f"{at or 'the record'}: {said}")


@dataclass(frozen=True, slots=True)
class Codec:
    """Both directions of one kind of value; `read` takes the value and its path."""

    write: Callable[[Any], Any]
    read: Callable[[Any, str], Any]


def _same(value: Any) -> Any:
    return value


def _plain(kind: type, expected: str) -> Codec:
    def read(value: Any, at: str) -> Any:
        # A boolean is an int in Python, and none in JSON.
        if type(value) is not kind:
            raise ValueFault(at, f"found {_shown(value)}, expected {expected}")
        return value

    return Codec(_same, read)


def _shown(value: Any) -> str:
    if value is None or isinstance(value, bool):
        return str(value).lower().replace("none", "null")
    if isinstance(value, str):
        return f"the text '{value[:40]}'"
    if isinstance(value, int | float):
        return f"the number {value!r:.40}"
    return "a list" if isinstance(value, list) else "an object"


TEXT = _plain(str, "a text")
FLAG = _plain(bool, "true or false")
INTEGER = _plain(int, "a whole number")


def _write_number(value: float) -> float:
    if not math.isfinite(value):
        raise ValueFault("", f"the number {value} cannot be written")
    return float(value)


def _read_number(value: Any, at: str) -> float:
    if type(value) not in {int, float}:
        raise ValueFault(at, f"found {_shown(value)}, expected a number")
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found):
        raise ValueFault(at, "found a number beyond the range of floats")
    return found


NUMBER = Codec(_write_number, _read_number)
# A key or a bound that nobody stated is not-a-number in an item, and null here.
UNSTATED = Codec(
    lambda value: None if math.isnan(value) else _write_number(value),
    lambda value, at: math.nan if value is None else _read_number(value, at),
)


def _read_bytes(value: Any, at: str) -> bytes:
    try:
        return base64.b64decode(TEXT.read(value, at), validate=True)
    except (binascii.Error, ValueError) as fault:
        raise ValueFault(at, f"no base64: {fault}") from fault


BYTES = Codec(lambda value: base64.b64encode(value).decode("ascii"), _read_bytes)


def maybe(codec: Codec) -> Codec:
    """The value or null."""
    return Codec(
        lambda value: None if value is None else codec.write(value),
        lambda value, at: None if value is None else codec.read(value, at),
    )


def many(codec: Codec, length: int | None = None) -> Codec:
    """A tuple of such values as a list, of that length if one is given."""

    def read(value: Any, at: str) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise ValueFault(at, f"found {_shown(value)}, expected a list")
        if length is not None and len(value) != length:
            raise ValueFault(at, f"found {len(value)} entries, expected {length}")
        return tuple([codec.read(entry, f"{at}[{i}]") for i, entry in enumerate(value)])

    return Codec(lambda values: [codec.write(value) for value in values], read)


@dataclass(frozen=True, slots=True)
class Record:
    """A frozen value of `qbank.item` as an object with the same names.

    `fields` are in the order of the class; `tag` is the entry `type`, where several kinds stand
    in one place. What has a default in the class may be left out of an object.
    """

    made: type
    fields: Mapping[str, Codec]
    tag: str = ""

    def write(self, value: Any) -> dict[str, Any]:
        found: dict[str, Any] = {"type": self.tag} if self.tag else {}
        for name, codec in self.fields.items():
            found[name] = codec.write(getattr(value, name))
        return found

    def read(self, value: Any, at: str) -> Any:
        if not isinstance(value, dict):
            raise ValueFault(at, f"found {_shown(value)}, expected an object")
        if self.tag and value.get("type") != self.tag:
            raise ValueFault(_below(at, "type"), f"expected '{self.tag}'")
        for name in value:
            if name not in self.fields and not (self.tag and name == "type"):
                known = ", ".join(self.fields)
                raise ValueFault(_below(at, name[:40]), f"unknown; known are {known}")
        for name in required(self.made):
            if name not in value:
                raise ValueFault(_below(at, name), "missing")
        return self.made(
            **{
                name: codec.read(value[name], _below(at, name))
                for name, codec in self.fields.items()
                if name in value
            }
        )


@cache
def required(made: type) -> list[str]:
    """The fields of a class that have no default."""
    return [
        field.name
        for field in dataclasses.fields(made)
        if field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
    ]


def _below(at: str, name: str) -> str:
    return f"{at}.{name}" if at else name


def nested(record: Record) -> Codec:
    """A record as a value within another."""
    return Codec(record.write, record.read)


def one_of(*records: Record) -> Codec:
    """One of several kinds of record, told apart by `type`."""
    by_class = {record.made: record for record in records}
    by_tag = {record.tag: record for record in records}

    def read(value: Any, at: str) -> Any:
        tag = value.get("type") if isinstance(value, dict) else None
        record = by_tag.get(tag) if isinstance(tag, str) else None
        if record is None:
            found = _shown(value if not isinstance(value, dict) else tag)
            raise ValueFault(_below(at, "type"), f"found {found}, expected {', '.join(by_tag)}")
        return record.read(value, at)

    return Codec(lambda value: by_class[type(value)].write(value), read)


MATH = Record(Math, {"mathml": TEXT, "plain": TEXT})
INLINE = Codec(
    lambda value: MATH.write(value) if isinstance(value, Math) else value,
    lambda value, at: MATH.read(value, at) if isinstance(value, dict) else TEXT.read(value, at),
)
CONTENT = many(INLINE)
ROWS = many(many(CONTENT))

PARAGRAPH = Record(Paragraph, {"content": CONTENT}, "paragraph")
DISPLAY = Record(Display, {"math": nested(MATH)}, "display")
TABLE = Record(
    Table,
    {"caption": TEXT, "header": many(CONTENT), "rows": ROWS, "row_headers": FLAG},
    "table",
)
IMAGE = Record(
    Image,
    {
        "name": TEXT,
        "media_type": TEXT,
        "data": BYTES,
        "alt": TEXT,
        "description": TEXT,
        "width": INTEGER,
        "height": INTEGER,
    },
    "image",
)
BLOCKS = many(one_of(PARAGRAPH, DISPLAY, TABLE, IMAGE))

TOLERANCE = Record(
    Tolerance,
    {
        "low": UNSTATED,
        "high": UNSTATED,
        "stated": TEXT,
        "slack": maybe(NUMBER),
        "slip_distance": maybe(NUMBER),
    },
)
WRONG_VALUE = Record(
    WrongValue,
    {"slip": TEXT, "value": NUMBER, "low": NUMBER, "high": NUMBER, "feedback": CONTENT},
)
OPTION = Record(
    Option,
    {
        "identifier": TEXT,
        "content": CONTENT,
        "correct": FLAG,
        "feedback": CONTENT,
        "slip": maybe(TEXT),
    },
)
OPTIONS = many(nested(OPTION))

NUMBER_ENTRY = Record(
    NumberEntry,
    {
        "identifier": TEXT,
        "prompt": CONTENT,
        "key": UNSTATED,
        "key_text": TEXT,
        "key_shown": TEXT,
        "unit": TEXT,
        "tolerance": nested(TOLERANCE),
        "points": NUMBER,
        "figures": maybe(INTEGER),
        "decimals": maybe(INTEGER),
        "wrong_values": many(nested(WRONG_VALUE)),
    },
    "number",
)
CHOICE = Record(
    Choice,
    {
        "identifier": TEXT,
        "prompt": CONTENT,
        "options": OPTIONS,
        "points": NUMBER,
        "multiple": FLAG,
        "inline": FLAG,
        "shuffle": FLAG,
    },
    "choice",
)
ORDERING = Record(
    Ordering,
    {
        "identifier": TEXT,
        "prompt": CONTENT,
        "entries": OPTIONS,
        "points": NUMBER,
        "partial": FLAG,
    },
    "ordering",
)
MATCHING = Record(
    Matching,
    {
        "identifier": TEXT,
        "prompt": CONTENT,
        "sources": OPTIONS,
        "targets": OPTIONS,
        "pairs": many(many(TEXT, 2)),
        "points": NUMBER,
        "partial": FLAG,
    },
    "matching",
)

PROVENANCE = Record(
    Provenance,
    {
        "family": TEXT,
        "version": TEXT,
        "digest": TEXT,
        "seed": INTEGER,
        "index": INTEGER,
        "case": TEXT,
    },
)
METADATA = Record(
    Metadata,
    {
        "subject": TEXT,
        "level": TEXT,
        "licence": TEXT,
        "authors": many(TEXT),
        "objectives": many(TEXT),
    },
)
ITEM = Record(
    Item,
    {
        "identifier": TEXT,
        "title": TEXT,
        "language": TEXT,
        "stem": BLOCKS,
        "parts": many(one_of(NUMBER_ENTRY, CHOICE, ORDERING, MATCHING)),
        "solution": BLOCKS,
        "caution": TEXT,
        "hints": many(CONTENT),
        "metadata": nested(METADATA),
        "provenance": maybe(nested(PROVENANCE)),
    },
)
POOL = Record(Pool, {"identifier": TEXT, "title": TEXT, "count": INTEGER, "parts": INTEGER})
BANK = Record(
    BankInfo,
    {"identifier": TEXT, "title": TEXT, "language": TEXT, "pools": many(nested(POOL))},
)
