"""A reading in sentences, for a person to confirm."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from qbank.audit.question import Group
from qbank.expressions.units import Unit
from qbank.family.model import Family, Fixed


def says(
    group: Group,
    family: Family,
    unknown: str,
    columns: Mapping[str, tuple[int, ...]],
    constants: Mapping[str, float],
) -> tuple[str, ...]:
    """What each number was taken for, what is asked, and what no number states."""
    out = []
    for name, numbers in sorted(columns.items(), key=lambda entry: entry[1]):
        given = family.given[name]
        shown = _example(group, numbers)
        where = f"number {numbers[0] + 1}"
        if len(numbers) > 1:
            where = f"numbers {numbers[0] + 1} to {numbers[-1] + 1}"
        out.append(f"{where}, such as {shown}, is {name}, {_the(given.meaning)}")
    find = family.find[unknown]
    out.append(f"the key is {unknown}, {_the(find.meaning)}")
    for name, given in family.given.items():
        if isinstance(given.source, Fixed) and name in constants:
            shown = _shown(constants[name], given.unit)
            out.append(f"no number states {name}, {_the(given.meaning)}; {shown} fits the keys")
    unused = sorted(
        set(range(group.values.shape[1])) - {c for numbers in columns.values() for c in numbers}
    )
    out += [f"number {c + 1}, such as {_example(group, (c,))}, is not used" for c in unused]
    return tuple(out)


def _the(meaning: str) -> str:
    return meaning if meaning.startswith(("the ", "a ")) else f"the {meaning}"


def _example(group: Group, numbers: tuple[int, ...]) -> str:
    shown = []
    for column in numbers[:3]:
        values = group.values[:, column]
        known = values[np.isfinite(values)]
        if len(known):
            shown.append(_shown(float(known[0]), group.units[column], bare=len(numbers) > 1))
    unit = group.units[numbers[0]]
    text = ", ".join(shown) + (", .." if len(numbers) > len(shown) else "")
    return f"{text} {unit.text}" if len(numbers) > 1 and unit is not None else text


def _shown(value: float, unit: Unit | None, *, bare: bool = False) -> str:
    number = value if unit is None else float(unit.from_si(value))
    text = f"{number:.6g}".replace("-", "−")
    if unit is None or not unit.text or bare:
        return text
    return f"{text}{'' if unit.glued else ' '}{unit.text}"
