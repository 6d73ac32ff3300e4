"""A file of separated values as records: its encoding, its delimiter, and its bounds.

RFC 4180 says how quotes work; which delimiter and encoding a file has is judged by its content.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

from qbank.errors import QbankError
from qbank.place import Place

MAX_BYTES = 256 << 20
MAX_CELL = 1 << 20
MAX_COLUMNS = 1000
MAX_ROWS = 2_000_000
_SAMPLE_TEXT = 1 << 18
_SAMPLE_ROWS = 60
_DELIMITERS = (",", ";", "\t", "|")
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "vertical bar"}
_MOST_LOOSE = 100  # lines told
_CONTROLS = frozenset(range(32)) - {9, 10, 12, 13, 26, 27}


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a table is written; enough to find a cell in its bytes again.

    encoding   a codec of Python; "utf-8-sig" and "utf-16" where there is a byte order mark
    delimiter  between cells; cells are quoted by `"`
    escape     the sign before a quote within a cell; empty where quotes are doubled
    skipped    lines before the first record, such as "sep=;"
    """

    encoding: str
    delimiter: str
    escape: str = ""
    skipped: int = 0

    def __str__(self) -> str:
        return f"{self.encoding}, separated by {_NAMES[self.delimiter]}"


class Record(NamedTuple):
    """A record: its number from 0, the line it starts on from 1, and its cells."""

    number: int
    line: int
    cells: list[str]


class Sheet:
    """A table in memory. Raises QbankError where the file is too large or no table."""

    def __init__(self, path: Path, data: bytes | None = None) -> None:
        self.path = path
        raw = _bytes(path) if data is None else data
        text, encoding = _decoded(raw, path)
        skipped, delimiter = 0, ""
        if text[:4].lower() == "sep=" and text[4:5] in _DELIMITERS:
            skipped, delimiter = 1, text[4]
            _, _, text = text.partition("\n")
        self._text = text
        sample = text[:_SAMPLE_TEXT]
        escape = "\\" if '\\"' in sample and sample.count('""') < sample.count('\\"') else ""
        self.dialect = Dialect(encoding, delimiter or _delimiter(sample, escape), escape, skipped)

    def records(self) -> Iterator[Record]:
        """The records that are not empty, each with its place."""
        for number, record in enumerate(self._records()):
            if number > MAX_ROWS:
                raise self._fault(f"more than {MAX_ROWS} records", record.line)
            if any(cell and not cell.isspace() for cell in record.cells):
                yield record

    def loose_quotes(self) -> list[int]:
        """The lines, from 1, on which records start that a quote may have torn or joined: one that
        is never closed, or text after one that is (RFC 4180 allows neither)."""
        if '"' not in self._text or self.dialect.escape:
            return []
        found: list[int] = []
        line = 1 + self.dialect.skipped
        at = start = 0
        for match in _fields(self.dialect.delimiter).finditer(self._text):
            loose = match["after"] or (match["quoted"] is not None and match["closed"] == "")
            if loose and len(found) < _MOST_LOOSE:
                line += _line_ends(self._text, at, start)
                at = start
                if line not in found[-1:]:
                    found.append(line)
            if match["end"] != self.dialect.delimiter:
                start = match.end()
        return found

    def sample(self, count: int) -> list[Record]:
        """The first records that are not empty."""
        return list(islice(self.records(), count))

    def _records(self) -> Iterator[Record]:
        lines = io.StringIO(self._text, newline="")
        reader = _reader(lines, self.dialect.delimiter, self.dialect.escape)
        number, line = 0, 1 + self.dialect.skipped
        while True:
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error as fault:
                said = str(fault)
                if "limit" in said:
                    said = f"a cell of more than {MAX_CELL} characters"
                raise self._fault(said, line) from fault
            if len(cells) > MAX_COLUMNS:
                raise self._fault(f"{len(cells)} columns, at most {MAX_COLUMNS} are read", line)
            yield Record(number, line, cells)
            number, line = number + 1, reader.line_num + 1 + self.dialect.skipped

    def _fault(self, said: str, line: int) -> QbankError:
        return QbankError(
            f"this is no table that can be read: {said}",
            place=Place(str(self.path), line, 1),
            hint="expected separated values as spreadsheets export them (RFC 4180)",
        )


def _fields(delimiter: str) -> re.Pattern[str]:
    """A field with what ends it; `after` is what wrongly follows a closing quote."""
    mark = re.escape(delimiter)
    return re.compile(
        rf'(?:(?P<quoted>"[^"]*(?:""[^"]*)*)(?P<closed>"|\Z)(?P<after>[^{mark}\r\n]*)|[^{mark}\r\n]*)'
        rf"(?P<end>{mark}|\r\n|\n|\r|\Z)"
    )


def _line_ends(text: str, start: int, end: int) -> int:
    pairs = text.count("\r\n", start, end)
    return text.count("\n", start, end) + text.count("\r", start, end) - pairs


def _reader(
    lines: io.StringIO, delimiter: str, escape: str
) -> Any:  # csv.reader's type has no name
    csv.field_size_limit(MAX_CELL)
    return csv.reader(lines, delimiter=delimiter, doublequote=not escape, escapechar=escape or None)


def _bytes(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise QbankError(
                f"the table '{path}' has {size} bytes; at most {MAX_BYTES} are read",
                hint="split it",
            )
        return path.read_bytes()
    except OSError as fault:
        raise QbankError(f"cannot read the table '{path}': {fault.strerror}") from fault


def _decoded(data: bytes, path: Path) -> tuple[str, str]:
    """The text and its codec: by byte order mark, else UTF-16 by its zero bytes, UTF-8 where it
    is valid, and Windows-1252 or Latin-1 for the rest."""
    for mark, codec in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            return _text(data, codec, path), codec
    head = data[:4096]
    if b"\x00" in head:
        even, odd = head[0::2].count(0), head[1::2].count(0)
        codec = "utf-16-le" if odd > 4 * even else "utf-16-be" if even > 4 * odd else ""
        if not codec or max(even, odd) < len(head) / 5:
            raise _binary(path)
        return _text(data, codec, path), codec
    for codec in ("utf-8", "cp1252", "latin-1"):
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            continue
        break
    if "\x00" in text or sum(byte in _CONTROLS for byte in head) > len(head) / 50:
        raise _binary(path)
    return text, codec


def _text(data: bytes, codec: str, path: Path) -> str:
    try:
        text = data.decode(codec)
    except UnicodeDecodeError as fault:
        raise QbankError(
            f"the table '{path}' is not in {codec}, which its first bytes say: {fault.reason}",
            hint="export it as UTF-8",
        ) from fault
    if "\x00" in text:
        raise _binary(path)
    return text


def _binary(path: Path) -> QbankError:
    return QbankError(
        f"'{path}' is no text but binary data",
        hint="export the spreadsheet as CSV (UTF-8)",
    )


def _delimiter(sample: str, escape: str) -> str:
    """The sign that cuts most records into the same number of cells, at least two."""
    best, most = ",", 0.0
    for delimiter in _DELIMITERS:
        if delimiter not in sample:
            continue
        widths: list[int] = []
        try:
            for cells in islice(
                _reader(io.StringIO(sample, newline=""), delimiter, escape), _SAMPLE_ROWS
            ):
                if cells:
                    widths.append(len(cells))
        except csv.Error:
            pass
        if len(widths) > 1 and len(widths) < _SAMPLE_ROWS and len(sample) == _SAMPLE_TEXT:
            widths.pop()  # cut off by the end of the sample
        if not widths:
            continue
        width, count = Counter(widths).most_common(1)[0]
        score = count / len(widths) + min(width, 20) / 1000 if width > 1 else 0.0
        if score > most:
            best, most = delimiter, score
    return best
