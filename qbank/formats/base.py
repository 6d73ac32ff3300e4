"""What every format offers, what it cannot say, and what writing a bank reports."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, runtime_checkable

from qbank.formats.archive import Archive
from qbank.formats.package import Package
from qbank.item import BankInfo, Item


@dataclass(frozen=True, slots=True)
class Capabilities:
    """What a format carries; `losses` says in words what is not read back as it was written.

    `adaptive_hints`: hints on request make an item adaptive, which many platforms do not handle.
    `zipped`: people expect a zip file; a table is wanted as a file to open.
    `single_file`: what is not unpacked is one file, no zip file.
    `arranging`: entries can be put in order and sources matched with targets.
    `unkeyed`: a part whose key nobody stated can be written.
    """

    tolerance: bool
    several_parts: bool
    feedback: bool
    hints: bool
    mathml: bool
    pools: bool
    adaptive_hints: bool = False
    zipped: bool = True
    single_file: bool = False
    unkeyed: bool = False
    arranging: bool = True
    losses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WriteReport:
    """A package that is complete and in place.

    `members` counts its files; each was validated before the package was moved into place.
    `notes` say what became of what the format has no place for, and how often.
    """

    path: Path
    format: str
    items: int
    members: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault of a package: which rule, in which member, what was found.

    `rule` is a stable code, `grammar:element` for a rule of a grammar and `subject.rule` for
    one across elements or files; `source` says where the rule comes from, as far as stated.
    """

    rule: str
    member: str
    message: str
    line: int | None = None
    source: str = ""

    def __str__(self) -> str:
        place = self.member if self.line is None else f"{self.member}:{self.line}"
        note = f" ({self.source})" if self.source else ""
        return f"{place}: {self.rule}: {self.message}{note}"


class BankWriter(Protocol):
    """Takes the items of a bank one by one and completes the package at the end."""

    def add(self, item: Item) -> None:
        """Write one item. Raises CheckFailed when what it wrote breaks a rule."""

    def finish(self) -> None:
        """Write and validate what describes the package as a whole."""


@runtime_checkable
class NotingWriter(Protocol):
    """A writer that has something to tell of the package when it is finished."""

    @property
    def notes(self) -> tuple[str, ...]: ...


class Format(Protocol):
    """One file format: its name, what it carries, and both directions."""

    @property
    def name(self) -> str: ...

    @property
    def title(self) -> str: ...

    @property
    def capabilities(self) -> Capabilities: ...

    def file_name(self, title: str, unpacked: bool) -> str:
        """What a package of the bank `title` is called on disk."""

    def recognises(self, package: Package) -> bool:
        """Whether a package says it has this format."""

    def writer(self, info: BankInfo, archive: Archive) -> BankWriter: ...

    def validate(self, package: Package) -> Iterator[Finding]:
        """Every fault of a package in this format."""

    def read(self, package: Package) -> Iterator[Item]:
        """The items of a package, one at a time, in its own order."""


@runtime_checkable
class Skimming(Protocol):
    """A format that can read stems and keys without the rest of its items."""

    def skim(self, package: Package) -> Iterator[Item]:
        """The items as `read` gives them, save what `skimmed` leaves out."""


def package_name(title: str, format_name: str, unpacked: bool) -> str:
    """A file or folder name for a bank: letters, digits, dots, hyphens and underscores.

    >>> package_name("Mock exam 1", "qti-3.0", unpacked=False)
    'Mock-exam-1-qti-3.0.zip'
    """
    stem = re.sub(r"[^\w.-]+", "-", title).strip("-.") or "bank"
    return f"{stem[:100]}-{format_name}" + ("" if unpacked else ".zip")


def as_ncname(text: str) -> str:
    """A text as an XML name without colon (NCName) of ASCII letters, digits, `.`, `-`, `_`.

    >>> as_ncname("3 drums")
    '_3-drums'
    """
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", text).strip("-") or "bank"
    return name if re.match(r"[A-Za-z_]", name) else f"_{name}"
