"""Reading and judging the CSV table: its rows against the description beside it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from urllib.parse import unquote

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.base import Finding
from qbank.formats.content_readback import (
    HtmlTexts,
    PictureReader,
    parse_html,
)
from qbank.formats.csv_columns import SEPARATOR, SIDECAR, TABLE, Column, described_columns
from qbank.formats.package import Package
from qbank.formats.pictures import PicturePlace
from qbank.formats.xmltext import NUMBER
from qbank.item import (
    Choice,
    Item,
    Matching,
    Metadata,
    NumberEntry,
    Option,
    Ordering,
    Part,
    Provenance,
    Tolerance,
    WrongValue,
)

MAX_CELL = 1 << 20
_FORMS = {
    "double": NUMBER,
    "integer": re.compile(r"-?[0-9]+"),
    "boolean": re.compile(r"true|false"),
}
_FORMULA = re.compile(r"[=+\-@\t\r]")


class RowJudge:
    """Judges rows: datatypes, required cells, unique items, keys within their bands."""

    def __init__(self, columns: tuple[Column, ...]) -> None:
        self._columns = columns
        self._at = {column.name: at for at, column in enumerate(columns)}
        self._seen: set[int] = set()  # hashes: 100 000 identifiers would take twice as much

    def iter_findings(
        self, cells: list[str], place: str, files: Collection[str] = ()
    ) -> Iterator[Finding]:
        """Everything wrong with a row; `files` are the pictures it may refer to."""
        if len(cells) != len(self._columns):
            said = f"{len(cells)} cells, {len(self._columns)} columns"
            yield Finding("row.length", TABLE, f"{place}: {said}", None, "RFC 4180, 2.4")
            return
        html = []
        for column, cell in zip(self._columns, cells, strict=True):
            yield from self._cell(column, cell, place)
            if column.datatype == "html" and cell:
                html.extend(cell.split(SEPARATOR) if column.several else [cell])
        try:
            root = parse_html("".join(f"<div>{one}</div>" for one in html))
        except etree.XMLSyntaxError as fault:
            said = f"{place}: an HTML cell is not well-formed: {fault.msg}"
            yield Finding("cell.html", TABLE, said)
        else:
            for element in root.iter("img"):
                if unquote(element.get("src", "")) not in files:
                    said = f"{place}: the picture '{element.get('src')}' is not there"
                    yield Finding("picture.file", TABLE, said, None, "mapping h, defect 3")
        identifier = hash(cells[self._at["item_id"]])
        if identifier in self._seen:
            yield Finding("row.unique", TABLE, f"{place}: the item_id stands twice", None, "CSVW")
        self._seen.add(identifier)
        yield from self._parts(cells, place)

    def _cell(self, column: Column, cell: str, place: str) -> Iterator[Finding]:
        where = f"{place}, {column.name}"
        if column.required and not cell:
            yield Finding("cell.required", TABLE, f"{where}: empty", None, "CSVW, required")
        form = _FORMS.get(column.datatype)
        if form is not None and cell:
            for value in cell.split(SEPARATOR) if column.several else [cell]:
                if not form.fullmatch(value):
                    said = f"{where}: '{value}' is no {column.datatype}"
                    yield Finding("cell.datatype", TABLE, said, None, "CSVW, datatype")
        elif _FORMULA.match(cell) and not _FORMS["double"].fullmatch(cell):
            said = f"{where}: a spreadsheet would take '{cell[:20]}' for a formula"
            yield Finding("cell.formula", TABLE, said, None, "common practice, no source")

    def _parts(self, cells: list[str], place: str) -> Iterator[Finding]:
        n = 1
        while (at := self._at.get(f"part{n}_type")) is not None:
            get = _Part(n, self._at, cells)
            kind = cells[at]
            if kind == "number":
                numbers = [get(name) for name in ("tolerance_low", "key", "tolerance_high")]
                if not all(map(_FORMS["double"].fullmatch, numbers)):
                    said = f"{place}, part {n}: a number without key and bounds"
                    yield Finding("part.key", TABLE, said)
                elif not float(numbers[0]) <= float(numbers[1]) <= float(numbers[2]):
                    said = f"{place}, part {n}: the key lies outside its tolerance"
                    yield Finding("part.band", TABLE, said, None, "mapping h, defect 25")
                lists = ("wrong_slips", "wrong_values", "wrong_low", "wrong_high")
                if len({len(get.several(name)) for name in lists}) > 1:
                    said = f"{place}, part {n}: the lists of wrong values differ in length"
                    yield Finding("part.lists", TABLE, said)
            elif kind:
                ids, keys = get.several("option_ids"), get.several("key_ids")
                known = get.several("target_ids") if kind == "match" else ids
                if not set(keys) <= set(known) or len(set(ids)) < len(ids):
                    said = f"{place}, part {n}: keys and options do not fit"
                    yield Finding("part.options", TABLE, said, None, "mapping h, defect 15")
                if kind in ("order", "match"):
                    yield from self._arranged(kind, ids, keys, f"{place}, part {n}")
                elif kind != "multiple" and len(keys) != 1:
                    said = f"{place}, part {n}: {len(keys)} keys for one choice"
                    yield Finding("part.keys", TABLE, said, None, "mapping h, defect 16")
            n += 1

    def _arranged(
        self, kind: str, ids: list[str], keys: list[str], where: str
    ) -> Iterator[Finding]:
        if len(keys) != len(ids) or (kind == "order" and sorted(keys) != sorted(ids)):
            said = f"{where}: {len(keys)} keys for {len(ids)} entries or sources"
            yield Finding("part.keys", TABLE, said, None, "mapping h, defect 16")
        elif kind == "order" and keys == ids:
            said = f"{where}: the entries stand in the right order, which tells the answer"
            yield Finding("part.told", TABLE, said)


class _Part:
    """The cells of one part, by the names of its columns."""

    def __init__(self, n: int, at: dict[str, int], cells: list[str]) -> None:
        self._prefix = f"part{n}_"
        self._at = at
        self._cells = cells

    def __call__(self, name: str) -> str:
        return self._cells[self._at[self._prefix + name]]

    def several(self, name: str) -> list[str]:
        cell = unguarded(self(name))
        return cell.split(SEPARATOR) if cell else []

    def shown(self) -> Iterator[str]:
        """The HTML that candidates see."""
        yield self("prompt_html")
        yield from self("options_html").split(SEPARATOR)
        if self("type") == "match":
            yield from self("targets_html").split(SEPARATOR)


def iter_findings(package: Package) -> Iterator[Finding]:
    """Every fault of a table and its description."""
    columns = _columns(package)
    rows = _rows(package)
    header = next(rows, [])
    if header != [column.name for column in columns]:
        yield Finding("table.header", TABLE, "the header is not the described columns", 1, "CSVW")
        return
    judge = RowJudge(columns)
    files = frozenset(package.names)
    for n, cells in enumerate(rows, start=2):
        yield from judge.iter_findings(cells, f"row {n}", files)


def iter_items(package: Package, *, whole: bool = True) -> Iterator[Item]:
    """The items of a table, row by row; unless `whole`, without what `skimmed` leaves out."""
    read = package.read if whole else package.glance
    rows = _rows(package)
    at = {name: n for n, name in enumerate(next(rows, []))}
    for cells in rows:
        try:
            yield item_of_row(at, cells, read, whole=whole)
        except (KeyError, IndexError, ValueError, etree.XMLSyntaxError) as fault:
            raise QbankError(
                f"cannot read a row of '{package.path}': {fault}",
                hint="`validate_package` says which rule it breaks",
            ) from fault


def _columns(package: Package) -> tuple[Column, ...]:
    try:
        return described_columns(package.read(SIDECAR).decode())
    except (ValueError, KeyError, TypeError, AttributeError) as fault:
        raise QbankError(
            f"'{SIDECAR}' in '{package.path}' does not describe a table: {fault}",
            hint="expected CSVW metadata with tableSchema and columns",
        ) from fault


def _rows(package: Package) -> Iterator[list[str]]:
    csv.field_size_limit(MAX_CELL)
    try:
        with (
            package.open(TABLE) as table,
            io.TextIOWrapper(table, "utf-8", newline="") as lines,
        ):
            yield from csv.reader(lines, strict=True)
    except (csv.Error, UnicodeDecodeError) as fault:
        raise QbankError(
            f"'{TABLE}' in '{package.path}' is no table in UTF-8: {fault}",
            hint="expected RFC 4180 with cells of at most 1 MB",
        ) from fault


# ---------------------------------------------------------------------------- items


def item_of_row(
    at: dict[str, int], cells: list[str], read: Callable[[str], bytes], *, whole: bool = True
) -> Item:
    """The item of a row of our own table, `at` being the place of each column by its name.

    Unless `whole`, what `skimmed` leaves out is not looked at.
    """

    def get(name: str) -> str:
        return unguarded(cells[at[name]])

    pictures = PictureReader(PicturePlace(get("item_id")), read)
    provenance = None
    if get("family_id"):
        provenance = Provenance(
            get("family_id"),
            get("family_version"),
            get("family_digest"),
            int(get("seed")),
            int(get("index")),
            get("case"),
        )
    gets: list[_Part] = []
    while get_part := _next_part(len(gets) + 1, at, cells):
        gets.append(get_part)
    stem, solution = cells[at["stem_html"]], cells[at["solution_html"]]
    html = HtmlTexts([stem, *(text for get_part in gets for text in get_part.shown())], whole=whole)
    return Item(
        identifier=get("item_id"),
        title=get("title"),
        language=get("lang"),
        stem=html.blocks(stem, pictures),
        parts=tuple([_READERS.get(part("type"), _choice)(part, html) for part in gets]),
        solution=html.blocks(solution, pictures) if whole else html.images(solution, pictures),
        caution=get("caution") if whole else "",
        hints=tuple(map(html.inline, _several(cells[at["hints_html"]]))) if whole else (),
        metadata=_metadata(get) if whole else Metadata(),
        provenance=provenance,
    )


def _metadata(get: Callable[[str], str]) -> Metadata:
    return Metadata(
        get("subject"),
        get("level"),
        get("licence"),
        tuple(_several(get("authors"))),
        tuple(_several(get("objectives"))),
    )


def _next_part(n: int, at: dict[str, int], cells: list[str]) -> _Part | None:
    type_at = at.get(f"part{n}_type")
    return _Part(n, at, cells) if type_at is not None and cells[type_at] else None


def _number(get: _Part, html: HtmlTexts) -> NumberEntry:
    wrong = zip(
        get.several("wrong_slips"),
        get.several("wrong_values"),
        get.several("wrong_low"),
        get.several("wrong_high"),
        get("wrong_feedback_html").split(SEPARATOR),
        strict=False,
    )
    return NumberEntry(
        identifier=unguarded(get("id")),
        prompt=html.inline(get("prompt_html")),
        key=float(get("key")),
        key_text=get("key"),
        key_shown=unguarded(get("key_shown")),
        unit=unguarded(get("unit")),
        tolerance=Tolerance(
            float(get("tolerance_low")),
            float(get("tolerance_high")),
            unguarded(get("tolerance")),
        ),
        points=float(get("points")),
        figures=int(get("figures")) if get("figures") else None,
        decimals=int(get("decimals")) if get("decimals") else None,
        wrong_values=tuple(
            WrongValue(slip, float(value), float(low), float(high), html.aside(feedback))
            for slip, value, low, high, feedback in wrong
        ),
    )


def _choice(get: _Part, html: HtmlTexts) -> Choice:
    keys = get.several("key_ids")
    options = tuple(replace(o, correct=o.identifier in keys) for o in _options(get, html))
    return Choice(
        identifier=unguarded(get("id")),
        prompt=html.inline(get("prompt_html")),
        options=options,
        points=float(get("points")),
        multiple=get("type") == "multiple",
        inline=get("type") == "inline",
        shuffle=get("shuffle") == "true",
    )


def _ordering(get: _Part, html: HtmlTexts) -> Ordering:
    entries = {option.identifier: option for option in _options(get, html)}
    return Ordering(
        unguarded(get("id")),
        html.inline(get("prompt_html")),
        tuple(entries[key] for key in get.several("key_ids")),
        float(get("points")),
        partial=get("partial") == "true",
    )


def _matching(get: _Part, html: HtmlTexts) -> Matching:
    return Matching(
        unguarded(get("id")),
        html.inline(get("prompt_html")),
        _options(get, html),
        _options(get, html, "target"),
        tuple(zip(get.several("option_ids"), get.several("key_ids"), strict=True)),
        float(get("points")),
        partial=get("partial") == "true",
    )


def _options(get: _Part, html: HtmlTexts, what: str = "option") -> tuple[Option, ...]:
    return tuple(
        Option(identifier, html.inline(content), False, html.aside(feedback), slip or None)
        for identifier, content, feedback, slip in zip(
            get.several(f"{what}_ids"),
            get(f"{what}s_html").split(SEPARATOR),
            get(f"{what}_feedback_html").split(SEPARATOR),
            unguarded(get(f"{what}_slips")).split(SEPARATOR),
            strict=True,
        )
    )


_READERS: dict[str, Callable[[_Part, HtmlTexts], Part]] = {
    "number": _number,
    "order": _ordering,
    "match": _matching,
}


# ---------------------------------------------------------------------------- cells


def unguarded(cell: str) -> str:
    """A text cell without the apostrophe that keeps a spreadsheet from running it."""
    start = cell.lstrip("'")
    return cell[1:] if len(start) < len(cell) and _FORMULA.match(start) else cell


def _several(cell: str) -> list[str]:
    return cell.split(SEPARATOR) if cell else []
