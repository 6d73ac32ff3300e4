"""The formats by name. A new format is a module and a line here, or another package's entry point.

A package outside this project adds a format by an entry point of the group `qbank.formats`. Its
name is that of the format; its value is a `Format`, or what makes one when called without
arguments. Nothing outside is looked for until a name is asked that is none of ours, and the names
here win over those outside.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import TYPE_CHECKING

from qbank.errors import QbankError
from qbank.formats.base import Format
from qbank.formats.cartridge import CartridgeFormat
from qbank.formats.csvtable import CsvFormat
from qbank.formats.dialects import DIALECTS
from qbank.formats.jsonl import JsonlFormat
from qbank.formats.qti import QtiFormat
from qbank.formats.qti12 import Qti12Format

if TYPE_CHECKING:
    from importlib.metadata import EntryPoint

GROUP = "qbank.formats"
FORMATS: dict[str, Format] = {
    **{name: QtiFormat(dialect) for name, dialect in DIALECTS.items()},
    "qti-1.2": Qti12Format(),
    "cartridge-1.3": CartridgeFormat(),
    "csv": CsvFormat(),
    "jsonl": JsonlFormat(),
}
_OFFERED = ("title", "capabilities", "file_name", "recognises", "writer", "validate", "read")


def find_format(name: str) -> Format:
    """The format of that name, ours or of another package.

    Raises QbankError, naming the nearest, when there is none, and naming the package when one
    outside cannot be used.
    """
    if name in FORMATS:
        return FORMATS[name]
    outside = _outside()
    if name in outside:
        return _loaded(name, outside[name])
    known = [*FORMATS, *outside]
    near = get_close_matches(name, known, n=1, cutoff=0.3)
    meant = f"did you mean '{near[0]}'? " if near else ""
    raise QbankError(
        f"there is no format '{name}'", hint=f"{meant}The formats are {', '.join(known)}."
    )


def format_names() -> list[str]:
    """The names of all formats, ours first; nothing of another package is run."""
    return [*FORMATS, *_outside()]


def has_outside() -> bool:
    """Whether any other package offers a format."""
    return bool(_outside())


def outside_formats() -> Iterator[Format | QbankError]:
    """The formats of other packages; in place of one that cannot be used, why."""
    for name, points in _outside().items():
        try:
            yield _loaded(name, points)
        except QbankError as fault:
            yield fault


def _outside() -> dict[str, list[EntryPoint]]:
    """The entry points of other packages by name, but for names of ours."""
    from importlib.metadata import entry_points  # noqa: PLC0415 - most runs need none

    found: dict[str, list[EntryPoint]] = {}
    for point in entry_points(group=GROUP):
        if point.name not in FORMATS:
            found.setdefault(point.name, []).append(point)
    return dict(sorted(found.items()))


def _loaded(name: str, points: list[EntryPoint]) -> Format:
    makers = sorted({_package(point) for point in points})
    if len(makers) > 1:
        raise QbankError(
            f"two packages offer a format '{name}': {' and '.join(makers)}",
            hint="uninstall one of them",
        )
    package = makers[0]
    mend = f"update or uninstall {package}, which is no part of qbank"
    try:
        offered = points[0].load()
        made = offered() if isinstance(offered, type) or not hasattr(offered, "writer") else offered
        missing = [part for part in _OFFERED if not hasattr(made, part)]
        called = getattr(made, "name", None)
    except (Exception, SystemExit) as fault:
        raise QbankError(
            f"the format '{name}' of the package {package} cannot be loaded: "
            f"{type(fault).__name__}: {fault}",
            hint=mend,
        ) from fault
    if missing or called != name:
        said = f"lacks {', '.join(missing)}" if missing else f"calls itself '{called}'"
        raise QbankError(f"the format '{name}' of the package {package} {said}", hint=mend)
    usable: Format = made
    return usable


def _package(point: EntryPoint) -> str:
    return point.dist.name if point.dist is not None else point.value
