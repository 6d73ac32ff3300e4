"""Whether a format can say an item, found out by writing it to nowhere."""

from __future__ import annotations

import io
from pathlib import Path
from typing import IO

from qbank.errors import CheckFailed, QbankError
from qbank.formats.base import BankWriter, Format
from qbank.formats.soundness import ensure_sound, is_keyed
from qbank.item import BankInfo, Item, Pool

_ENDLESS = 1 << 40


class Trial:
    """Writes items of any kind to nowhere and says of each whether it went.

    Memory grows by the hash of a name an item.
    """

    def __init__(self, target: Format) -> None:
        self._target = target
        self._sink = _Sink()
        self._writer: BankWriter | None = None
        self._parts = 0
        self._names: set[int] = set()

    def refusal(self, item: Item) -> str | None:
        """Why the format cannot take an item, after those that it took; None when it can."""
        if hash(item.identifier) in self._names:
            return f"an item before it is called '{item.identifier}' too"
        unkeyed = self._target.capabilities.unkeyed
        bare = [part.identifier for part in item.parts if not is_keyed(part)]
        if bare and not unkeyed:
            return f"part '{bare[0]}' has no key, and this format scores every part"
        try:
            ensure_sound(item, unkeyed=unkeyed)
            self._writer_for(item).add(item)
        except QbankError as fault:
            self._writer = None  # it may have stopped half-way
            hint = f" ({' '.join(fault.hint.split())[:200]})" if fault.hint else ""
            return fault.message + hint
        self._names.add(hash(item.identifier))
        return None

    def _writer_for(self, item: Item) -> BankWriter:
        """A writer with room for as many parts; a table has columns for no more."""
        if self._writer is None or len(item.parts) > self._parts:
            self._parts = max(self._parts, len(item.parts))
            pool = Pool("trial", "trial", _ENDLESS, self._parts)
            info = BankInfo("trial", "trial", "und", (pool,))
            self._writer = self._target.writer(info, self._sink)
        return self._writer


class _Sink:
    """An archive that keeps nothing but the names of its members, as hashes."""

    destination = Path("nowhere")

    def __init__(self) -> None:
        self.members = 0
        self._names: set[int] = set()

    def add(self, path: str, data: bytes) -> None:  # noqa: ARG002 - the archive's protocol
        if hash(path) in self._names:
            raise CheckFailed(f"two members are called '{path}'")
        self._names.add(hash(path))
        self.members += 1

    def add_file(self, path: str, source: IO[bytes]) -> None:  # noqa: ARG002 - see `add`
        self.add(path, b"")

    def spool(self) -> IO[bytes]:
        return io.BufferedWriter(_Void())  # nobody reads it

    def holds(self, path: str) -> bool:
        return hash(path) in self._names


class _Void(io.RawIOBase):
    def writable(self) -> bool:
        return True

    def write(self, data: object) -> int:
        return len(memoryview(data))  # type: ignore[arg-type]  # bytes of some kind
