"""What is to be written where, and what a corrected copy reports."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any


class LeftAlone(Exception):  # noqa: N818 - says what happens to a key, is never shown as an error
    """Why a key is not touched; `str` of it is a sentence without its full stop."""


@dataclass(frozen=True, slots=True)
class Edit:
    """Bytes `start` to `end` of a member give way to `new`; `what` they state, in words."""

    start: int
    end: int
    new: bytes
    what: str


@dataclass(frozen=True, slots=True)
class Change:
    """One key that was replaced.

    member    the file of the bank it stands in; the bank's own name where that is one file
    old, new  the key as the bank wrote it and as the copy writes it
    band      the accepted band in the copy, where the bank states one
    notes     what still may state the old key
    value     the new number, where `new` is written as people write numbers and not machines
    """

    item: str
    part: str
    member: str
    old: str
    new: str
    band: tuple[str, str] | None = None
    notes: tuple[str, ...] = ()
    value: Decimal | None = None

    def __str__(self) -> str:
        band = f", accepted from {self.band[0]} to {self.band[1]}" if self.band else ""
        return f"{self.item}, {self.part}: {self.old} is now {self.new}{band}"


@dataclass(frozen=True, slots=True)
class Left:
    """A key proved wrong that was not touched, and why."""

    item: str
    part: str
    why: str

    def __str__(self) -> str:
        return f"{self.item}, {self.part}: left as it was, because {self.why}"


@dataclass(slots=True)
class CorrectionReport:
    """A corrected copy that is complete and in place.

    changes  in the order of the bank; every byte that they do not need is as it was
    left     keys proved wrong that a person has to mend
    """

    path: Path
    changes: list[Change] = field(default_factory=list)
    left: list[Left] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """The report as plain values."""
        return {
            "path": str(self.path),
            "changes": [
                {
                    "item": change.item,
                    "part": change.part,
                    "member": change.member,
                    "old": change.old,
                    "new": change.new,
                    "band": None if change.band is None else list(change.band),
                    "notes": list(change.notes),
                }
                for change in self.changes
            ],
            "left": [{"item": left.item, "part": left.part, "why": left.why} for left in self.left],
        }


class Edits:
    """Edits of one member, in the order of their places."""

    def __init__(self) -> None:
        self._starts: list[int] = []
        self._edits: list[Edit] = []

    def __iter__(self) -> Iterator[Edit]:
        return iter(self._edits)

    def add(self, edits: Sequence[Edit]) -> None:
        """Add all of them. Raises LeftAlone, with none added, where two edits share a place."""
        ordered = sorted(edits, key=lambda edit: edit.start)
        clash = any(b.start < a.end for a, b in pairwise(ordered))
        for edit in ordered:
            at = bisect_right(self._starts, edit.start)
            before = self._edits[at - 1 : at] if at else []
            after = self._edits[at : at + 1]
            clash = clash or any(other.end > edit.start for other in before)
            clash = clash or any(other.start < edit.end for other in after)
        if clash:
            raise LeftAlone("one place states two keys")
        for edit in ordered:
            at = bisect_right(self._starts, edit.start)
            self._starts.insert(at, edit.start)
            self._edits.insert(at, edit)


def apply(data: bytes, edits: Iterable[Edit]) -> bytes:
    """The bytes with all edits made. Raises LeftAlone where two of them overlap."""
    ordered = sorted(edits, key=lambda edit: edit.start)
    pieces: list[bytes] = []
    at = 0
    for edit in ordered:
        if edit.start < at:
            raise LeftAlone("one place states two keys")
        pieces += [data[at : edit.start], edit.new]
        at = edit.end
    return b"".join([*pieces, data[at:]])
