"""Where two items differ: the fields by their names, whatever the place within a list."""

from __future__ import annotations

import dataclasses
from typing import Any

from qbank.item import Item


def differing_fields(before: Item, after: Item) -> frozenset[str]:
    """The fields in which two items differ, such as `parts.wrong_values.value`.

    Texts that stand side by side count as one text, and not-a-number equals itself. Lists of
    different length differ as a whole, and so do entries of different kinds.
    """
    found: set[str] = set()
    _compare(before, after, "", found)
    return frozenset(found)


def _compare(before: Any, after: Any, at: str, found: set[str]) -> None:
    if before == after:  # most of two items that differ at all
        return
    if type(before) is not type(after):
        found.add(at)
    elif dataclasses.is_dataclass(before):
        for field in dataclasses.fields(before):
            below = f"{at}.{field.name}" if at else field.name
            _compare(getattr(before, field.name), getattr(after, field.name), below, found)
    elif isinstance(before, tuple):
        left, right = _merged(before), _merged(after)
        if len(left) != len(right):
            found.add(at)
            return
        for one, other in zip(left, right, strict=True):
            _compare(one, other, at, found)
    elif not (before != before and after != after):  # noqa: PLR0124 - NaN
        found.add(at)


def _merged(values: tuple[Any, ...]) -> list[Any]:
    """Entries, where runs of texts beside other content are one text and empty ones are none."""
    if not any(isinstance(value, str) for value in values):
        return list(values)
    merged: list[Any] = []
    for value in values:
        if isinstance(value, str) and merged and isinstance(merged[-1], str):
            merged[-1] += value
        elif value != "":
            merged.append(value)
    return merged
