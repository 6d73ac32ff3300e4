"""Reading JSON Lines back, from anyone: bounded lines, every value checked, faults by line."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

from qbank.errors import CheckFailed, QbankError
from qbank.formats.base import Finding
from qbank.formats.jsonl_codec import BANK, ITEM, ValueFault
from qbank.formats.package import MAX_ITEM_BYTES, Package
from qbank.formats.skimming import skimmed
from qbank.formats.soundness import ensure_sound
from qbank.item import BankInfo, Item
from qbank.place import Place

FORMAT = "qbank-items"
VERSION = 1
ENDING = ".jsonl"
MEMBER = "items.jsonl"
MOST_BYTES = MAX_ITEM_BYTES


def recognises(package: Package) -> bool:
    """Whether the package is a file of this format, or a folder that holds one."""
    member = _member(package)
    if member is None:
        return False
    with package.open(member) as source:
        return f'"format":"{FORMAT}"'.encode() in source.read(1 << 16).replace(b" ", b"")


def iter_items(package: Package, *, whole: bool = True) -> Iterator[Item]:
    """The items in the file's order; not `whole`, as `skimmed` leaves them.

    Raises QbankError with the line of a record that is no JSON, too long or not as the schema
    says, and when there are not as many items as the header promises.
    """
    skim = None if whole else _skim()
    info = None
    count = 0
    for number, line in _lines(package):
        try:
            if info is None:
                info = _header(parse_line(line), package, number)
                continue
            item = None if skim is None else skim(line)
            if item is None:
                item = ITEM.read(parse_line(line), "")
                item = item if whole else skimmed(item)
        except ValueFault as fault:
            raise _fault(package, number, str(fault)) from fault
        count += 1
        yield item
    promised = sum(pool.count for pool in info.pools) if info else 0
    if count != promised:
        raise QbankError(
            f"the header of '{_file(package)}' promises {promised} items, {count} follow",
            hint="the file was cut or lengthened; correct the counts of the pools",
        )


def _skim() -> Callable[[bytes], Item | None]:
    from qbank.formats.jsonl_skim import skim  # noqa: PLC0415 - hardly any run needs msgspec

    return skim


def read_info(package: Package) -> BankInfo:
    """The header: what the bank is called and its pools."""
    for number, line in _lines(package):
        try:
            return _header(parse_line(line), package, number)
        except ValueFault as fault:
            raise _fault(package, number, str(fault)) from fault
    raise _fault(package, 1, "the file is empty")


def iter_findings(package: Package) -> Iterator[Finding]:
    """The first fault of a file, after which nothing can be told, and unsound items."""
    member = _member(package) or MEMBER
    seen: set[int] = set()
    line = 1
    try:
        for item in iter_items(package):
            line += 1
            try:
                ensure_sound(item, unkeyed=True)
            except CheckFailed as fault:
                yield Finding("jsonl.item", member, fault.message, line)
            if hash(item.identifier) in seen:
                said = f"two items are called '{item.identifier}'"
                yield Finding("jsonl.unique", member, said, line)
            seen.add(hash(item.identifier))
    except QbankError as fault:
        where = fault.place.line if fault.place else None
        yield Finding("jsonl.record", member, fault.message, where, "items.schema.json")


def parse_line(line: bytes) -> Any:
    """A line as a JSON value. Raises ValueFault where it is none, or has a name twice."""
    try:
        return json.loads(line, object_pairs_hook=_object, parse_constant=_constant)
    except UnicodeDecodeError as fault:
        raise ValueFault("", f"no UTF-8: {fault.reason}") from fault
    except RecursionError as fault:
        raise ValueFault("", "nested too deep") from fault
    except json.JSONDecodeError as fault:
        raise ValueFault("", f"no JSON: {fault.msg} at column {fault.colno}") from fault
    except ValueError as fault:  # a whole number of thousands of digits
        raise ValueFault("", f"no JSON: {fault}") from fault


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueFault("", f"'{twice[:40]}' stands twice in one object")
    return found


def _constant(name: str) -> Any:
    raise ValueFault("", f"'{name}' is no number of JSON; write null where no key is stated")


def _member(package: Package) -> str | None:
    if MEMBER in package.names:
        return MEMBER
    return package.names[0] if len(package.names) == 1 else None


def _lines(package: Package) -> Iterator[tuple[int, bytes]]:
    """Each line that is not blank, with its number."""
    with package.open(_member(package) or MEMBER) as source:
        number = 0
        while line := source.readline(MOST_BYTES + 1):
            number += 1
            if len(line) > MOST_BYTES:
                raise _fault(package, number, f"longer than {MOST_BYTES >> 20} MB")
            if not line.isspace():
                yield number, line


def _header(record: Any, package: Package, line: int) -> BankInfo:
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise _fault(package, line, f'the first record is no header with "format": "{FORMAT}"')
    if record.get("version") != VERSION:
        raise _fault(
            package, line, f"version {record.get('version')!r:.20}; this program reads {VERSION}"
        )
    rest = {name: value for name, value in record.items() if name not in {"format", "version"}}
    try:
        info: BankInfo = BANK.read(rest, "")
    except ValueFault as fault:
        raise _fault(package, line, str(fault)) from fault
    return info


def _fault(package: Package, line: int, said: str) -> QbankError:
    return QbankError(
        said,
        place=Place(_file(package), line, 1),
        hint="expected records as formats/schemas/items.schema.json of qbank describes them",
    )


def _file(package: Package) -> str:
    return f"{package.path}/{_member(package) or MEMBER}"
