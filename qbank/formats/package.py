"""Packages of anyone's making, read within bounds: a zip file or the folder it was unpacked to."""

from __future__ import annotations

import lzma
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from io import FileIO
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from qbank.errors import QbankError
from qbank.formats.skimming import PRESENT

MAX_MEMBERS = 2_000_000
MAX_MEMBER_BYTES = 1 << 31  # the manifest of a large bank; single items have their own bound
MAX_ITEM_BYTES = 16 << 20
# What all members together may unpack to: this many times the bytes of the zip file, and a bit
# that small files may have. Documents of markup shrink to a tenth; deflate reaches 1032 to 1.
MAX_RATIO = 250
FREE_BYTES = 32 << 20
# The start of a member: signature, flags, lengths of its name and of extras (APPNOTE, 4.3.7).
# From memory.
_LOCAL = struct.Struct("<4s2xH18xHH")
# How hard it was compressed, whether sizes follow the data, whether the name is UTF-8 (4.4.4).
_USUAL_FLAGS = 0x0002 | 0x0004 | 0x0008 | 0x0800
# What the zip reader raises for a directory that is damaged: it believes what it reads there.
_NO_ZIP = (
    OSError,
    ValueError,
    NotImplementedError,
    zipfile.BadZipFile,
    struct.error,
    OverflowError,
)


class Package:
    """A package to read: a zip file or a folder from anyone, within bounds.

    `links` names the symbolic links it holds; none is followed, and none is among `names`.

    Raises QbankError when it is neither, or holds a path that leaves it, too many members, a
    member larger than 2 GB, or members that unpack to far more than the file could honestly hold.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._zip: zipfile.ZipFile | None = None
        self._raw: FileIO | None = None
        self.links: list[str] = []
        self._known: frozenset[str] | None = None
        if path.is_dir():
            found = sorted(path.rglob("*"))
            self.links = [p.relative_to(path).as_posix() for p in found if p.is_symlink()]
            files = [p for p in found if not p.is_symlink() and p.is_file()]
            self.names = [p.relative_to(path).as_posix() for p in files[: MAX_MEMBERS + 1]]
        else:
            try:
                self._zip = zipfile.ZipFile(path)
            except _NO_ZIP as fault:
                said = getattr(fault, "strerror", None) or fault
                raise QbankError(
                    f"cannot read the package '{path}': {said}",
                    hint="expected a zip file or the folder it was unpacked to",
                ) from fault
            entries = self._zip.infolist()
            self.links = [e.filename for e in entries if stat.S_ISLNK(e.external_attr >> 16)]
            self.names = [e.filename for e in entries if not e.is_dir()]
        try:
            self._ensure_bounds()
        except QbankError:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        if self._zip is not None:
            self._zip.close()
        if self._raw is not None:
            self._raw.close()

    def holds(self, name: str) -> bool:
        """Whether there is a member of that name."""
        if self._known is None:
            self._known = frozenset(self.names)
        return name in self._known

    def size(self, name: str) -> int:
        """The number of bytes of a member, as the package says."""
        if self._zip is not None:
            return self._zip.getinfo(name).file_size
        return self._file(name).stat().st_size

    def _file(self, name: str) -> Path:
        """Where a member of a folder lies. Raises QbankError for what is none: a name from a
        document could lead out of the folder."""
        if not self.holds(name):
            raise self._damaged(name, FileNotFoundError("there is no such member"))
        return self.path / name

    def read(self, name: str, limit: int = MAX_ITEM_BYTES) -> bytes:
        """A member's bytes. Raises QbankError when there are more than `limit`."""
        if self._zip is not None and (usual := self._inflated(name, limit)) is not None:
            return usual
        with self.open(name) as member:
            data = member.read(limit + 1)
        if len(data) > limit:
            raise self._too_large(name, limit)
        return data

    def _inflated(self, name: str, limit: int) -> bytes | None:
        """A member of a zip file in one go, in half the time that the zip reader takes.

        None where anything about it is unusual or wrong: the zip reader decides what that means.
        Never inflates more than the directory says, nor more than `limit`.
        """
        assert self._zip is not None  # noqa: S101 - what calls this has asked
        entry = self._zip.NameToInfo.get(name)
        if (
            entry is None
            or entry.compress_type != zipfile.ZIP_DEFLATED
            or entry.flag_bits & ~_USUAL_FLAGS
            or entry.file_size > limit
            or not 0 <= entry.compress_size <= MAX_ITEM_BYTES
        ):
            return None
        try:
            if self._raw is None:
                self._raw = self.path.open("rb", buffering=0)
            name_bytes = entry.orig_filename.encode("utf-8" if entry.flag_bits & 0x800 else "cp437")
            self._raw.seek(entry.header_offset)
            wanted = _LOCAL.size + len(name_bytes) + entry.compress_size
            found = self._raw.read(wanted + len(entry.extra) + 64)
            signature, flags, length, extra = _LOCAL.unpack_from(found)
            start = _LOCAL.size + length + extra
            packed = found[start : start + entry.compress_size]
            if (
                signature != b"PK\x03\x04"
                or flags & ~_USUAL_FLAGS
                or found[_LOCAL.size : _LOCAL.size + length] != name_bytes
            ):
                return None
            data = zlib.decompressobj(-zlib.MAX_WBITS).decompress(packed, entry.file_size + 1)
        except (*_NO_ZIP, zlib.error):
            return None
        if len(data) != entry.file_size or zlib.crc32(data) != entry.CRC:
            return None
        return data

    def glance(self, name: str) -> bytes:
        """What stands for a member's bytes where they are not wanted: nothing for none.

        Raises QbankError as `read` does, but for a member whose bytes are damaged.
        """
        try:
            size = self.size(name)
        except (OSError, ValueError, KeyError) as fault:
            raise self._damaged(name, fault) from fault
        if size > MAX_ITEM_BYTES:
            raise self._too_large(name, MAX_ITEM_BYTES)
        return PRESENT if size else b""

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        """A member as a stream of bytes."""
        try:
            stream: IO[bytes] = (
                self._zip.open(name) if self._zip is not None else self._file(name).open("rb")
            )
        except (*_NO_ZIP, KeyError, RuntimeError) as fault:
            raise self._damaged(name, fault) from fault
        try:
            with stream:
                yield stream
        except (OSError, zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError) as fault:
            raise self._damaged(name, fault) from fault

    def _damaged(self, name: str, fault: Exception) -> QbankError:
        return QbankError(
            f"cannot read '{name}' in '{self.path}': {fault}",
            hint="the package is damaged; write or download it again",
        )

    def _too_large(self, name: str, limit: int) -> QbankError:
        return QbankError(
            f"'{name}' in '{self.path}' has more than {limit >> 20} MB",
            hint="no item is that large; the package is damaged or hostile",
        )

    def _ensure_bounds(self) -> None:
        if len(self.names) > MAX_MEMBERS:
            raise QbankError(
                f"'{self.path}' has more than {MAX_MEMBERS} members", hint="split the bank"
            )
        for name in self.names:
            parts = name.split("/")
            if name.startswith("/") or "\\" in name or ".." in parts or ":" in parts[0]:
                raise QbankError(
                    f"'{self.path}' has a member '{name}' whose path leaves the package",
                    hint="member paths are relative, use '/' and hold no '..'",
                )
            if self.size(name) > MAX_MEMBER_BYTES:
                raise QbankError(f"'{name}' in '{self.path}' has more than 2 GB")
        if self._zip is not None:
            self._ensure_honest(self._zip.infolist())

    def _ensure_honest(self, entries: list[zipfile.ZipInfo]) -> None:
        """Refuse a zip bomb by what it declares; the zip reader never inflates more than that."""
        held = self.path.stat().st_size
        inflated = sum(entry.file_size for entry in entries)
        packed = sum(entry.compress_size for entry in entries)
        if inflated > MAX_RATIO * held + FREE_BYTES or packed > held:
            raise QbankError(
                f"'{self.path}' has {held} bytes and says it unpacks to {inflated}",
                hint="no honest package shrinks so far or holds members within each other",
            )


class LooseFile(Package):
    """A single document outside any package, with the files that lie beside it.

    `names` holds the document alone. Files beside it are read when they are asked for; what lies
    outside its folder, or is reached through a symbolic link, is not.
    """

    def __init__(self, path: Path) -> None:
        self.path = path.parent
        self._zip = None
        self._raw = None
        self.links = []
        self.names = [path.name]

    def holds(self, name: str) -> bool:
        """Whether a file of that name lies within the document's folder."""
        parts = name.split("/")
        if not name or name.startswith("/") or "\\" in name or ".." in parts or "\0" in name:
            return False
        path = self.path
        for part in parts:
            path = path / part
            if path.is_symlink():
                return False
        return path.is_file()

    def _file(self, name: str) -> Path:
        if not self.holds(name):
            raise QbankError(f"there is no file '{name}' beside the document in '{self.path}'")
        return self.path / name
