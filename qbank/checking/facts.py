"""What the checks of one chunk look at: shared arrays, each computed once, when first needed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from qbank.checking.enclosure import Box, Enclosure
from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.numbers import last_place
from qbank.expressions.tree import Node, names_in
from qbank.family.model import Family, Fixed
from qbank.instances import Floats, Instances
from qbank.place import Place
from qbank.solving.law_system import LawSystem, Matrix
from qbank.solving.second_route import SecondAnswers, SecondRoute, second_answers

Mask = NDArray[np.bool_]
Env = dict[str, Floats]

NUDGE = 2.0**-30  # relative change of the data by which conditioning is judged


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one check found on one subject for every instance it concerns.

    `passed` is (n,), True where the subject does not concern the instance; `concerned` is how
    many it does. `explain(row)` gives the sentence and the numbers for a row that failed.
    """

    subject: str
    passed: Mask
    concerned: int
    explain: Callable[[int], tuple[str, dict[str, float]]]
    place: Place | None = None  # set where the family's author can mend it


class LetChain:
    """The intermediate quantities, computed afresh from the givens in an order of their own."""

    def __init__(self, family: Family) -> None:
        self._levels: list[tuple[list[str], Program]] = []
        done = set(family.given) | {"pi"}
        waiting = {name: let.expression for name, let in family.let.items()}
        while waiting:
            ready = [name for name, node in waiting.items() if names_in(node) <= done]
            if not ready:
                raise ValueError(f"the lets {', '.join(waiting)} depend on each other")
            self._levels.append((ready, compile_nodes([waiting.pop(name) for name in ready])))
            done |= set(ready)

    def __call__(self, givens: Env, n: int) -> Env:
        """The lets (n,), SI, from givens in SI."""
        env = dict(givens)
        for names, program in self._levels:
            env |= dict(zip(names, program(env, n), strict=True))
        return {name: env[name] for names, _ in self._levels for name in names}


class Statements:
    """Conditions and bounds the family states, compiled into one program, by label."""

    def __init__(self, labelled: Mapping[tuple[str, int], Node]) -> None:
        self._labels = list(labelled)
        self._program = compile_nodes(list(labelled.values()))

    def __call__(self, env: Env, n: int) -> dict[tuple[str, int], Floats]:
        with np.errstate(all="ignore"):
            return dict(zip(self._labels, self._program(env, n), strict=True))


class Compiled:
    """Everything the checks of a family compile, once."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.route = SecondRoute(family)
        self.lets = LetChain(family)
        self.enclosures = {id(system): _Closing(system) for system in self.route.systems}
        self.statements = Statements(_labelled(family))
        drawn = [
            name for name, given in family.given.items() if not isinstance(given.source, Fixed)
        ]
        # Uneven factors of either sign, so that no symmetry of the model hides a cancellation.
        self.nudges = {
            name: 1.0 + NUDGE * (1 if i % 2 else -1) * (0.5 + 0.5 * ((i + 1) * 0.618 % 1.0))
            for i, name in enumerate(drawn)
        }


class _Closing:
    """How far a system's laws may be from closing while the unknowns range over a box."""

    def __init__(self, system: LawSystem) -> None:
        self._system = system
        names = frozenset(system.unknowns)
        self._curved = [
            (i, j, entry)
            for i, row in enumerate(system.entries)
            for j, entry in enumerate(row)
            if entry is not None and names_in(entry) & names
        ]
        self._slopes = Enclosure([entry for _, _, entry in self._curved], names)
        self._stepped = [i for i, row in enumerate(system.entries) if None in row]
        self._laws = Enclosure([system.laws[i].equation.residual for i in self._stepped], names)

    def bounds(
        self, facts: Facts, matrix: Matrix, residuals: Sequence[Floats]
    ) -> list[tuple[Floats, Floats]]:
        """For each law: |residual| at the rounded answers, and the most that rounding explains.

        The most is the sum over the unknowns of |slope| times half a unit in the last place; a
        slope that depends on the unknowns is taken at its largest over the box. A law with a
        function that has no slope must itself take the value zero within the box.
        """
        names, n = self._system.unknowns, facts.n
        halves = [facts.half_si[name] for name in names]
        largest = [[np.abs(entry) for entry in row] for row in matrix]
        box: Box = {
            name: (facts.rounded_si[name] - half, facts.rounded_si[name] + half)
            for name, half in zip(names, halves, strict=True)
        }
        if self._curved:
            found = self._slopes(facts.env, box, n)
            for (i, j, _), (low, high) in zip(self._curved, found, strict=True):
                largest[i][j] = np.maximum(np.abs(low), np.abs(high))
        allowed = []
        for row in largest:
            total: Floats = np.zeros(n)
            for slope, half in zip(row, halves, strict=True):
                if isinstance(slope, np.ndarray) or slope != 0.0:
                    total = total + slope * half
            allowed.append(total)
        pairs = [(np.abs(r), most) for r, most in zip(residuals, allowed, strict=True)]
        if self._stepped:
            for i, (low, high) in zip(self._stepped, self._laws(facts.env, box, n), strict=True):
                pairs[i] = (np.maximum(low, -high), np.zeros(n))  # positive where zero is outside
        return pairs


class Facts:
    """One chunk of instances that share a law system, and what the checks derive from it."""

    def __init__(self, compiled: Compiled, system: LawSystem, instances: Instances) -> None:
        self.compiled = compiled
        self.family = compiled.family
        self.system = system
        self.instances = instances
        self.n = len(instances)
        self.hand_given = bool(self.n and instances.index[0] < 0)
        self.env: Env = {**instances.values, **compiled.route.constants(instances.case)}

    @cached_property
    def statements(self) -> dict[tuple[str, int], Floats]:
        return self.compiled.statements(self.env, self.n)

    # ------------------------------------------------------------------------ answers

    @cached_property
    def shown(self) -> Env:
        """The answers before rounding, in the shown unit."""
        return {
            name: unknown.unit.from_si(self.env[name]) for name, unknown in self.family.find.items()
        }

    @cached_property
    def place(self) -> Env:
        """One unit in the last displayed place of each answer, in the shown unit."""
        return {
            name: last_place(self.instances.rounded[name], unknown.shown)
            for name, unknown in self.family.find.items()
        }

    @cached_property
    def half_si(self) -> Env:
        return {
            name: place * (0.5 * self.family.find[name].unit.factor)
            for name, place in self.place.items()
        }

    @cached_property
    def rounded_si(self) -> Env:
        return {
            name: unknown.unit.to_si(self.instances.rounded[name])
            for name, unknown in self.family.find.items()
        }

    @cached_property
    def scale(self) -> Env:
        """What a difference of answers is measured against, SI: the answer, or its last place."""
        return {
            name: np.maximum(np.abs(self.env[name]), 2 * half)
            for name, half in self.half_si.items()
        }

    # ------------------------------------------------------------------------ laws

    @cached_property
    def residuals_and_sides(self) -> tuple[list[Floats], list[Floats]]:
        return self.system.residuals_and_sides(self.env, self.n)

    @cached_property
    def nudged_residuals(self) -> list[Floats]:
        """The laws' residuals at the answers, with the drawn data changed a little."""
        givens = {name: self.env[name] for name in self.family.given}
        givens |= {name: givens[name] * factor for name, factor in self.compiled.nudges.items()}
        lets = self.compiled.lets(givens, self.n)
        return self.system.residuals({**self.env, **givens, **lets}, self.n)

    @cached_property
    def second(self) -> SecondAnswers:
        """The answers by the second route, and how far they move with the nudged data."""
        return second_answers(self.system, self.env, self.n, self.scale, self.nudged_residuals)

    @cached_property
    def closing(self) -> list[tuple[Floats, Floats]]:
        residuals = self.system.residuals({**self.env, **self.rounded_si}, self.n)
        closing = self.compiled.enclosures[id(self.system)]
        return closing.bounds(self, self.second.jacobian, residuals)

    def rows(self, rows: NDArray[np.int64]) -> Env:
        """The environment of some rows."""
        return {name: np.asarray(array)[rows] for name, array in self.env.items()}


def _labelled(family: Family) -> dict[tuple[str, int], Node]:
    labelled: dict[tuple[str, int], Node] = {}
    for i, case in enumerate(family.cases):
        if case.when is not None:
            labelled["when", i] = case.when
    for i, unknown in enumerate(family.find.values()):
        if unknown.expect is not None:
            labelled["expect", i] = unknown.expect
        if unknown.choose is not None:
            labelled["choose", i] = unknown.choose
        if unknown.between is not None:
            labelled["from", i], labelled["to", i] = unknown.between
    labelled |= {("rule", i): rule.need for i, rule in enumerate(family.rules)}
    labelled |= {("confirm", i): confirmation.that for i, confirmation in enumerate(family.confirm)}
    return labelled
