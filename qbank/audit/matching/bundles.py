"""Parts that share a stem, so that one reading of its numbers must serve them all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.audit.grouping.wording import LEAST_RUN, asking
from qbank.audit.matching.agreement import Widths, widths
from qbank.audit.matching.words import Context, contexts, roots
from qbank.audit.question import Floats, Group
from qbank.expressions.units import DIMENSIONLESS, Unit

BARE = "bare"  # a number without a unit
ANGLE = "angle"
PURE = ""  # a pure number or a percentage
Kind = str  # one of these, or a dimension spelt out
_BESIDE = 12  # characters that may stand beside the number of an option, such as "v = "
_RUN = re.compile(r"\{\d+\}(?:, \{\d+\})+")
_NUMBER = re.compile(r"\{(\d+)\}")


def kind(unit: Unit | None) -> Kind:
    """What a number can be: its dimension; angles and pure numbers apart from each other."""
    if unit is None:
        return BARE
    if unit.text not in _kinds:
        if len(_kinds) > _MOST_KINDS:
            _kinds.clear()
        angle = unit.dimension == DIMENSIONLESS and (unit.text == "°" or unit.text.endswith("rad"))
        _kinds[unit.text] = ANGLE if angle else str(unit.dimension)
    return _kinds[unit.text]


_kinds: dict[str, Kind] = {}
_MOST_KINDS = 4096


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A group as part of a bundle of N items.

    rows   (n,), which item each question belongs to
    keys   (n,), SI, or as written where the group has no unit of answers
    asked  the words that ask
    """

    group: Group
    rows: NDArray[np.intp]
    keys: Floats
    width: Widths
    asked: str


@dataclass(frozen=True, slots=True, eq=False)
class Bundle:
    """Groups that share the wording of their stem.

    values    (N, k), the numbers of the stems
    sizes     (k,), the median of each column's absolute values; NaN where it has none
    kinds     of each column
    runs      columns that make up a list
    """

    parts: tuple[Part, ...]
    values: Floats
    sizes: Floats
    kinds: tuple[Kind, ...]
    units: tuple[Unit | None, ...]
    runs: tuple[tuple[int, ...], ...]
    contexts: tuple[Context, ...]
    words: frozenset[str]
    wording: str

    def __len__(self) -> int:
        return len(self.values)


def bundles(groups: Sequence[Group]) -> list[Bundle]:
    """Groups whose prompts hold no numbers, taken together by their stem; others stay alone."""
    shared: dict[object, list[Group]] = {}
    for position, group in enumerate(groups):
        stem = group.wording.partition("\n")[0]
        k = group.values.shape[1]
        alone = len(_NUMBER.findall(stem)) != k
        units = tuple(None if unit is None else unit.text for unit in group.units)
        shared.setdefault((stem, k, units, position if alone else -1), []).append(group)
    return [_bundle(members) for members in shared.values()]


def _bundle(groups: Sequence[Group]) -> Bundle:
    first = groups[0]
    k = first.values.shape[1]
    numbers: dict[int, int] = {}
    values: list[Floats] = []
    parts = []
    for group in groups:
        rows = np.zeros(len(group), dtype=np.intp)
        for row, question in enumerate(group.questions):
            if question.number not in numbers:
                numbers[question.number] = len(values)
                values.append(group.values[row])
            rows[row] = numbers[question.number]
        asked = " ".join(asking(group.questions[0])) + " " + group.questions[0].prompt
        parts.append(Part(group, rows, _single_keys(group), widths(group), asked))
    alone = len(groups) == 1
    wording = first.wording if alone else first.wording.partition("\n")[0]
    whole = np.array(values).reshape(len(values), k)
    known = [column[np.isfinite(column)] for column in np.abs(whole).T]
    return Bundle(
        tuple(parts),
        whole,
        np.array([np.median(column) if len(column) else np.nan for column in known]),
        tuple(kind(unit) for unit in first.units),
        first.units,
        _runs(wording),
        tuple(contexts(wording, k)),
        roots(_NUMBER.sub(" ", wording)),
        wording,
    )


def _single_keys(group: Group) -> Floats:
    """The keys; NaN for a choice that is not one number out of several, such as one of statements
    in which numbers stand."""
    keys = group.keys.copy()
    for row, question in enumerate(group.questions):
        options = question.options
        if not options:
            continue
        bare = [
            option.quantity is not None and len(option.text) - len(option.quantity.text) <= _BESIDE
            for option in options
        ]
        if sum(option.keyed for option in options) != 1 or not all(bare):
            keys[row] = np.nan
    return keys


def _runs(wording: str) -> tuple[tuple[int, ...], ...]:
    """Lists of numbers in a wording."""
    found = [tuple(map(int, _NUMBER.findall(match[0]))) for match in _RUN.finditer(wording)]
    return tuple(run for run in found if len(run) >= LEAST_RUN)
