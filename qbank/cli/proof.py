"""`qbank proof`: the proof sheet, for the eye and for paper."""

from __future__ import annotations

from pathlib import Path

import click

from qbank.cli.common import json_option, language_option, print_json, progress, seed_option


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
@json_option
def proof_command(
    source: str,
    count: int,
    seed: int,
    out: Path | None,
    forms: int,
    most: int,
    language: str | None,
    as_json: bool,
) -> None:
    """Write one HTML page that shows a bank or a family to the eye and prints it.

    Each instance stands there as the student sees it, with key, accepted values, slips, worked
    solution and the checks behind it; then the spread of the answers. The page needs no network,
    and prints as question sheets, answer sheet and marking guide.

    \b
    Example:  qbank proof stepped-drum --count 60 --forms 2 --out drum.html
    """
    from qbank.proof.proving import steps_ahead, write_proof

    with progress(steps_ahead(source, count, most), "proof sheet") as advance:
        report = write_proof(
            source,
            count=count,
            seed=seed,
            out=out,
            forms=forms,
            most=most,
            language=language,
            progress=advance,
        )
    if as_json:
        print_json(report.as_json())
    else:
        checks = f"{report.checks_passed} of {report.checks_made} checks passed"
        if not report.checks_made:
            checks = "nothing could be checked again"
        shown = f"{report.shown} of {report.instances} instances on the page"
        click.echo(f"{report.title}: {shown}, {checks}.", err=True)
        click.echo(str(report.path))
    if report.differing:
        click.echo(
            f"{report.differing} of the items shown differ from what their family gives.", err=True
        )
        raise click.exceptions.Exit(1)
