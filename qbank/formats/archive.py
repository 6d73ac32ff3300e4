"""Packages on disk, written whole or not at all, and the same members each time.

A package is a zip file, a bare file of one member or, unpacked, a folder. Members get a fixed date
and order. Everything is written under a temporary name beside the destination and moved into
place by `commit`; leaving the `with` block before that removes what was written.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
import struct
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import IO, Protocol, Self

from qbank.errors import CheckFailed, OutputError

# The earliest date a zip file can say, so that no clock enters the bytes.
FIXED_DATE = (1980, 1, 1, 0, 0, 0)
# Of an item's text zlib's level 5 makes 2 % more than the usual 6, in 4/5 of the time.
ITEM_LEVEL = 5
CHUNK = 1 << 20


class Archive(Protocol):
    """Where a writer puts members; paths use `/` and never leave the package."""

    def add(self, path: str, data: bytes) -> None: ...

    def add_file(self, path: str, source: IO[bytes]) -> None:
        """Copy a spooled file, from its start, into the package."""

    def spool(self) -> IO[bytes]:
        """A nameless temporary file on the destination's disk, gone when it is closed."""

    def holds(self, path: str) -> bool:
        """Whether a member of that path was added."""

    @property
    def members(self) -> int:
        """How many members were added."""

    @property
    def destination(self) -> Path: ...


class _Writing:
    """The temporary name, the move into place, and the faults of a disk as OutputError."""

    def __init__(self, destination: Path) -> None:
        self.destination = destination
        self.members = 0
        self._folder = destination.parent
        mark = f"{os.getpid()}-{secrets.token_hex(4)}"
        self._part = self._folder / f".{destination.name}.{mark}.part"
        self._spools: list[IO[bytes]] = []

    def spool(self) -> IO[bytes]:
        with disk_faults(self.destination):
            # Not a `with` block: the caller fills it over the life of the archive.
            file = tempfile.TemporaryFile(dir=self._folder)  # noqa: SIM115
        self._spools.append(file)
        return file

    def _close_spools(self) -> None:
        for file in self._spools:
            try:
                file.close()
            except OSError:  # a full disk refuses the last buffer of a file that is dropped anyway
                continue


class _Directory:
    """The members of a zip file, packed into a spooled file; a ZipInfo each would take 400 bytes.

    It stands in for `ZipFile.filelist` and `ZipFile.NameToInfo`, of which a zip file in the
    making needs no more than this: memory must not grow with the number of items.
    """

    _RECORD = struct.Struct("<QQQQH")

    def __init__(self, spool: IO[bytes]) -> None:
        self._spool = spool
        self._count = 0
        self._names: set[int] = set()

    def append(self, entry: zipfile.ZipInfo) -> None:
        name = entry.filename.encode()
        numbers = (entry.header_offset, entry.CRC, entry.compress_size, entry.file_size)
        self._spool.write(self._RECORD.pack(*numbers, len(name)) + name)
        self._count += 1

    def __iter__(self) -> Iterator[zipfile.ZipInfo]:
        self._spool.seek(0)
        while record := self._spool.read(self._RECORD.size):
            offset, crc, compressed, size, length = self._RECORD.unpack(record)
            entry = _entry(self._spool.read(length).decode())
            entry.header_offset, entry.CRC = offset, crc
            entry.compress_size, entry.file_size = compressed, size
            yield entry

    def __len__(self) -> int:
        return self._count

    def __setitem__(self, name: str, entry: zipfile.ZipInfo) -> None:
        self._names.add(hash(name))

    def __contains__(self, name: str) -> bool:
        return hash(name) in self._names


class ZipArchive(_Writing):
    """A zip file in the making."""

    def __init__(self, destination: Path) -> None:
        super().__init__(destination)
        with disk_faults(destination):
            _ensure_no_folder(destination)
            self._file = self._part.open("xb")
        self._zip = zipfile.ZipFile(self._file, "w", zipfile.ZIP_DEFLATED)
        self._directory = _Directory(self.spool())
        self._zip.filelist = self._directory  # type: ignore[assignment]  # see _Directory
        self._zip.NameToInfo = self._directory  # type: ignore[assignment]  # the same

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._close_spools()
        # Without its file the zip does not try to write a directory when it is collected.
        self._zip.fp = None
        try:
            self._file.close()
        except OSError:  # see _close_spools
            pass
        finally:
            self._part.unlink(missing_ok=True)

    def add(self, path: str, data: bytes) -> None:
        if path in self._directory:
            raise CheckFailed(f"two members are called '{path}'")
        with disk_faults(self.destination):
            self._zip.writestr(_entry(path), data, compresslevel=ITEM_LEVEL)
        self.members += 1

    def add_file(self, path: str, source: IO[bytes]) -> None:
        with disk_faults(self.destination):
            source.seek(0)
            with self._zip.open(_entry(path), "w", force_zip64=True) as member:
                shutil.copyfileobj(source, member, CHUNK)
        self.members += 1

    def holds(self, path: str) -> bool:
        return path in self._directory

    def commit(self) -> None:
        """Complete the file and move it over the destination in one step."""
        with disk_faults(self.destination):
            self._zip.close()
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
            self._part.replace(self.destination)


class FileArchive(_Writing):
    """A package of one member as a bare file in the making, under the destination's name."""

    def __init__(self, destination: Path) -> None:
        super().__init__(destination)
        self._member = ""
        with disk_faults(destination):
            _ensure_no_folder(destination)
            self._file = self._part.open("xb")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._close_spools()
        try:
            self._file.close()
        except OSError:  # see _close_spools
            pass
        finally:
            self._part.unlink(missing_ok=True)

    def add(self, path: str, data: bytes) -> None:
        self._ensure_first(path)
        with disk_faults(self.destination):
            self._file.write(data)

    def add_file(self, path: str, source: IO[bytes]) -> None:
        self._ensure_first(path)
        with disk_faults(self.destination):
            source.seek(0)
            shutil.copyfileobj(source, self._file, CHUNK)

    def holds(self, path: str) -> bool:
        return path == self._member

    def commit(self) -> None:
        """Complete the file and move it over the destination in one step."""
        with disk_faults(self.destination):
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
            self._part.replace(self.destination)

    def _ensure_first(self, path: str) -> None:
        if self.members:
            raise CheckFailed(f"a package of one file has two members, the second '{path}'")
        self._member = path
        self.members = 1


class FolderArchive(_Writing):
    """A folder in the making; replaces only a folder that holds a package."""

    def __init__(self, destination: Path) -> None:
        super().__init__(destination)
        with disk_faults(destination):
            _ensure_replaceable(destination)
            self._part.mkdir()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._close_spools()
        shutil.rmtree(self._part, ignore_errors=True)

    def add(self, path: str, data: bytes) -> None:
        with disk_faults(self.destination), self._target(path).open("xb") as member:
            member.write(data)
        self.members += 1

    def add_file(self, path: str, source: IO[bytes]) -> None:
        with disk_faults(self.destination):
            source.seek(0)
            with self._target(path).open("xb") as member:
                shutil.copyfileobj(source, member, CHUNK)
        self.members += 1

    def holds(self, path: str) -> bool:
        return (self._part / path).is_file()

    def commit(self) -> None:
        """Move the folder into place; the old one is set aside first and put back on a fault."""
        aside = self._part.with_suffix(".old")
        with disk_faults(self.destination):
            existed = self.destination.exists()
            if existed:
                self.destination.replace(aside)
            try:
                self._part.replace(self.destination)
            except BaseException:
                if existed:
                    aside.replace(self.destination)
                raise
            shutil.rmtree(aside, ignore_errors=True)

    def _target(self, path: str) -> Path:
        target = self._part / path
        if not target.parent.is_dir():
            target.parent.mkdir(parents=True)
        return target


def _entry(path: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(path, FIXED_DATE)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system = 3  # as on Unix, whatever the machine
    entry.external_attr = 0o644 << 16
    return entry


PACKAGE_MARKS = ("imsmanifest.xml", "items.csv-metadata.json", "items.jsonl")


def _ensure_no_folder(destination: Path) -> None:
    """Raise OutputError where a file would have to replace a folder."""
    if destination.is_dir():
        raise OutputError(
            f"cannot write '{destination}': a folder of that name exists",
            hint="remove the folder, or choose another output folder or name",
        )


def _ensure_replaceable(destination: Path) -> None:
    """Raise OutputError unless nothing or an earlier package would be replaced."""
    if not destination.exists():
        return
    if not destination.is_dir():
        raise OutputError(
            f"cannot write the folder '{destination}': a file of that name exists",
            hint="remove the file, or choose another output folder or name",
        )
    if any(destination.iterdir()) and not any((destination / m).exists() for m in PACKAGE_MARKS):
        raise OutputError(
            f"cannot write the folder '{destination}': it holds files that are not a package",
            hint="choose another output folder or name; only an earlier package is replaced",
        )


_MENDS = {
    errno.ENOSPC: "free some space on that disk, or choose another folder with --out",
    errno.EDQUOT: "free some of your quota on that disk, or choose another folder with --out",
    errno.EACCES: "choose a folder you may write to with --out",
    errno.EPERM: "choose a folder you may write to with --out",
    errno.EROFS: "choose a folder you may write to with --out",
    errno.ENOENT: "make the folder first, or choose another with --out",
    errno.ENOTDIR: "a part of that path is a file; choose another folder with --out",
    errno.ENAMETOOLONG: "choose a shorter name with --name",
}


@contextmanager
def disk_faults(destination: Path) -> Iterator[None]:
    """Turn a fault of the disk into OutputError with the mend."""
    try:
        yield
    except OSError as fault:
        raise OutputError(
            f"cannot write '{destination}': {fault.strerror or fault}",
            hint=_MENDS.get(fault.errno or 0, "check the disk and the folder's permissions"),
        ) from fault
