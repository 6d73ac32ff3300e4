"""Template variables and template processing, as they are put together.

A variable has one name and is declared once. What is set in some cases only is set to NULL at
the start, so that a value never outlives its case (a restart puts back the declared defaults,
which are values of one valid draw).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from qbank.formats.xmltext import number, quote
from qbank.parametrised.expressions import NULL, variable

LONGEST = 32  # characters that every system takes (mapping note, a4)


@dataclass(slots=True)
class Declaration:
    """A template variable."""

    base_type: str
    cardinality: str = "single"


class Template:
    """The variables and rules of one item."""

    def __init__(self) -> None:
        self.variables: dict[str, Declaration] = {}
        self._rules: list[str] = []
        self._cleared: list[str] = []
        self._depth = 0

    def declare(self, name: str, base_type: str = "float", cardinality: str = "single") -> str:
        """A variable of that name, or one like it where it is taken; its name."""
        name = re.sub(r"[^A-Za-z0-9_]", "_", name)
        if not re.match("[A-Za-z]", name):
            name = "V" + name
        tried, count = name[:LONGEST], 1
        while tried in self.variables:
            count += 1
            tail = f"_{count}"
            tried = name[: LONGEST - len(tail)] + tail
        self.variables[tried] = Declaration(base_type, cardinality)
        return tried

    def new(self, name: str, value: str, base_type: str = "float") -> str:
        """A new variable, set here; its name."""
        name = self.declare(name, base_type)
        self.set(name, value)
        return name

    def set(self, name: str, value: str) -> None:
        """Set a variable, as a rule at this point."""
        if self._depth and name not in self._cleared:
            self._cleared.append(name)
        self._rules.append(f'<setTemplateValue identifier="{name}">{value}</setTemplateValue>\n')

    def correct(self, response: str, value: str) -> None:
        """Set the key of a response."""
        self._rules.append(
            f'<setCorrectResponse identifier="{response}">{value}</setCorrectResponse>\n'
        )

    def need(self, condition: str) -> None:
        """A constraint: where it does not hold, the draw starts again. At the top level only."""
        self._rules.append(f"<templateConstraint>{condition}</templateConstraint>\n")

    def choose(self, branches: Sequence[tuple[str, Mapping[str, str]]]) -> None:
        """The first branch whose condition holds sets its variables; none leaves them NULL."""
        self._depth += 1
        self._rules.append("<templateCondition>")
        for n, (condition, values) in enumerate(branches):
            element = "templateElseIf" if n else "templateIf"
            self._rules.append(f"<{element}>{condition}\n")
            for name, value in values.items():
                self.set(name, value)
            self._rules.append(f"</{element}>\n")
        self._rules.append("</templateCondition>\n")
        self._depth -= 1

    @contextmanager
    def when(self, condition: str | None) -> Iterator[None]:
        """Rules that apply where a condition holds; None for always."""
        if condition is None:
            yield
            return
        self._depth += 1
        self._rules.append(f"<templateCondition><templateIf>{condition}\n")
        yield
        self._rules.append("</templateIf></templateCondition>\n")
        self._depth -= 1

    # ------------------------------------------------------------------------ markup

    def processing(self) -> str:
        """The templateProcessing element, in the names of 2.1."""
        cleared = "".join(
            f'<setTemplateValue identifier="{name}">{NULL}</setTemplateValue>\n'
            for name in self._cleared
        )
        rules = "".join(self._rules)
        return f"<templateProcessing>\n{cleared}{rules}</templateProcessing>\n"

    def declarations(self, defaults: Mapping[str, object]) -> str:
        """The templateDeclaration elements, with these default values; NULL where none."""
        return "".join(
            _declaration(name, declared, defaults.get(name))
            for name, declared in self.variables.items()
        )


def matches(name: str, identifier: str) -> str:
    """Whether a variable has an identifier as its value."""
    constant = f'<baseValue baseType="identifier">{identifier}</baseValue>'
    return f"<match>{variable(name)}{constant}</match>"


def _declaration(name: str, declared: Declaration, default: object) -> str:
    head = (
        f'<templateDeclaration identifier="{name}" cardinality="{declared.cardinality}" '
        f'baseType="{declared.base_type}"'
    )
    if default is None:
        return head + "/>\n"
    members = default if isinstance(default, list) else [default]
    values = "".join(f"<value>{_text(member)}</value>" for member in members)
    return f"{head}><defaultValue>{values}</defaultValue></templateDeclaration>\n"


def _text(member: object) -> str:
    if isinstance(member, bool):
        return "true" if member else "false"
    return number(member) if isinstance(member, float) else quote(str(member))
