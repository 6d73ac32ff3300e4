"""`qbank proof`: the proof sheet, for the eye and for paper."""

from __future__ import annotations

from pathlib import Path

import click
from click.core import ParameterSource

from qbank.cli.common import (
    column_option,
    column_roles,
    counted,
    json_option,
    language_option,
    open_family,
    print_json,
    progress,
    seed_option,
)


@click.command("proof")
@click.argument("source", metavar="BANK-or-FAMILY")
@click.option(
    "--count",
    default=40,
    show_default=True,
    type=click.IntRange(min=1),
    help="How many instances of a family to draw and check; a bank is read whole.",
)
@seed_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The HTML file to write; named after the bank or family if left out.",
)
@click.option(
    "--forms",
    default=4,
    show_default=True,
    type=click.IntRange(1, 26),
    help="How many forms the printed question sheets have.",
)
@click.option(
    "--most",
    default=200,
    show_default=True,
    type=click.IntRange(min=1),
    help="How many instances the page shows at most; the spread is always that of all.",
)
@language_option
@column_option
@json_option
@click.pass_context
def proof_command(
    context: click.Context,
    source: str,
    count: int,
    seed: int,
    out: Path | None,
    forms: int,
    most: int,
    language: str | None,
    columns: tuple[str, ...],
    as_json: bool,
) -> None:
    """Write one HTML page that shows a bank or a family to the eye and prints it.

    A bank is a package, a folder, a table or a single item's file, of anyone's making.

    Each instance stands there as the student sees it, with key, accepted values, slips, worked
    solution and the checks behind it; then the spread of the answers. The page needs no network,
    and prints as question sheets, answer sheet and marking guide.

    \b
    Example:  qbank proof stepped-drum --count 60 --forms 2 --out drum.html
    """
    from qbank.proof.proving import is_bank, steps_ahead, write_proof

    roles = column_roles(columns)
    bank = is_bank(source)
    _refuse_pointless(context, bank)
    with progress(steps_ahead(source, count, most), "proof sheet") as advance:
        report = write_proof(
            source if bank else open_family(source, language),
            count=count,
            seed=seed,
            out=out,
            forms=forms,
            most=most,
            columns=roles,
            progress=advance,
        )
    if as_json:
        print_json(report.as_json())
    else:
        checks = f"{report.checks_passed} of {report.checks_made} checks passed"
        if not report.checks_made:
            checks = "nothing was derived again"
        shown = f"{report.shown} of {report.instances} instances on the page"
        click.echo(f"{report.title}: {shown}, {checks}.", err=True)
        if report.lost:
            told = counted(len(report.lost), "thing")
            click.echo(f"{told} in the bank not understood; the page lists them.", err=True)
        click.echo(str(report.path))
    if report.differing:
        click.echo(
            f"{report.differing} of the items shown differ from what their family gives.", err=True
        )
        raise click.exceptions.Exit(1)


def _refuse_pointless(context: click.Context, bank: bool) -> None:
    """UsageError for an option that means nothing for a bank, or for a family."""
    pointless = {
        "count": "a bank is read whole; --most bounds what the page shows",
        "seed": "nothing is drawn from a bank",
        "language": "the text of a bank is in its own language",
    }
    if not bank:
        pointless = {"columns": "a family is no table"}
    for option, reason in pointless.items():
        if context.get_parameter_source(option) is ParameterSource.COMMANDLINE:
            name = "column" if option == "columns" else option
            raise click.UsageError(f"--{name} has no use here: {reason}. Leave it out.")
