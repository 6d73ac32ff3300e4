"""`qbank list`: the families there are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from qbank.cli.common import json_option, open_families, print_json, progress, seed_option, table

if TYPE_CHECKING:
    from qbank.family.model import Family
    from qbank.generation import Count
    from qbank.hardness.spread import Spread

SAMPLE = 1000  # instances whose difficulty is looked at


@click.command("list")
@click.argument("families", nargs=-1, metavar="[FAMILY]...")
@click.option("--subject", default="", help="Only families whose subject contains this.")
@click.option("--level", default="", help="Only families whose level contains this.")
@click.option(
    "--difficulty",
    is_flag=True,
    help=f"Show how the difficulty index spreads over the first {SAMPLE:,} instances.",
)
@seed_option
@json_option
def list_command(
    families: tuple[str, ...],
    subject: str,
    level: str,
    difficulty: bool,
    seed: int,
    as_json: bool,
) -> None:
    """List families, with how many distinct instances each has.

    Without a FAMILY, the shipped ones are listed.

    \b
    Example:  qbank list --subject mechanics
    """
    from qbank.generation import count_instances

    loaded = open_families(families)
    kept = [
        family
        for family in loaded
        if subject.lower() in family.subject.lower() and level.lower() in family.level.lower()
    ]
    counts = []
    spreads: list[Spread | None] = []
    with progress(len(kept), "families") as advance:
        for family in kept:
            counts.append(count_instances(family))
            spreads.append(_spread(family, counts[-1], seed) if difficulty else None)
            advance(1)
    if as_json:
        print_json([_as_json(*row) for row in zip(kept, counts, spreads, strict=True)])
        return
    if not kept:
        click.echo("No family matches; `qbank list` shows them all.", err=True)
        return
    rows = [
        [family.name, family.subject, family.level, _count_text(count), family.title]
        for family, count in zip(kept, counts, strict=True)
    ]
    click.echo(table(["family", "subject", "level", "instances", "title"], rows, right=(3,)))
    for family, spread in zip(kept, spreads, strict=True):
        if spread is not None:
            click.echo(f"\n{family.name}\n{spread.as_text()}")


def _spread(family: Family, count: Count, seed: int) -> Spread:
    """The difficulty of the first instances of a seed, as many as there are, up to `SAMPLE`."""
    from qbank.generation import generate
    from qbank.hardness.features import Difficulty
    from qbank.hardness.spread import spread_of

    measure = Difficulty(family)
    return spread_of([measure(c) for c in generate(family, min(SAMPLE, count.number), seed)])


def _count_text(count: Count) -> str:
    return f"{count.number:,}" if count.exact else f"at least {count.number:,}"


def _as_json(family: Family, count: Count, spread: Spread | None) -> dict[str, Any]:
    return {
        "family": family.name,
        "title": family.title,
        "subject": family.subject,
        "level": family.level,
        "version": family.version,
        "licence": family.licence,
        "cases": [case.name for case in family.cases if case.name],
        "instances": count.number,
        "exact": count.exact,
        **({} if spread is None else {"difficulty": spread.as_json()}),
    }
