"""Which unit the value of an expression is printed in, and which quantities are data lists."""

from __future__ import annotations

import re
from collections.abc import Sequence

from qbank.expressions.dimensions import dimension_of
from qbank.expressions.tree import Binary, Call, Measure, Name, Negate, Node, Number
from qbank.expressions.unit_symbols import BASE_SYMBOLS
from qbank.expressions.units import DIMENSIONLESS, ONE, Dimension, Unit, parse_unit
from qbank.family.model import Case, Family, Given, Let, Sampled, Unknown

_NAMED = tuple(map(parse_unit, ("N", "Pa", "W", "V", "Ω", "C", "F", "H", "T", "Wb")))
_SYMBOL = re.compile(r"[^\s/()^0-9]+")
_PLAIN = re.compile(rf"{_SYMBOL.pattern}(?:[ /]{_SYMBOL.pattern})*")  # no powers, no parentheses
_TORQUE, _ENERGY = parse_unit("N m"), parse_unit("J")
_VELOCITY = parse_unit("m/s").dimension


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
        # joules where heat or motion is the subject, newton metres where torques are
        self._energies = any(
            dimension.exponents[4] or dimension == _VELOCITY
            for dimension in self._dimensions.values()
        )

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
        for side in sides:
            if stated := self._stated(side):
                return stated
        dimension = self._dimension(nodes)
        if dimension == DIMENSIONLESS:
            return ONE  # a ratio or a sine has nothing of the degrees or per cent that made it
        own = [unit for unit in self._units.values() if not unit.offset]
        for unit in own:
            if unit.dimension == dimension:
                return unit
        return _of_own(dimension, own) or self._si_unit(dimension)

    def _stated(self, node: Node) -> Unit | None:
        """The unit of what is named, negated or summed; None for anything that is computed."""
        match node:
            case Name():
                unit = self._units.get(node.id)
                return None if unit is None or unit.offset else unit
            case Negate():
                return self._stated(node.operand)
            case Binary(operator="+" | "-"):
                return self._stated(node.left) or self._stated(node.right)
            case Call(function="abs" | "min" | "max"):
                return next(filter(None, map(self._stated, node.arguments)), None)
        return None

    def is_temperature(self, name: str) -> bool:
        """Whether a quantity is shown on a scale whose zero is not zero kelvin."""
        return name in self._units and bool(self._units[name].offset)

    def _dimension(self, nodes: tuple[Node, ...]) -> Dimension:
        for node in nodes:
            if not (isinstance(node, Number) and node.value == 0):  # zero fits any dimension
                return dimension_of(node, self._dimensions, self._lists)
        return DIMENSIONLESS

    def _si_unit(self, dimension: Dimension) -> Unit:
        if dimension == _ENERGY.dimension:
            return _ENERGY if self._energies else _TORQUE
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
    """The data lists of a family."""
    return frozenset(
        name for name, given in family.given.items() if isinstance(given.source, Sampled)
    )
