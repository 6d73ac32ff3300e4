"""Writing a bank: items in, one validated package in place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from qbank.formats.archive import FileArchive, FolderArchive, ZipArchive
from qbank.formats.base import NotingWriter, WriteReport
from qbank.formats.registry import find_format
from qbank.formats.soundness import ensure_sound
from qbank.item import BankInfo, Item

PROGRESS_STEP = 64


def write_bank(
    info: BankInfo,
    items: Iterable[Item],
    destination: Path,
    format: str,  # noqa: A002 - the word a caller looks for
    *,
    unpacked: bool = False,
    progress: Callable[[int], None] | None = None,
) -> WriteReport:
    """Write `items`, pool after pool as `info` says, to the package `destination`.

    Items are taken one by one and dropped when written; memory does not grow with their number.
    Each member is validated before the package is moved into place in one step, so a package
    that was there stays whole until then, whatever happens: Ctrl-C, a full disk, a failed check.
    The same items give the same members. `unpacked` writes a folder in place of a zip file or
    a single one.
    `progress` is called with the number of items written since its last call.

    Raises QbankError for an unknown format, OutputError when the destination cannot be written
    and CheckFailed when what was written breaks a rule of the format or the number of items is
    not that of the pools.
    """
    chosen = find_format(format)
    written = reported = 0
    packed = FileArchive if chosen.capabilities.single_file else ZipArchive
    with (FolderArchive if unpacked else packed)(Path(destination)) as archive:
        writer = chosen.writer(info, archive)
        for item in items:
            ensure_sound(item, unkeyed=chosen.capabilities.unkeyed)
            writer.add(item)
            written += 1
            if progress is not None and written - reported >= PROGRESS_STEP:
                progress(written - reported)
                reported = written
        writer.finish()
        archive.commit()
    if progress is not None and written > reported:
        progress(written - reported)
    notes = writer.notes if isinstance(writer, NotingWriter) else ()
    return WriteReport(Path(destination), chosen.name, written, archive.members, notes)
