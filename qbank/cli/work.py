"""`qbank work`: solve one hand-given set of data."""

from __future__ import annotations

import click

from qbank.cli.common import json_option, language_option, open_family, print_json
from qbank.cli.show import latex_option, print_latex, refuse_both, terminal_width


@click.command("work")
@click.argument("family")
@click.argument("data", nargs=-1, metavar="NAME=VALUE...")
@language_option
@latex_option
@json_option
def work_command(
    family: str, data: tuple[str, ...], language: str | None, latex: bool, as_json: bool
) -> None:
    """Solve hand-given data and show the steps.

    Every given of the family takes a number with its unit; those the family fixes, such as the
    free-fall acceleration, may be left out. Values need not be ones the family would draw.

    \b
    Example:  qbank work thin-lens f=12cm d_o=30cm h_o=4cm
    """
    refuse_both(latex, as_json)
    from qbank.generation import work
    from qbank.rendering.renderer import Renderer
    from qbank.rendering.terminal import show_text

    loaded = open_family(family, language)
    worked = work(loaded, _assignments(data))
    item = Renderer(loaded, latex=latex).item(worked.instances, 0)
    for warning in worked.warnings:
        click.echo(f"Note: {warning}", err=True)
    if latex:
        print_latex(item)
        return
    if as_json:
        from qbank.rendering.plain import item_as_json

        print_json({"warnings": list(worked.warnings), **item_as_json(item)})
        return
    click.echo(show_text(item, terminal_width()))


def _assignments(data: tuple[str, ...]) -> dict[str, str]:
    """`m_a=1.2kg` as a pair; raises UsageError for anything else and for a repeated name."""
    pairs: dict[str, str] = {}
    for argument in data:
        name, equals, value = argument.partition("=")
        name = name.strip()
        if not equals or not name or not value.strip():
            raise click.UsageError(f"expected NAME=VALUE, such as m_a=1.2kg, but got '{argument}'")
        if name in pairs:
            raise click.UsageError(f"'{name}' is given twice; give each quantity once")
        pairs[name] = value.strip()
    return pairs
