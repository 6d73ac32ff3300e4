"""`qbank make`: the main job."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click
from click.core import ParameterSource

from qbank.cli.common import (
    json_option,
    language_option,
    open_families,
    out_option,
    print_json,
    progress,
    seed_option,
    table,
    unpacked_option,
    written,
)

if TYPE_CHECKING:
    from qbank.family.model import Family
    from qbank.making import MakeReport


@click.command("make")
@click.argument("families", nargs=-1, metavar="[FAMILY]...")
@click.option(
    "--count",
    default=10,
    show_default=True,
    type=click.IntRange(min=0),
    help="How many instances of each family.",
)
@seed_option
@click.option(
    "--to",
    "formats",
    multiple=True,
    metavar="FORMAT",
    help="qti-2.1, qti-2.2, qti-3.0, qti-1.2, cartridge-1.3, csv, jsonl, or one that another "
    "package adds; may be given several times. If left out: qti-2.1, qti-3.0 and csv.",
)
@out_option("exports")
@click.option("--name", help="What the bank is called; the family's name or 'bank' if left out.")
@unpacked_option
@click.option(
    "--hints",
    is_flag=True,
    help="Offer hints on request in QTI too, which makes the items adaptive; many platforms "
    "do not handle those.",
)
@click.option(
    "--pictures",
    default="svg",
    show_default=True,
    type=click.Choice(["svg", "png"]),
    help="What figures are written as; png, for platforms that take no SVG, needs CairoSVG.",
)
@click.option(
    "--one-item",
    is_flag=True,
    help="Write each family as one item that draws its own data where it is delivered (QTI only).",
)
@language_option
@json_option
@click.pass_context
def make_command(
    context: click.Context,
    families: tuple[str, ...],
    count: int,
    seed: int,
    formats: tuple[str, ...],
    out: Path,
    name: str | None,
    unpacked: bool,
    hints: bool,
    pictures: Literal["svg", "png"],
    one_item: bool,
    language: str | None,
    as_json: bool,
) -> None:
    """Make banks of solved and checked items.

    FAMILY is the name of a shipped family or the path of a family file; without one, all
    shipped families are used. The paths of what was written go to standard output.

    \b
    Example:  qbank make stepped-drum thin-lens --count 100 --to qti-3.0 --out bank
    """
    from qbank.making import DEFAULT_FORMATS, make

    loaded = open_families(families, language)
    if one_item:
        _refuse_draws(context)
        _make_one_item(loaded, formats, out, name, unpacked, as_json)
        return
    chosen = formats or DEFAULT_FORMATS
    with progress(len(loaded) * count * len(chosen), "items") as advance:
        report = make(
            loaded,
            count=count,
            seed=seed,
            formats=chosen,
            out=out,
            name=name,
            unpacked=unpacked,
            hints=hints,
            pictures=pictures,
            progress=advance,
        )
    if as_json:
        print_json(report.as_json())
        return
    click.echo(_summary(report), err=True)
    for package in report.packages:
        click.echo(str(package.path))


def _summary(report: MakeReport) -> str:
    """What each family came to, a line each, and what was checked."""
    rows = []
    made = passed = 0
    for name, family_report in report.families.items():
        checks = family_report.checks
        made += checks.made
        passed += checks.passed
        cases = ", ".join(f"{case} {n}" for case, n in family_report.by_case().items() if case)
        rows.append(
            [
                name,
                str(family_report.instances),
                f"{100 * family_report.rejected_share:.0f} %",
                f"{checks.passed}/{checks.made}",
                cases,
            ]
        )
    lines = [
        table(
            ["family", "instances", "draws rejected", "checks passed", "by case"],
            rows,
            right=(1, 2, 3),
        )
    ]
    lines.append(f"{passed} of {made} checks passed.")
    lines.extend(written(package) for package in report.packages)
    lines.extend(f"note: {p.format}: {note}." for p in report.packages for note in p.notes)
    return "\n".join(lines)


# ---------------------------------------------------------------------------- one item each


def _refuse_draws(context: click.Context) -> None:
    """UsageError for an option that has no meaning where an item draws its own data."""
    reasons = {
        "count": "the item draws its data where it is delivered, anew for each candidate",
        "seed": "the item draws its data where it is delivered, anew for each candidate",
        "pictures": "one item for all its data has no figure",
        "hints": "an item with hints on request is adaptive, and one that draws its data is not",
    }
    for option, reason in reasons.items():
        if context.get_parameter_source(option) is ParameterSource.COMMANDLINE:
            raise click.UsageError(
                f"--{option} cannot go with --one-item: {reason}. Leave one of them out."
            )


def _make_one_item(
    families: Sequence[Family],
    formats: tuple[str, ...],
    out: Path,
    name: str | None,
    unpacked: bool,
    as_json: bool,
) -> None:
    from qbank.parametrised.package import make_parametrised, versions

    with progress(len(families) * (1 + len(formats or versions())), "families") as advance:
        report = make_parametrised(
            families, formats=formats, out=out, name=name, unpacked=unpacked, progress=advance
        )
    if as_json:
        print_json(report.as_json())
        return
    rows = [[family, f"{100 * share:.0f} %"] for family, share in report.acceptance.items()]
    click.echo(table(["family", "draws that meet its rules"], rows, right=(1,)), err=True)
    for family, notes in report.notes.items():
        for note in notes:
            click.echo(f"note: {family}: {note}", err=True)
    for family, reason in report.refused.items():
        click.echo(f"not written as one item: {family}: {reason}", err=True)
    for package in report.packages:
        click.echo(written(package), err=True)
        click.echo(str(package.path))
