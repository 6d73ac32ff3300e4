"""`qbank vet`: judge families before they are trusted."""

from __future__ import annotations

import click

from qbank.cli.common import json_option, print_json, progress, seed_option


@click.command("vet")
@click.argument("families", nargs=-1, required=True, metavar="FAMILY...")
@click.option(
    "--sample",
    default=10_000,
    show_default=True,
    type=click.IntRange(100, 200_000),
    help="How many instances are drawn to judge by.",
)
@seed_option
@json_option
def vet_command(families: tuple[str, ...], sample: int, seed: int, as_json: bool) -> int:
    """Judge families as a careful colleague would.

    Exits with 1 when there is a warning or an error, with 2 when a file cannot be read.

    \b
    Example:  qbank vet stepped-drum
    """
    from qbank.family.library import find_family
    from qbank.vetting.vet import vet_file

    paths = [find_family(family) for family in families]
    found = []
    with progress(len(paths), "families") as advance:
        for path in paths:
            found.append(vet_file(path, seed, sample))
            advance(1)
    if as_json:
        print_json([vetting.as_json() for vetting in found])
    else:
        click.echo("\n\n".join(vetting.as_text() for vetting in found))
    return 0 if all(vetting.clean for vetting in found) else 1
