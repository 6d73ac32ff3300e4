"""Where our own table states a key, and cells of any table with the bytes they stand in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from qbank.audit.correction.changes import Edit, LeftAlone
from qbank.audit.correction.newkeys import bound_text, new_key, states
from qbank.audit.correction.plans import (
    BAND,
    KEY,
    SHOWN,
    option_pairs,
    shown_anew,
    states_number,
)
from qbank.audit.verdict import Judgement
from qbank.formats.csv_columns import SEPARATOR

_BOM = "\ufeff"


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell's text, quotes resolved, and the characters from `start` to `end` it stands in."""

    text: str
    start: int
    end: int
    quoted: bool


@dataclass(frozen=True, slots=True)
class Row:
    """A row: where it begins in the table's bytes, and its cells."""

    start: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class OwnTable:
    """A table of ours: its text, the place of each column, its rows by item."""

    text: str
    at: dict[str, int]
    rows: dict[str, Row]

    def told(self, row: Row) -> Iterator[str]:
        """Texts for candidates that may state a key."""
        for name, at in self.at.items():
            if name == "solution_html" or name.endswith(("feedback_html", "hints_html")):
                yield row.cells[at].text


@dataclass(slots=True)
class PlannedCells:
    """The edits of a row in bytes, and what they change."""

    edits: list[Edit] = field(default_factory=list)
    old: str = ""
    new: str = ""
    band: tuple[str, str] | None = None
    told: tuple[str, ...] = ()  # texts that may state a key
    value: Decimal | None = None  # of a number that is written as people write them


def iter_rows(text: str, delimiter: str = ",") -> Iterator[tuple[Cell, ...]]:
    """The rows of a table (RFC 4180; a line may end in LF too), each cell with its place.

    Raises LeftAlone for a quote that is never closed.
    """
    at, size = (1 if text.startswith(_BOM) else 0), len(text)
    mark = re.compile(f"[{re.escape(delimiter)}\r\n]")
    cells: list[Cell] = []
    while at < size or cells:
        if at < size and text[at] == '"':
            start, pieces = at, []
            at += 1
            while True:
                stop = text.find('"', at)
                if stop < 0:
                    raise LeftAlone("its table has a quote that is not closed")
                pieces.append(text[at:stop])
                at = stop + 1
                if not text.startswith('"', at):
                    break
                pieces.append('"')
                at += 1
            cells.append(Cell("".join(pieces), start, at, True))
        else:
            start = at
            stop_at = mark.search(text, at)
            at = stop_at.start() if stop_at else size
            cells.append(Cell(text[start:at], start, at, False))
        if at < size and text[at] == delimiter:
            at += 1
            continue
        while at < size and text[at] not in "\r\n":  # what follows a closing quote
            at += 1
        at += 2 if text.startswith("\r\n", at) else 1
        yield tuple(cells)
        cells = []


def read_own_table(data: bytes) -> OwnTable | None:
    """The table, where its header is one of ours and its items differ; else None."""
    try:
        text = data.decode("utf-8")
        rows = iter_rows(text)
        header = [cell.text for cell in next(rows, ())]
        if "item_id" not in header or "part1_key" not in header:
            return None
        at = {name: place for place, name in enumerate(header)}
        found: dict[str, Row] = {}
        twice: set[str] = set()
        position = characters = 0
        for cells in rows:
            if len(cells) != len(header):
                continue
            position += len(text[characters : cells[0].start].encode())
            characters = cells[0].start
            name = cells[at["item_id"]].text
            if name in found:
                twice.add(name)
            found[name] = Row(position, cells)
    except (UnicodeDecodeError, LeftAlone):
        return None
    return OwnTable(text, at, {name: row for name, row in found.items() if name not in twice})


def plan_edits(table: OwnTable, row: Row, judgement: Judgement) -> PlannedCells:
    """The edits for one key of a row. Raises LeftAlone when in doubt."""
    prefix = _prefix(table, row, judgement.part)
    planned = PlannedCells()

    def cell(name: str) -> Cell | None:
        at = table.at.get(prefix + name)
        return None if at is None else row.cells[at]

    def write(target: Cell, text: str, what: str) -> None:
        begin = row.start + len(table.text[row.cells[0].start : target.start].encode())
        end = begin + len(table.text[target.start : target.end].encode())
        quoted = target.quoted or any(mark in text for mark in ',"\r\n')
        new = f'"{text.replace(chr(34), chr(34) * 2)}"' if quoted else text
        planned.edits.append(Edit(begin, end, new.encode(), what))

    if judgement.correct:
        keyed = cell("key_ids")
        if keyed is None or not keyed.text:
            raise LeftAlone("no option is keyed in its row")
        names = keyed.text.split(SEPARATOR)
        old, new = option_pairs(names, judgement.correct)
        offered = cell("option_ids")
        if offered is None or new not in offered.text.split(SEPARATOR):
            raise LeftAlone(f"the item offers no option '{new}'")
        anew = SEPARATOR.join(new if name == old else name for name in names)
        write(keyed, anew, KEY)
        planned.old, planned.new = old, new
        return planned
    key = new_key(judgement)
    stated = cell("key")
    numeral = None if stated is None else states(stated.text, key.old)
    if stated is None or numeral is None:
        raise LeftAlone("the key in its row is not the number that was judged")
    planned.old, planned.new = stated.text.strip(), key.text(numeral)
    write(stated, planned.new, KEY)
    shown = cell("key_shown")
    anew_shown = None if shown is None else shown_anew(shown.text.removeprefix("'"), key)
    if shown is not None and anew_shown is not None:
        guard = "'" if anew_shown[:1] in ("-", "+") else ""
        write(shown, guard + anew_shown, SHOWN)
    low, high = cell("tolerance_low"), cell("tolerance_high")
    if low is not None and high is not None and low.text and high.text:
        least, most = key.band(states_number(low.text), states_number(high.text))
        planned.band = bound_text(least, low.text), bound_text(most, high.text)
        write(low, planned.band[0], BAND)
        write(high, planned.band[1], BAND)
    return planned


def _prefix(table: OwnTable, row: Row, part: str) -> str:
    """The start of the names of the columns of a part."""
    found = []
    n = 1
    while (at := table.at.get(f"part{n}_id")) is not None:
        if row.cells[at].text == part:
            found.append(f"part{n}_")
        n += 1
    if len(found) != 1:
        raise LeftAlone(f"{len(found) or 'no'} parts in its row are called '{part}'")
    return found[0]
