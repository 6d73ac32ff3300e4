"""A bank written again with some members replaced: whole or not at all, and never over itself."""

from __future__ import annotations

import os
import secrets
import shutil
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from qbank.errors import OutputError, QbankError
from qbank.formats.archive import CHUNK, disk_faults
from qbank.formats.package import Package


def is_package(path: Path) -> bool:
    """Whether a bank is a folder or a zip file; else it is one file."""
    return path.is_dir() or zipfile.is_zipfile(path)


def ensure_apart(path: Path, destination: Path) -> None:
    """Raise OutputError where the copy would replace the bank, lie within it, or has no folder."""
    here, there = path.resolve(), destination.resolve()
    if here == there or (path.is_dir() and here in there.parents):
        raise OutputError(
            f"cannot write the corrected copy to '{destination}': that is the bank itself",
            hint="name another file or folder; the bank that is checked is never changed",
        )
    if not destination.parent.is_dir():
        raise OutputError(
            f"cannot write '{destination}': there is no folder '{destination.parent}'",
            hint="make the folder first, or name another file",
        )
    if path.is_dir() and destination.exists():
        raise OutputError(
            f"cannot write the folder '{destination}': something of that name exists",
            hint="remove it, or name another folder for the corrected copy",
        )
    if not path.is_dir() and destination.is_dir():
        raise OutputError(
            f"cannot write '{destination}': it is a folder", hint="name a file for the copy"
        )


@contextmanager
def copied(path: Path, destination: Path, replaced: Mapping[str, bytes]) -> Iterator[Path]:
    """The complete copy under a passing name; it is moved to `destination` when the block ends
    without a fault, and removed otherwise.

    Members of a zip file keep their order, names, dates and kind of packing; files of a folder
    their dates. Links in a folder are not followed and not copied. A bank that is one file has
    one member, of its own name.
    """
    mark = f"{os.getpid()}-{secrets.token_hex(4)}"
    # The ending stays, because readers go by it.
    part = destination.with_name(f".{destination.stem}.{mark}{destination.suffix or path.suffix}")
    with disk_faults(destination):
        try:
            if path.is_dir():
                _copy_folder(path, part, replaced)
            elif zipfile.is_zipfile(path):
                _copy_zip(path, part, replaced)
            else:
                _write(part, replaced.get(path.name, None), path)
            yield part
            part.replace(destination)
        finally:
            if part.is_dir():
                shutil.rmtree(part, ignore_errors=True)
            else:
                part.unlink(missing_ok=True)


def _copy_folder(path: Path, part: Path, replaced: Mapping[str, bytes]) -> None:
    with Package(path) as package:
        part.mkdir()
        for name in package.names:
            target = part / name
            target.parent.mkdir(parents=True, exist_ok=True)
            _write(target, replaced.get(name), path / name)


def _write(target: Path, data: bytes | None, source: Path) -> None:
    if data is None:
        shutil.copyfile(source, target)
    else:
        target.write_bytes(data)
    shutil.copystat(source, target)


def _copy_zip(path: Path, part: Path, replaced: Mapping[str, bytes]) -> None:
    with Package(path) as package, zipfile.ZipFile(path) as source:
        _ensure_names_once(package)
        with part.open("xb") as file, zipfile.ZipFile(file, "w") as copy:
            copy.comment = source.comment
            for entry in source.infolist():
                fresh = zipfile.ZipInfo(entry.filename, entry.date_time)
                fresh.compress_type = entry.compress_type
                fresh.create_system = entry.create_system
                fresh.external_attr = entry.external_attr
                fresh.comment = entry.comment
                if entry.is_dir():
                    copy.writestr(fresh, b"")
                elif entry.filename in replaced:
                    copy.writestr(fresh, replaced[entry.filename])
                else:
                    large = entry.file_size >= zipfile.ZIP64_LIMIT
                    with (
                        package.open(entry.filename) as member,
                        copy.open(fresh, "w", force_zip64=large) as target,
                    ):
                        shutil.copyfileobj(member, target, CHUNK)


def _ensure_names_once(package: Package) -> None:
    if len(set(package.names)) < len(package.names):
        raise QbankError(
            f"'{package.path}' has two members of one name, so there is no saying which is read",
            hint="write the package again",
        )
