"""`qbank score`: grade responses by the standard's rules."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import click

from qbank.cli.common import json_option, print_json, table
from qbank.cli.show import terminal_width

if TYPE_CHECKING:
    from qbank.scoring.result import Score


@click.command("score")
@click.argument("package")
@click.argument("responses", nargs=-1, metavar="RESPONSE=VALUE...")
@click.option("--item", help="The item's identifier; not needed where there is only one.")
@click.option(
    "--seed",
    default=0,
    show_default=True,
    type=click.IntRange(0, 2**63 - 1),
    help="The same number gives the same draws of a parametrised item.",
)
@json_option
def score_command(
    package: str, responses: tuple[str, ...], item: str | None, seed: int, as_json: bool
) -> None:
    """Grade responses to an item of a package by the rules it carries.

    Responses not named are left empty; to give several values to one, name it again for each.
    The package may be of QTI 1.2.1, 2.1, 2.2 or 3.0, or a single item's file.

    \b
    Example:  qbank score bank/drum-qti-3.0.zip --item i0123-7 RESPONSE_R2=28.2 RESPONSE_R6=C1
    """
    from qbank.scoring.bank import find_item

    found = find_item(package, item)
    given = _assignments(responses)
    found.ensure_choices(given)
    result = found.score(given, seed)
    for warning in result.warnings:
        click.echo(f"Note: {warning}", err=True)
    if as_json:
        print_json({"item": found.identifier, **result.as_json()})
        return
    click.echo(_shown(found.title, result, terminal_width()))


def _assignments(arguments: tuple[str, ...]) -> dict[str, str | list[str]]:
    """`R=C1 R=C2` as {"R": ["C1", "C2"]}; raises UsageError for what is no assignment."""
    given: dict[str, list[str]] = {}
    for argument in arguments:
        name, equals, value = argument.partition("=")
        if not equals or not name.strip():
            raise click.UsageError(
                f"expected RESPONSE=VALUE, such as RESPONSE=12.5, but got '{argument}'"
            )
        given.setdefault(name.strip(), []).append(value)
    return {name: values[0] if len(values) == 1 else values for name, values in given.items()}


def _shown(title: str, result: Score, width: int) -> str:
    """The result for the terminal."""
    if result.score is None:
        points = "The item gives no score."
    else:
        most = "" if result.maximum is None else f" of {result.maximum:g}"
        points = f"Score: {result.score:g}{most}"
    rows = [(name, _text(value)) for name, value in result.outcomes.items() if value is not None]
    pieces = [title, points, "", table(("outcome", "value"), rows)]
    for feedback in result.feedback:
        pieces += [
            "",
            f"{feedback.outcome} shows {feedback.identifier}:",
            _indented(feedback.text, width),
        ]
    return "\n".join(pieces)


def _text(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(_text, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _indented(text: str, width: int) -> str:
    lines = (
        textwrap.fill(line, width, initial_indent="  ", subsequent_indent="  ")
        for line in text.splitlines()
    )
    return "\n".join(lines)
