"""`qbank show`: one instance with its worked solution, in the terminal."""

from __future__ import annotations

import shutil

import click

from qbank.cli.common import json_option, language_option, open_family, print_json, seed_option

WIDEST = 100


def terminal_width() -> int:
    """The width to wrap text to: the terminal's, at most 100 characters; 80 in a pipe."""
    return min(shutil.get_terminal_size((80, 24)).columns, WIDEST)


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
@json_option
def show_command(family: str, k: int, seed: int, language: str | None, as_json: bool) -> None:
    """Show one instance with its key, distractors and worked solution.

    FAMILY is the name of a shipped family or the path of a family file.

    \b
    Example:  qbank show stepped-drum --index 3 --seed 7
    """
    from qbank.generation import instance
    from qbank.rendering.renderer import Renderer
    from qbank.rendering.terminal import show_text

    loaded = open_family(family, language)
    item = Renderer(loaded).item(instance(loaded, seed, k), 0)
    if as_json:
        from qbank.rendering.plain import item_as_json

        print_json(item_as_json(item))
        return
    click.echo(show_text(item, terminal_width()))
