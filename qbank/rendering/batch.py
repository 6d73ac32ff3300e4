"""The instances of one case, with every number of them as the text a reader sees."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.formula_writer import numeral_for_people, numeral_parts
from qbank.expressions.number_columns import exact_numbers, number_texts
from qbank.expressions.numbers import MINUS, NumberFormat, exact_number
from qbank.expressions.symbols import Standing, with_units
from qbank.expressions.tree import Node
from qbank.expressions.units import Unit, parse_unit
from qbank.family.model import Case, Family, Fixed, Given, Grid, Listed, Sampled
from qbank.instances import Floats, Instances
from qbank.rendering.messages import messages_for

T = TypeVar("T")
ValueWriter = Callable[[str, str, Standing], str]
"""Writes a number and its unit where it stands: `symbols.value_plain` and its like."""

KELVIN = "in kelvin:"  # before a name: the same temperature, in kelvin
KELVIN_UNIT = parse_unit("K")
MOST_FIGURES_TO_TELL_APART = 12


@dataclass(frozen=True, slots=True)
class Computed:
    """An expression printed in `unit`. Those of one `group` are sides of one comparison, which
    are printed with as many figures as it takes to tell them apart."""

    node: Node
    unit: Unit
    shown: NumberFormat
    group: int | None = None


class Ledger:
    """The expressions a family's texts need for one case, evaluated together."""

    def __init__(self) -> None:
        self.entries: list[Computed] = []
        self.groups = 0
        self._conditions: list[Node] = []
        self._program: Program | None = None

    def add(self, entry: Computed) -> str:
        """The name under which a batch knows the printed value."""
        self.entries.append(entry)
        return f"={len(self.entries) - 1}"

    def new_group(self) -> int:
        self.groups += 1
        return self.groups

    def add_condition(self, node: Node) -> int:
        """The position at which a batch knows whether the condition holds."""
        self._conditions.append(node)
        return len(self._conditions) - 1

    def evaluate(
        self, env: dict[str, Floats], n: int
    ) -> tuple[list[Floats], list[NDArray[np.bool_]]]:
        """The entries in SI and the conditions, each (n,)."""
        if self._program is None:
            nodes = [entry.node for entry in self.entries]
            self._program = compile_nodes([*nodes, *self._conditions])
        results = self._program(env, n)
        count = len(self.entries)
        return results[:count], [np.asarray(held, dtype=np.bool_) for held in results[count:]]


class Batch:
    """Rows of `instances` that are all in `case`; texts are made when first asked for.

    A name is that of a given, let or unknown, one from a `Ledger`, or a temperature's after
    `KELVIN`.
    """

    def __init__(self, instances: Instances, case: Case, ledger: Ledger) -> None:
        self.instances = instances
        self.family: Family = instances.family
        self.case = case
        self.n = len(instances)
        self._ledger = ledger
        self.words = messages_for(self.family.texts.language).words
        self._neutral: dict[str, list[str]] = {}  # numbers before a language writes them
        self._numbers: dict[str, list[str]] = {}
        self._slots: dict[tuple[str, Standing, ValueWriter], list[str]] = {}
        self._kept: dict[object, object] = {}

    def once(self, owner: object, compute: Callable[[Batch], T]) -> T:
        """What `compute` gives for this batch, computed once for each `owner`."""
        if owner not in self._kept:
            self._kept[owner] = compute(self)
        return cast("T", self._kept[owner])

    @cached_property
    def env(self) -> dict[str, Floats]:
        """All quantities and the case's constants, in SI."""
        constants = {name: np.full(self.n, value) for name, value in self.case.constants.items()}
        return {**self.instances.values, **constants}

    @cached_property
    def _results(self) -> tuple[list[Floats], list[NDArray[np.bool_]]]:
        return self._ledger.evaluate(self.env, self.n)

    def holds(self, position: int) -> list[bool]:
        """Whether a condition of the ledger holds, row by row."""
        held: list[bool] = self._results[1][position].tolist()
        return held

    # ------------------------------------------------------------------------ texts

    def unit(self, name: str) -> str:
        """The text of the unit a name is printed in."""
        if name.startswith(KELVIN):
            return KELVIN_UNIT.text
        if name[0] == "=":
            return self._ledger.entries[int(name[1:])].unit.text
        return unit_of(self.family, name).text

    def numbers(self, name: str) -> list[str]:
        """The numbers as people read them, without the unit; values of a data list in a row."""
        if name not in self._numbers:
            self._numbers[name] = list(map(self.words.number, self._plain_numbers(name)))
        return self._numbers[name]

    def texts(self, values: Floats, fmt: NumberFormat) -> list[str]:
        """Values (n,) as the language writes them."""
        return list(map(self.words.number, number_texts(values, fmt)))

    def _plain_numbers(self, name: str) -> list[str]:
        if name not in self._neutral:
            self._neutral[name] = self._made(name)
        return self._neutral[name]

    def values(self, name: str) -> list[str]:
        """The numbers with their unit."""
        return with_units(self.numbers(name), self.unit(name))

    def slots(self, name: str, standing: Standing, write: ValueWriter) -> list[str]:
        """The values as they stand in a formula."""
        key = (name, standing, write)
        if key not in self._slots:
            unit, numbers = self.unit(name), self.numbers(name)
            together = "".join(numbers)
            if MINUS in together or "×" in together or "," in together:
                self._slots[key] = [write(number, unit, standing) for number in numbers]
            else:  # plain digits all have the same surroundings
                before, _, after = write("#", unit, standing).partition("#")
                self._slots[key] = [f"{before}{number}{after}" for number in numbers]
        return self._slots[key]

    def cells(self, name: str) -> list[list[str]]:
        """For a data list: the numbers one by one, row by row."""
        return [number.split(self.words.between) for number in self.numbers(name)]

    def _made(self, name: str) -> list[str]:
        if name.startswith(KELVIN):
            return self._kelvin(name.removeprefix(KELVIN))
        if name[0] == "=":
            return self._computed(int(name[1:]))
        if name in self.family.given:
            return self._given(self.family.given[name])
        if name in self.family.let:
            let = self.family.let[name]
            return number_texts(let.unit.from_si(self.instances.values[name]), let.shown)
        return number_texts(self.instances.rounded[name], self.family.find[name].shown)

    def _given(self, given: Given) -> list[str]:
        typed = self.instances.typed.get(given.name)
        if typed is not None:
            shown = [numeral_for_people(part) or part.strip() for part in typed.split(",")]
            return [self.words.between.join(shown)] * self.n
        mantissas = self.instances.mantissas[given.name].tolist()
        source, scientific = given.source, given.scientific
        if isinstance(source, Grid | Fixed):
            return exact_numbers(mantissas, source.exponent, scientific)
        if isinstance(source, Listed):
            pairs = zip(source.mantissas, source.exponents, strict=True)
            texts = [exact_number(*pair, scientific) for pair in pairs]
            return [texts[position] for position in mantissas]
        sizes = self.instances.sizes[given.name].tolist()
        return [
            self.words.between.join(exact_numbers(row[:size], source.exponent, scientific))
            for row, size in zip(mantissas, sizes, strict=True)
        ]

    def _kelvin(self, name: str) -> list[str]:
        """A temperature shown in another unit, in kelvin; exact for data."""
        unit = unit_of(self.family, name)
        given = self.family.given.get(name)
        fmt = NumberFormat(decimals=2)
        if given is None or isinstance(given.source, Sampled):
            return number_texts(self.env[name], fmt)
        offset, factor = Fraction(str(unit.offset)), unit.exact or Fraction(unit.factor)
        texts = []
        for shown in self._plain_numbers(name):
            parts = numeral_parts(_machine(shown))
            mantissa, exponent, _ = parts if parts is not None else (0, 0, False)
            exact = mantissa * Fraction(10) ** exponent * factor + offset
            places = max(2, -exponent)
            texts.append(exact_number(round(exact * 10**places), -places))
        return texts

    def _computed(self, position: int) -> list[str]:
        entry = self._ledger.entries[position]
        if entry.group is None:
            return number_texts(entry.unit.from_si(self._results[0][position]), entry.shown)
        members = [
            index for index, other in enumerate(self._ledger.entries) if other.group == entry.group
        ]
        values = [self._ledger.entries[i].unit.from_si(self._results[0][i]) for i in members]
        for member, texts in zip(members, told_apart(values, entry.shown), strict=True):
            self._neutral[f"={member}"] = texts
        return self._neutral[f"={position}"]


def told_apart(values: Sequence[Floats], fmt: NumberFormat) -> list[list[str]]:
    """Texts of the sides (n,) of comparisons; more figures in rows where neighbours look alike.

    Sides that agree to twelve figures are equal as far as the reader is concerned.
    """
    columns = [number_texts(side, fmt) for side in values]
    figures = fmt.figures or 4
    alike = _look_alike(columns, range(len(values[0])))
    while alike and figures < MOST_FIGURES_TO_TELL_APART:
        figures = min(figures + 2, MOST_FIGURES_TO_TELL_APART)
        finer = NumberFormat(figures=figures, notation=fmt.notation)
        candidates = [number_texts(side[alike], finer) for side in values]
        still = set(_look_alike(candidates, range(len(alike))))
        for place, row in enumerate(alike):
            if place not in still:
                for column, texts in zip(columns, candidates, strict=True):
                    column[row] = texts[place]
        alike = [alike[place] for place in sorted(still)]
    return columns


def _look_alike(columns: Sequence[list[str]], rows: Sequence[int]) -> list[int]:
    """The rows in which two neighbouring columns read the same."""
    pairs = list(itertools.pairwise(columns))
    return [row for row in rows if any(left[row] == right[row] for left, right in pairs)]


def unit_of(family: Family, name: str) -> Unit:
    """The shown unit of a given, let or unknown."""
    if name in family.given:
        return family.given[name].unit
    return family.let[name].unit if name in family.let else family.find[name].unit


def _machine(text: str) -> str:
    """A number for people back as digits: only what `exact_number` writes without a power."""
    head, _, power = text.replace("\u2212", "-").partition(" × 10")
    raised = power.translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-"))
    return f"{head}e{raised}" if raised else head
