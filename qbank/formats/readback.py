"""Reading banks back: items, and the numbers a proof of the keys needs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from qbank.formats.validate import format_of, open_package
from qbank.item import Item, NumberEntry


@dataclass(frozen=True, slots=True)
class KeyedNumber:
    """The key of one numeric part as a package states it."""

    item: str
    part: str
    key: float
    low: float
    high: float
    points: float


def read_items(path: Path) -> Iterator[Item]:
    """The items of the package at `path`, one at a time, in the package's order.

    What a format does not carry is listed in its `capabilities.losses`. Raises QbankError when
    the package or a member cannot be read.
    """
    with open_package(Path(path)) as package:
        yield from format_of(package).read(package)


def read_numbers(path: Path) -> Iterator[KeyedNumber]:
    """The numeric keys of a package with their accepted bands, item after item."""
    for item in read_items(path):
        for part in item.parts:
            if isinstance(part, NumberEntry):
                band = part.tolerance
                yield KeyedNumber(
                    item.identifier, part.identifier, part.key, band.low, band.high, part.points
                )
