"""The door to a bank in any format: ours, anyone's, or one that another package adds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from qbank.errors import QbankError
from qbank.formats.base import Format
from qbank.formats.foreign.bank import BankReading, open_bank
from qbank.formats.readback import read_items
from qbank.formats.source import ReadItem
from qbank.formats.validate import outside_format_of
from qbank.place import Place


class _OutsideReading(BankReading):
    """A bank in a format of another package, read by that format."""

    def __init__(self, path: Path, outside: Format) -> None:
        super().__init__(outside.name)
        self._path = path

    def __iter__(self) -> Iterator[ReadItem]:
        for item in read_items(self._path):
            yield ReadItem(item, Place(str(self._path), 1, 1))


def open_any_bank(
    path: Path, columns: Mapping[str, str] | None = None, *, whole: bool = True
) -> BankReading:
    """The bank at `path`, as `open_bank`, or by a format of another package that claims it.

    Raises QbankError as `open_bank`, and where `columns` are named of what is no table.
    """
    outside = outside_format_of(path)
    reading = (
        open_bank(path, columns, whole=whole) if outside is None else _OutsideReading(path, outside)
    )
    if columns and not reading.columns:
        reading.close()
        raise QbankError(
            f"'{path}' is no table, so it has no columns to name", hint="leave --column out"
        )
    return reading
