"""How long `qbank --help` takes beside a bare click program."""

from __future__ import annotations

import sys
from collections.abc import Iterator

from tests.bench.measure import Figure, process_seconds

BARE = """
import click
@click.group()
def cli(): "A bare program."
@cli.command()
def one(): "Do one thing."
cli(["--help"])
"""


def figures() -> Iterator[Figure]:
    bare = process_seconds([sys.executable, "-c", BARE])
    ours = process_seconds([sys.executable, "-m", "qbank", "--help"])
    yield Figure("startup", "qbank --help / bare click program --help", ours / bare, "x", 2.0)
