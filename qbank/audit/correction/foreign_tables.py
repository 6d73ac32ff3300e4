"""Where a table of anyone's making states a key: its cell, and those of its band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from qbank.audit.correction.changes import Edit, LeftAlone
from qbank.audit.correction.newkeys import bound_text, new_key
from qbank.audit.correction.numerals import find_numeral
from qbank.audit.correction.plans import BAND, KEY, shown_anew, states_number
from qbank.audit.correction.table_keys import Cell, PlannedCells, iter_rows
from qbank.audit.verdict import Judgement


class TableDialect(Protocol):
    """How a table is written: see `qbank.formats.tables.sheet.Dialect`."""

    @property
    def encoding(self) -> str: ...
    @property
    def delimiter(self) -> str: ...
    @property
    def escape(self) -> str: ...
    @property
    def skipped(self) -> int: ...


class TableColumn(Protocol):
    """What a column was taken for; `mark` tells the parts of an item apart."""

    @property
    def at(self) -> int: ...
    @property
    def role(self) -> str: ...
    @property
    def mark(self) -> str: ...


class ReadTable(Protocol):
    """A table as it was read: see `qbank.formats.tables.reading`. `key_cell` gives the record, from
    0, and the column of a key; it raises KeyError where no cell states it."""

    @property
    def dialect(self) -> TableDialect: ...
    @property
    def roles(self) -> Sequence[TableColumn]: ...
    def key_cell(self, item: str, part: str) -> tuple[int, int]: ...


class ForeignTable:
    """The bytes of a table beside how they were read. Raises LeftAlone where they cannot be
    written to cell by cell."""

    def __init__(self, data: bytes, table: ReadTable) -> None:
        dialect = table.dialect
        if dialect.escape:
            raise LeftAlone("its table writes quotes with an escape sign")
        self._table = table
        self._encoding = dialect.encoding
        try:
            text = data.decode(self._encoding)
            whole = text.encode(self._encoding) == data
        except UnicodeError as fault:
            raise LeftAlone("its table cannot be written in its encoding") from fault
        if not whole:
            raise LeftAlone("its table is not written back byte by byte in its encoding")
        self.text = text
        self._start = 0
        for _ in range(dialect.skipped):
            self._start = text.find("\n", self._start) + 1
        self._rows = list(iter_rows(text[self._start :], dialect.delimiter))
        self._delimiter = dialect.delimiter

    def plan(self, judgement: Judgement) -> PlannedCells:
        """The edits for one key, in characters of `text`. Raises LeftAlone when in doubt."""
        try:
            record, column = self._table.key_cell(judgement.item, judgement.part)
        except KeyError as fault:
            raise LeftAlone("its key was not found in a cell") from fault
        stated = self._cell(record, column)
        planned = PlannedCells()
        if judgement.correct:
            self._option(stated, judgement, planned)
            return planned
        key = new_key(judgement)
        guard = "'" if stated.text.startswith("'") else ""
        said = stated.text.removeprefix(guard)
        anew = shown_anew(said, key)
        numeral = find_numeral(said)
        if anew is None or numeral is None:
            raise LeftAlone("the key in its cell is not the number that was judged")
        planned.old, planned.new = said[numeral.start : numeral.end], key.text(numeral)
        self._write(planned, stated, guard + anew, KEY)
        low, high = (self._bound(record, column, role) for role in ("low", "high"))
        if (low is None) != (high is None):
            raise LeftAlone("its row states one bound only")
        if low is not None and high is not None:
            least, most = key.band(states_number(low.text), states_number(high.text))
            planned.band = bound_text(least, low.text), bound_text(most, high.text)
            self._write(planned, low, planned.band[0], BAND)
            self._write(planned, high, planned.band[1], BAND)
        return planned

    def in_bytes(self, planned: PlannedCells) -> list[Edit]:
        """The edits in bytes of the table."""
        mark = len("".encode(self._encoding))  # a byte order mark, which every encoding repeats
        edits = []
        for edit in planned.edits:
            start = len(self.text[: edit.start].encode(self._encoding))
            inner = len(self.text[edit.start : edit.end].encode(self._encoding)) - mark
            new = edit.new.decode("utf-8").encode(self._encoding)[mark:]
            edits.append(Edit(start, start + inner, new, edit.what))
        return edits

    def _cell(self, record: int, column: int) -> Cell:
        if record >= len(self._rows) or column >= len(self._rows[record]):
            raise LeftAlone("its key was not found in a cell")
        return self._rows[record][column]

    def _bound(self, record: int, key_column: int, role: str) -> Cell | None:
        """The cell of a bound that belongs to the key's column; None where it states none."""
        marks = [column.mark for column in self._table.roles if column.at == key_column]
        mark = marks[0] if marks else ""
        mine = [c for c in self._table.roles if c.role == role and c.mark in (mark, "")]
        mine.sort(key=lambda column: column.mark != mark)
        if not mine or mine[0].at >= len(self._rows[record]):
            return None
        cell = self._rows[record][mine[0].at]
        return cell if cell.text.strip() else None

    def _option(self, stated: Cell, judgement: Judgement, planned: PlannedCells) -> None:
        """Exchange the letter that keys an option."""
        old, (new, *more) = stated.text.strip(), judgement.correct
        if more or len(old) != 1 or len(new) != 1 or not (old.isalpha() and new.isalpha()):
            raise LeftAlone("its cell does not key an option by one letter")
        planned.old, planned.new = old, new.upper() if old.isupper() else new.lower()
        self._write(planned, stated, stated.text.replace(old, planned.new), KEY)

    def _write(self, planned: PlannedCells, cell: Cell, text: str, what: str) -> None:
        if text.strip() == text and not cell.quoted:
            # Spaces around the old text stay.
            raw = cell.text
            lead = raw[: len(raw) - len(raw.lstrip())]
            text = lead + text + raw[len(raw.rstrip()) :]
        quoted = cell.quoted or any(mark in text for mark in f'{self._delimiter}"\r\n')
        new = f'"{text.replace(chr(34), chr(34) * 2)}"' if quoted else text
        try:
            new.encode(self._encoding)
        except UnicodeError as fault:
            raise LeftAlone("the new key cannot be written in its encoding") from fault
        start, end = cell.start + self._start, cell.end + self._start
        planned.edits.append(Edit(start, end, new.encode(), what))
