"""`qbank show`: one instance with its worked solution, in the terminal."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import click

from qbank.cli.common import json_option, language_option, open_family, print_json, seed_option

if TYPE_CHECKING:
    from qbank.item import Item

WIDEST = 100


def terminal_width() -> int:
    """The width to wrap text to: the terminal's, at most 100 characters; 80 in a pipe."""
    return min(shutil.get_terminal_size((80, 24)).columns, WIDEST)


latex_option = click.option(
    "--latex",
    is_flag=True,
    help="Print a LaTeX document, its formulas set by the rules of ISO 80000 and the SI Brochure.",
)


def refuse_both(latex: bool, as_json: bool) -> None:
    """UsageError where two kinds of output are asked for."""
    if latex and as_json:
        raise click.UsageError("--latex cannot go with --json; leave one of them out")


def print_latex(item: Item) -> None:
    """The item as a LaTeX document, to standard output."""
    from qbank.rendering.latex import latex_document

    click.echo(latex_document(item), nl=False)


@click.command("show")
@click.argument("family")
@click.option(
    "--index",
    "k",
    default=0,
    show_default=True,
    type=click.IntRange(0, 2**62),
    help="Which instance, counted from 0.",
)
@seed_option
@language_option
@latex_option
@json_option
def show_command(
    family: str, k: int, seed: int, language: str | None, latex: bool, as_json: bool
) -> None:
    """Show one instance with its key, distractors and worked solution.

    FAMILY is the name of a shipped family or the path of a family file.

    \b
    Example:  qbank show stepped-drum --index 3 --seed 7
    """
    refuse_both(latex, as_json)
    from qbank.generation import instance
    from qbank.rendering.renderer import Renderer
    from qbank.rendering.terminal import show_text

    loaded = open_family(family, language)
    item = Renderer(loaded, latex=latex).item(instance(loaded, seed, k), 0)
    if latex:
        print_latex(item)
        return
    if as_json:
        from qbank.rendering.plain import item_as_json

        print_json(item_as_json(item))
        return
    click.echo(show_text(item, terminal_width()))
