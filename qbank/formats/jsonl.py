"""A bank as JSON Lines: a header, then one JSON object a line for each item, nothing left out.

The lines are UTF-8, each ended by a line feed, so that a script reads a bank of any size line by
line. Numbers are written so that they read back as the same floats, pictures in base64.
`schemas/items.schema.json` describes every field.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from qbank.errors import CheckFailed
from qbank.formats import jsonl_readback
from qbank.formats.archive import Archive, disk_faults
from qbank.formats.base import Capabilities, Finding, package_name
from qbank.formats.jsonl_codec import BANK, ITEM, Record, ValueFault
from qbank.formats.jsonl_readback import ENDING, FORMAT, MEMBER, MOST_BYTES, VERSION, parse_line
from qbank.formats.package import Package
from qbank.formats.xmltext import utf8
from qbank.item import BankInfo, Item


class JsonlWriter:
    """Writes one file; see `BankWriter`."""

    def __init__(self, info: BankInfo, archive: Archive) -> None:
        self._archive = archive
        self._left = sum(pool.count for pool in info.pools)
        self._names: set[int] = set()
        self._lines = archive.spool()
        self._write(_line({"format": FORMAT, "version": VERSION, **_written(BANK, info, "header")}))

    def add(self, item: Item) -> None:
        """Write an item as one line. Raises CheckFailed unless it reads back as it was."""
        if hash(item.identifier) in self._names:
            raise CheckFailed(f"two items are called '{item.identifier}'")
        self._names.add(hash(item.identifier))
        if self._left == 0:
            raise CheckFailed(f"item '{item.identifier}' comes after the last pool is full")
        line = _line(_written(ITEM, item, f"item '{item.identifier}'"))
        if len(line) > MOST_BYTES:
            raise CheckFailed(
                f"item '{item.identifier}' makes a line of more than {MOST_BYTES >> 20} MB",
                hint="use smaller pictures",
            )
        try:
            back = ITEM.read(parse_line(line), "")
        except ValueFault as fault:
            raise CheckFailed(f"item '{item.identifier}' does not read back: {fault}") from fault
        # Not-a-number, the key nobody stated, differs from itself: such items are told by their
        # lines.
        if back != item and (_line(ITEM.write(back)) != line or b"null" not in line):
            raise CheckFailed(f"item '{item.identifier}' does not read back as it was")
        self._write(line)
        self._left -= 1

    def finish(self) -> None:
        """Put the file together."""
        if self._left:
            raise CheckFailed(f"{self._left} items of the bank are missing")
        self._archive.add_file(MEMBER, self._lines)

    def _write(self, line: bytes) -> None:
        with disk_faults(self._archive.destination):
            self._lines.write(line)


def _written(record: Record, value: object, what: str) -> dict[str, object]:
    try:
        return record.write(value)
    except ValueFault as fault:
        raise CheckFailed(f"{what}: {fault}") from fault


def _line(value: dict[str, object]) -> bytes:
    return utf8(
        json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n"
    )


@dataclass(frozen=True, slots=True)
class JsonlFormat:
    """JSON Lines, the whole neutral item."""

    name: str = "jsonl"
    title: str = "JSON Lines with a JSON Schema"

    @property
    def capabilities(self) -> Capabilities:
        return Capabilities(
            tolerance=True,
            several_parts=True,
            feedback=True,
            hints=True,
            mathml=True,
            pools=True,
            single_file=True,
            unkeyed=True,
        )

    def file_name(self, title: str, unpacked: bool) -> str:
        if unpacked:
            return package_name(title, self.name, unpacked=True)
        return package_name(title, self.name, unpacked=True).removesuffix("-jsonl") + ENDING

    def recognises(self, package: Package) -> bool:
        return jsonl_readback.recognises(package)

    def writer(self, info: BankInfo, archive: Archive) -> JsonlWriter:
        return JsonlWriter(info, archive)

    def validate(self, package: Package) -> Iterator[Finding]:
        return jsonl_readback.iter_findings(package)

    def read(self, package: Package) -> Iterator[Item]:
        return jsonl_readback.iter_items(package)

    def skim(self, package: Package) -> Iterator[Item]:
        return jsonl_readback.iter_items(package, whole=False)
