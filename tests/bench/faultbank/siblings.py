"""Siblings of a family with their true keys, and what the same laws give for other data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

import numpy as np

from qbank.expressions.number_columns import machine_texts
from qbank.expressions.numbers import NumberFormat
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Enter, Family, Fixed, Grid, Listed, Sampled
from qbank.generation import Generator
from qbank.instances import Floats, Instances
from qbank.solving.cases import decide_cases
from qbank.solving.solver import Solver


@dataclass(frozen=True, eq=False)
class Siblings:
    """`n` instances of one family; `asked` are the unknowns whose number is entered."""

    family: Family
    made: Instances
    solver: Solver
    asked: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.made)

    @property
    def data(self) -> dict[str, Floats]:
        return {name: self.made.values[name] for name in self.family.given}

    def key_texts(self, unknown: str, values: Floats) -> list[str]:
        """Values in the shown unit as the family writes a key for a machine."""
        fine = np.where(np.isfinite(values), values, 0.0)
        return machine_texts(fine, self.family.find[unknown].shown)

    def again(
        self, changed: Mapping[str, Floats], lets: Mapping[str, Floats] | None = None
    ) -> dict[str, Floats]:
        """The answers, shown unit, for other givens, or intermediate quantities put in place."""
        n = len(self)
        with np.errstate(all="ignore"):
            values = self.solver.lets({**self.data, **changed}, n)
            values |= lets or {}
            case, holding = decide_cases(self.family)(values, n)
            case = np.where(holding == 1, case, self.made.case)
            solved = self.solver.solve(values, case, n)
        found = {}
        for name, unknown in self.family.find.items():
            answer = np.where(solved.status == 0, solved.values[name], np.nan)
            found[name] = np.asarray(unknown.unit.from_si(answer))
        return found

    def number(self, given: str, row: int) -> list[Decimal]:
        """The number or numbers of a given, as the family prints them."""
        source = self.family.given[given].source
        mantissa = self.made.mantissas.get(given)
        match source:
            case Fixed(value, exponent):
                return [Decimal(value).scaleb(exponent)]
            case Listed(mantissas, exponents):
                at = 0 if mantissa is None else int(mantissa[row])
                return [Decimal(mantissas[at]).scaleb(exponents[at])]
            case Grid(exponent=exponent):
                assert mantissa is not None
                return [Decimal(int(mantissa[row])).scaleb(exponent)]
            case Sampled(exponent=exponent):
                assert mantissa is not None
                size = int(self.made.sizes[given][row])
                return [Decimal(int(m)).scaleb(exponent) for m in mantissa[row][:size]]


@cache
def siblings(name: str, n: int, seed: int) -> Siblings:
    """The first n siblings of a shipped family."""
    family = load_family(find_family(name))
    generator = Generator(family)
    made = next(generator.generate(n, seed=seed))
    asked = (ask.quantity for ask in family.ask if isinstance(ask, Enter))
    return Siblings(family, made, generator.solver, tuple(dict.fromkeys(asked)))


def shown_text(value: float, shown: NumberFormat) -> str:
    return machine_texts(np.array([value]), shown)[0]
