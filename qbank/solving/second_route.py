"""The answers once more, by another way than the solver's: the check that finds its mistakes.

No algebra system, no plan, no order of solving. Linear laws are a matrix, filled in by
differentiating the laws' trees, and one elimination. Other laws are solved by Newton's method on
the whole system, from starts that lie beside the answer to be judged, on opposite sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.family.model import Family
from qbank.instances import Floats, Integers
from qbank.solving.law_system import Answers, Env, LawSystem, Matrix
from qbank.solving.newton import newton


@dataclass(frozen=True, slots=True)
class SecondAnswers:
    """What the second route finds, SI.

    answers   for each start, unknown -> (n,); NaN where no root was found
    jacobian  residuals by unknowns, at the first of the answers
    moves     unknown -> (n,): the change that takes the `disturbed` residuals to zero
    """

    answers: list[Answers]
    jacobian: Matrix
    moves: Answers


def second_answers(
    system: LawSystem, env: Env, n: int, floors: Env, disturbed: Sequence[Floats]
) -> SecondAnswers:
    """The answers for data, and for laws that are not linear the answers to judge, in `env`.

    Linear laws use no answer in `env`. `floors` is the size of each unknown (n,) below which a
    change does not matter. `disturbed` are residuals (n,) of other data at the same answers.
    """
    with np.errstate(all="ignore"):
        if system.linear:
            found, matrix, moves = system.solve_linear(env, n, [disturbed])
            return SecondAnswers([found], matrix, moves[0])
        starts = [newton(system, env, n, floors, side) for side in (1, -1)]
        matrix = system.jacobian({**env, **starts[0]}, n)
        return SecondAnswers(starts, matrix, system.step(matrix, disturbed, n))


class SecondRoute:
    """The law systems of a family, one for each set of laws that some case uses."""

    def __init__(self, family: Family) -> None:
        self.family = family
        unknowns = tuple(family.find)
        sets = [family.laws_in(case.name) for case in family.cases]
        distinct = list(dict.fromkeys(tuple(map(id, laws)) for laws in sets))
        of_key = {key: position for position, key in enumerate(distinct)}
        self.system_of_case = np.array([of_key[tuple(map(id, laws))] for laws in sets])
        self.systems = [
            LawSystem(sets[int(np.flatnonzero(self.system_of_case == position)[0])], unknowns)
            for position in range(len(distinct))
        ]
        names = dict.fromkeys(name for case in family.cases for name in case.constants)
        self._constants = {
            name: np.array([case.constants.get(name, np.nan) for case in family.cases])
            for name in names
        }

    def constants(self, case: Integers) -> dict[str, Floats]:
        """The numbers the cases set, (n,) each, for cases (n,)."""
        return {name: table[case] for name, table in self._constants.items()}

    def groups(self, case: Integers) -> Iterator[tuple[LawSystem, Integers | None]]:
        """Each system in use with its rows; None for all of them."""
        if len(self.systems) == 1:
            yield self.systems[0], None
            return
        of_row = self.system_of_case[case]
        for position, system in enumerate(self.systems):
            rows = np.flatnonzero(of_row == position)
            if len(rows):
                yield system, (None if len(rows) == len(case) else rows)
