"""Columns: what a part of an item is for each instance of a batch.

A column is compiled once per family. For a batch it gives one value a row, in order. What does
not depend on the instance is `Fixed` and shared by all items.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import repeat
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from qbank.item import Inline, Math

if TYPE_CHECKING:
    from qbank.rendering.batch import Batch

T = TypeVar("T")
Column = Callable[["Batch"], Iterable[T]]


@dataclass(frozen=True, slots=True)
class Fixed(Generic[T]):
    """The same value in every row."""

    value: T

    def __call__(self, batch: Batch) -> Iterable[T]:
        return repeat(self.value, batch.n)


def apply(make: Callable[..., T], *columns: Column[Any]) -> Column[T]:
    """`make(a, b, ...)` row by row; made once where all columns are fixed."""
    if all(isinstance(column, Fixed) for column in columns):
        return Fixed(make(*(column.value for column in columns if isinstance(column, Fixed))))
    return lambda batch: map(make, *(column(batch) for column in columns))


def together(columns: Sequence[Column[T]]) -> Column[tuple[T, ...]]:
    """A tuple of the columns, row by row."""
    if all(isinstance(column, Fixed) for column in columns):
        return Fixed(tuple(column.value for column in columns if isinstance(column, Fixed)))
    return lambda batch: zip(*(column(batch) for column in columns), strict=True)


def text(pieces: Sequence[str | Column[str]]) -> Column[str]:
    """Pieces of text joined, row by row."""
    merged: list[str | Column[str]] = []
    for piece in pieces:
        plain = piece.value if isinstance(piece, Fixed) else piece
        if isinstance(plain, str) and merged and isinstance(merged[-1], str):
            merged[-1] += plain
        elif plain != "":
            merged.append(plain)
    columns: list[Column[str]] = [
        Fixed(piece) if isinstance(piece, str) else piece for piece in merged
    ]
    if not columns:
        return Fixed("")
    if len(columns) == 1:
        return columns[0]
    return lambda batch: map("".join, zip(*(column(batch) for column in columns), strict=True))


# ---------------------------------------------------------------------------- prose


@dataclass(frozen=True, slots=True)
class TextPart:
    """Text within a sentence."""

    column: Column[str]


@dataclass(frozen=True, slots=True)
class MathPart:
    """A formula within a sentence."""

    column: Column[Math]


Part = str | TextPart | MathPart


def content(parts: Sequence[Part]) -> Column[tuple[Inline, ...]]:
    """The inline content of a sentence; neighbouring texts become one."""
    columns: list[Column[Any]] = []
    run: list[str | Column[str]] = []
    for part in [*parts, None]:
        if isinstance(part, str):
            run.append(part)
        elif isinstance(part, TextPart):
            run.append(part.column)
        else:
            if any(piece != "" for piece in run):
                columns.append(text(run))
            run = []
            if part is not None:
                columns.append(part.column)
    return together(columns)


_FIELD = re.compile(r"\{(\w+)\}")


def fill(pattern: str, **fields: Part | Sequence[Part]) -> list[Part]:
    """A message with its fields filled in."""
    parts: list[Part] = []
    for position, piece in enumerate(_FIELD.split(pattern)):
        if position % 2 == 0:
            parts.append(piece)
            continue
        value = fields[piece]
        parts.extend([value] if isinstance(value, str | TextPart | MathPart) else value)
    return [part for part in parts if part != ""]
