"""`qbank list`: the families there are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from qbank.cli.common import json_option, print_json, progress, table

if TYPE_CHECKING:
    from qbank.family.model import Family
    from qbank.generation import Count


@click.command("list")
@click.argument("families", nargs=-1, metavar="[FAMILY]...")
@click.option("--subject", default="", help="Only families whose subject contains this.")
@click.option("--level", default="", help="Only families whose level contains this.")
@json_option
def list_command(families: tuple[str, ...], subject: str, level: str, as_json: bool) -> None:
    """List families, with how many distinct instances each has.

    Without a FAMILY, the shipped ones are listed.

    \b
    Example:  qbank list --subject mechanics
    """
    from qbank.family.library import find_family, shipped_families
    from qbank.family.loader import load_family
    from qbank.generation import count_instances

    paths = [find_family(family) for family in families] if families else shipped_families()
    loaded = [load_family(path) for path in paths]
    kept = [
        family
        for family in loaded
        if subject.lower() in family.subject.lower() and level.lower() in family.level.lower()
    ]
    counts = []
    with progress(len(kept), "families") as advance:
        for family in kept:
            counts.append(count_instances(family))
            advance(1)
    if as_json:
        print_json([_as_json(family, count) for family, count in zip(kept, counts, strict=True)])
        return
    if not kept:
        click.echo("No family matches; `qbank list` shows them all.", err=True)
        return
    rows = [
        [family.name, family.subject, family.level, _count_text(count), family.title]
        for family, count in zip(kept, counts, strict=True)
    ]
    click.echo(table(["family", "subject", "level", "instances", "title"], rows, right=(3,)))


def _count_text(count: Count) -> str:
    return f"{count.number:,}" if count.exact else f"at least {count.number:,}"


def _as_json(family: Family, count: Count) -> dict[str, Any]:
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
    }
