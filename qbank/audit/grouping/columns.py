"""The numbers of siblings as columns of one array."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.audit.grouping.alignment import aligned
from qbank.audit.grouping.wording import RUN, SLOT, Wording
from qbank.audit.question import Floats, Group, Question
from qbank.expressions.units import Dimension, Unit, match_unit

MOST_COLUMNS = 400
_LONGEST_HEADER = 200
_HEADER = re.compile(r"[^\W\d]\s?/\s?(?=[^\s/]{1,20}\s*(?:\d+[;|,]?\s*)?\Z)")


@dataclass(frozen=True, slots=True)
class Worded:
    """A question and the wording of its text."""

    question: Question
    wording: Wording

    def kinds(self) -> tuple[Dimension | None, ...]:
        """For each token the dimension of its number; that of the last one for a list."""
        quantities = self.question.quantities
        out: list[Dimension | None] = []
        for numbers in self.wording.numbers:
            unit = quantities[numbers[-1]].unit if numbers else None
            out.append(None if unit is None else unit.dimension)
        return tuple(out)


def group_of(members: Sequence[Worded]) -> Group:
    """The group of some questions of one wording, in the order given."""
    template = _template(members)
    kinds = template.kinds()
    pairs: dict[object, list[tuple[int, int]]] = {}
    matches: list[list[tuple[int, int]]] = []
    for member in members:
        units = tuple(
            quantity.unit and quantity.unit.text for quantity in member.question.quantities
        )
        key = (member.wording.tokens, units)
        if key not in pairs:
            pairs[key] = aligned(
                template.wording.tokens, member.wording.tokens, kinds, member.kinds()
            )
        matches.append(pairs[key])
    widths = _widths(template, members, matches)
    first = dict(zip(widths, np.cumsum([0, *widths.values()]).tolist(), strict=False))
    holds: list[list[int]] = [[-1] * sum(widths.values()) for _ in members]
    for row, (member, match) in enumerate(zip(members, matches, strict=True)):
        for token, other in match:
            for offset, position in enumerate(member.wording.numbers[other][: widths[token]]):
                holds[row][first[token] + offset] = position
    spans = [(first[token], width) for token, width in widths.items()]
    return assemble(
        [member.question for member in members],
        holds,
        _text(template, widths, first),
        spans,
        header_units(template),
    )


def assemble(
    questions: Sequence[Question],
    holds: Sequence[Sequence[int]],
    wording: str,
    spans: Sequence[tuple[int, int]],
    headers: Sequence[Unit | None] = (),
) -> Group:
    """The group of some questions whose numbers have been put in columns.

    `holds` says for each question and column which of its quantities stands there, -1 for none;
    `spans` the first column and the width of each number or list of numbers, `headers` the unit of
    each where it does not follow the numbers.
    """
    k = sum(width for _, width in spans)
    units = [_unit(questions, holds, column) for column in range(k)]
    for place, (start, width) in enumerate(
        spans
    ):  # in "1.2, 1.3 and 1.4 mm" the unit is that of all values
        shared = _common(units[start : start + width])
        if shared is None and place < len(headers):
            shared = headers[place]
        units[start : start + width] = [unit or shared for unit in units[start : start + width]]
    values, figures = _arrays(questions, holds, units)
    key_unit = _common([question.unit for question in questions])
    return Group(
        questions=tuple(questions),
        wording=wording,
        values=values,
        units=tuple(units),
        figures=figures,
        keys=_keys(questions, key_unit),
        key_unit=key_unit,
    )


def header_units(worded: Worded) -> list[Unit | None]:
    """For each number or list of a wording the unit that the header of its table states."""
    question = worded.question
    found: list[Unit | None] = []
    lists: dict[int, list[int]] = {}  # end of the words before a table -> its lists
    end = 0
    for numbers, token in zip(worded.wording.numbers, worded.wording.tokens, strict=True):
        if not numbers:
            continue
        if token == RUN:
            start = question.quantities[numbers[0]].start
            lists.setdefault(end if lists and start < end else start, []).append(len(found))
        found.append(None)
        end = max(end, question.quantities[numbers[-1]].end)
    for start, members in lists.items():
        words = question.text[max(0, start - _LONGEST_HEADER) : start]
        names = [part for part in re.split(r"[;|]", words) if part.strip()]
        for member, name in zip(reversed(members), reversed(names), strict=False):
            slash = _HEADER.search(name)
            unit = None if slash is None else match_unit(name, slash.end())
            found[member] = unit[0] if unit is not None else None
    return found


def _template(members: Sequence[Worded]) -> Worded:
    """The most frequent wording; of those the one with the most numbers. Order plays no part."""
    counts = Counter(member.wording.tokens for member in members)

    def rank(member: Worded) -> tuple[int, int, tuple[str, ...], str]:
        tokens = member.wording.tokens
        numbers = sum(map(len, member.wording.numbers))
        return (-counts[tokens], -numbers, tokens, member.question.text)

    return min(members, key=rank)


def _widths(
    template: Worded, members: Sequence[Worded], matches: Sequence[list[tuple[int, int]]]
) -> dict[int, int]:
    """How many columns each slot of the template takes: the longest list that stands there."""
    tokens = template.wording.tokens
    widths = {at: 1 for at, token in enumerate(tokens) if token in (SLOT, RUN)}
    for member, match in zip(members, matches, strict=True):
        for token, other in match:
            if tokens[token] == RUN:
                widths[token] = max(widths[token], len(member.wording.numbers[other]))
    left = MOST_COLUMNS
    bounded = {}
    for token, width in widths.items():
        bounded[token] = min(width, left)
        left -= bounded[token]
    return bounded


def _common(units: Sequence[Unit | None]) -> Unit | None:
    """The most frequent unit, the first in the alphabet among equals."""
    counts = Counter(unit for unit in units if unit is not None)
    return min(counts, key=lambda unit: (-counts[unit], unit.text)) if counts else None


def _unit(
    questions: Sequence[Question], holds: Sequence[Sequence[int]], column: int
) -> Unit | None:
    return _common(
        [
            question.quantities[row[column]].unit
            for question, row in zip(questions, holds, strict=True)
            if row[column] >= 0
        ]
    )


def _arrays(
    questions: Sequence[Question], holds: Sequence[Sequence[int]], units: Sequence[Unit | None]
) -> tuple[Floats, NDArray[np.int64]]:
    values = np.full((len(questions), len(units)), np.nan)
    figures = np.zeros((len(questions), len(units)), dtype=np.int64)
    for row, (question, held) in enumerate(zip(questions, holds, strict=True)):
        for column, position in enumerate(held):
            if position < 0:
                continue
            quantity = question.quantities[position]
            unit = quantity.unit or units[column]
            common = units[column]
            if unit is not None and common is not None and unit.dimension != common.dimension:
                continue  # another kind of quantity: the number is lacking
            value = float(quantity.value) if unit is None else unit.si_value(quantity.value)
            values[row, column] = value
            figures[row, column] = quantity.figures
    return values, figures


def _keys(questions: Sequence[Question], key_unit: Unit | None) -> Floats:
    keys = np.full(len(questions), np.nan)
    for row, question in enumerate(questions):
        unit = question.unit or key_unit
        keys[row] = question.key if unit is None else unit.to_si(question.key)
    return keys


def _text(template: Worded, widths: dict[int, int], first: dict[int, int]) -> str:
    """The text of the template with "{0}", "{1}" .. for its numbers; braces of its own doubled."""
    question = template.question
    parts = []
    at = 0
    for token, width in widths.items():
        if not width:
            continue
        numbers = template.wording.numbers[token]
        start, end = question.quantities[numbers[0]].start, question.quantities[numbers[-1]].end
        parts.append(question.text[at:start].replace("{", "{{").replace("}", "}}"))
        if start < at:  # columns of one table, read row by row
            parts.append("; ")
        parts.append(", ".join("{" + str(first[token] + i) + "}" for i in range(width)))
        at = end
    parts.append(question.text[at:].replace("{", "{{").replace("}", "}}"))
    return "".join(parts)
