"""Where a table of anyone's making states a key: its cell, and those of its band."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate
from typing import Protocol

from qbank.audit.correction.cell_numbers import (
    CellNumber,
    cell_number,
    number_of_value,
    stated_value,
    with_number,
)
from qbank.audit.correction.changes import Edit, LeftAlone
from qbank.audit.correction.newkeys import NewKey, new_key_for, tidy
from qbank.audit.correction.plans import BAND, KEY
from qbank.audit.correction.table_keys import Cell, PlannedCells, iter_rows
from qbank.audit.reading.numerals import Decimal as DecimalSign
from qbank.audit.verdict import Judgement

_STRIDE = 4096  # characters
_BAND_IS_NONE = "a bound of its band is no number"


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
    0, and the column of a key; it raises KeyError where no cell states it. `option_said` gives
    what the cell has to say to key another option, None where that is not sure."""

    @property
    def dialect(self) -> TableDialect: ...
    @property
    def roles(self) -> Sequence[TableColumn]: ...
    @property
    def decimal(self) -> DecimalSign: ...
    def key_cell(self, item: str, part: str) -> tuple[int, int]: ...
    def option_keyed(self, item: str, part: str) -> str: ...
    def option_said(self, item: str, part: str, said: str, wanted: str) -> str | None: ...
    def stated_range(self, text: str) -> tuple[Fraction, Fraction] | None: ...


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
        self._sizes: list[int] = []

    def plan(self, judgement: Judgement) -> PlannedCells:
        """The edits for one key, in characters of `text`. Raises LeftAlone when in doubt."""
        try:
            record, column = self._table.key_cell(judgement.item, judgement.part)
        except KeyError as fault:
            one = "no one cell says which of its options is right"
            why = one if judgement.correct else "its key was not found in a cell"
            raise LeftAlone(why) from fault
        stated = self._cell(record, column)
        planned = PlannedCells(told=self._told(record))
        if judgement.correct:
            self._option(stated, judgement, planned)
            return planned
        guard = "'" if stated.text.startswith("'") else ""
        said = stated.text.removeprefix(guard)
        decimal = self._table.decimal
        number = cell_number(said, decimal)
        if number is None:
            raise LeftAlone("the number in its cell cannot be told apart from what stands about it")
        if stated_value(judgement.states, decimal) != Fraction(number.value):
            raise LeftAlone("the key in its cell is not the number that was judged")
        key = new_key_for(judgement, number.value, number.figures)
        anew = with_number(said, number, key.new, decimal)
        if anew is None:
            raise LeftAlone("the right number cannot be written as the old one is")
        planned.old, planned.new = said[number.start : number.end], number.written(key.new)
        planned.value = key.new
        self._write(planned, stated, guard + anew, KEY)
        self._band(record, column, key, planned)
        return planned

    def _band(self, record: int, column: int, key: NewKey, planned: PlannedCells) -> None:
        """Move what the row accepts, where it states that as numbers and not as a deviation."""
        low, high = (self._beside(record, column, role) for role in ("low", "high"))
        if (low is None) != (high is None):
            raise LeftAlone("its row states one bound only")
        if low is not None and high is not None:
            bounds = [self._bound(cell.text) for cell in (low, high)]
            least, most = (tidy(one) for one in key.band(bounds[0].value, bounds[1].value))
            planned.band = bounds[0].written(least), bounds[1].written(most)
            for bound, number, value in zip((low, high), bounds, (least, most), strict=True):
                self._write(planned, bound, self._replaced(bound.text, number, value), BAND)
            return
        cell = self._beside(record, column, "tolerance")
        ends = None if cell is None else self._table.stated_range(cell.text)
        if cell is None or ends is None:
            return
        found = [number_of_value(cell.text, end, self._table.decimal) for end in ends]
        if found[0] is None or found[1] is None or found[0].end > found[1].start:
            raise LeftAlone(_BAND_IS_NONE)
        least, most = (tidy(one) for one in key.band(found[0].value, found[1].value))
        planned.band = found[0].written(least), found[1].written(most)
        text = (
            cell.text[: found[0].start] + planned.band[0] + cell.text[found[0].end : found[1].start]
        )
        text += planned.band[1] + cell.text[found[1].end :]
        if self._table.stated_range(text) != (Fraction(least), Fraction(most)):
            raise LeftAlone("its band cannot be written as the old one is")
        self._write(planned, cell, text, BAND)

    def _bound(self, text: str) -> CellNumber:
        found = cell_number(text, self._table.decimal)
        if found is None:
            raise LeftAlone(_BAND_IS_NONE)
        return found

    def _replaced(self, text: str, number: CellNumber, value: Decimal) -> str:
        anew = with_number(text, number, value, self._table.decimal)
        if anew is None:
            raise LeftAlone("its band cannot be written as the old one is")
        return anew

    def in_bytes(self, planned: PlannedCells) -> list[Edit]:
        """The edits in bytes of the table."""
        mark = len("".encode(self._encoding))  # a byte order mark, which every encoding repeats
        edits = []
        for edit in planned.edits:
            start = self._byte(edit.start)
            inner = len(self.text[edit.start : edit.end].encode(self._encoding)) - mark
            new = edit.new.decode("utf-8").encode(self._encoding)[mark:]
            edits.append(Edit(start, start + inner, new, edit.what))
        return edits

    def _byte(self, at: int) -> int:
        """The byte at which the character stands; every so many are known, so that the table is
        not encoded from its start for each edit."""
        mark = len("".encode(self._encoding))
        if not self._sizes:
            size = range(0, len(self.text), _STRIDE)
            steps = (len(self.text[i : i + _STRIDE].encode(self._encoding)) - mark for i in size)
            self._sizes = list(accumulate(steps, initial=mark))
        known = at // _STRIDE
        rest = self.text[known * _STRIDE : at].encode(self._encoding)
        return self._sizes[known] + len(rest) - mark

    def _cell(self, record: int, column: int) -> Cell:
        if record >= len(self._rows) or column >= len(self._rows[record]):
            raise LeftAlone("its key was not found in a cell")
        return self._rows[record][column]

    def _told(self, record: int) -> tuple[str, ...]:
        """What the row tells students, which may state a key and is never edited."""
        cells = self._rows[record]
        places = [c.at for c in self._table.roles if c.role == "feedback" and c.at < len(cells)]
        return tuple(cells[at].text for at in places if cells[at].text.strip())

    def _beside(self, record: int, key_column: int, role: str) -> Cell | None:
        """The cell of a role that belongs to the key's column; None where it states none."""
        marks = [column.mark for column in self._table.roles if column.at == key_column]
        mark = marks[0] if marks else ""
        mine = [c for c in self._table.roles if c.role == role and c.mark in (mark, "")]
        mine.sort(key=lambda column: column.mark != mark)
        if not mine or mine[0].at >= len(self._rows[record]):
            return None
        cell = self._rows[record][mine[0].at]
        return cell if cell.text.strip() else None

    def _option(self, stated: Cell, judgement: Judgement, planned: PlannedCells) -> None:
        """Key another option, in the way the cell does: by letter, by number or by its text."""
        said, (new, *more) = stated.text, judgement.correct
        anew = None
        if not more:
            anew = self._table.option_said(judgement.item, judgement.part, said, new)
        if anew is None:
            raise LeftAlone("it is not sure how its cell would key the other option")
        keyed = self._table.option_keyed(judgement.item, judgement.part)
        planned.old, planned.new = keyed, new
        self._write(planned, stated, anew, KEY)

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
