"""The parts of the README that are printed from the program: `python -m tests.docs` renews them.

A part stands between `<!-- NAME begins -->` and `<!-- NAME ends -->`; tests/test_docs.py fails
when one is out of date.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable
from pathlib import Path

import click

from qbank.audit.binding.file import ANSWER, BINDING, FILE
from qbank.audit.causes.table import FINDERS, LATER
from qbank.audit.evident.judge import BANK_CHECKS
from qbank.audit.evident.judge import CHECKS as EVIDENT
from qbank.audit.evident.scored import CHECKS as SCORED
from qbank.checking.checker import CHECKS
from qbank.cli.main import cli
from qbank.family.schema import reference_markdown, section_markdown
from qbank.forms.blueprint import BLUEPRINT, LINE
from qbank.hardness.weights import WEIGHTS
from qbank.vetting.vet import CHECKS as VETTING

README = Path(__file__).resolve().parent.parent / "README.md"


def checks() -> str:
    """The checks of an instance, each with the first sentence of its docstring."""
    rows = ["| check | what must hold |", "| --- | --- |"]
    rows.append("| `finite` | No number of the instance is NaN or infinite. |")
    for code, check in CHECKS.items():
        sentence = " ".join(inspect.getdoc(check).split("\n\n")[0].split())
        rows.append(f"| `{code}` | {sentence} |")
    return "\n".join(rows)


def commands() -> str:
    """The help text of every command."""
    parts = []
    for name, command in cli.commands.items():
        context = click.Context(
            command, info_name=name,
            parent=click.Context(cli, info_name="qbank", help_option_names=["-h", "--help"]),
            max_content_width=90, terminal_width=90,
        )  # fmt: skip
        parts.append(f"```text\n{command.get_help(context)}\n```")
    return "\n\n".join(parts)


def difficulty() -> str:
    """The features of the difficulty index, their weights and the reasons."""
    rows = ["| feature | adds | because |", "| --- | --- | --- |"]
    rows += [
        f"| {w.feature.replace('_', ' ')} | {w.per_unit:g} ({w.unit}) | {w.reason} |"
        for w in WEIGHTS
    ]
    return "\n".join(rows)


def blueprint() -> str:
    """The keys of a blueprint file."""
    return "\n".join([*section_markdown(BLUEPRINT), *section_markdown(LINE)])


def binding() -> str:
    """The keys of a binding file."""
    return "\n".join(line for part in (FILE, BINDING, ANSWER) for line in section_markdown(part))


def coded(checks: Iterable[Callable[..., object]]) -> str:
    """Checks whose docstring opens with their codes, as a table."""
    rows = ["| code | what it stands for |", "| --- | --- |"]
    for check in checks:
        codes, _, sentence = " ".join(inspect.getdoc(check).split("\n\n")[0].split()).partition(
            ": "
        )
        names = ", ".join(f"`{code}`" for code in codes.split(", "))
        rows.append(f"| {names} | {sentence} |")
    return "\n".join(rows)


def evident() -> str:
    """What an item, or two beside each other, show by themselves."""
    return coded((*EVIDENT, *SCORED, *BANK_CHECKS))


def causes() -> str:
    """What may reproduce a wrong key."""
    rows = ["| code | what was done |", "| --- | --- |"]
    for code, finder in {**FINDERS, **LATER}.items():
        sentence = " ".join(inspect.getdoc(finder).split("\n\n")[0].split())
        rows.append(f"| `{code}` | {sentence} |")
    return "\n".join(rows)


def vetting() -> str:
    """What vetting a family looks for, in the first sentence of each check's docstring."""
    return coded(VETTING)


PARTS: dict[str, Callable[[], str]] = {
    "binding": binding,
    "blueprint": blueprint,
    "causes": causes,
    "checks": checks,
    "commands": commands,
    "difficulty": difficulty,
    "evident": evident,
    "reference": reference_markdown,
    "vetting": vetting,
}


def renewed(text: str) -> str:
    """The README's text with its printed parts as the program has them now."""
    for name, part in PARTS.items():
        begin, end = f"<!-- {name} begins -->", f"<!-- {name} ends -->"
        pattern = re.compile(re.escape(begin) + ".*?" + re.escape(end), re.DOTALL)
        if not pattern.search(text):
            raise ValueError(f"README.md has no part '{name}'")
        block = f"{begin}\n\n{part().strip()}\n\n{end}"
        text = pattern.sub(lambda _: block, text, count=1)  # noqa: B023 - used at once
    return text


if __name__ == "__main__":
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
