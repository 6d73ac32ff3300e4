"""Where a line of our JSON Lines states a key: values with the bytes they stand in."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from json.decoder import JSONDecoder

from qbank.audit.correction.changes import Edit, LeftAlone
from qbank.audit.correction.newkeys import new_key, states
from qbank.audit.correction.numerals import whole_numeral
from qbank.audit.correction.plans import BAND, KEY, SHOWN, option_pairs, shown_anew
from qbank.audit.verdict import Judgement

MAX_DEPTH = 60
_STRING = JSONDecoder().raw_decode  # reads one value and tells where it ends
_SPACE = re.compile(r"[ \t\n\r]*")
_WORD = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|true|false|null")


@dataclass(slots=True)
class Value:
    """A JSON value: what it is, and the characters from `start` to `end` it stands in. An object
    has `fields`, a list has `entries`, anything else has `plain`."""

    start: int
    end: int = 0
    plain: str | float | bool | None = None
    fields: dict[str, Value] = field(default_factory=dict)
    entries: list[Value] = field(default_factory=list)


@dataclass(slots=True)
class PlannedLine:
    """The edits of a line in bytes, counted from its start, and what they change."""

    edits: list[Edit] = field(default_factory=list)
    old: str = ""
    new: str = ""
    band: tuple[str, str] | None = None


def iter_lines(data: bytes) -> Iterator[tuple[int, bytes]]:
    """The lines of a file, each with its position."""
    at = 0
    for line in data.splitlines(keepends=True):
        yield at, line
        at += len(line)


def read_value(text: str) -> Value:
    """The one value of a text. Raises ValueError where it is no JSON."""
    value = _read(text, 0, 0)
    if text[value.end :].strip():
        raise ValueError("text after the value")
    return value


def _read(text: str, at: int, depth: int) -> Value:
    if depth > MAX_DEPTH:
        raise ValueError("nested too deep")
    at = _skip(text, at)
    value = Value(at)
    mark = text[at : at + 1]
    if mark == '"':
        value.plain, value.end = _STRING(text, at)
    elif mark in ("{", "["):
        value.end = _read_entries(text, value, depth)
    else:
        word = _WORD.match(text, at)
        if word is None:
            raise ValueError("no JSON value")
        value.plain, value.end = json.loads(word[0]), word.end()
    return value


def _read_entries(text: str, value: Value, depth: int) -> int:
    """The entries of the object or list that begins at `value.start`; the position after it."""
    is_object = text[value.start] == "{"
    close = "}" if is_object else "]"
    at = _skip(text, value.start + 1)
    if text.startswith(close, at):
        return at + 1
    while True:
        name = ""
        if is_object:
            at = _skip(text, at)
            if not text.startswith('"', at):
                raise ValueError("a name is missing")
            name, at = _STRING(text, at)
            at = _skip(text, at)
            if not text.startswith(":", at):
                raise ValueError("a colon is missing")
            at += 1
        entry = _read(text, at, depth + 1)
        if is_object and name in value.fields:
            raise ValueError("a name stands twice")
        if is_object:
            value.fields[name] = entry
        else:
            value.entries.append(entry)
        at = _skip(text, entry.end)
        if text.startswith(close, at):
            return at + 1
        if not text.startswith(",", at):
            raise ValueError("a comma is missing")
        at += 1


def _skip(text: str, at: int) -> int:
    found = _SPACE.match(text, at)
    return found.end() if found else at


def plan_edits(line: bytes, judgement: Judgement) -> PlannedLine:
    """The edits for one key of a line. Raises LeftAlone when in doubt."""
    try:
        text = line.decode("utf-8")
        item = read_value(text)
    except ValueError as fault:
        raise LeftAlone(f"its line is no JSON in UTF-8: {fault}") from fault
    part = _part(item, judgement.part)
    planned = PlannedLine()

    def write(value: Value | None, new: str, what: str) -> None:
        if value is not None:
            start = len(text[: value.start].encode())
            end = start + len(text[value.start : value.end].encode())
            planned.edits.append(Edit(start, end, new.encode(), what))

    if judgement.correct:
        options = part.fields["options"].entries if "options" in part.fields else []
        named = {str(option.fields["identifier"].plain): option for option in options}
        keyed = [name for name, option in named.items() if option.fields["correct"].plain is True]
        planned.old, planned.new = option_pairs(keyed, judgement.correct)
        if planned.new not in named:
            raise LeftAlone(f"the item offers no option '{planned.new}'")
        write(named[planned.old].fields["correct"], "false", KEY)
        write(named[planned.new].fields["correct"], "true", KEY)
        return planned
    key = new_key(judgement)
    said = part.fields.get("key_text")
    numeral = states(said.plain, key.old) if said and isinstance(said.plain, str) else None
    number = part.fields.get("key")
    if said is None or numeral is None or number is None or number.plain != float(key.old):
        raise LeftAlone("the key in its line is not the number that was judged")
    planned.old, planned.new = str(said.plain).strip(), key.text(numeral)
    write(said, _string(planned.new), KEY)
    write(number, repr(float(key.new)), KEY)
    shown = part.fields.get("key_shown")
    anew = shown_anew(shown.plain, key) if shown and isinstance(shown.plain, str) else None
    if anew is not None:
        write(shown, _string(anew), SHOWN)
    band = part.fields["tolerance"].fields if "tolerance" in part.fields else {}
    low, high = band.get("low"), band.get("high")
    if low and high and low.plain is not None and high.plain is not None:
        bounds = [whole_numeral(repr(bound.plain)) for bound in (low, high)]
        if bounds[0] is None or bounds[1] is None:
            raise LeftAlone("a bound of its band is no number")
        least, most = key.band(bounds[0].value, bounds[1].value)
        planned.band = repr(float(least)), repr(float(most))
        write(low, planned.band[0], BAND)
        write(high, planned.band[1], BAND)
    return planned


def told(line: bytes) -> Iterator[str]:
    """Texts for candidates that may state a key."""
    item = read_value(line.decode("utf-8"))
    stack = [item.fields[name] for name in ("solution", "hints") if name in item.fields]
    for part in item.fields["parts"].entries:
        lists = [part.fields.get(name) for name in ("options", "wrong_values")]
        for entry in (entry for found in lists if found for entry in found.entries):
            if "feedback" in entry.fields:
                stack.append(entry.fields["feedback"])
    while stack:
        value = stack.pop()
        if isinstance(value.plain, str):
            yield value.plain
        stack += [*value.fields.values(), *value.entries]


def _string(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _part(item: Value, name: str) -> Value:
    parts = item.fields["parts"].entries if "parts" in item.fields else []
    found = [
        part
        for part in parts
        if "identifier" in part.fields and part.fields["identifier"].plain == name
    ]
    if len(found) != 1:
        raise LeftAlone(f"{len(found) or 'no'} parts in its line are called '{name}'")
    return found[0]
