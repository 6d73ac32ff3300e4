"""Packages of anyone's making, read within bounds: a zip file or the folder it was unpacked to."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from qbank.errors import QbankError

MAX_MEMBERS = 2_000_000
MAX_MEMBER_BYTES = 1 << 31  # the manifest of a large bank; single items have their own bound
MAX_ITEM_BYTES = 16 << 20


class Package:
    """A package to read: a zip file or a folder from anyone, within bounds.

    Raises QbankError when it is neither, or holds a path that leaves it, too many members or a
    member larger than 2 GB.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._zip: zipfile.ZipFile | None = None
        if path.is_dir():
            files = sorted(p for p in path.rglob("*") if p.is_file() and not p.is_symlink())
            self.names = [p.relative_to(path).as_posix() for p in files[: MAX_MEMBERS + 1]]
        else:
            try:
                self._zip = zipfile.ZipFile(path)
            except (OSError, zipfile.BadZipFile) as fault:
                said = getattr(fault, "strerror", None) or fault
                raise QbankError(
                    f"cannot read the package '{path}': {said}",
                    hint="expected a zip file or the folder it was unpacked to",
                ) from fault
            self.names = [e.filename for e in self._zip.infolist() if not e.is_dir()]
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

    def size(self, name: str) -> int:
        """The number of bytes of a member, as the package says."""
        if self._zip is not None:
            return self._zip.getinfo(name).file_size
        return (self.path / name).stat().st_size

    def read(self, name: str, limit: int = MAX_ITEM_BYTES) -> bytes:
        """A member's bytes. Raises QbankError when there are more than `limit`."""
        with self.open(name) as member:
            data = member.read(limit + 1)
        if len(data) > limit:
            raise QbankError(
                f"'{name}' in '{self.path}' has more than {limit >> 20} MB",
                hint="no item is that large; the package is damaged or hostile",
            )
        return data

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        """A member as a stream of bytes."""
        try:
            stream: IO[bytes] = (
                self._zip.open(name) if self._zip is not None else (self.path / name).open("rb")
            )
        except (OSError, KeyError, zipfile.BadZipFile, NotImplementedError, RuntimeError) as fault:
            raise self._damaged(name, fault) from fault
        try:
            with stream:
                yield stream
        except (OSError, zipfile.BadZipFile, zlib.error, EOFError) as fault:
            raise self._damaged(name, fault) from fault

    def _damaged(self, name: str, fault: Exception) -> QbankError:
        return QbankError(
            f"cannot read '{name}' in '{self.path}': {fault}",
            hint="the package is damaged; write or download it again",
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
