"""`qbank check`: wrong keys and other findings in an existing bank."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from qbank.cli.common import column_option, column_roles, json_option, print_json
from qbank.cli.show import terminal_width
from qbank.errors import CheckFailed, OutputError, QbankError

if TYPE_CHECKING:
    from qbank.audit.correction.changes import CorrectionReport
    from qbank.audit.verdict import Audit
    from qbank.formats.tables.reading import TableReading
    from qbank.item import Item

_TABLES = (".csv", ".tsv", ".tab", ".txt")
_SHEETS = (".xlsx", ".xlsm", ".xls", ".ods", ".numbers")
_ENDINGS = (".html", ".csv", ".json")


@click.command("check")
@click.argument("bank", type=click.Path(path_type=Path))
@click.option(
    "--family",
    "families",
    multiple=True,
    metavar="FAMILY",
    help="A family's name or file to solve the items with; may be given several times. If left "
    "out: the shipped families.",
)
@click.option(
    "--bind",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A binding file: how quantities stand in the stems.",
)
@click.option(
    "--save-binding",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write how the stems were read as a binding file, to confirm and to use again.",
)
@column_option
@click.option(
    "--report",
    "reports",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write a report too: .html to read, .csv for a spreadsheet, .json for a script.",
)
@click.option(
    "--corrected",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="Write a copy of the bank in which the keys proved wrong are replaced, and nothing else.",
)
@click.option("--all", "show_all", is_flag=True, help="Show every finding, not only the worst.")
@json_option
def check_command(
    bank: Path,
    families: tuple[str, ...],
    bind: Path | None,
    save_binding: Path | None,
    columns: tuple[str, ...],
    reports: tuple[Path, ...],
    corrected: Path | None,
    show_all: bool,
    as_json: bool,
) -> int:
    """Find wrong keys in a bank of anyone's making.

    BANK is a package, a folder, a table or a single item's file. Its items are solved again
    where a family fits; each finding says what it rests on. The bank itself is never changed.

    Exits with 0 when nothing was found, with 1 when there are findings, and with 2 when the bank
    could not be read or nothing in it could be checked.

    \b
    Example:  qbank check midterm.zip --report findings.html --corrected midterm-mended.zip
    """
    from qbank.audit.correction.copying import ensure_apart
    from qbank.audit.correction.correcting import correct_bank
    from qbank.audit.report.worst import count
    from qbank.formats.textfile import write_text

    roles = column_roles(columns)
    _ensure_no_workbook(bank)
    _ensure_writable([*reports, *filter(None, (save_binding,))], bank, families)
    if corrected is not None:
        ensure_apart(bank, corrected)
    for report in reports:
        if report.suffix.lower() not in _ENDINGS:
            raise click.UsageError(
                f"expected --report to end in {', '.join(_ENDINGS)}, but got '{report}'"
            )
    with _progress() as advance:
        audit = _check(bank, families, bind, roles, advance)
    correction, failed = None, None
    if corrected is not None:
        try:
            correction = correct_bank(
                bank,
                audit,
                corrected,
                read=partial(_read, columns=roles),
                table=_table(bank, roles),
            )
        except CheckFailed as fault:  # what was found is told all the same
            failed = fault
    for report in reports:
        write_text(report, [_report(audit, report.suffix.lower())])
    if save_binding is not None:
        if audit.binding:
            write_text(save_binding, [audit.binding])
        else:
            _tell(f"Note: '{save_binding}' was not written: no stem was read by a family.")
    if as_json:
        print_json(_plain(audit, correction))
    else:
        _print(audit, correction, show_all)
    if failed is not None:
        raise failed
    counts = count(audit)
    if counts.nothing:
        return 2
    return 1 if counts.accused else 0


def _check(
    bank: Path,
    families: tuple[str, ...],
    bind: Path | None,
    columns: Mapping[str, str] | None,
    advance: Any,
) -> Audit:
    from qbank.audit.check import check_bank

    return check_bank(bank, families=families, bindings=bind, columns=columns, progress=advance)


def _read(bank: Path, columns: Mapping[str, str] | None) -> Iterator[Item]:
    """The items of a bank as the check reads them."""
    from qbank.formats.opening import open_any_bank

    with open_any_bank(bank, columns) as opened:
        for read in opened:
            yield read.item


def _table(bank: Path, columns: Mapping[str, str] | None) -> TableReading | None:
    """How a table was read, so that its cells are found again, also where it is all that a zip
    file or a folder holds; None for any other bank."""
    from qbank.audit.correction.copying import is_package
    from qbank.formats.package import Package
    from qbank.formats.tables.reading import TableReading, read_table
    from qbank.formats.tables.sheet import MAX_BYTES

    if not is_package(bank):
        return read_table(bank, columns) if bank.suffix.lower() in _TABLES else None
    with Package(bank) as package:
        tables = [name for name in package.names if name.lower().endswith(_TABLES[:3])]
        if len(tables) != 1 or any(name.lower().endswith(".xml") for name in package.names):
            return None
        return TableReading(Path(tables[0]), columns, package.read(tables[0], MAX_BYTES))


def _ensure_no_workbook(bank: Path) -> None:
    if bank.suffix.lower() in _SHEETS and bank.is_file():
        raise QbankError(
            f"'{bank}' is a spreadsheet's own file, which is not read",
            hint="export the sheet that holds the items as CSV (UTF-8), and check that",
        )


def _ensure_writable(targets: Sequence[Path], bank: Path, families: Sequence[str]) -> None:
    """Refuse at once, before the work, what could not be written after it."""
    for target in targets:
        if not target.parent.is_dir():
            raise OutputError(
                f"cannot write '{target}': there is no folder '{target.parent}'",
                hint="make the folder first, or name another file",
            )
        if target.is_dir():
            raise OutputError(f"cannot write '{target}': it is a folder", hint="name a file")
        if bank.exists() and target.exists() and target.samefile(bank):
            raise OutputError(
                f"cannot write '{target}': that is the bank itself",
                hint="name another file; the bank that is checked is never changed",
            )
        if target.exists() and any(
            Path(name).exists() and target.samefile(name) for name in families
        ):
            raise OutputError(
                f"cannot write '{target}': that is a family's file", hint="name another file"
            )
    if len({target.resolve() for target in targets}) < len(targets):
        raise click.UsageError("two of the files to write are the same; name each once")


def _report(audit: Audit, ending: str) -> str:
    from qbank.audit import report

    if ending == ".html":
        return report.as_page(audit, audit.accused)
    if ending == ".csv":
        return report.as_csv(audit)
    return json.dumps(report.as_json(audit), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _plain(audit: Audit, correction: CorrectionReport | None) -> dict[str, Any]:
    from qbank.audit.report import as_json

    plain = as_json(audit)
    plain["correction"] = None if correction is None else correction.as_json()
    return plain


def _print(audit: Audit, correction: CorrectionReport | None, show_all: bool) -> None:
    from qbank.audit.report.corrections import correction_summary
    from qbank.audit.report.summary import MOST, summary

    width = terminal_width()
    most = None if show_all else MOST
    click.echo(summary(audit, width, most))
    if correction is not None:
        click.echo("\n" + correction_summary(correction, width, most))


def _tell(message: str) -> None:
    click.echo(message, err=True)


@contextmanager
def _progress() -> Iterator[Any]:
    """What `check_bank` calls with how much is done of how much; shown on a terminal only."""
    if not sys.stderr.isatty():
        yield None
        return

    def advance(done: int, total: int) -> None:
        click.echo(f"\rchecked {done:,} of {total:,} items", nl=False, err=True)

    yield advance
    click.echo("\r\x1b[K", nl=False, err=True)
