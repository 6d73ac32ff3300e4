"""An operator's element with its operands, and how its attributes and NULL are treated."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from lxml import etree

from qbank.scoring.declarations import Declaration
from qbank.scoring.faults import KindError, ScoringError, at, at_line
from qbank.scoring.names import get
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import NUMERIC, Value, number_of


@dataclass(slots=True)
class Scope:
    """What the expressions of a document may name, and what was met while reading them.

    `literals` gathers the base types of the numbers in the text, which stand apart from the
    program (see `programs`); with None each number is built into it.
    """

    declared: Mapping[str, Declaration]
    in_test: bool = False
    literals: list[str] | None = None
    warnings: list[str] = field(default_factory=list)

    def warn(self, message: str) -> None:
        if message not in self.warnings:
            self.warnings.append(message)


class Call(NamedTuple):
    """One operator as it stands in a document."""

    name: str
    element: etree._Element
    operands: tuple[Expression, ...]
    scope: Scope

    def fault(self, message: str, hint: str | None = None) -> ScoringError:
        return ScoringError(f"'{self.name}'{at(self.element)} {message}", hint=hint)

    # ------------------------------------------------------------------ attributes

    def text(self, name: str, default: str | None = None) -> str:
        """An attribute. Raises ScoringError when it is missing and has no default."""
        found = get(self.element, name)
        if found is None:
            found = default
        if found is None:
            raise self.fault(f"has no {name}")
        return found

    def flag(self, name: str, default: bool) -> bool:
        found = get(self.element, name)
        return default if found is None else found.strip() in ("true", "1")

    def one_of(self, name: str, options: Sequence[str], default: str | None = None) -> str:
        found = self.text(name, default)
        if found not in options:
            raise self.fault(f'has {name}="{found}"', f"expected {', '.join(options)}")
        return found

    def number(self, name: str, default: str | None = None) -> Callable[[Session], float | None]:
        """A number or the name of a variable that holds one."""
        return self.number_from(self.text(name, default), name)

    def integer(self, name: str, default: str | None = None) -> Callable[[Session], int | None]:
        """A whole number or the name of a variable that holds one."""
        read = self.number(name, default)

        def whole(session: Session) -> int | None:
            found = read(session)
            return None if found is None or found != int_or_none(found) else int(found)

        return whole

    def number_from(self, text: str, name: str) -> Callable[[Session], float | None]:
        """A number in an attribute: a literal, or a bare variable name (mapping note, b3)."""
        text = text.strip()
        try:
            constant = number_of(text)
        except ValueError:
            variable = text.strip("{}")
            if variable not in self.scope.declared:
                raise self.fault(
                    f'has {name}="{text}"', "expected a number or a declared variable's name"
                ) from None

            def held(session: Session) -> float | None:
                value = session.values.get(variable)
                return None if value is None or value.base not in NUMERIC else value.data

            return held
        return lambda _session: constant

    # ------------------------------------------------------------------ NULL

    def strict(self, function: Callable[..., Value | None]) -> Expression:
        """The operator that is NULL when any operand is, and else `function` of them."""
        name, line = self.name, self.element.sourceline

        def unfit(session: Session, fault: KindError) -> None:
            session.warn(f"'{name}'{at_line(line)} is NULL: {fault}")

        operands = self.operands
        if len(operands) == 1:
            only = operands[0]

            def of_one(session: Session) -> Value | None:
                value = only(session)
                if value is None:
                    return None
                try:
                    return function(value)
                except KindError as fault:
                    unfit(session, fault)
                    return None

            return of_one
        if len(operands) == 2:
            left, right = operands

            def of_two(session: Session) -> Value | None:
                first, second = left(session), right(session)
                if first is None or second is None:
                    return None
                try:
                    return function(first, second)
                except KindError as fault:
                    unfit(session, fault)
                    return None

            return of_two

        def of_many(session: Session) -> Value | None:
            values = [operand(session) for operand in operands]
            if None in values:
                return None
            try:
                return function(*values)
            except KindError as fault:
                unfit(session, fault)
                return None

        return of_many

    def lenient(self, function: Callable[[Session], Value | None]) -> Expression:
        """An operator with its own NULL rule; a KindError still makes it NULL."""
        name, line = self.name, self.element.sourceline

        def run(session: Session) -> Value | None:
            try:
                return function(session)
            except KindError as fault:
                session.warn(f"'{name}'{at_line(line)} is NULL: {fault}")
                return None

        return run


def int_or_none(number: float) -> int | None:
    """A float that is whole, as int."""
    return int(number) if abs(number) < 2**53 and number == int(number) else None


def numeric(value: Value) -> float:
    """The number of a single integer or float. Raises KindError for other kinds."""
    if value.cardinality == "single" and value.base in NUMERIC:
        found: float = value.data
        return found
    raise KindError(f"expected a number, found {kind_of(value)}")


def whole(value: Value) -> int:
    """The number of a single integer. Raises KindError for other kinds."""
    if value.cardinality == "single" and value.base == "integer":
        found: int = value.data
        return found
    raise KindError(f"expected an integer, found {kind_of(value)}")


def truth(value: Value) -> bool:
    """A single boolean. Raises KindError for other kinds."""
    if value.base == "boolean" and value.cardinality == "single":
        return value.data is True
    raise KindError(f"expected a boolean, found {kind_of(value)}")


def kind_of(value: Value) -> str:
    """Cardinality and base type in words."""
    return f"{value.cardinality} {value.base}".strip()
