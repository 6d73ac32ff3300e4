"""The `qbank` command and the one place where faults become messages and exit codes.

Exit codes: 0 fine, 1 findings, 2 the input was wrong, 3 the tool failed its own check,
130 interrupted.
"""

from __future__ import annotations

import os
import sys
import traceback

import click

from qbank import __version__
from qbank.cli.check import check_command
from qbank.cli.convert import convert_command
from qbank.cli.forms import forms_command
from qbank.cli.list import list_command
from qbank.cli.make import make_command
from qbank.cli.proof import proof_command
from qbank.cli.score import score_command
from qbank.cli.show import show_command
from qbank.cli.vet import vet_command
from qbank.cli.work import work_command
from qbank.errors import QbankError

DEFECT = 3
INTERRUPTED = 130


class InOrder(click.Group):
    """Lists its commands in the order a user meets them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click calls it so
        return list(self.commands)


@click.group(
    cls=InOrder,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit codes: 0 fine, 1 findings, 2 wrong input, 3 the tool failed its own check.",
)
@click.version_option(__version__, prog_name="qbank")
def cli() -> None:
    """Turn problem families into banks of solved and checked items.

    A family file says how one problem is set and solved; qbank draws many instances of it,
    solves and checks each, and writes them in open formats. It also reads banks that others
    made and finds the keys that are wrong.

    \b
    Start with:  qbank list
                 qbank show stepped-drum
                 qbank make stepped-drum --count 100 --to qti-3.0 --out bank
                 qbank check inherited.zip --report findings.html
    """


for _command in (
    list_command,
    show_command,
    work_command,
    make_command,
    vet_command,
    proof_command,
    check_command,
    convert_command,
    score_command,
    forms_command,
):
    cli.add_command(_command)


def run(arguments: list[str] | None = None) -> None:
    """Run the command and leave with its exit code."""
    sys.exit(exit_code_of(sys.argv[1:] if arguments is None else arguments))


def exit_code_of(arguments: list[str]) -> int:
    """Run the command; print faults to standard error; return the exit code."""
    try:
        result = cli.main(arguments, prog_name="qbank", standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as fault:
        fault.show()
        return fault.exit_code
    except QbankError as fault:
        click.echo(f"Error: {fault}", err=True)
        return fault.exit_code
    except (KeyboardInterrupt, click.Abort):
        click.echo("Interrupted. Nothing was left half-written.", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of a pipe has left; a second failure at shutdown must not print either.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as fault:  # noqa: BLE001 - the last line of defence against a traceback
        _report_defect(fault, arguments)
        return DEFECT
    return result if isinstance(result, int) else 0


def _report_defect(fault: Exception, arguments: list[str]) -> None:
    """Say that the tool is at fault, with what a report of it needs."""
    frame = traceback.extract_tb(fault.__traceback__)[-1]
    click.echo(
        f"Error: qbank {__version__} has a defect: {type(fault).__name__}: {fault}\n"
        f"    in {frame.name}, line {frame.lineno}, while running: qbank {' '.join(arguments)}\n"
        "    Nothing was left half-written. Please report these lines with the family file.\n"
        "    QBANK_TRACEBACK=1 shows the whole trace.",
        err=True,
    )
    if os.environ.get("QBANK_TRACEBACK"):
        traceback.print_exception(fault)
