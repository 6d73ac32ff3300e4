"""A table of anyone's making as a bank: its items, what its columns were taken for, its losses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from pathlib import Path

from lxml import etree

from qbank.audit.reading.numerals import Decimal, judge_decimal
from qbank.audit.reading.text import inline_text
from qbank.errors import QbankError
from qbank.formats.csv_readback import item_of_row
from qbank.formats.source import Loss, ReadItem
from qbank.formats.tables.accepting import stated_range
from qbank.formats.tables.building import RowReader
from qbank.formats.tables.choosing import Options
from qbank.formats.tables.dividing import divided
from qbank.formats.tables.roles import Column, columns_of, has_header
from qbank.formats.tables.sheet import Dialect, Record, Sheet
from qbank.item import Block, Choice, Item, NumberEntry, Paragraph, Part
from qbank.place import Place

_SAMPLE = 200
_OWN = ("item_id", "stem_html", "part1_type", "part1_key")


def read_table(path: str | Path, columns: Mapping[str, str] | None = None) -> TableReading:
    """A file of separated values as a bank.

    `columns` says which column holds what, as role -> header or number from 1, such as
    {"stem": "Frage", "key": "4", "key 2": "Antwort b"}; roles are the keys of `ROLES`. What it
    leaves out is read off headers and cells.

    Raises QbankError where the file is no table, or `columns` names what is not there.
    """
    return TableReading(Path(path), columns)


class TableReading:
    """A table as a bank.

    columns  a sentence for each column: what it was taken for, and why
    roles    the same as data
    dialect  encoding and delimiter, for who writes cells again
    header   whether the first record names the columns
    decimal  the sign before decimals that the table uses
    losses   of the table as a whole; complete after `items` is used up
    """

    def __init__(
        self, path: Path, columns: Mapping[str, str] | None = None, data: bytes | None = None
    ) -> None:
        self.path = path
        self._sheet = Sheet(path, data)
        sample = self._sheet.sample(_SAMPLE)
        if not sample:
            raise QbankError(f"the table '{path}' is empty", place=Place(str(path), 1, 1))
        rows = [record.cells for record in sample]
        self._preamble = _preamble(rows)
        rows = rows[self._preamble :]
        self._width = len(rows[0])
        self._own = columns is None and set(_OWN) <= set(rows[0])
        self.header = self._own or has_header(rows) or _names_header(columns, rows[0])
        self._names = rows[0] if self.header else None
        body = rows[1:] if self.header else rows
        if not self.header:
            self._width = max(set(map(len, rows)), key=[len(row) for row in rows].count)
        self.roles: tuple[Column, ...] = tuple(columns_of(self._names, body, columns, str(path)))
        self.decimal: Decimal = self._judged(body)
        self._reader = RowReader(self.roles, self.decimal, self._option_base(body))
        self.losses: list[Loss] = []
        self._key_cells: dict[tuple[str, str], tuple[int, int]] = {}
        self._options: dict[tuple[str, str], tuple[Options, str]] = {}
        self._complete = False
        if not self._own:
            self._ensure_readable()

    @property
    def dialect(self) -> Dialect:
        return self._sheet.dialect

    @property
    def columns(self) -> list[str]:
        if self._own:
            return ["the columns of a table of this tool, whose description is missing"]
        return [column.says() for column in self.roles]

    @property
    def items(self) -> Iterator[ReadItem]:
        """The items, row after row; each use reads the table from its start."""
        return self._iter_items()

    def key_cell(self, item: str, part: str) -> tuple[int, int]:
        """Record and field, from 0, of the cell that states a key; for `dialect` and the records
        of the file with the header and empty records counted. Raises KeyError where none does."""
        if (item, part) not in self._key_cells and not self._complete:
            for _ in self._iter_items():
                pass
        return self._key_cells[item, part]

    def option_keyed(self, item: str, part: str) -> str:
        """The name of the option that a cell keys; empty where it is none, or several."""
        self.key_cell(item, part)
        return self._options[item, part][1] if (item, part) in self._options else ""

    def option_said(self, item: str, part: str, said: str, wanted: str) -> str | None:
        """What the cell that says `said` has to say to key the option `wanted`; None where that is
        not sure."""
        if not self.option_keyed(item, part):
            return None
        return self._options[item, part][0].said(said, wanted)

    def stated_range(self, text: str) -> tuple[Fraction, Fraction] | None:
        """The ends of a range that a cell states as what is accepted; else None."""
        return stated_range(text, self.decimal)

    # ------------------------------------------------------------------------ judging

    def _ensure_readable(self) -> None:
        roles = {column.role for column in self.roles}
        missing = []
        if "stem" not in roles and "prompt" not in roles:
            missing.append("the question (stem)")
        if not roles & {"key", "correct", "credit"}:
            missing.append("the right answer (key)")
        if missing:
            seen = "; ".join(self.columns[:20])
            raise QbankError(
                f"no column of the table holds {' or '.join(missing)}",
                place=Place(str(self.path), 1, 1),
                hint=f"say which one does, by header or number. Found: {seen}",
            )

    def _judged(self, body: list[list[str]]) -> Decimal:
        """The decimal sign: of the cells that hold numbers, else of the texts."""

        def cells(*roles: str) -> list[str]:
            places = [column.at for column in self.roles if column.role in roles]
            return [row[at] for row in body for at in places if at < len(row)]

        numbers = cells("key", "tolerance", "percent", "low", "high", "option")
        texts = [inline_text(text[:4000]) for text in cells("stem", "prompt")]
        if any("," in cell or "." in cell for cell in numbers):
            if judge_decimal(numbers) == ",":
                return ","
            if any("." in cell for cell in numbers):
                return "."
        return judge_decimal([*numbers, *texts])

    def _option_base(self, body: list[list[str]]) -> int:
        """0 where the numbers that pick an option start there, else 1."""
        places = [column.at for column in self.roles if column.role == "correct"]
        picked = {row[at].strip() for row in body for at in places if at < len(row)}
        return 0 if "0" in picked else 1

    # ------------------------------------------------------------------------ items

    def _iter_items(self) -> Iterator[ReadItem]:
        self.losses = []
        self._key_cells = {}
        self._options = {}
        for line in self._sheet.loose_quotes():
            what = (
                "a quote in this record is not closed, or text follows where it is: its cells may "
                "be torn, or records joined into one"
            )
            self.losses.append(Loss("quote", Place(str(self.path), line, 1), "", what))
        records = self._sheet.records()
        for record in islice(records, self._preamble):
            said = next(cell for cell in record.cells if cell.strip()).strip()
            what = f"the line '{said[:80]}' before the table was left out"
            self.losses.append(Loss("preamble", self._place(record), "", what))
        if self.header:
            next(records, None)
        seen: set[str] = set()
        at = {name: place for place, name in enumerate(self._names or [])}
        waiting: tuple[str, list[tuple[Record, list[Loss]]]] | None = None
        for record in records:
            fitted, losses = self._fitted(record)
            if fitted is None:
                continue
            if self._own:
                yield self._own_item(at, fitted, losses)
                continue
            if why := self._no_item(fitted.cells):
                what = f"record {record.number + 1} was left out: {why}"
                self.losses.append(Loss("row", self._place(record), "", what))
                continue
            name = self._reader.cell(fitted.cells, "id")
            if waiting is not None:
                if self._joins(fitted.cells, name, waiting[0], waiting[1][0][0].cells):
                    waiting[1].append((fitted, losses))
                    continue
                yield self._item(waiting[0], waiting[1], seen)
                waiting = None
            if self._reader.in_parts or self._reader.listed:
                waiting = (name, [(fitted, losses)])
            else:
                yield self._item(name, [(fitted, losses)], seen)
        if waiting is not None:
            yield self._item(waiting[0], waiting[1], seen)
        self._complete = True

    def _joins(self, cells: list[str], name: str, before: str, first: list[str]) -> bool:
        """Whether a row goes on with the item whose first row is `first`: as a part or an option
        under the same name, or under none."""
        if name and (name != before):
            return False
        if self._reader.listed:
            stem = self._reader.cell(cells, "stem")
            return bool(name) or not stem or stem == self._reader.cell(first, "stem")
        return bool(self._reader.cell(cells, "part"))

    def _fitted(self, record: Record) -> tuple[Record | None, list[Loss]]:
        """The record with as many cells as there are columns, and what is told of it."""
        cells, width = record.cells, self._width
        if len(cells) == width:
            return record, []
        if len(cells) > width:
            if any(cell.strip() for cell in cells[width:]):
                what = (
                    f"record {record.number + 1} has {len(cells)} cells for {width} columns and "
                    "was left out: a delimiter may stand in it without quotes"
                )
                self.losses.append(Loss("row-length", self._place(record), "", what))
                return None, []
            return record._replace(cells=cells[:width]), []
        what = f"record {record.number + 1} has {len(cells)} cells for {width} columns"
        return (
            record._replace(cells=[*cells, *[""] * (width - len(cells))]),
            [
                Loss(
                    "row-length", self._place(record), "", f"{what}; the others were taken as empty"
                )
            ],
        )

    def _no_item(self, cells: list[str]) -> str:
        """Why a record is none of the items: headings between them, the header again, totals."""
        if self._names and [cell.strip() for cell in cells] == [n.strip() for n in self._names]:
            return "it is the header again"
        asked = any(self._reader.asks(cells, mark) for mark in self._reader.marks)
        return "" if asked else f"it holds neither a question nor a key, but '{_first(cells)}'"

    def _place(self, record: Record) -> Place:
        return Place(str(self.path), record.line, 1)

    def _own_item(self, at: dict[str, int], record: Record, losses: list[Loss]) -> ReadItem:
        place = self._place(record)

        def missing(name: str) -> bytes:
            what = f"the picture '{name}' is not beside the table"
            losses.append(Loss("picture", place, record.cells[at["item_id"]], what))
            return b""

        try:
            item = item_of_row(at, record.cells, missing)
        except (KeyError, IndexError, ValueError, etree.XMLSyntaxError) as fault:
            name = record.cells[at["item_id"]]
            what = f"record {record.number + 1} cannot be read: {fault}"
            losses.append(Loss("row", place, name, what))
            item = Item(name, name, "en", (), ())
        for n, part in enumerate(item.parts, start=1):
            column = at.get(f"part{n}_key" if isinstance(part, NumberEntry) else f"part{n}_key_ids")
            if column is not None:
                self._key_cells[item.identifier, part.identifier] = (record.number, column)
        return ReadItem(item, place, tuple(losses))

    def _item(self, name: str, rows: list[tuple[Record, list[Loss]]], seen: set[str]) -> ReadItem:
        first = rows[0][0]
        place = self._place(first)
        losses = [loss for _, noted in rows for loss in noted]
        identifier = name or f"row-{first.number + 1}"
        if identifier in seen:
            identifier = f"{identifier}-row-{first.number + 1}"
            what = f"the identifier '{name}' stands twice; this item is called '{identifier}' here"
            losses.append(Loss("identifier", place, identifier, what))
        seen.add(identifier)
        reader = self._reader
        stems = [reader.cell(record.cells, "stem") for record, _ in rows]
        common = len({stem for stem in stems if stem}) <= 1
        asked: dict[str, str] = {}
        if len(rows) == 1 and stems[0]:
            stems[0], asked = self._divided(first.cells, stems[0])
        said = [] if common else stems
        parts, noted = self._parts(identifier, [record for record, _ in rows], said, asked)
        losses += noted
        picture = reader.cell(first.cells, "picture")
        if picture:
            what = f"the picture '{picture[:80]}' was not read"
            losses.append(Loss("picture", place, identifier, what))
        feedback = reader.cell(first.cells, "feedback")
        stem: tuple[Block, ...] = ()
        if common:
            stem = tuple(Paragraph((text,)) for text in stems if text)[:1]
        if not stem and not any(part.prompt for part in parts):
            losses.append(Loss("stem", place, identifier, "the question is empty"))
        item = Item(
            identifier=identifier,
            title=reader.cell(first.cells, "title") or identifier,
            language=reader.cell(first.cells, "language") or "en",
            stem=stem,
            parts=tuple(parts),
            solution=(Paragraph((feedback,)),) if feedback else (),
            provenance=reader.provenance(first.cells),
        )
        return ReadItem(item, place, tuple(replace(loss, item=identifier) for loss in losses))

    def _parts(
        self, identifier: str, records: list[Record], stems: list[str], asked: dict[str, str]
    ) -> tuple[list[Part], list[Loss]]:
        """The parts of an item; `stems` are those of its rows where they differ, `asked` what parts
        ask that stand in one stem."""
        reader = self._reader
        parts: list[Part] = []
        losses: list[Loss] = []

        def note(record: Record, noted: list[tuple[str, str]]) -> None:
            where = self._place(record)
            losses.extend(Loss(code, where, identifier, what) for code, what in noted)

        if reader.listed and len(records) > 1:
            choice, noted = reader.listed_choice([record.cells for record in records], "1", ())
            note(records[0], noted)
            return [choice], losses
        for row, record in enumerate(records):
            if row == 0 and len(records) > 1 and self._introduces(record.cells):
                continue
            for mark in reader.marks:
                wanted = reader.cell(record.cells, "part") or mark or str(len(parts) + 1)
                if any(part.identifier == wanted for part in parts):
                    wanted = f"{wanted}-{len(parts) + 1}"
                prompt = reader.cell(record.cells, "prompt", mark) or asked.get(mark, "")
                if stems and not prompt:
                    prompt = stems[row]
                part, noted, column = reader.part(
                    record.cells, mark, wanted, (prompt,) if prompt else ()
                )
                note(record, noted)
                if part is None:
                    continue
                parts.append(part)
                if column is not None:
                    self._key_cells[identifier, wanted] = (record.number, column)
                if isinstance(part, Choice):
                    keyed = [option.identifier for option in part.options if option.correct]
                    options = reader.options(record.cells, mark)
                    self._options[identifier, wanted] = options, "".join(keyed[: len(keyed) == 1])
        return parts, losses

    def _divided(self, cells: list[str], stem: str) -> tuple[str, dict[str, str]]:
        """The stem without its options or its parts, and what each part asks."""
        if (within := self._reader.within_stem(cells)) is not None:
            if not self._reader.offers(cells):
                return within[0], {}
        elif len(self._reader.marks) > 1:
            return divided(stem, self._reader.marks)
        return stem, {}

    def _introduces(self, cells: list[str]) -> bool:
        """Whether the first row of several holds what its parts share and nothing else."""
        roles = ("part", "prompt", "key", "correct", "options")
        return not any(self._reader.cell(cells, role) for role in roles)


def _first(cells: list[str]) -> str:
    return next((cell.strip() for cell in cells if cell.strip()), "")[:80]


def _preamble(rows: list[list[str]]) -> int:
    """How many records before the table hold a title and nothing else."""
    for at, cells in enumerate(rows[:6]):
        if sum(1 for cell in cells if cell.strip()) > 1:
            return at
    return 0


def _names_header(columns: Mapping[str, str] | None, first: list[str]) -> bool:
    """Whether the user names a column by a cell of the first record."""
    cells = {cell.strip() for cell in first}
    return any(
        str(wanted).strip() in cells and not str(wanted).strip().isdecimal()
        for wanted in (columns or {}).values()
    )
