"""What a plan is made of: the steps that give unknowns their values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from qbank.expressions.tree import Node
from qbank.solving.inversion import Branch
from qbank.solving.linear import Assignment, LinearSystem


@dataclass(frozen=True, slots=True)
class Formulas:
    """One value for each unknown, in order; a later one may use an earlier one."""

    assignments: tuple[Assignment, ...]


@dataclass(frozen=True, slots=True)
class Linear:
    """A linear system, solved by its closed form or, where it has none, row by row."""

    system: LinearSystem


@dataclass(frozen=True, slots=True)
class Candidates:
    """Several values for one unknown, each under conditions."""

    unknown: str
    branches: tuple[Branch, ...]


@dataclass(frozen=True, slots=True)
class PolynomialRoots:
    """The real roots of a polynomial, coefficients from the highest power down."""

    unknown: str
    coefficients: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class BracketedRoots:
    """The roots of `residual` between `low` and `high`."""

    unknown: str
    residual: Node
    low: Node
    high: Node


Step = Formulas | Linear | Candidates | PolynomialRoots | BracketedRoots


def closed_form(step: Step) -> tuple[Assignment, ...] | None:
    """The formulas a step consists of, or None if it does more."""
    match step:
        case Formulas(assignments=assignments):
            return assignments
        case Linear(system=system):
            return system.closed
        case _:
            return None


def made_by(step: Step) -> set[str]:
    """The names that have a value after the step."""
    match step:
        case Formulas(assignments=assignments):
            return {name for name, _ in assignments}
        case Linear(system=system):
            return set(system.unknowns)
        case _:
            return {step.unknown}


def nodes_of(step: Step) -> Iterator[Node]:
    """The expressions the step evaluates."""
    match step:
        case Formulas(assignments=assignments):
            yield from (node for _, node in assignments)
        case Linear(system=system):
            yield from (node for row in system.matrix for node in row)
            yield from system.right
        case Candidates(branches=branches):
            for branch in branches:
                yield branch.value
                yield from branch.conditions
        case PolynomialRoots(coefficients=coefficients):
            yield from coefficients
        case BracketedRoots():
            yield from (step.residual, step.low, step.high)


class PlanError(Exception):
    """Laws that cannot be solved; the caller knows the place and says it to the user.

    `law` and `unknown` name what the message is about; `mend` says what to do.
    """

    def __init__(
        self, message: str, *, law: str | None = None, unknown: str | None = None, mend: str
    ) -> None:
        super().__init__(message)
        self.message = message
        self.law = law
        self.unknown = unknown
        self.mend = mend


def listing(names: Iterable[str]) -> str:
    """Names for a sentence: 'a', 'b' and 'c'."""
    quoted = [f"'{name}'" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
