"""Solved and checked instances of a family: drawn by the thousand, one by its index, or from
data given by hand.

Instance k of a seed is a pure function of the family's content, the seed and k: neither the
chunk nor the process it is made in matters.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from qbank.checking.checker import Checker
from qbank.checking.coincidence import Meeting, count_meetings
from qbank.checking.report import CheckReport
from qbank.checking.window import asked_for
from qbank.errors import DrawError
from qbank.family.model import Family
from qbank.handgiven import read_data
from qbank.instances import Floats, Instances, Integers
from qbank.sampling.drawn import Drawn
from qbank.sampling.sampler import Count, Sampler
from qbank.sampling.streams import Purpose, below
from qbank.sampling.tally import Tally
from qbank.solving.cases import decide_cases
from qbank.solving.slips import SlipSolver
from qbank.solving.solver import SOLVED, STATUS_WORDS, Solver

__all__ = [
    "Count",
    "Generator",
    "Report",
    "Worked",
    "count_instances",
    "generate",
    "instance",
    "work",
]

_JUDGED_ALREADY = {"rules", "expected-sign"}  # checks that repeat what the rules said
LAST_INDEX = 2**62  # an index fits a signed word with room for sums


@dataclass(slots=True)
class Report:
    """What generating came to; a generator adds to it chunk by chunk.

    rules   how many candidates each rule reached and rejected; None before the first chunk
    cases   instances of each case, in the order of the family
    checks  checks made and passed
    warnings  what the author should know of the tolerances, a sentence each
    coincidences  (answer, slip, other slip or "" for the key) -> in how many instances they meet
    """

    family: Family
    instances: int = 0
    rules: Tally | None = None
    cases: list[int] = field(default_factory=list)
    checks: CheckReport = field(default_factory=CheckReport)
    warnings: tuple[str, ...] = ()
    coincidences: dict[Meeting, int] = field(default_factory=dict)

    @property
    def rejected_share(self) -> float:
        """The share of candidates that some rule rejected, 0 to 1."""
        return 0.0 if self.rules is None else 1.0 - self.rules.acceptance

    def by_case(self) -> dict[str, int]:
        """Instances of each case; one nameless case where the family has none."""
        counts = self.cases or [0] * len(self.family.cases)
        return {case.name: n for case, n in zip(self.family.cases, counts, strict=True)}

    def add(self, instances: Instances) -> None:
        """Count a chunk."""
        self.instances += len(instances)
        counts = np.bincount(instances.case, minlength=len(self.family.cases)).tolist()
        for meeting, count in count_meetings(instances, asked_for(self.family)).items():
            self.coincidences[meeting] = self.coincidences.get(meeting, 0) + count
        self.cases = [a + b for a, b in zip(self.cases or [0] * len(counts), counts, strict=True)]

    def as_json(self) -> dict[str, Any]:
        """The report as plain values."""
        rules = self.rules
        return {
            "family": self.family.name,
            "instances": self.instances,
            "cases": self.by_case(),
            "candidates": 0 if rules is None else rules.candidates,
            "rejected_share": self.rejected_share,
            "rules": [] if rules is None else rules.rows(),
            "checks": self.checks.as_json(),
            "warnings": list(self.warnings),
            "coincidences": [
                {"answer": answer, "slip": slip, "with": other or "the key", "instances": count}
                for (answer, slip, other), count in self.coincidences.items()
            ],
        }

    def as_text(self) -> str:
        """The report as tables for the terminal."""
        cases = ", ".join(f"{name}: {n:,}" for name, n in self.by_case().items() if name)
        lines = [f"{self.family.name}: {self.instances:,} instances" + f" ({cases})" * bool(cases)]
        if self.rules is not None:
            share = f"{100 * self.rejected_share:.1f} %"
            lines.append(f"{self.rules.candidates:,} candidates, {share} rejected")
            lines.append(self.rules.as_table())
        lines.append(self.checks.as_text())
        lines += [f"warning: {said}" for said in self.warnings]
        return "\n".join(lines)


@dataclass(frozen=True, slots=True)
class Worked:
    """Hand-given data solved: one instance of index -1, and what its author should know."""

    instances: Instances
    warnings: tuple[str, ...]


class Generator:
    """One family, compiled: its `solver`, `slips`, `sampler` (with the rules) and checks.

    Raises FamilyError for laws that cannot be solved.
    """

    def __init__(self, family: Family) -> None:
        self.family = family
        self.solver = Solver(family)
        self.slips = SlipSolver(family, self.solver)
        self.sampler = Sampler(family, self.solver, self.slips)
        self._checker = Checker(family)

    def count(self, seed: int = 0) -> Count:
        """How many distinct instances there are; DrawError when the rules can hardly be met."""
        return self.sampler.count(seed)

    def ensure_enough(self, count: int, seed: int = 0) -> None:
        """Raise DrawError when the rules can hardly be met or `count` instances do not exist."""
        self.sampler.ensure_enough(count, seed)

    def generate(
        self, count: int, seed: int = 0, start: int = 0, report: Report | None = None
    ) -> Iterator[Instances]:
        """Instances `start .. start+count-1` of a seed, in order, in chunks of at most 16384.

        Every instance is solved, checked, and distinct from all others of the seed. `report`
        receives the counts. Before the first chunk is made, raises ValueError for a negative
        argument and DrawError when fewer than `start + count` instances exist or the rules can
        hardly be met; while the chunks are made, CheckFailed or FamilyError for a check that does
        not hold.
        """
        if count < 0 or start < 0 or start + count > LAST_INDEX:
            raise ValueError(
                f"count {count} and start {start}; expected both from 0 on, together up to 2**62"
            )
        if count:
            self.sampler.ensure_enough(start + count, seed)
        return self._chunks(count, seed, start, Report(self.family) if report is None else report)

    def instance(self, seed: int, k: int) -> Instances:
        """Instance k of a seed, alone; errors as for `generate`."""
        count = self.count(seed)
        if k >= count.number:
            sure = "" if count.exact else "is certain to "
            raise DrawError(
                f"{self.family.name} {sure}{'has' if count.exact else 'have'} instances 0 to"
                f" {count.number - 1:,}; instance {k:,} was asked for",
                hint="ask for one of those, or draw with another seed",
            )
        return next(self.generate(1, seed, k))

    def work(self, data: Mapping[str, str]) -> Worked:
        """Solve data given by hand, such as {"m_a": "1.2 kg", "x": "1.2, 1.3 mm"}.

        Each given that is not fixed is needed, and may lie off the family's grid; rules that the
        data break and checks that do not hold are warnings. Raises ExpressionError for data that
        cannot be read, DrawError when no case holds for them or the laws have no single solution.
        """
        row = read_data(self.family, data)
        values = self.solver.lets(row.values, 1)
        case, holding = decide_cases(self.family)(values, 1)
        if holding[0] != 1:
            raise self._undecided(values, int(holding[0]))
        solved = self.solver.solve(values, case, 1)
        if solved.status[0] != SOLVED:
            raise DrawError(
                f"{self.family.name}: the laws have no answer for these data:"
                f" {STATUS_WORDS[int(solved.status[0])]}",
                hint="look for a value of the wrong size or unit",
            )
        values |= solved.values
        wrong = self.slips.solve(values, case, 1)
        windows = self.sampler.windows.measure(values, case, wrong, 1)
        drawn = Drawn(case, values, row.mantissas, row.sizes, wrong, windows)
        instances = self._instances(0, np.full(1, -1), np.zeros(1, np.int64), drawn, row.typed)
        checks = CheckReport()
        self._checker.check(instances, checks)
        broken = self.sampler.judge.broken(values, case)
        warnings = [f"the family needs {r.need}, because {r.because}" for r in broken]
        warnings += [str(f) for f in checks.failures if f.check not in _JUDGED_ALREADY]
        return Worked(instances, tuple(warnings))

    def _chunks(self, count: int, seed: int, start: int, report: Report) -> Iterator[Instances]:
        if report.rules is None:
            report.rules = Tally(self.sampler.judge.rulings)
            report.warnings = self.sampler.windows.warnings
        key = self.sampler.key(seed)
        first = start
        for drawn in self.sampler.draw(seed, start, count, report.rules):
            n = len(drawn)
            words = key.words(Purpose.SETTING, 0, n, first)
            instances = self._instances(
                seed, np.arange(first, first + n), below(words, len(self.family.settings)), drawn
            )
            self._checker.check(instances, report.checks)
            report.checks.ensure()
            report.add(instances)
            first += n
            yield instances

    def _instances(
        self,
        seed: int,
        index: Integers,
        setting: Integers,
        drawn: Drawn,
        typed: Mapping[str, str] | None = None,
    ) -> Instances:
        windows = drawn.windows
        return Instances(
            family=self.family,
            seed=seed,
            index=index,
            case=drawn.case,
            setting=setting,
            mantissas=drawn.mantissas,
            sizes=drawn.sizes,
            values=drawn.values,
            rounded={name: window.key for name, window in windows.items()},
            tolerance={name: (window.low, window.high) for name, window in windows.items()},
            wrong=drawn.wrong,
            typed=typed or {},
            windows={name: (window.slack, window.distance) for name, window in windows.items()},
        )

    def _undecided(self, values: Mapping[str, Floats], holding: int) -> DrawError:
        if not all(np.isfinite(values[name]).any() for name in self.family.let):
            return DrawError(
                f"{self.family.name}: an intermediate quantity has no finite value for these data",
                hint="look for a value of the wrong size or unit",
            )
        found = "no case holds" if holding == 0 else f"{holding} cases hold at once"
        names = ", ".join(f"'{case.name}'" for case in self.family.cases)
        return DrawError(
            f"{self.family.name}: {found} for these data; the cases are {names}",
            hint="the data lie where nothing decides which way it goes; change one a little",
        )


def generate(
    family: Family, count: int, seed: int = 0, start: int = 0, report: Report | None = None
) -> Iterator[Instances]:
    """Instances `start .. start+count-1` of a seed; see `Generator.generate`."""
    return Generator(family).generate(count, seed, start, report)


def instance(family: Family, seed: int, k: int) -> Instances:
    """Instance k of a seed, alone; see `Generator.instance`."""
    return Generator(family).instance(seed, k)


def work(family: Family, data: Mapping[str, str]) -> Worked:
    """Data given by hand, solved; see `Generator.work`."""
    return Generator(family).work(data)


def count_instances(family: Family) -> Count:
    """How many distinct instances a family has; exact for small families.

    Raises DrawError when the rules can hardly be met.
    """
    return Generator(family).count()
