"""Validating a package of any format the tool knows, whoever wrote it."""

from __future__ import annotations

from pathlib import Path

from qbank.errors import QbankError
from qbank.formats.base import Finding, Format
from qbank.formats.package import Package
from qbank.formats.registry import FORMATS


def validate_package(path: Path) -> list[Finding]:
    """Every fault of the package at `path`, a zip file or a folder; an empty list for none.

    Raises QbankError when there is no package or its format cannot be told.
    """
    with Package(Path(path)) as package:
        return list(format_of(package).validate(package))


def format_of(package: Package) -> Format:
    """The format a package says it has. Raises QbankError when it says none we know."""
    for candidate in FORMATS.values():
        if candidate.recognises(package):
            return candidate
    raise QbankError(
        f"cannot tell the format of '{package.path}'",
        hint="expected imsmanifest.xml of a known QTI package, or items.csv with its description",
    )
