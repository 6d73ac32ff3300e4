"""What the columns of a table hold: by what users say, by their headers, then by their cells."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from qbank.audit.reading.quantities import read_number
from qbank.audit.reading.unit_text import read_unit
from qbank.errors import QbankError
from qbank.formats.tables.choosing import NO, YES
from qbank.formats.tables.headers import (
    ROLES,
    header_unit,
    listed_marks,
    loosely,
    normal,
    of_header,
)
from qbank.place import Place

__all__ = ["ROLES", "Column", "columns_of", "has_header", "normal"]

_LETTER = re.compile(r"[A-Ja-j]|[0-9]")
_DEVIATION = re.compile(r"[±+/−-]*\s?[0-9][0-9.,]*\s?%|(?:±|\+/[-−]|\+-)\s?[0-9].{0,20}")
_SHORT_HEADER = 60


@dataclass(frozen=True, slots=True)
class Column:
    """A column: position from 0, header, role, number of its part or option, and why.

    `unit` is the unit its header states, as "N" in "answer (N)".
    """

    at: int
    header: str
    role: str = ""
    mark: str = ""
    why: str = ""
    unit: str = ""

    def says(self) -> str:
        """A sentence on what the column was taken for."""
        name = f"column {self.at + 1}" + (f" '{self.header}'" if self.header else "")
        if not self.role:
            return f"{name}: not used, nothing says what it is"
        of = f" ({self.mark})" if self.mark else ""
        return f"{name}: {ROLES[self.role]}{of}, {self.why}"


@dataclass(slots=True)
class _Facts:
    """What the cells of a column are like."""

    filled: float = 0.0
    numeric: float = 0.0
    units: float = 0.0
    letters: float = 0.0
    deviations: float = 0.0  # "2 %", "± 0.1"
    flags: float = 0.0  # "yes", "x", "0", "100 %"
    listed: float = 0.0  # several things in one cell
    length: float = 0.0
    distinct: float = 0.0
    rising: bool = False  # whole numbers, each more than the one before
    sequence: bool = False
    values: list[str] = field(default_factory=list)


def has_header(rows: Sequence[Sequence[str]]) -> bool:
    """Whether the first record names the columns."""
    first = [cell.strip() for cell in rows[0]]
    if any(len(cell) > 120 for cell in first):
        return False
    named = [bool(of_header(cell)[0]) for cell in first]
    if any(named) and all(len(cell) <= _SHORT_HEADER for cell in first):
        numbers = sum(
            _is_number(cell) and not name for cell, name in zip(first, named, strict=True)
        )
        return numbers * 2 <= len(first)
    if len(rows) < 2 or any(map(_is_number, first)):
        return False
    later = rows[1 : 1 + 20]
    for at, cell in enumerate(first):
        below = [row[at].strip() for row in later if at < len(row) and row[at].strip()]
        if below and all(map(_is_number, below)) and cell:
            return True
    return False


def columns_of(
    header: Sequence[str] | None,
    rows: Sequence[Sequence[str]],
    named: Mapping[str, str] | None,
    path: str,
) -> list[Column]:
    """The columns with their roles. `rows` are a sample without the header.

    Raises QbankError where `named` says a role or a column that does not exist.
    """
    width = max((len(row) for row in (header or [], *rows)), default=0)
    names = [*(header or []), *[""] * width][:width]
    columns = [Column(at, name.strip()) for at, name in enumerate(names)]
    fixed = _named(columns, named or {}, path)
    for at, column in fixed.items():
        columns[at] = column
    taken = {column.role for column in fixed.values() if column.role != "ignored"}
    facts = [_facts([row[at] for row in rows if at < len(row)]) for at in range(width)]
    if header is not None:
        _by_header(columns, fixed, taken, facts)
    _option_letters(columns)
    _by_loose_words(columns, facts)
    _options_or_parts(columns, facts)
    _by_cells(columns, facts)
    return columns


def _named(columns: list[Column], named: Mapping[str, str], path: str) -> dict[int, Column]:
    found: dict[int, Column] = {}
    for role, wanted in named.items():
        word, _, mark = role.strip().lower().partition(" ")
        if word not in ROLES:
            raise QbankError(
                f"a table has no columns of the kind {role!r}",
                place=Place(path, 1, 1),
                hint=f"the kinds are {', '.join(ROLES)}; parts and options are numbered: 'key 2'",
            )
        text = str(wanted).strip()
        fits = [column for column in columns if column.header == text]
        fits = fits or [c for c in columns if c.header and normal(c.header) == normal(text)]
        if not fits and text.isascii() and text.isdecimal() and len(text) < 5:
            fits = [column for column in columns if column.at == int(text) - 1]
        if len(fits) != 1:
            heads = ", ".join(f"{c.at + 1} '{c.header}'" for c in columns[:40])
            said = "no column" if not fits else "several columns"
            raise QbankError(
                f"{said} {text!r} for {ROLES[word]}",
                place=Place(path, 1, 1),
                hint=f"name one by its header or its number; there are {heads}",
            )
        at = fits[0].at
        found[at] = replace(
            fits[0], role=word, mark=mark, why="as you say", unit=header_unit(fits[0].header, word)
        )
    return found


def _by_header(
    columns: list[Column], fixed: Mapping[int, Column], taken: set[str], facts: list[_Facts]
) -> None:
    seen: set[tuple[str, str]] = set()
    again: list[int] = []
    listed = listed_marks([column.header for column in columns])
    for at, column in enumerate(columns):
        if at in fixed:
            continue
        role, mark = of_header(column.header, listed=column.header in listed)
        several = role in ("option", "wrong", "ignored")
        if not role or (role in taken and not several):
            continue
        if (role, mark) in seen and not several:
            if role == "stem":
                again.append(at)
            continue
        seen.add((role, mark))
        unit = "" if column.header in listed else header_unit(column.header, role)
        columns[at] = replace(column, role=role, mark=mark, why="by its header", unit=unit)
    for at, column in enumerate(columns):  # "Accepted: yes" is no tolerance
        numbers = column.role in ("tolerance", "percent", "low", "high") and at not in fixed
        cells = facts[at].values
        if numbers and cells and not any(c.isdigit() for cell in cells for c in cell):
            columns[at] = replace(column, role="", mark="", why="")
    _several_stems(columns, again, facts)
    roles = {column.role for column in columns}
    if "stem" not in roles:  # a lone prompt is the question
        for at, column in enumerate(columns):
            if column.role == "prompt" and not column.mark:
                columns[at] = replace(column, role="stem")


def _several_stems(columns: list[Column], again: list[int], facts: list[_Facts]) -> None:
    """Of columns that are all headed as the question, the one with the longest text is it; beside
    parts the other asks for each of them, and short cells name the items."""
    first = next((column.at for column in columns if column.role == "stem"), None)
    if first is None or not again:
        return
    found = sorted([first, *again], key=lambda at: -facts[at].length)
    roles = {column.role for column in columns}
    parts = "part" in roles and "prompt" not in roles
    stem = first if parts else found[0]
    for at in found:
        role = ""
        if at == stem:
            role = "stem"
        elif parts and facts[at].length >= 12:
            role, parts = "prompt", False
        elif "id" not in roles and _names_items(facts[at], before_stem=at < stem):
            role = "id"
            roles.add("id")
        columns[at] = replace(columns[at], role=role, why="by its header" if role else "")


def _by_loose_words(columns: list[Column], facts: list[_Facts]) -> None:
    """Roles of long headers by single words in them, where the cells are like that."""
    for at, column in enumerate(columns):
        fact = facts[at]
        if column.role or not column.header or not fact.filled:
            continue
        roles = {other.role for other in columns}
        for role in loosely(column.header):
            if role in roles or (role == "key" and roles & {"correct"}):
                continue
            if not _looks_like(role, fact):
                continue
            unit = header_unit(column.header, role)
            columns[at] = replace(column, role=role, why="by a word of its header", unit=unit)
            break


def _looks_like(role: str, facts: _Facts) -> bool:
    if role == "tolerance":
        return facts.deviations >= 0.6 or facts.numeric >= 0.8
    if role == "unit":
        return facts.units >= 0.6
    if role == "key":
        return facts.numeric >= 0.6 and not facts.sequence
    if role == "options":
        return facts.listed >= 0.6
    return facts.numeric < 0.5 and (role == "feedback" or facts.length >= 12)


def _option_letters(columns: list[Column]) -> None:
    """Columns headed A, B, C … hold options."""
    run = [c for c in columns if not c.role and re.fullmatch(r"[A-Ja-j]", c.header)]
    letters = [column.header.lower() for column in run]
    if len(run) >= 2 and letters == list("abcdefghij"[: len(run)]):
        for column in run:
            columns[column.at] = replace(
                column, role="option", mark=column.header.lower(), why="by its header, a letter"
            )


def _options_or_parts(columns: list[Column], facts: list[_Facts]) -> None:
    """Numbered answers are options where other columns say which are right, else parts."""
    _credits(columns, facts)
    _option_a_row(columns, facts)
    answers = [column for column in columns if column.role == "key" and column.mark]
    lone = [column for column in columns if column.role == "key" and not column.mark]
    correct = [column for column in columns if column.role == "correct"]
    earned = [column for column in columns if column.role == "credit"]
    _wrong_or_option(columns, [*lone, *correct], facts)
    options = any(column.role in ("option", "options") for column in columns)
    if len(answers) >= 2 and (correct or earned or (lone and not options)):
        for column in answers:
            columns[column.at] = replace(column, role="option", why=column.why + ", beside a key")
        options = True
    if correct and not options and not lone and not answers:
        for column in correct:  # "correct" without options is the key
            columns[column.at] = replace(column, role="key")
    if lone and options and not correct:
        for column in lone:
            columns[column.at] = replace(column, role="correct")
    if lone and options and correct and not facts[correct[0].at].filled:
        columns[correct[0].at] = replace(correct[0], role="")


def _option_a_row(columns: list[Column], facts: list[_Facts]) -> None:
    """One column of options, and one that says of each row whether its option is right."""
    options = [column for column in columns if column.role == "option"]
    if len(options) != 1:
        return
    flags = [
        column
        for column in columns
        if column.role in ("correct", "key", "credit", "points") and not column.mark
        and facts[column.at].flags == 1
        and (facts[column.at].filled < 1 or len(set(facts[column.at].values)) > 1)
    ]  # fmt: skip
    if flags:
        at = flags[0].at
        columns[at] = replace(flags[0], role="credit", why=f"{flags[0].why}, an option a row")
        columns[options[0].at] = replace(options[0], mark="")


def _credits(columns: list[Column], facts: list[_Facts]) -> None:
    """Numbered columns that say what each option earns, under whatever name."""
    marks = {c.mark for c in columns if c.role in ("option", "key") and c.mark}
    options = {c.mark for c in columns if c.role == "option"} & marks
    for at, column in enumerate(columns):
        if column.role == "credit" and (not column.mark or column.mark not in marks):
            columns[at] = replace(column, role="points" if facts[at].numeric == 1 else "", why="")
            if columns[at].role:
                columns[at] = replace(columns[at], why="by its header")
        elif column.role in ("points", "percent", "correct") and column.mark and (
            len(options) >= 2 and column.mark in options
        ):  # fmt: skip
            columns[at] = replace(column, role="credit", why=f"{column.why}, beside an option")


def _wrong_or_option(columns: list[Column], keys: list[Column], facts: list[_Facts]) -> None:
    """Distractors stand beside a key that is an option itself, unless the key picks by letter."""
    picked = bool(keys) and facts[keys[0].at].letters == 1
    for at, column in enumerate(columns):
        if column.role == "wrong" and picked:
            columns[at] = replace(column, role="option")


def _is_number(text: str) -> bool:
    """Whether a cell is a number, with a unit and a word or two at most."""
    if len(text) > 40:
        return False
    found = read_number(text)
    return found is not None and len(text) - (found.end - found.start) <= 12


def _facts(cells: Sequence[str]) -> _Facts:
    values = [cell.strip() for cell in cells]
    filled = [value for value in values if value]
    facts = _Facts(values=filled)
    if not filled:
        return facts
    count = len(filled)
    facts.filled = count / max(len(values), 1)
    facts.numeric = sum(map(_is_number, filled)) / count
    facts.units = (
        sum(
            len(value) <= 20 and value[0].isalpha() and read_unit(value) is not None
            for value in filled
        )
        / count
    )
    facts.deviations = sum(_DEVIATION.fullmatch(value) is not None for value in filled) / count
    facts.flags = sum(value.lower() in YES or value.lower() in NO for value in filled) / count
    facts.listed = sum(len(re.split(r"[\n|;]|,\s", value)) >= 2 for value in filled) / count
    facts.letters = sum(_LETTER.fullmatch(value) is not None for value in filled) / count
    facts.length = sum(map(len, filled)) / count
    facts.distinct = len(set(filled)) / count
    plain = [int(value) for value in filled if value.isascii() and value.isdecimal()
             and len(value) < 10]  # fmt: skip
    facts.rising = len(plain) == count and all(a < b for a, b in pairwise(plain))
    facts.sequence = facts.rising and all(b - a == 1 for a, b in pairwise(plain))
    return facts


def _names_items(facts: _Facts, *, before_stem: bool) -> bool:
    """Whether cells are short and never alike: names, or numbers that only count."""
    if facts.distinct < 1 or facts.length > 32 or len(facts.values) < 2:
        return False
    return facts.sequence or facts.numeric < 0.5 or (facts.rising and before_stem)


def _by_cells(columns: list[Column], facts: list[_Facts]) -> None:
    """Roles of what no header says, by what the cells are like."""

    def roles() -> set[str]:
        return {column.role for column in columns}

    def free() -> list[int]:
        return [at for at, column in enumerate(columns) if not column.role and facts[at].filled]

    def give(at: int, role: str, why: str, mark: str = "") -> None:
        columns[at] = replace(columns[at], role=role, why=why, mark=mark)

    if "stem" not in roles():
        texts = [at for at in free() if facts[at].length >= 12 and facts[at].numeric < 0.5]
        if texts:
            give(max(texts, key=lambda at: facts[at].length), "stem", "the longest text")
    if not roles() & {"id"}:
        stem = next((column.at for column in columns if column.role == "stem"), -1)
        short = [at for at in free()[:1] if _names_items(facts[at], before_stem=at < stem)]
        if short and (len(free()) > 1 or {"stem", "key"} <= roles()):
            give(short[0], "id", "short and never twice the same")
    if not roles() & {"key", "correct", "credit"}:
        stem = next((c.at for c in columns if c.role == "stem"), -1)
        letters = [at for at in free() if facts[at].letters == 1 and not facts[at].sequence
                   and any(value.isalpha() for value in facts[at].values)]  # fmt: skip
        if letters and len([at for at in free() if at != letters[-1] and at > stem]) >= 2:
            right = letters[-1]
            give(right, "correct", "letters that pick an option")
            if not roles() & {"option", "options"}:
                for n, at in enumerate(a for a in free() if a > stem):
                    give(at, "option", "one of several beside a letter", "abcdefghij"[n % 10])
        else:
            numbers = [at for at in free() if facts[at].numeric >= 0.6 and not facts[at].sequence]
            if numbers:
                best = max(numbers, key=lambda at: (round(facts[at].distinct, 1), -at))
                give(best, "key", "numbers that vary")
    if not roles() & {"tolerance", "percent", "low"} and "key" in roles():
        spread = [at for at in free() if facts[at].deviations == 1 and facts[at].distinct < 1]
        if len(spread) == 1:
            give(spread[0], "tolerance", "every cell is a deviation")
    if "unit" not in roles() and "key" in roles():
        units = [at for at in free() if facts[at].units >= 0.8]
        if units:
            give(units[0], "unit", "every cell is a unit")
