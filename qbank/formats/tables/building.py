"""Rows of a table as parts of items."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction

from qbank.audit.question import Quantity
from qbank.audit.reading.numerals import Decimal
from qbank.audit.reading.quantities import read_number
from qbank.audit.reading.text import inline_text
from qbank.formats.csv_readback import unguarded
from qbank.formats.tables.roles import Column
from qbank.item import Choice, Inline, NumberEntry, Option, Provenance, Tolerance

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_LETTERED = re.compile(r"(?:^|[\s;,|])\(?([A-Ja-j])[).:]\s*")
_NUMERIC_TYPES = re.compile(r"num|calc|short|value|zahl|entry", re.IGNORECASE)
MAX_OPTIONS = 60


class RowReader:
    """Reads the cells of rows by the roles of their columns."""

    def __init__(self, columns: Sequence[Column], decimal: Decimal, base: int) -> None:
        self._decimal = decimal
        self._base = base  # number of the first option where options are picked by number
        self._by_role: dict[tuple[str, str], Column] = {}
        self._options: list[Column] = []
        for column in columns:
            if column.role == "option":
                self._options.append(column)
            elif column.role:
                self._by_role.setdefault((column.role, column.mark), column)
        marks = {column.mark for column in columns if column.role in ("key", "prompt", "type")}
        marks.discard("")
        self.marks = sorted(marks, key=lambda mark: (len(mark), mark)) or [""]
        if marks and ("key", "") in self._by_role:
            self.marks = ["", *self.marks]

    def column(self, role: str, mark: str = "") -> Column | None:
        """The column of a role; one without a number serves all parts."""
        return self._by_role.get((role, mark)) or self._by_role.get((role, ""))

    def cell(self, cells: Sequence[str], role: str, mark: str = "") -> str:
        """The cell of a role, without blanks around it and without a spreadsheet's guard."""
        column = self.column(role, mark)
        if column is None or column.at >= len(cells):
            return ""
        return unguarded(cells[column.at].strip())

    # ------------------------------------------------------------------------ parts

    def part(
        self, cells: Sequence[str], mark: str, identifier: str, prompt: tuple[Inline, ...]
    ) -> tuple[NumberEntry | Choice | None, list[tuple[str, str]], int | None]:
        """The part, its losses as (code, sentence), and the column its key stands in."""
        options = self.options(cells, mark)
        kind = self.cell(cells, "type", mark)
        if len(options) >= 2 and not (
            _NUMERIC_TYPES.search(kind) and self.cell(cells, "key", mark)
        ):
            return self._choice(cells, mark, identifier, prompt, options)
        return self._number(cells, mark, identifier, prompt)

    def options(self, cells: Sequence[str], mark: str) -> list[tuple[str, str]]:
        """The options as (name, text)."""
        found = []
        for n, column in enumerate(self._options):
            text = cells[column.at].strip() if column.at < len(cells) else ""
            if text:
                text = f"{text} {column.unit}" if column.unit else text
                found.append((column.mark or _letter(n), unguarded(text)))
        joined = self.cell(cells, "options", mark)
        if not found and joined:
            found = [(_letter(n), text) for n, text in enumerate(split_options(joined))]
        return found[:MAX_OPTIONS]

    def _choice(
        self,
        cells: Sequence[str],
        mark: str,
        identifier: str,
        prompt: tuple[Inline, ...],
        options: list[tuple[str, str]],
    ) -> tuple[Choice, list[tuple[str, str]], int | None]:
        column = self.column("correct", mark) or self.column("key", mark)
        said = ""
        if column is not None:
            said = self.cell(cells, column.role, mark)
        losses: list[tuple[str, str]] = []
        picked = self._picked(said, options)
        if not picked and column is not None and column.role == "correct":
            keyed = self.column("key", mark)
            if keyed is not None and (
                other := self._picked(self.cell(cells, "key", mark), options)
            ):
                picked, column = other, keyed
        if not picked:
            what = f"the key '{said[:60]}' is none of the options" if said else "no option is keyed"
            losses.append(("key", what))
        made = tuple(Option(name, (text,), n in picked) for n, (name, text) in enumerate(options))
        points = self._points(cells, mark)
        choice = Choice(identifier, prompt, made, points, multiple=len(picked) > 1)
        return choice, losses, None if column is None else column.at

    def _picked(self, said: str, options: list[tuple[str, str]]) -> frozenset[int]:
        """Which options a cell keys: by text, letter, number, several of them, or by value."""
        if not said:
            return frozenset()
        one = self._pick(said, options)
        if one is not None:
            return frozenset({one})
        several = [self._pick(part.strip(), options) for part in re.split(r"[,;|/&]|\band\b", said)]
        if len(several) > 1 and all(at is not None for at in several):
            return frozenset(at for at in several if at is not None)
        if said.isalpha() and said.isupper() and 1 < len(said) <= 5:
            letters = [self._pick(letter, options) for letter in said]
            if all(at is not None for at in letters):
                return frozenset(at for at in letters if at is not None)
        return frozenset()

    def _pick(self, said: str, options: list[tuple[str, str]]) -> int | None:
        plain = inline_text(said)
        texts = [inline_text(text) for _, text in options]
        if texts.count(plain) == 1:
            return texts.index(plain)
        letter = re.fullmatch(
            r"(?:option|choice|answer)?\s*\(?([A-Za-z])[).]?", plain, re.IGNORECASE
        )
        if letter:
            names = [name.lower() for name, _ in options]
            if letter[1].lower() in names:
                return names.index(letter[1].lower())
            at = _LETTERS.index(letter[1].lower())
            return at if at < len(options) and not any(n.isalpha() for n in names) else None
        number = re.fullmatch(
            r"(?:option|choice|answer)?\s*\(?([0-9]{1,2})[).]?", plain, re.IGNORECASE
        )
        if number:
            at = int(number[1]) - self._base
            if 0 <= at < len(options):
                return at
        quantity = read_number(plain, self._decimal)
        if quantity is None:
            return None
        fits = [n for n, text in enumerate(texts) if self._equal(quantity, text)]
        return fits[0] if len(fits) == 1 else None

    def _equal(self, quantity: Quantity, text: str) -> bool:
        other = read_number(text, self._decimal)
        if other is None:
            return False
        if quantity.unit is None or other.unit is None:
            return quantity.value == other.value
        return quantity.unit.dimension == other.unit.dimension and math.isclose(
            quantity.si, other.si, rel_tol=1e-12
        )

    def _number(
        self, cells: Sequence[str], mark: str, identifier: str, prompt: tuple[Inline, ...]
    ) -> tuple[NumberEntry | None, list[tuple[str, str]], int | None]:
        column = self.column("key", mark) or self.column("correct", mark)
        if column is None:
            return None, [("key", "no column holds a key")], None
        text = self.cell(cells, column.role, column.mark)
        if mark and not text and not self.cell(cells, "prompt", mark):
            return None, [], None  # a part that this item does not have
        losses: list[tuple[str, str]] = []
        quantity = read_number(inline_text(text), self._decimal) if text else None
        if quantity is None:
            what = f"the key '{text[:60]}' is no number" if text else "the key is empty"
            losses.append(("key", what))
        unit = self.cell(cells, "unit", mark) or column.unit
        if not unit and quantity is not None and quantity.unit is not None:
            unit = quantity.unit.text
        low, high, stated = self._band(cells, mark, quantity, losses)
        return (
            NumberEntry(
                identifier=identifier,
                prompt=prompt,
                key=_float(quantity.value) if quantity else math.nan,
                key_text=text,
                key_shown=text if not unit or (quantity and quantity.unit) else f"{text} {unit}",
                unit=unit,
                tolerance=Tolerance(low, high, stated),
                points=self._points(cells, mark),
                figures=quantity.figures if quantity else None,
            ),
            losses,
            column.at,
        )

    def _band(
        self,
        cells: Sequence[str],
        mark: str,
        key: Quantity | None,
        losses: list[tuple[str, str]],
    ) -> tuple[float, float, str]:
        low, high = self.cell(cells, "low", mark), self.cell(cells, "high", mark)
        if low or high:
            ends = [read_number(inline_text(end), self._decimal) if end else None
                    for end in (low, high)]  # fmt: skip
            for end, text in zip(ends, (low, high), strict=True):
                if text and end is None:
                    losses.append(("tolerance", f"the bound '{text[:60]}' is no number"))
            least, most = (math.nan if end is None else _float(end.value) for end in ends)
            return least, most, f"{low} to {high}"
        for role in ("tolerance", "percent"):
            text = self.cell(cells, role, mark)
            if not text:
                continue
            found = read_number(inline_text(text).lstrip("±+-− /"), self._decimal)
            if found is None:
                losses.append(("tolerance", f"the tolerance '{text[:60]}' is no number"))
                return math.nan, math.nan, text
            if key is None:
                return math.nan, math.nan, text
            per_cent = role == "percent" or "%" in text
            size = abs(found.value)
            width = abs(key.value) * size / 100 if per_cent else size
            stated = f"{text} %" if per_cent and "%" not in text else text
            return _float(key.value - width), _float(key.value + width), stated
        return math.nan, math.nan, ""

    def _points(self, cells: Sequence[str], mark: str) -> float:
        text = self.cell(cells, "points", mark)
        found = read_number(text, self._decimal) if text else None
        return _float(found.value) if found is not None and found.value >= 0 else 1.0

    def provenance(self, cells: Sequence[str]) -> Provenance | None:
        """The family, seed and index that a row states; None where one is lacking."""
        family = self.cell(cells, "family")
        numbers = [self.cell(cells, role) for role in ("seed", "index")]
        if not family or not all(re.fullmatch(r"-?[0-9]{1,20}", text) for text in numbers):
            return None
        return Provenance(
            family,
            self.cell(cells, "version"),
            self.cell(cells, "digest"),
            int(numbers[0]),
            int(numbers[1]),
            self.cell(cells, "case"),
        )


def split_options(cell: str) -> list[str]:
    """The options of one cell: by letters "A) … B) …", lines, bars or semicolons."""
    marks = list(_LETTERED.finditer(cell[:20_000]))
    letters = [match[1].lower() for match in marks]
    if len(marks) >= 2 and letters == list(_LETTERS[: len(marks)]):
        ends = [match.start() for match in marks[1:]] + [len(cell)]
        return [
            cell[match.end() : end].strip(" ;,|\n\r\t")
            for match, end in zip(marks, ends, strict=True)
        ]
    for separator in ("\n", "|", ";", "\t", ","):
        parts = [part.strip() for part in cell.split(separator) if part.strip()]
        if len(parts) >= 2:
            return parts[:MAX_OPTIONS]
    return [cell.strip()] if cell.strip() else []


def _letter(n: int) -> str:
    return _LETTERS[n] if n < len(_LETTERS) else f"o{n + 1}"


def _float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.copysign(math.inf, value)
