"""A bank as one CSV table with its description: for spreadsheets, scripts and other importers.

RFC 4180: UTF-8, CRLF, a header row, quotes doubled. The table says what the right answers are,
not how to score; every bound is a column of its own (mapping note, a7).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from qbank.errors import CheckFailed
from qbank.formats import csv_readback
from qbank.formats.archive import Archive, disk_faults
from qbank.formats.arranging import shown_entries
from qbank.formats.base import Capabilities, Finding, package_name
from qbank.formats.content import blocks as blocks_html
from qbank.formats.content import inline
from qbank.formats.csv_columns import (
    PART_COLUMNS,
    SEPARATOR,
    SIDECAR,
    TABLE,
    columns_for,
    sidecar,
)
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace, images_of
from qbank.formats.xmltext import NUMBER, ensure_allowed, number, utf8
from qbank.item import (
    BankInfo,
    Block,
    Choice,
    Inline,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Part,
)

# What makes spreadsheets run a cell; the apostrophe is the usual guard (common practice, no
# source) and is doubled where a text starts with one, so that it can be taken off again.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
GUARD = "'"


class CsvWriter:
    """Writes one table; see `BankWriter`."""

    def __init__(self, info: BankInfo, archive: Archive) -> None:
        self._info = info
        self._archive = archive
        self._parts = max((pool.parts for pool in info.pools), default=0)
        self._columns = columns_for(self._parts)
        self._table = archive.spool()
        self._judge = csv_readback.RowJudge(self._columns)
        self._pools = iter(info.pools)
        self._pool = ""
        self._left = 0
        self._row([column.name for column in self._columns])

    def add(self, item: Item) -> None:
        """Write an item as one row. Raises CheckFailed when the row breaks a rule."""
        while self._left == 0:
            pool = next(self._pools, None)
            if pool is None:
                raise CheckFailed(f"item '{item.identifier}' comes after the last pool is full")
            self._left, self._pool = pool.count, pool.identifier
        self._left -= 1
        if len(item.parts) > self._parts:
            raise CheckFailed(f"item '{item.identifier}' has more than {self._parts} parts")
        cells = self._item_cells(item)
        for part in item.parts:
            cells.extend(_part_cells(part))
        cells.extend([""] * (len(self._columns) - len(cells)))
        place = PicturePlace(item.identifier)
        pictures = {place.href(image): image for image in images_of(item)}
        findings = list(self._judge.iter_findings(cells, item.identifier, pictures))
        if findings:
            raise CheckFailed(
                f"the row of item '{item.identifier}' breaks {len(findings)} rules",
                hint="\n    ".join(map(str, findings[:10])),
            )
        ensure_allowed("".join(cells))
        self._row(cells)
        for path, image in pictures.items():
            self._archive.add(path, image.data)

    def finish(self) -> None:
        """Write the table and its description."""
        missing = self._left + sum(pool.count for pool in self._pools)
        if missing:
            raise CheckFailed(f"{missing} items of the bank are missing")
        self._archive.add_file(TABLE, self._table)
        self._archive.add(SIDECAR, utf8(sidecar(self._info, self._columns)))

    def _row(self, cells: list[str]) -> None:
        line = io.StringIO()
        csv.writer(line, lineterminator="\r\n").writerow(cells)
        with disk_faults(self._archive.destination):
            self._table.write(utf8(line.getvalue()))

    def _item_cells(self, item: Item) -> list[str]:
        origin, about = item.provenance, item.metadata
        place = PicturePlace(item.identifier)
        return [
            item.identifier,
            guarded(origin.family) if origin else "",
            guarded(origin.version) if origin else "",
            origin.digest if origin else "",
            str(origin.seed) if origin else "",
            str(origin.index) if origin else "",
            guarded(origin.case) if origin else "",
            guarded(self._pool),
            item.language,
            guarded(item.title),
            guarded(about.subject),
            guarded(about.level),
            guarded(about.licence),
            _texts(about.authors),
            _texts(about.objectives),
            guarded(item.caution),
            _html_blocks(item.stem, place),
            SEPARATOR.join(map(_html, item.hints)),
            _html_blocks(item.solution, place),
            number(item.points),
        ]


def _part_cells(part: Part) -> list[str]:
    """The cells of one part, in the order of `PART_COLUMNS`."""
    match part:
        case NumberEntry():
            filled = _number_cells(part)
        case Choice(options=options):
            kind = "inline" if part.inline else "single"
            filled = {
                "type": "multiple" if part.multiple else kind,
                "key_ids": SEPARATOR.join(o.identifier for o in options if o.correct),
                "shuffle": "true" if part.shuffle else "false",
                **_option_cells(options),
            }
        case Ordering():
            filled = {
                "type": "order",
                "key_ids": SEPARATOR.join(o.identifier for o in part.entries),
                "partial": "true" if part.partial else "false",
                **_option_cells(shown_entries(part)),
            }
        case Matching():
            target_of = dict(part.pairs)
            filled = {
                "type": "match",
                "key_ids": SEPARATOR.join(target_of[o.identifier] for o in part.sources),
                "partial": "true" if part.partial else "false",
                **_option_cells(part.sources),
                **_option_cells(part.targets, "target"),
            }
    filled["id"] = guarded(part.identifier)
    filled["prompt_html"] = _html(part.prompt)
    filled["points"] = number(part.points)
    return [filled.get(name, "") for name in PART_COLUMNS]


def _number_cells(part: NumberEntry) -> dict[str, str]:
    wrong = part.wrong_values
    return {
        "type": "number",
        "unit": guarded(part.unit),
        "key": part.key_text,
        "key_shown": guarded(part.key_shown),
        "tolerance": guarded(part.tolerance.stated),
        "tolerance_low": number(part.tolerance.low),
        "tolerance_high": number(part.tolerance.high),
        "figures": "" if part.figures is None else str(part.figures),
        "decimals": "" if part.decimals is None else str(part.decimals),
        "wrong_slips": _texts(tuple(w.slip for w in wrong)),
        "wrong_values": SEPARATOR.join(number(w.value) for w in wrong),
        "wrong_low": SEPARATOR.join(number(w.low) for w in wrong),
        "wrong_high": SEPARATOR.join(number(w.high) for w in wrong),
        "wrong_feedback_html": SEPARATOR.join(_html(w.feedback) for w in wrong),
    }


def _option_cells(options: tuple[Option, ...], what: str = "option") -> dict[str, str]:
    return {
        f"{what}_ids": SEPARATOR.join(o.identifier for o in options),
        f"{what}s_html": SEPARATOR.join(_html(o.content) for o in options),
        f"{what}_feedback_html": SEPARATOR.join(_html(o.feedback) for o in options),
        f"{what}_slips": _texts(tuple(o.slip or "" for o in options)),
    }


def guarded(text: str) -> str:
    """A text cell that no spreadsheet runs as a formula.

    >>> guarded("-5 °C outside"), guarded("-5"), guarded("'=1")
    ("'-5 °C outside", '-5', "''=1")
    """
    start = text.lstrip(GUARD)
    if start.startswith(FORMULA_STARTS) and not NUMBER.fullmatch(text):
        return GUARD + text
    return text


def unguarded(cell: str) -> str:
    """The text that `guarded` made a cell of."""
    start = cell.lstrip(GUARD)
    return cell[1:] if start is not cell and start.startswith(FORMULA_STARTS) else cell


def _texts(texts: tuple[str, ...]) -> str:
    """Texts as one cell; a separator within one becomes a slash, which it must not be."""
    return guarded(SEPARATOR.join(text.replace(SEPARATOR, "/") for text in texts))


def _html(content: tuple[Inline, ...]) -> str:
    return _safe_html(inline(content))


def _html_blocks(blocks: tuple[Block, ...], place: PicturePlace) -> str:
    return _safe_html(blocks_html(blocks, place).replace("\n", " ").strip())


def _safe_html(text: str) -> str:
    """HTML without the separator and without the start of a formula, by character references."""
    text = text.replace(SEPARATOR, "&#124;")
    return f"&#{ord(text[0])};{text[1:]}" if text.startswith(FORMULA_STARTS) else text


@dataclass(frozen=True, slots=True)
class CsvFormat:
    """CSV with a CSV-on-the-Web description."""

    name: str = "csv"
    title: str = "CSV table with a CSVW description"

    @property
    def capabilities(self) -> Capabilities:
        return Capabilities(
            tolerance=True,
            several_parts=True,
            feedback=True,
            hints=True,
            zipped=False,
            mathml=True,
            pools=False,
            losses=(
                "line breaks within HTML become spaces",
                "a vertical bar within a name becomes a slash",
            ),
        )

    def file_name(self, title: str, unpacked: bool) -> str:
        return package_name(title, self.name, unpacked)

    def recognises(self, package: Package) -> bool:
        return TABLE in package.names and SIDECAR in package.names

    def writer(self, info: BankInfo, archive: Archive) -> CsvWriter:
        return CsvWriter(info, archive)

    def validate(self, package: Package) -> Iterator[Finding]:
        return csv_readback.iter_findings(package)

    def read(self, package: Package) -> Iterator[Item]:
        return csv_readback.iter_items(package)

    def skim(self, package: Package) -> Iterator[Item]:
        return csv_readback.iter_items(package, whole=False)
