"""The state of one candidate's item: the values of its variables and what was met on the way."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from qbank.scoring.chance import Chance
from qbank.scoring.declarations import Declaration
from qbank.scoring.faults import ScoringError
from qbank.scoring.limits import MAX_STEPS
from qbank.scoring.values import Value


class Session:
    """Values by variable name; keys and defaults as template processing left them."""

    __slots__ = (
        "chance", "correct", "declared", "defaults", "literals", "steps", "test", "values",
        "warnings",
    )  # fmt: skip

    def __init__(
        self,
        declared: Mapping[str, Declaration],
        values: dict[str, Value | None],
        chance: Chance,
    ) -> None:
        self.declared = declared
        self.values = values
        self.correct: dict[str, Value | None] = {}
        self.defaults: dict[str, Value | None] = {}
        self.chance = chance
        self.literals: Sequence[Value | None] = ()  # of the program that runs
        self.steps = 0
        self.warnings: list[str] = []
        self.test: Any = None  # the items of a test, in outcome processing

    def key(self, name: str) -> Value | None:
        """The key of a declared response."""
        return self.correct[name] if name in self.correct else self.declared[name].correct

    def default(self, name: str) -> Value | None:
        """The default of a declared variable."""
        return self.defaults[name] if name in self.defaults else self.declared[name].default

    def warn(self, message: str) -> None:
        """Keep what was met but could not be done as the standard says."""
        if message not in self.warnings:
            self.warnings.append(message)

    def spend(self, steps: int) -> None:
        """Count work. Raises ScoringError when there is too much of it."""
        self.steps += steps
        if self.steps > MAX_STEPS:
            raise ScoringError(f"an item's rules take more than {MAX_STEPS} steps")


Expression = Callable[[Session], Value | None]
Rule = Callable[[Session], None]
