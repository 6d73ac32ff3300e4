"""What several commands share: reading FAMILY arguments, tables, progress."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import click

from qbank.errors import FamilyError

if TYPE_CHECKING:
    from qbank.family.model import Family
    from qbank.formats.base import WriteReport

_Command = TypeVar("_Command", bound=Callable[..., Any])

seed_option = click.option(
    "--seed",
    default=0,
    show_default=True,
    type=click.IntRange(0, 2**63 - 1),
    help="Instance k of a family depends on the family, this number and k alone.",
)
language_option = click.option(
    "--language",
    metavar="CODE",
    help="The language of the text, such as de, where a family has several; else its own.",
)
column_option = click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="ROLE=HEADER",
    help="For a table: which column holds what, such as key=Answer. Several times for several.",
)
unpacked_option = click.option(
    "--unpacked", is_flag=True, help="Write folders of files in place of single files."
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for a script.")


def out_option(default: str) -> Callable[[_Command], _Command]:
    """The `--out` of commands that write packages."""
    return click.option(
        "--out",
        default=default,
        show_default=True,
        type=click.Path(path_type=Path),
        help="The folder to write to; made if missing.",
    )


def open_family(name_or_path: str, language: str | None = None) -> Family:
    """The family of a FAMILY argument: a shipped family's name or the path of a file.

    Raises FamilyError; where the file has several faults, one that tells them all.
    """
    from qbank.family.library import find_family
    from qbank.family.loader import load_family

    path = find_family(name_or_path)
    try:
        return load_family(path, language)
    except FamilyError as fault:
        raise _with_others(path, fault) from None


def _with_others(path: Path, fault: FamilyError) -> FamilyError:
    """The fault together with all others of the file that can be told."""
    from qbank.vetting.faults import read_faults

    try:
        faults, whole = read_faults(path)
    except FamilyError:  # not even YAML
        return fault
    return SeveralFaults(faults, whole) if len(faults) > 1 else fault


class SeveralFaults(FamilyError):  # noqa: N818 - says what was found
    """Faults of one family file, told one below the other; `whole` where these are all."""

    def __init__(self, faults: Sequence[FamilyError], whole: bool) -> None:
        super().__init__(f"{len(faults)} faults")
        told = sorted(faults, key=lambda fault: fault.place or ("", 0, 0))
        heading = f"the family has {len(faults)} faults; one may be the cause of others"
        self._lines = [heading, *map(str, told)]
        if not whole:
            self._lines.append("More may come to light when these are mended.")

    def __str__(self) -> str:
        return "\n".join(self._lines)


def open_families(names_or_paths: Sequence[str], language: str | None = None) -> list[Family]:
    """The families of FAMILY arguments; without any, the shipped ones that have the language."""
    from qbank.family.library import shipped_families
    from qbank.family.loader import load_family

    if names_or_paths:
        return [open_family(name, language) for name in names_or_paths]
    loaded = [load_family(path) for path in shipped_families()]
    if language is None:
        return loaded
    able = [load_family(f.place.file, language) for f in loaded if language in f.languages]
    if not able:
        has = ", ".join(sorted({code for family in loaded for code in family.languages}))
        raise click.UsageError(f"no shipped family has text in '{language}'; there is {has}")
    return able


def column_roles(columns: Sequence[str]) -> dict[str, str] | None:
    """`key=Answer` as {"key": "Answer"}; raises UsageError for what is no assignment."""
    given: dict[str, str] = {}
    for argument in columns:
        role, equals, header = (part.strip() for part in argument.partition("="))
        if not equals or not role or not header:
            raise click.UsageError(
                f"expected --column ROLE=HEADER, such as key=Answer, but got '{argument}'"
            )
        if role in given:
            raise click.UsageError(f"--column names '{role}' twice; give each role one column")
        given[role] = header
    return given or None


def print_json(value: Any) -> None:
    """One JSON document on standard output; NaN and infinity never occur in it."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False))


def counted(count: int, noun: str) -> str:
    """A number with its noun.

    >>> counted(1, "item"), counted(1200, "item")
    ('1 item', '1,200 items')
    """
    return f"{count:,} {noun}{'' if count == 1 else 's'}"


def written(package: WriteReport) -> str:
    """A line on a package that was written."""
    files = counted(package.members, "file")
    return f"{package.path}: {counted(package.items, 'item')}, {files} validated."


def table(header: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Rows in columns two spaces apart; the columns numbered in `right` are right-aligned."""
    widths = [max(len(row[i]) for row in [header, *rows]) for i in range(len(header))]

    def line(cells: Sequence[str]) -> str:
        padded = (
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(cells, widths, strict=True))
        )
        return "  ".join(padded).rstrip()

    return "\n".join([line(header), line(["-" * width for width in widths]), *map(line, rows)])


class Advance(Protocol):
    """Called with how many more units of work are done."""

    def __call__(self, steps: int, /) -> None: ...


@contextmanager
def progress(length: int, label: str) -> Iterator[Advance]:
    """A progress bar on standard error when that is a terminal; silent otherwise."""
    if not sys.stderr.isatty():
        yield lambda _steps: None
        return
    with click.progressbar(length=length, label=label, file=sys.stderr) as bar:
        yield bar.update
