"""`qbank convert`: a bank in another format, and what was lost on the way."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from qbank.cli.common import (
    column_option,
    column_roles,
    counted,
    json_option,
    out_option,
    print_json,
    unpacked_option,
)

if TYPE_CHECKING:
    from qbank.conversion_report import ConvertReport

SHOWN = 20  # lines of one kind in the summary; --json has them all


@click.command("convert")
@click.argument("bank", type=click.Path(path_type=Path))
@click.option("--to", "to", required=True, metavar="FORMAT", help="The format to write.")
@out_option("exports")
@click.option("--name", help="What the new bank is called; as the old one if left out.")
@unpacked_option
@column_option
@json_option
def convert_command(
    bank: Path,
    to: str,
    out: Path,
    name: str | None,
    unpacked: bool,
    columns: tuple[str, ...],
    as_json: bool,
) -> None:
    """Write a bank in another format and say what was lost.

    BANK is a package or file of any format that can be read. An item that the new format cannot
    take is left out and listed. The path of what was written goes to standard output. Exit code
    0 says that nothing was lost, 1 that something was.

    \b
    Example:  qbank convert bank/drum-qti-3.0.zip --to jsonl --out bank
    """
    from qbank.converting import convert

    report = convert(bank, to, out, name=name, unpacked=unpacked, columns=column_roles(columns))
    if as_json:
        print_json(report.as_json())
    else:
        click.echo(_summary(report), err=True)
        click.echo(str(report.package.path))
    if not report.lossless:
        raise click.exceptions.Exit(1)


def _summary(report: ConvertReport) -> str:
    """What was read and written, then what was lost, a line each."""
    package = report.package
    lines = [f"{report.source}: {counted(report.read, 'item')} read as {report.source_format}."]
    for told in (report.unreadable, report.losses, report.left_out, report.unsaid):
        lines.extend(map(str, told[:SHOWN]))
        if len(told) > SHOWN:
            lines.append(f"... and {len(told) - SHOWN} more; --json lists them all")
    lines.extend(f"{package.format}: {said}" for said in (*package.notes, *report.cautions))
    verdict = "nothing was lost" if report.lossless else "something was lost"
    lines.append(
        f"{package.path}: {counted(package.items, 'item')} written as {package.format}; {verdict}."
    )
    return "\n".join(lines)
