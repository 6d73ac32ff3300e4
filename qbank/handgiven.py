"""Data a person gives by hand, read against the givens of a family."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from qbank.errors import ExpressionError
from qbank.expressions.numbers import exact_machine_number
from qbank.expressions.parser import parse_measure, split_number_and_unit
from qbank.expressions.tree import Equation, Measure, Node, names_in
from qbank.expressions.units import DIMENSIONLESS, ONE, Unit
from qbank.family.keys import nearest
from qbank.family.model import Family, Fixed, Given, Listed, Sampled
from qbank.instances import Floats, Integers
from qbank.sampling.kinds import LARGEST_MANTISSA, ScalarKind, scalar_kind

MOST_VALUES = 1000  # of a data list
_FIGURES = 12  # of a number that another unit turns into an endless decimal


@dataclass(slots=True)
class HandGiven:
    """One row of data: fields as in `Instances`, each with one row."""

    values: dict[str, Floats] = field(default_factory=dict)
    mantissas: dict[str, Integers] = field(default_factory=dict)
    sizes: dict[str, Integers] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)


def read_data(family: Family, data: Mapping[str, str]) -> HandGiven:
    """The data of one instance, such as {"m_a": "1.2 kg", "x": "1.2, 1.3 mm"}.

    Every given that is not fixed is needed; one that is hidden and only stands behind a data
    list may be left out, as whoever measured the list does not know it. Numbers may lie off the
    grid of the family.

    Raises ExpressionError for an unknown or missing name, a number that cannot be read and a unit
    of another dimension.
    """
    for name in data:
        if name not in family.given:
            raise ExpressionError(
                f"'{name}' is not a given of {family.name}", hint=nearest(name, family.given)
            )
    used = _used(family)
    missing = [
        name
        for name, given in family.given.items()
        if name not in data
        and not isinstance(given.source, Fixed)
        and (not given.hidden or name in used)
    ]
    if missing:
        listed = ", ".join(missing)
        example = " ".join(_example(family.given[name]) for name in missing)
        raise ExpressionError(f"no value is given for {listed}", hint=f"add, such as: {example}")
    row = HandGiven()
    lists = []
    for name, given in family.given.items():
        kind = scalar_kind(given)
        if kind is None:
            lists.append(given)
        elif name in data:
            _read_scalar(row, given, kind, data[name])
        else:  # fixed, or hidden and of no consequence: any of its values will do
            first = np.zeros(1, dtype=np.int64)
            row.mantissas[name] = kind.mantissas(first)
            row.values[name] = kind.values(first)
    # a list that takes its size from another comes after it
    for given in sorted(lists, key=lambda given: bool(getattr(given.source, "like", None))):
        _read_list(row, given, data[given.name])
    return row


def _used(family: Family) -> frozenset[str]:
    """The givens that something depends on once all data lists are known."""
    nodes: list[Node | Equation] = [let.expression for let in family.let.values()]
    nodes += [law.equation for law in family.laws]
    nodes += [rule.need for rule in family.rules]
    nodes += [case.when for case in family.cases if case.when is not None]
    nodes += [statement.that for statement in family.confirm]
    for slip in family.slips.values():
        nodes += [*slip.laws.values(), *slip.lets.values(), *slip.change.values()]
    return frozenset().union(*(names_in(node) for node in nodes))


def _example(given: Given) -> str:
    unit = f" {given.unit.ascii}" if given.unit.text else ""
    number = "1.2, 1.3" if isinstance(given.source, Sampled) else "1.2"
    return f"'{given.name}={number}{unit}'"


def _read_scalar(row: HandGiven, given: Given, kind: ScalarKind, text: str) -> None:
    number = _shown(given, text)
    mantissa, exponent = _decimal(number)
    at = kind.mantissa_of(mantissa, exponent)
    row.mantissas[given.name] = np.array([0 if at is None else at])
    if at is None or isinstance(given.source, Listed):
        row.values[given.name] = np.array([given.unit.si_value(number)])
    else:
        row.values[given.name] = given.unit.to_si(np.array([float(number)]))
    if at is None:
        row.typed[given.name] = exact_machine_number(mantissa, exponent, given.scientific)


def _read_list(row: HandGiven, given: Given, text: str) -> None:
    source = given.source
    assert isinstance(source, Sampled)  # noqa: S101  # the only kind that is not a scalar
    parts = [part.strip() for part in re.split(r"[,;]", text)]
    if not 2 <= len(parts) <= MOST_VALUES:
        raise ExpressionError(
            f"{given.name}: expected a list of 2 to {MOST_VALUES} values, found {len(parts)}",
            hint=f"write them with commas between, such as {_example(given)}",
        )
    unit_text = split_number_and_unit(parts[-1])[1]
    numbers = []
    for part in parts:  # the unit stands once, after the last value, or after each
        number, unit = split_number_and_unit(part)
        bare = number and not unit
        numbers.append(_shown(given, f"{part} {unit_text}" if bare else part))
    size = len(numbers)
    wanted = int(row.sizes[source.like][0]) if source.like else size
    if size != wanted:
        raise ExpressionError(
            f"{given.name} has {size} values and {source.like} has {wanted}",
            hint="give both the same number of values",
        )
    scaled = [number / Fraction(10) ** source.exponent for number in numbers]
    if any(value.denominator != 1 or abs(value) >= LARGEST_MANTISSA for value in scaled):
        scaled = [Fraction(0)] * size
        decimals = [_decimal(number) for number in numbers]
        # at least the decimals the family shows, so that a column of numbers is even
        finest = min(source.exponent, *(exponent for _, exponent in decimals))
        row.typed[given.name] = ", ".join(
            exact_machine_number(mantissa * 10 ** (exponent - finest), finest, given.scientific)
            for mantissa, exponent in decimals
        )
    row.mantissas[given.name] = np.array([[round(value) for value in scaled]])
    row.sizes[given.name] = np.array([size])
    row.values[given.name] = np.array([[given.unit.si_value(number) for number in numbers]])


def _shown(given: Given, text: str) -> Fraction:
    """The number in the unit the family shows, exactly where a decimal can say it."""
    try:
        measure = parse_measure(text)
    except ExpressionError as error:
        raise ExpressionError(
            f"{given.name}: {error.message}",
            excerpt=error.excerpt,
            span=error.span,
            hint=error.hint,
        ) from None
    unit = measure.unit if isinstance(measure, Measure) else ONE
    if isinstance(measure, Measure) and unit.dimension != given.unit.dimension:
        raise ExpressionError(
            f"{given.name} is {given.unit.dimension.describe()}; {text.strip()} is"
            f" {unit.dimension.describe()}",
            hint=f"give it in {given.unit.text or 'no unit'} or a unit of the same kind",
        )
    if not isinstance(measure, Measure) and (
        given.unit.text or given.unit.dimension != DIMENSIONLESS
    ):
        kind = given.unit.dimension.describe()
        raise ExpressionError(
            f"{given.name}: {text.strip()} has no unit; {kind} needs one",
            hint=f"write '{text.strip()} {given.unit.ascii}'",
        )
    return _converted(measure.value, unit, given.unit)


def _converted(value: Fraction, unit: Unit, target: Unit) -> Fraction:
    """A number in another unit; an endless decimal is cut, so that what is printed is used."""
    if unit == target:
        return value
    if unit.exact is None or target.exact is None:
        return Fraction(f"{target.from_si(unit.to_si(float(value))):.{_FIGURES}g}")
    offset = Fraction(str(unit.offset)) - Fraction(str(target.offset))
    found = (value * unit.exact + offset) / target.exact
    return found if _is_decimal(found) else Fraction(f"{float(found):.{_FIGURES}g}")


def _is_decimal(number: Fraction) -> bool:
    rest = number.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return rest == 1


def _decimal(number: Fraction) -> tuple[int, int]:
    """Mantissa and exponent of a decimal number, without zeros at the end of its decimals."""
    power = 0
    while (number * 10**power).denominator != 1:
        power += 1
    return int(number * 10**power), -power
