"""`qbank forms`: parallel forms of equal difficulty from a blueprint."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from qbank.cli.common import (
    counted,
    json_option,
    out_option,
    print_json,
    progress,
    seed_option,
    table,
    unpacked_option,
    written,
)

if TYPE_CHECKING:
    from qbank.forms.formset import FormSet


@click.command("forms")
@click.argument("blueprint", type=click.Path(path_type=Path))
@click.option(
    "--forms",
    "number",
    type=click.IntRange(1, 100),
    help="How many forms, in place of the number in the blueprint.",
)
@seed_option
@click.option(
    "--to",
    "formats",
    multiple=True,
    metavar="FORMAT",
    help="A format to write; may be given several times. Those of `qbank make` if left out.",
)
@out_option("forms")
@unpacked_option
@json_option
def forms_command(
    blueprint: Path,
    number: int | None,
    seed: int,
    formats: tuple[str, ...],
    out: Path,
    unpacked: bool,
    as_json: bool,
) -> None:
    """Draw parallel forms of equal difficulty and write each as a bank.

    BLUEPRINT is a YAML file that says which items a form holds. The table of the forms goes to
    standard output. The difficulty index it shows is a judgement, not measured on students.

    \b
    Example:  qbank forms midterm.yaml --forms 3 --seed 7 --to qti-3.0 --out midterm
    """
    from qbank.forms.blueprint import load_blueprint
    from qbank.forms.writing import make_forms
    from qbank.making import DEFAULT_FORMATS

    read = load_blueprint(blueprint)
    chosen = formats or DEFAULT_FORMATS
    length = (number or read.forms) * read.items * len(chosen)
    with progress(length, "items") as advance:
        drawn, packages = make_forms(
            read,
            seed=seed,
            forms=number,
            formats=chosen,
            out=out,
            unpacked=unpacked,
            progress=advance,
        )
    if as_json:
        files = [{"path": str(p.path), "format": p.format, "items": p.items} for p in packages]
        print_json({**drawn.as_json(), "packages": files})
        return
    click.echo(_text(drawn))
    for package in packages:
        click.echo(written(package), err=True)


def _zero_is_plus(difference: float) -> float:
    """The difference, where it would be printed as minus zero a plain zero."""
    return difference if abs(difference) >= 0.00005 else 0.0


def _common(drawn: FormSet) -> str:
    if not drawn.most_shared:
        return "No two forms have an item in common."
    return f"No two forms have more than {counted(drawn.most_shared, 'item')} in common."


def _text(drawn: FormSet) -> str:
    """The forms with their totals, then every item of every form."""
    mean = sum(form.difficulty for form in drawn.forms) / len(drawn.forms)
    totals = [
        [
            str(form.number),
            str(len(form.items)),
            f"{form.points:g}",
            f"{form.difficulty:.4f}",
            f"{_zero_is_plus(form.difficulty - mean):+.4f}",
        ]
        for form in drawn.forms
    ]
    items = [
        [
            str(form.number),
            str(place),
            item.family,
            str(item.index),
            item.case,
            f"{item.points:g}",
            f"{item.difficulty:.4f}",
        ]
        for form in drawn.forms
        for place, item in enumerate(form.items, start=1)
    ]
    return "\n".join(
        [
            f"{drawn.title} (seed {drawn.seed})",
            "",
            table(["form", "items", "points", "difficulty", "from mean"], totals, (0, 1, 2, 3, 4)),
            "",
            f"The totals lie {drawn.spread:.4f} apart; the band is {drawn.band:g}."
            f" {_common(drawn)}",
            "",
            table(
                ["form", "item", "family", "index", "case", "points", "difficulty"],
                items,
                (0, 1, 3, 5, 6),
            ),
        ]
    )
