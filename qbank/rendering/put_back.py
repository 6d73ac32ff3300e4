"""The rounded answers put back into the equations, and what rounding explains of the rest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.numbers import NumberFormat, last_place
from qbank.expressions.symbols import with_unit, with_units
from qbank.expressions.tree import Equation, Node, names_in
from qbank.expressions.units import Unit
from qbank.instances import Floats
from qbank.item import Inline, Paragraph, Table
from qbank.rendering.batch import KELVIN_UNIT, Batch
from qbank.rendering.case_formulas import CaseFormulas
from qbank.rendering.columns import Column, Fixed, apply

NOISE = 1e-12  # of the larger side: a difference below it is that of the last bits
SECOND_ORDER = 0.05  # share by which the linear estimate of the explained difference may be short


class PutBack:
    """Left and right side of each law at the rounded answers, for the case of `formulas`."""

    def __init__(self, formulas: CaseFormulas) -> None:
        self.formulas = formulas
        self.family = formulas.family
        self.laws = formulas.family.laws_in(formulas.case.name)
        self.messages = formulas.messages
        self.units = [self._unit(law.equation) for law in self.laws]
        self._program: Program = compile_nodes(
            [side for law in self.laws for side in (law.equation.left, law.equation.right)]
        )
        most = max((unknown.shown.figures or 0) for unknown in self.family.find.values())
        self._shown = NumberFormat(figures=max(4, most + 1))

    def _unit(self, equation: Equation) -> Unit:
        return self.formulas.units.common(*_with_quantities(equation))

    def table(self) -> Column[Table]:
        """One row a law: both sides, their difference, and what rounding explains."""
        says = self.messages
        header: tuple[tuple[Inline, ...], ...] = tuple(
            (words,)
            for words in (
                says.equation,
                says.left_side,
                says.right_side,
                says.difference,
                says.explained,
            )
        )
        return apply(Table, Fixed(says.put_back), Fixed(header), self._rows, Fixed(True))

    def verdict(self) -> Column[Paragraph]:
        """The sentence about rounding."""
        good = Paragraph((self.messages.rounding_explains,))
        bad = Paragraph((self.messages.rounding_does_not_explain,))
        return lambda batch: [good if explained else bad for explained in self.explained(batch)]

    def explained(self, batch: Batch) -> list[bool]:
        """Whether rounding explains every difference, row by row."""
        held = np.ones(batch.n, dtype=np.bool_)
        for left, right, most in batch.once(self, self._compared):
            noise = NOISE * np.maximum(np.abs(left), np.abs(right))
            held &= np.abs(left - right) <= most * (1 + SECOND_ORDER) + noise
        return held.tolist()

    def _rows(self, batch: Batch) -> Iterable[tuple[tuple[tuple[Inline, ...], ...], ...]]:
        laws: list[list[tuple[tuple[Inline, ...], ...]]] = []
        for law, unit, (left, right, most) in zip(
            self.laws, self.units, batch.once(self, self._compared), strict=True
        ):
            gap = np.abs(left - right)
            gap = np.where(gap <= NOISE * np.maximum(np.abs(left), np.abs(right)), 0.0, gap)
            width = KELVIN_UNIT if unit.offset else unit  # differences of temperatures
            small = NumberFormat(figures=2)
            columns = [
                _texts(batch, left, unit, self._shown),
                _texts(batch, right, unit, self._shown),
                _amounts(batch, gap, width, small),
                _amounts(batch, most, width, small),
            ]
            laws.append(
                [((law.label,), *zip(row, strict=True)) for row in zip(*columns, strict=True)]
            )
        return zip(*laws, strict=True)

    def _compared(self, batch: Batch) -> list[tuple[Floats, Floats, Floats]]:
        """For each law both sides (n,) at the rounded answers, and the difference explained, SI.

        Explained is the sum over the unknowns of how far the law moves when that answer moves by
        half a unit in its last place to either side.
        """
        env = dict(batch.env)
        halves: dict[str, Floats] = {}
        for name, unknown in self.family.find.items():
            rounded = batch.instances.rounded[name]
            env[name] = unknown.unit.to_si(rounded)
            halves[name] = last_place(rounded, unknown.shown) * (0.5 * unknown.unit.factor)
        sides = self._program(env, batch.n)
        residuals = [left - right for left, right in _pairs(sides)]
        explained = [np.zeros(batch.n) for _ in self.laws]
        for name, half in halves.items():
            moved = []
            for sign in (1.0, -1.0):
                shifted = self._program({**env, name: env[name] + sign * half}, batch.n)
                moved.append([left - right for left, right in _pairs(shifted)])
            for k, residual in enumerate(residuals):
                explained[k] += np.maximum(*(np.abs(way[k] - residual) for way in moved))
        return [(*pair, most) for pair, most in zip(_pairs(sides), explained, strict=True)]


def _pairs(sides: Sequence[Floats]) -> list[tuple[Floats, Floats]]:
    return list(zip(sides[::2], sides[1::2], strict=True))


def _with_quantities(equation: Equation) -> tuple[Node, ...]:
    """The sides that tell a unit: a bare zero does not."""
    sides = tuple(side for side in (equation.left, equation.right) if names_in(side))
    return sides or (equation.left, equation.right)


def _texts(batch: Batch, values: Floats, unit: Unit, fmt: NumberFormat) -> list[str]:
    return with_units(batch.texts(unit.from_si(values), fmt), unit.text)


def _amounts(batch: Batch, values: Floats, unit: Unit, fmt: NumberFormat) -> list[str]:
    """Sizes of differences; a plain zero where there is none."""
    shown = values / unit.factor
    texts = with_units(batch.texts(shown, fmt), unit.text)
    zero = with_unit("0", unit.text)
    return [text if value else zero for text, value in zip(texts, values.tolist(), strict=True)]
