"""Validating a package of any format the tool knows, whoever wrote it."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

from qbank.errors import QbankError
from qbank.formats.base import Finding, Format
from qbank.formats.jsonl_readback import ENDING
from qbank.formats.package import LooseFile, Package
from qbank.formats.registry import FORMATS, has_outside, outside_formats


def validate_package(path: Path) -> list[Finding]:
    """Every fault of the package at `path`, a zip file, a folder or a single file; an empty list
    for none.

    Raises QbankError when there is no package or its format cannot be told.
    """
    with open_package(Path(path)) as package:
        return list(format_of(package).validate(package))


def open_package(path: Path) -> Package:
    """The package at `path`, be it a zip file, a folder, or the one file of a format of that kind.

    Raises QbankError where there is none.
    """
    try:
        bare = path.is_file() and not zipfile.is_zipfile(path)
    except OSError:
        bare = False
    if bare:
        loose = LooseFile(path)
        if path.suffix == ENDING or next(_claiming(loose, []), None) is not None:
            return loose
    return Package(path)


def format_of(package: Package) -> Format:
    """The format a package says it has. Raises QbankError when it says none we know."""
    broken: list[str] = []
    for claiming in _claiming(package, broken):
        return claiming
    expected = (
        "expected imsmanifest.xml of a known QTI package, items.csv with its description, or JSON "
        "Lines with a header"
    )
    raise QbankError(
        f"cannot tell the format of '{package.path}'", hint="; ".join([expected, *broken])
    )


def outside_format_of(path: Path) -> Format | None:
    """The format of another package that a bank has; None where one of ours claims it or none."""
    if not has_outside():
        return None
    try:
        with open_package(path) as package:
            found = next(_claiming(package, []), None)
    except QbankError:
        return None
    return None if found is None or found.name in FORMATS else found


def _claiming(package: Package, broken: list[str]) -> Iterator[Format]:
    """The formats that recognise a package, ours first; `broken` gets why others cannot say."""
    for ours in FORMATS.values():
        if ours.recognises(package):
            yield ours
    for outside in outside_formats():
        if isinstance(outside, QbankError):
            broken.append(outside.message)
            continue
        try:
            claimed = outside.recognises(package)
        except Exception as fault:  # noqa: BLE001 - code from outside may raise anything
            broken.append(f"the format '{outside.name}' fails: {type(fault).__name__}: {fault}")
            continue
        if claimed:
            yield outside
