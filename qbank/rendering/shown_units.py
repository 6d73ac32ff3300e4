"""Which unit the value of an expression is printed in, and which quantities are data lists."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from qbank.expressions.dimensions import dimension_of
from qbank.expressions.functions import FUNCTIONS
from qbank.expressions.tree import Call, Measure, Name, Node, Number, children
from qbank.expressions.unit_symbols import BASE_SYMBOLS
from qbank.expressions.units import DIMENSIONLESS, Dimension, Unit, parse_unit
from qbank.family.model import Case, Family, Given, Let, Sampled, Unknown

_NAMED = tuple(map(parse_unit, ("N", "Pa", "W", "V", "Ω", "C", "F", "H", "T", "Wb")))
_SYMBOL = re.compile(r"[^\s/()^0-9]+")
_PLAIN = re.compile(rf"{_SYMBOL.pattern}(?:[ /]{_SYMBOL.pattern})*")  # no powers, no parentheses
_WORK_OR_TORQUE, _HEAT = parse_unit("N m"), parse_unit("J")


def quantities(family: Family) -> dict[str, Given | Let | Unknown]:
    """Everything with a symbol and a unit: unknowns first, then intermediate quantities, data."""
    return {**family.find, **family.let, **family.given}


class ShownUnits:
    """Units for values of expressions over the quantities of `family` in `case`."""

    def __init__(self, family: Family, case: Case, lists: frozenset[str]) -> None:
        self._units = {name: quantity.unit for name, quantity in quantities(family).items()}
        self._dimensions = {name: unit.dimension for name, unit in self._units.items()}
        self._dimensions |= dict.fromkeys(case.constants, DIMENSIONLESS)
        self._lists = lists
        self._thermal = any(dimension.exponents[4] for dimension in self._dimensions.values())

    def common(self, *nodes: Node) -> Unit:
        """The unit for expressions of one dimension.

        That of the family's own quantities where one has the dimension, answers first; else the
        named or compound SI unit. Bare temperatures keep their scale; sums of them are in kelvin.
        """
        sides = [node for node in nodes if not isinstance(node, Number | Measure)]
        names = [node.id for node in sides if isinstance(node, Name) and node.id in self._units]
        if names and len(names) == len(sides):
            return self._units[names[0]]
        for node in nodes:
            if isinstance(node, Measure) and not node.unit.offset:
                return node.unit
        dimension = self._dimension(nodes)
        own = [unit for unit in self._units.values() if not unit.offset]
        for unit in own:
            if unit.dimension == dimension:
                return unit
        return _of_own(dimension, own) or self._si_unit(dimension)

    def is_temperature(self, name: str) -> bool:
        """Whether a quantity is shown on a scale whose zero is not zero kelvin."""
        return name in self._units and bool(self._units[name].offset)

    def _dimension(self, nodes: tuple[Node, ...]) -> Dimension:
        for node in nodes:
            if not (isinstance(node, Number) and node.value == 0):  # zero fits any dimension
                return dimension_of(node, self._dimensions, self._lists)
        return DIMENSIONLESS

    def _si_unit(self, dimension: Dimension) -> Unit:
        if dimension == _HEAT.dimension:
            return _HEAT if self._thermal else _WORK_OR_TORQUE
        for unit in _NAMED:
            if unit.dimension == dimension:
                return unit
        return parse_unit(_si_text(dimension))


def _of_own(dimension: Dimension, own: Sequence[Unit]) -> Unit | None:
    """A reciprocal, square or cube of one of a family's units, where that fits."""
    for unit in own:
        plain = unit.ascii
        if not unit.text or not _PLAIN.fullmatch(plain):
            continue
        if DIMENSIONLESS / unit.dimension == dimension and "/" not in plain:
            return parse_unit(f"1/({plain})" if " " in plain else f"1/{plain}")
        for power in (2, 3):
            if unit.dimension**power == dimension:
                return parse_unit(_SYMBOL.sub(rf"\g<0>^{power}", plain))
    return None


def _si_text(dimension: Dimension) -> str:
    """Base units with what is divided by after a stroke: "mol/m^3" rather than "m^-3 mol"."""
    above: list[str] = []
    below: list[str] = []
    for base, exponent in zip(BASE_SYMBOLS, dimension.exponents, strict=True):
        if exponent.denominator != 1:
            return str(dimension)
        size = abs(exponent)
        power = base if size == 1 else f"{base}^{size}"
        if exponent:
            (above if exponent > 0 else below).append(power)
    divisor = " ".join(below) if len(below) < 2 else f"({' '.join(below)})"
    return (" ".join(above) or "1") + (f"/{divisor}" if below else "")


def list_names(family: Family) -> frozenset[str]:
    """Data lists, and the intermediate quantities that are lists too."""
    lists = {name for name, given in family.given.items() if isinstance(given.source, Sampled)}
    growing = True
    while growing:
        more = {
            name
            for name, let in family.let.items()
            if name not in lists and any(part in lists for part in _free_names(let.expression))
        }
        lists |= more
        growing = bool(more)
    return frozenset(lists)


def _free_names(node: Node) -> Iterator[str]:
    """The names an expression mentions outside functions that make one value of a list."""
    if isinstance(node, Name):
        yield node.id
    elif not (isinstance(node, Call) and FUNCTIONS[node.function].kind == "list"):
        for part in children(node):
            yield from _free_names(part)
