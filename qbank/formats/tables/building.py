"""Rows of a table as parts of items."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction

from qbank.audit.question import Quantity
from qbank.audit.reading.numerals import Decimal
from qbank.audit.reading.quantities import read_number, read_quantities
from qbank.audit.reading.tex import untexed
from qbank.audit.reading.text import inline_text
from qbank.formats.csv_readback import unguarded
from qbank.formats.tables.accepting import as_float, band_of_key, stated_band, without_share
from qbank.formats.tables.choosing import (
    MAX_OPTIONS,
    Options,
    earning,
    letter,
    picks_by_letter,
    split_lettered,
    split_options,
)
from qbank.formats.tables.roles import Column
from qbank.item import Choice, Inline, NumberEntry, Option, Provenance, Tolerance

Losses = list[tuple[str, str]]  # code and sentence

_NUMERIC_TYPES = re.compile(r"num|calc|value|zahl|entry", re.IGNORECASE)
_ENTERED_TYPES = re.compile(r"short|text|blank|fill|lücke", re.IGNORECASE)
_ESSAY_TYPES = re.compile(
    r"essay|open|free|long|upload|discuss|aufsatz|freitext|offen|r[ée]dac|ensayo|written|paragraph",
    re.IGNORECASE,
)
_ESSAY = re.compile(
    r"\b(?:explain|describe|discuss|justify|argue|prove|derive|sketch|draw|comment on"
    r"|in your own words|why|erkläre|erklären|beschreib\w*"
    r"|begründ\w*|diskutier\w*|erläuter\w*|skizzier\w*|warum"
    r"|expliquez|décrivez|pourquoi|justifiez|explica|describe|por qué)\b",
    re.IGNORECASE,
)
_SPELT = Fraction(1, 20)  # by so much of the key its other spellings may differ
_SPELT_APART = re.compile(r"\s*(?:\||;|\bor\b|\boder\b|\bou\b)\s*")
_LAST_VALUE = re.compile(r"[=≈]\s*([^=≈]{1,60})$")
_MONTH = r"(?:jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-zä]*\.?"
_DATED = re.compile(  # what spreadsheets make of "5.3" and "3/5"
    rf"[0-9]{{1,4}}[-./ ]{{1,2}}{_MONTH}|{_MONTH}[-./ ]{{1,2}}[0-9]{{1,4}}", re.IGNORECASE
)
# All that a number with a slip of the pen is made of, with a unit at most: "1O.5 m", "12..3"
_NEARLY_A_NUMBER = re.compile(
    r"[-+−–±≈~]?\s?[0-9OolI][0-9OolI.,'’ \u00a0\u2009\u202f]*(?:\s?\S{1,8})?"
)


class RowReader:
    """Reads the cells of rows by the roles of their columns."""

    def __init__(self, columns: Sequence[Column], decimal: Decimal, base: int) -> None:
        self._decimal = decimal
        self._base = base  # number of the first option where options are picked by number
        self._by_role: dict[tuple[str, str], Column] = {}
        self._options: list[Column] = []
        self._wrong: list[Column] = []
        self._credits: dict[str, Column] = {}
        for column in columns:
            if column.role == "option":
                self._options.append(column)
            elif column.role == "wrong":
                self._wrong.append(column)
            elif column.role == "credit":
                self._credits.setdefault(column.mark, column)
            elif column.role:
                self._by_role.setdefault((column.role, column.mark), column)
        self.listed = len(self._options) == 1 and "" in self._credits  # an option a row
        self.in_parts = ("part", "") in self._by_role
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

    def asks(self, cells: Sequence[str], mark: str) -> bool:
        """Whether a row holds anything of an item: a question, a key or options."""
        roles = ("stem", "prompt", "key", "correct")
        return any(self.cell(cells, role, mark) for role in roles) or self.offers(cells)

    def offers(self, cells: Sequence[str]) -> bool:
        """Whether a row has cells with options."""
        columns = (*self._options, *self._wrong)
        found = any(self._option_text(cells, column) for column in columns)
        return found or bool(self.cell(cells, "options"))

    # ------------------------------------------------------------------------ parts

    def part(
        self, cells: Sequence[str], mark: str, identifier: str, prompt: tuple[Inline, ...]
    ) -> tuple[NumberEntry | Choice | None, Losses, int | None]:
        """The part, its losses as (code, sentence), and the column its key stands in."""
        options = self.options(cells, mark)
        kind = self.cell(cells, "type", mark)
        entered = _NUMERIC_TYPES.search(kind) or _ENTERED_TYPES.search(kind)
        if len(options.texts) >= 2 and not (entered and self.cell(cells, "key", mark)):
            return self._choice(cells, mark, identifier, prompt, options)
        return self._number(cells, mark, identifier, prompt)

    def options(self, cells: Sequence[str], mark: str) -> Options:
        """The options of a part. Beside distractors the key is the first."""
        found = []
        for n, column in enumerate(self._options):
            if text := self._option_text(cells, column):
                found.append((column.mark or letter(n), text))
        wrong = [text for column in self._wrong if (text := self._option_text(cells, column))]
        if len(self._wrong) == 1 and wrong and read_number(wrong[0], self._decimal) is None:
            wrong = split_options(wrong[0])
        key = self.cell(cells, "key", mark) or self.cell(cells, "correct", mark)
        if wrong and key and not found:
            found = [("key", key), *((f"wrong {n}", text) for n, text in enumerate(wrong, 1))]
        joined = self.cell(cells, "options", mark)
        if not found and joined:
            found = [(letter(n), text) for n, text in enumerate(split_options(joined))]
        if not found and (within := self.within_stem(cells)):
            found = [(letter(n), text) for n, text in enumerate(within[1])]
        return Options(tuple(found[:MAX_OPTIONS]), self._decimal, self._base)

    def within_stem(self, cells: Sequence[str]) -> tuple[str, list[str]] | None:
        """The stem without the options that stand in it, and these; None unless the row keys one
        of them by its letter."""
        key = self.cell(cells, "key") or self.cell(cells, "correct")
        if self.listed or not picks_by_letter(key):
            return None
        stem = self.cell(cells, "stem")
        found = split_lettered(inline_text(stem) if "<" in stem else stem)
        return found if found is not None and all(found[1]) and found[0] else None

    def listed_choice(
        self, rows: Sequence[Sequence[str]], identifier: str, prompt: tuple[Inline, ...]
    ) -> tuple[Choice, Losses]:
        """The choice whose options stand in a row each, with what each of them earns."""
        (column,) = self._options
        offered = [(self._option_text(cells, column), self._earned(cells, "")) for cells in rows]
        offered = [one for one in offered if one[0]][:MAX_OPTIONS]
        picked = earning([earned for _, earned in offered], self._decimal)
        made = tuple(Option(letter(n), (one,), n in picked) for n, (one, _) in enumerate(offered))
        losses: Losses = [] if picked else [("key", "no option is keyed")]
        points = self._points(rows[0], "")
        return Choice(identifier, prompt, made, points, multiple=len(picked) > 1), losses

    def _option_text(self, cells: Sequence[str], column: Column) -> str:
        text = cells[column.at].strip() if column.at < len(cells) else ""
        return unguarded(f"{text} {column.unit}" if column.unit else text) if text else ""

    def _choice(
        self,
        cells: Sequence[str],
        mark: str,
        identifier: str,
        prompt: tuple[Inline, ...],
        options: Options,
    ) -> tuple[Choice, Losses, int | None]:
        column = self.column("correct", mark) or self.column("key", mark)
        said = ""
        if column is not None:
            said = self.cell(cells, column.role, mark)
        losses: Losses = []
        if options.texts[0][0] == "key":
            picked, column = frozenset({0}), None
        else:
            picked = options.picked(said)
        if not picked and self._credits:
            names = [name for name, _ in options.texts]
            earned = [self._earned(cells, name) for name in names]
            picked, column = earning(earned, self._decimal), None
            said = ", ".join(filter(None, earned))
        if not picked and column is not None and column.role == "correct":
            keyed = self.column("key", mark)
            if keyed is not None and (other := options.picked(self.cell(cells, "key", mark))):
                picked, column = other, keyed
        if not picked:
            what = f"the key '{said[:60]}' is none of the options" if said else "no option is keyed"
            losses.append(("key", what))
        made = tuple(
            Option(name, (text,), n in picked) for n, (name, text) in enumerate(options.texts)
        )
        points = self._points(cells, mark)
        choice = Choice(identifier, prompt, made, points, multiple=len(picked) > 1)
        return choice, losses, None if column is None else column.at

    def _earned(self, cells: Sequence[str], name: str) -> str:
        column = self._credits.get(name)
        return cells[column.at] if column is not None and column.at < len(cells) else ""

    def _number(
        self, cells: Sequence[str], mark: str, identifier: str, prompt: tuple[Inline, ...]
    ) -> tuple[NumberEntry | None, Losses, int | None]:
        column = self.column("key", mark) or self.column("correct", mark)
        if column is None:
            return None, [("key", "no column holds a key")], None
        text = self.cell(cells, column.role, column.mark)
        if mark and not text and not self.cell(cells, "prompt", mark):
            return None, [], None  # a part that this item does not have
        losses: Losses = []
        band: tuple[float, float] | None = None
        whole, text = text, without_share(text)
        quantity = self._read(text) if text else None
        if quantity is None and text:
            text, quantity, band = self._of_several(text)
        if quantity is None:
            if other := self._no_number(cells, mark, text):
                return None, [("text-answer", other)], None
            what = f"the key '{text[:60]}' is no number" if text else "the key is empty"
            losses.append(("key", what))
        unit = untexed(inline_text(self.cell(cells, "unit", mark))).strip() or column.unit
        if not unit and quantity is not None and quantity.unit is not None:
            unit = quantity.unit.text
        value = None if quantity is None else quantity.value
        low, high, stated = self._band(cells, mark, value, losses)
        if not stated and value is not None and band is not None:
            low, high, stated = *band, whole
        elif not stated and value is not None:
            low, high, stated = band_of_key(whole, value, self._decimal) or (low, high, stated)
        return (
            NumberEntry(
                identifier=identifier,
                prompt=prompt,
                key=as_float(quantity.value) if quantity else math.nan,
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

    def _read(self, text: str) -> Quantity | None:
        plain = inline_text(text)
        return None if _DATED.fullmatch(plain) else read_number(plain, self._decimal)

    def _of_several(self, text: str) -> tuple[str, Quantity | None, tuple[float, float] | None]:
        """The key of "12.3|12,3", whose other spellings are accepted too, or the last value of
        "v = g t = 9.81 m/s"."""
        spelt = [part for part in _SPELT_APART.split(text) if part]
        read = [one for part in spelt if (one := self._read(part)) is not None]
        if len(spelt) > 1 and len(read) == len(spelt):
            first, values = read[0], [one.value for one in read]
            if any(abs(value - first.value) > _SPELT * abs(first.value) for value in values):
                return text, None, None
            band = as_float(min(values)), as_float(max(values))
            return spelt[0], first, band if band[0] < band[1] else None
        last = _LAST_VALUE.search(text)
        if last and (quantity := self._read(last[1])) is not None:
            return last[1].strip(), quantity, None
        return text, None, None

    def _no_number(self, cells: Sequence[str], mark: str, key: str) -> str:
        """Why no number is asked for, though no option is given; empty where one may be."""
        kind = self.cell(cells, "type", mark)
        if _NUMERIC_TYPES.search(kind):
            return ""
        told = any(self.cell(cells, role, mark) for role in ("unit", "tolerance", "percent", "low"))
        asked = inline_text(self.cell(cells, "prompt", mark) or self.cell(cells, "stem"))
        if _ESSAY_TYPES.search(kind):
            return f"it is answered in words ({kind[:40]})"
        if not key:
            if not told and not read_quantities(asked, self._decimal) and _ESSAY.search(asked):
                return "it seems to be answered in words, and no key is stated"
            return ""
        plain = inline_text(key)
        several = len(_SPELT_APART.split(plain)) > 1
        mistyped = _NEARLY_A_NUMBER.fullmatch(plain) and not several
        if told or mistyped or _DATED.fullmatch(plain) or plain[:1] == "#":
            return ""
        several = several or len(read_quantities(plain, self._decimal)) > 1
        what = "several numbers" if several else "words or a formula"
        return f"its key '{key[:60]}' is {what}, and not one number"

    def _band(
        self,
        cells: Sequence[str],
        mark: str,
        key: Fraction | None,
        losses: Losses,
    ) -> tuple[float, float, str]:
        low, high = self.cell(cells, "low", mark), self.cell(cells, "high", mark)
        if low or high:
            ends = [read_number(inline_text(end), self._decimal) if end else None
                    for end in (low, high)]  # fmt: skip
            for end, text in zip(ends, (low, high), strict=True):
                if text and end is None:
                    losses.append(("tolerance", f"the bound '{text[:60]}' is no number"))
            least, most = (math.nan if end is None else as_float(end.value) for end in ends)
            return least, most, f"{low} to {high}"
        for role in ("tolerance", "percent"):
            text = self.cell(cells, role, mark)
            if not text:
                continue
            band = stated_band(text, key, self._decimal, per_cent=role == "percent")
            if band is None:
                losses.append(("tolerance", f"the tolerance '{text[:60]}' is no number"))
                return math.nan, math.nan, text
            return *band, f"{text} %" if role == "percent" and "%" not in text else text
        return math.nan, math.nan, ""

    def _points(self, cells: Sequence[str], mark: str) -> float:
        text = self.cell(cells, "points", mark)
        found = read_number(text, self._decimal) if text else None
        return as_float(found.value) if found is not None and found.value >= 0 else 1.0

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
