"""What the checks came to: how many were made and passed, and every failure's particulars."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from qbank.errors import CheckFailed, FamilyError
from qbank.place import Place

KEPT = 20  # failures described in full, for each check


@dataclass(frozen=True, slots=True)
class Failure:
    """One check that did not hold for one instance.

    `check` is the check's code, `subject` what it looked at ("law left"), `numbers` the values
    that disagree, in the units the sentence names. `place` is set where the family's author can
    mend it; elsewhere the tool is at fault. `command` shows the instance again.
    """

    check: str
    family: str
    seed: int
    index: int
    subject: str
    sentence: str
    numbers: Mapping[str, float]
    command: str
    place: Place | None = None

    def __str__(self) -> str:
        which = (
            f"instance {self.index} of seed {self.seed}" if self.index >= 0 else "the given data"
        )
        return (
            f"{self.family}: {which} fails the check {self.check}: {self.subject}: {self.sentence}"
        )

    def as_json(self) -> dict[str, Any]:
        """The failure as plain values; numbers that are not finite become text."""
        return {
            "check": self.check,
            "family": self.family,
            "seed": self.seed,
            "index": self.index,
            "subject": self.subject,
            "sentence": self.sentence,
            "numbers": {
                name: value if abs(value) < float("inf") else str(value)
                for name, value in self.numbers.items()
            },
            "show": self.command,
            "place": None if self.place is None else str(self.place),
        }


@dataclass(slots=True)
class Tally:
    """How often one check was made and how often it passed."""

    made: int = 0
    passed: int = 0


@dataclass(slots=True)
class CheckReport:
    """Counts per check code, in the order the checks run, and the failures kept.

    A check of three laws on a thousand instances counts three thousand times. At most
    `KEPT` failures of each check are described; all are counted.
    """

    tallies: dict[str, Tally] = field(default_factory=dict)
    failures: list[Failure] = field(default_factory=list)

    @property
    def made(self) -> int:
        return sum(tally.made for tally in self.tallies.values())

    @property
    def passed(self) -> int:
        return sum(tally.passed for tally in self.tallies.values())

    @property
    def ok(self) -> bool:
        """Whether every check made has passed."""
        return self.made == self.passed

    def count(self, check: str, made: int, passed: int) -> None:
        """Add to the counts of a check."""
        tally = self.tallies.setdefault(check, Tally())
        tally.made += made
        tally.passed += passed

    def wants(self, check: str) -> int:
        """How many more failures of a check are described in full."""
        return max(0, KEPT - sum(failure.check == check for failure in self.failures))

    def add(self, failure: Failure) -> None:
        """Keep a failure's particulars; its count is added by `count`."""
        self.failures.append(failure)

    def merge(self, other: CheckReport) -> None:
        """Add the counts and failures of another report, such as that of a parallel worker."""
        for check, tally in other.tallies.items():
            self.count(check, tally.made, tally.passed)
        for failure in other.failures:
            if self.wants(failure.check):
                self.add(failure)

    def ensure(self) -> None:
        """Raise for the most telling failure; do nothing when all checks passed.

        FamilyError, with the place of the statement, where the author can mend it (a
        confirmation that does not hold, a tolerance narrower than the rounding); CheckFailed
        where the tool contradicts itself.
        """
        if self.ok:
            return
        order = list(self.tallies)
        worst = min(self.failures, key=lambda failure: order.index(failure.check))
        tally = self.tallies[worst.check]
        hint = (
            f"see it with: {worst.command}\n    {tally.made - tally.passed} of {tally.made} checks"
            f" '{worst.check}' failed; {self.made - self.passed} of {self.made} checks in all"
        )
        kind = CheckFailed if worst.place is None else FamilyError
        raise kind(str(worst), place=worst.place, hint=hint)

    def as_json(self) -> dict[str, Any]:
        """Counts and failures as plain values."""
        return {
            "made": self.made,
            "passed": self.passed,
            "checks": {
                check: {"made": tally.made, "passed": tally.passed}
                for check, tally in self.tallies.items()
            },
            "failures": [failure.as_json() for failure in self.failures],
        }

    def as_text(self) -> str:
        """A table of the counts, then the failures, for the terminal."""
        width = max([len(check) for check in self.tallies] + [len("check")])
        lines = [f"{'check':<{width}}  {'made':>12}  {'passed':>12}"]
        lines += [
            f"{check:<{width}}  {tally.made:>12,}  {tally.passed:>12,}"
            for check, tally in self.tallies.items()
        ]
        lines.append(f"{'all':<{width}}  {self.made:>12,}  {self.passed:>12,}")
        for failure in self.failures:
            lines += [str(failure), f"    {failure.command}"]
        return "\n".join(lines)
