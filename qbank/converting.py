"""Converting a bank: any format in, any other out, and an account of what was lost.

The bank is read three times, so that memory stays flat: first each item is written to nowhere,
which tells what the target cannot take and how many items each pool has; then the package is
written; then it is read back and held against what was read.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from qbank.conversion_report import ConvertReport, LeftOut, Unsaid
from qbank.errors import CheckFailed, OutputError, QbankError
from qbank.formats.base import Format, as_ncname
from qbank.formats.comparing import differing_fields
from qbank.formats.completing import completed
from qbank.formats.jsonl_readback import read_info
from qbank.formats.opening import open_any_bank
from qbank.formats.readback import read_items
from qbank.formats.registry import find_format
from qbank.formats.source import Loss, ReadItem
from qbank.formats.trial import Trial
from qbank.formats.unsaid import unsaid_kinds
from qbank.formats.validate import open_package
from qbank.formats.writing import write_bank
from qbank.formats.xmltext import IDENTIFIER
from qbank.item import BankInfo, Block, Image, Item, Pool
from qbank.making import make_folder

# Losses of a bank as a whole that are none where every item has a family: its pools are rebuilt.
_KEPT_BY_FAMILIES = frozenset(["test", "reference"])
UNKNOWN_LANGUAGE = "und"  # BCP 47: undetermined


def convert(
    path: str | Path,
    to: str,
    out: str | Path = "exports",
    *,
    name: str | None = None,
    unpacked: bool = False,
    columns: Mapping[str, str] | None = None,
    progress: Callable[[int], None] | None = None,
) -> ConvertReport:
    """Write the bank at `path` in the format `to` to a package in the folder `out`.

    The package is called `name`, or else as the bank's file. An item that the target cannot take
    is left out and listed; everything else that is lost is listed by kind. Items of one family
    form a pool, of which a test shows each candidate one; an item of no family is a pool of its
    own, so that a test shows them all. `columns` says for a table of
    anyone's which column holds what.
    `progress` is called with the number of items written since its last call.

    Raises QbankError for an unknown format and for a bank that cannot be read or of which no
    item can be written, OutputError where the package cannot be written, CheckFailed when a
    check of the tool on its own work does not hold.
    """
    source, target = Path(path), find_format(to)
    survey = _survey(source, columns, target)
    if not survey.read and survey.unreadable:
        raise QbankError(f"nothing of '{source}' can be read", hint=survey.unreadable[0])
    if survey.read and survey.read == len(survey.left_out):
        raise QbankError(
            f"none of the {survey.read} items of '{source}' can be written as {target.name}",
            hint=str(survey.left_out[0]),
        )
    as_folder = unpacked or not target.capabilities.zipped
    stem = name or _stem(source, survey.format)
    destination = Path(out) / target.file_name(stem, as_folder)
    if destination.exists() and destination.resolve() == source.resolve():
        raise OutputError(
            f"'{destination}' is the bank that is read",
            hint="choose another folder with --out, or another name with --name",
        )
    make_folder(Path(out))
    title = name or survey.title or stem
    package = write_bank(
        BankInfo(name or survey.identifier or title, title, survey.language, tuple(survey.pools)),
        survey.kept(columns),
        destination,
        target.name,
        unpacked=as_folder,
        progress=progress,
    )
    compared = target.capabilities.several_parts
    if compared:
        _compare(survey, columns, destination)
    return ConvertReport(
        source=source,
        source_format=survey.format,
        package=package,
        read=survey.read,
        losses=tuple(survey.losses),
        unreadable=tuple(survey.unreadable),
        left_out=tuple(survey.left_out),
        unsaid=tuple(Unsaid(kind, tuple(items)) for kind, items in survey.unsaid.items()),
        cautions=() if compared or not package.items else target.capabilities.losses,
    )


def _stem(source: Path, format_name: str) -> str:
    """What a bank's file is called, without the ending and the format that `make` puts there."""
    whole = source.resolve()
    stem = whole.name if whole.is_dir() else whole.stem
    return stem.removesuffix(f"-{format_name}") or stem


# ---------------------------------------------------------------------------- the first reading


@dataclass(slots=True)
class _Survey:
    """What the first reading found out; grows with what is lost and with the pools."""

    source: Path
    target: Format
    format: str = ""
    title: str = ""
    identifier: str = ""
    language: str = UNKNOWN_LANGUAGE
    read: int = 0
    pools: list[Pool] = field(default_factory=list)
    skipped: set[int] = field(default_factory=set)  # places of the items left out, from 0
    losses: list[Loss] = field(default_factory=list)
    unreadable: list[str] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    unsaid: dict[str, list[str]] = field(default_factory=dict)

    def kept(self, columns: Mapping[str, str] | None) -> Iterator[Item]:
        """The items that the target takes, read once more. Raises CheckFailed where there are
        others than at the first reading."""
        count = 0
        with open_any_bank(self.source, columns) as reading:
            for place, read in enumerate(reading):
                count += 1
                if place not in self.skipped:
                    yield _fitted(read.item, self.target)[0]
        if count != self.read:
            raise CheckFailed(f"'{self.source}' changed while it was read")


def _survey(source: Path, columns: Mapping[str, str] | None, target: Format) -> _Survey:
    found = _Survey(source, target)
    trial = Trial(target)
    all_of_families = True
    with open_any_bank(source, columns) as reading:
        pools = _Pools(reading.format, source)
        for place, read in enumerate(reading):
            item, kinds = _fitted(read.item, target)
            all_of_families = all_of_families and item.provenance is not None
            found.read += 1
            found.losses.extend(read.losses)
            why = trial.refusal(item)
            pool = pools.pool_of(replace(read, item=item))
            if why is not None:
                found.skipped.add(place)
                found.left_out.append(LeftOut(read.item.identifier, read.place, why))
                continue
            if found.language == UNKNOWN_LANGUAGE:
                found.language = item.language
            pools.count(pool, item)
            kinds += unsaid_kinds(item, target.capabilities)
            for kind in kinds:
                found.unsaid.setdefault(kind, []).append(item.identifier)
        found.format, found.title = reading.format, reading.title
        if pools.info is not None:
            found.identifier, found.title = pools.info.identifier, pools.info.title
            found.language = pools.info.language or found.language
        kept = _KEPT_BY_FAMILIES if all_of_families and found.read else frozenset()
        found.losses[:0] = [loss for loss in reading.losses if loss.code not in kept]
        found.unreadable.extend(str(fault) for fault in reading.unreadable)
    found.pools = [pool for pool in pools.found if pool.count]
    if not target.capabilities.pools and any(pool.count > 1 for pool in found.pools):
        found.unsaid["pools"] = []
    return found


def _fitted(item: Item, target: Format) -> tuple[Item, list[str]]:
    """The item with an identifier, a title and a language that every format can hold, with what
    the target needs of its numbers and the pictures there are; and the kinds of what was changed.
    """
    kinds: list[str] = []
    if not target.capabilities.unkeyed:
        item, kinds = completed(item)
    stem, solution = _held(item.stem), _held(item.solution)
    if stem is not item.stem or solution is not item.solution:
        kinds.append("picture")
    identifier = item.identifier
    if not IDENTIFIER.fullmatch(identifier):
        mark = hashlib.sha256(identifier.encode("utf-8", "replace")).hexdigest()[:8]
        identifier = f"{as_ncname(identifier)[:23]}-{mark}"
        kinds.append("identifier")
    fitted = replace(
        item,
        identifier=identifier,
        title=item.title or item.identifier,
        language=item.language or UNKNOWN_LANGUAGE,
        stem=stem,
        solution=solution,
    )
    return fitted, kinds


def _held(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    """The blocks without pictures of which the bank holds the name alone."""
    empty = [block for block in blocks if isinstance(block, Image) and not block.data]
    return tuple(block for block in blocks if block not in empty) if empty else blocks


class _Pools:
    """The pools in the order of the items: those the bank states, or runs of items of one family
    in one folder, in which packages of ours keep a pool."""

    def __init__(self, format_name: str, source: Path) -> None:
        self.found: list[Pool] = []
        self.info: BankInfo | None = None
        self._stated: Iterator[Pool] | None = None
        self._left = 0
        self._run: tuple[str, str] | None = None  # folder and family
        self._runs: dict[str, int] = {}
        if format_name == "jsonl":
            with open_package(source) as package:
                self.info = read_info(package)
            self._stated = iter(self.info.pools)

    def pool_of(self, read: ReadItem) -> int:
        """The index of the pool of the next item, which is made if it is new."""
        item = read.item
        if self._stated is not None:
            while self._left == 0:
                pool = next(self._stated)
                self._left = pool.count
                self.found.append(replace(pool, count=0, parts=0))
            self._left -= 1
        else:
            run = None
            if item.provenance is not None:
                run = (read.place.file.rpartition("/")[0], item.provenance.family)
            if run is None or run != self._run:
                self.found.append(self._new(item))
            self._run = run
        return len(self.found) - 1

    def count(self, index: int, item: Item) -> None:
        """Count an item that is written."""
        pool = self.found[index]
        self.found[index] = replace(
            pool, count=pool.count + 1, parts=max(pool.parts, len(item.parts))
        )

    def _new(self, item: Item) -> Pool:
        if item.provenance is None:
            return Pool(f"one-{item.identifier}", item.title, 0, 0)
        family = item.provenance.family
        again = self._runs[family] = self._runs.get(family, 0) + 1
        return Pool(family if again == 1 else f"{family}-{again}", item.title, 0, 0)


# ---------------------------------------------------------------------------- what is lost


def _compare(survey: _Survey, columns: Mapping[str, str] | None, written: Path) -> None:
    """Hold what was written, read back, against what was read; note the fields that differ."""
    back = read_items(written)
    for before in survey.kept(columns):
        after = next(back, None)
        if after is None or after.identifier != before.identifier:
            raise CheckFailed(f"item '{before.identifier}' is not read back from '{written}'")
        for name in sorted(differing_fields(before, after)):
            survey.unsaid.setdefault(name, []).append(before.identifier)
    if next(back, None) is not None:
        raise CheckFailed(f"more items are read back from '{written}' than were written")
