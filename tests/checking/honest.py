"""Honest solvers for the tests: they walk the worked path and round where they like.

The path (which numbers are found from which) is the package's; what is done on it is not: every
number written down is rounded or carried on as it is, by a coin of its own for each instance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from qbank.checking.slack import working_figures
from qbank.expressions.numbers import NumberFormat, round_values
from qbank.family.model import Family
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.solving.execution import Execution
from qbank.solving.worked_path import WorkedPath

Arrays = dict[str, np.ndarray]


@dataclass
class Solvers:
    """Honest solvers of one family; `responses` gives what one of them answers."""

    family: Family
    groups: list[tuple[np.ndarray, WorkedPath, list[Execution]]]

    @classmethod
    def of(cls, generator: Generator) -> Solvers:
        paths = generator.sampler.windows.honest.paths
        return cls(
            generator.family,
            [(member, path, [Execution(s.plan) for s in path.stages]) for member, path in paths],
        )

    def responses(self, instances: Instances, rng: np.random.Generator) -> Arrays:
        """One response to every unknown of every instance, (n,) each, in the shown unit."""
        out = {name: np.full(len(instances), np.nan) for name in self.family.find}
        for member, path, executions in self.groups:
            rows = np.flatnonzero(member[instances.case])
            if len(rows):
                answers = self._walk(path, executions, instances.take(rows), rng)
                for name, values in answers.items():
                    out[name][rows] = values
        return out

    def _walk(
        self,
        path: WorkedPath,
        executions: list[Execution],
        instances: Instances,
        rng: np.random.Generator,
    ) -> Arrays:
        n = len(instances)
        env = {name: instances.values[name] for name in self.family.given}
        for name, given in self.family.given.items():
            for other in given.accept:  # each takes its own constant
                value = given.unit.to_si(np.array([other.mantissa * 10.0**other.exponent]))[0]
                env[name] = np.where(rng.random(n) < 0.5, env[name], value)
        for i, case in enumerate(self.family.cases):
            for name, value in case.constants.items():
                known = env.setdefault(name, np.full(n, np.nan))
                env[name] = np.where(instances.case == i, value, known)
        answers: Arrays = {}
        for stage, execution in zip(path.stages, executions, strict=True):
            inputs = {name: env[name] for name in stage.inputs}
            found, _ = execution.run(inputs, n)
            for name in stage.finds:
                if name in self.family.find:
                    env[name], answers[name] = self._answer(name, found[name], rng)
                else:
                    env[name] = self._written(path, name, found[name], rng)
        return answers

    def _written(self, path: WorkedPath, name: str, exact: np.ndarray, rng) -> np.ndarray:
        """A number on the way: exact, as printed, or with the working figures."""
        written, figures = path.written[name], working_figures(self.family)
        shown = written.unit.from_si(exact)
        choices = [shown]
        if self.family.working is None and name in self.family.let:
            choices.append(round_values(shown, written.shown))
        if figures is not None:
            choices.append(round_values(shown, NumberFormat(figures=figures)))
        return written.unit.to_si(_any_of(choices, rng))

    def _answer(self, name: str, exact: np.ndarray, rng) -> tuple[np.ndarray, np.ndarray]:
        """What is carried on, SI, and what is answered, in the shown unit."""
        unknown = self.family.find[name]
        shown = unknown.unit.from_si(exact)
        more = NumberFormat(figures=self.family.working)
        if self.family.working is None:
            fmt = unknown.shown
            more = replace(
                fmt,
                figures=None if fmt.figures is None else fmt.figures + 1,
                decimals=None if fmt.decimals is None else fmt.decimals + 1,
            )
        worked = _any_of([shown, round_values(shown, more)], rng)
        given = round_values(worked, unknown.shown)
        carried = worked if self.family.working else _any_of([worked, given], rng)
        return unknown.unit.to_si(carried), _any_of([worked, given], rng)


def _any_of(choices: list[np.ndarray], rng: np.random.Generator) -> np.ndarray:
    """For each instance one of the choices."""
    pick = rng.integers(len(choices), size=len(choices[0]))
    return np.choose(pick, choices)


def slips_inside(generator: Generator, instances: Instances) -> Iterator[tuple[str, str, int]]:
    """Answer, slip, and how many instances have the slip within the tolerance of the answer.

    A slip that comes to the answer itself is none there; one that can so often not be told from
    honest work that the tolerance does not heed it is left out, as the policy says.
    """
    for name in generator.sampler.windows.asked:
        unknown = generator.family.find[name]
        low, high = instances.tolerance[name]
        exact = instances.values[name]
        for slip in generator.sampler.windows.policies[name].apart:
            wrong = instances.wrong[slip][name]
            place = 10.0 ** -(unknown.shown.decimals or 12)
            scale = np.maximum(np.abs(exact), place * unknown.unit.factor)
            with np.errstate(invalid="ignore"):
                differs = np.abs(wrong - exact) > 2e-9 * scale
                typed = unknown.unit.from_si(wrong)
                inside = (low <= typed) & (typed <= high)
                typed = round_values(typed, unknown.shown)
                inside |= (low <= typed) & (typed <= high)
                yield name, slip, int(np.count_nonzero(inside & differs))
