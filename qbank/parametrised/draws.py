"""The data: each given drawn on its grid as a whole number and divided into the decimal that is
printed, so that what is computed with is what is read; then converted to SI."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from qbank.expressions.units import Unit
from qbank.family.model import Fixed, Given, Grid, Listed
from qbank.parametrised.expressions import InexpressibleError, op, real, variable, whole
from qbank.parametrised.template import Template

LARGEST = 2**31 - 1  # integers have 32 bits (mapping note, b3)
_EXACT = 2**53


@dataclass(frozen=True, slots=True)
class Drawn:
    """Where the value of a given stands: `shown` in its unit, None where it is fixed; `si`, the
    markup of its SI value; `position`, for a list of values, which of them was drawn."""

    shown: str | None
    si: str
    position: str | None = None


def draw(template: Template, given: Given) -> Drawn:
    """The rules that draw a given. Raises InexpressibleError for a data list."""
    match given.source:
        case Fixed(mantissa=mantissa, exponent=exponent):
            exact = mantissa * Fraction(10) ** exponent
            return Drawn(None, real(given.unit.si_value(exact)))
        case Grid() as grid:
            shown = _on_grid(template, given, grid)
            return Drawn(shown, _si(template, given, shown))
        case Listed() as listed:
            return _listed(template, given, listed)
        case _:
            raise InexpressibleError(
                f"{given.name} is a data list, and the standard can neither draw nor print one"
            )


def _on_grid(template: Template, given: Given, grid: Grid) -> str:
    last = grid.first + grid.step * (grid.count - 1)
    if max(abs(grid.first), abs(last), grid.step) > LARGEST:
        raise InexpressibleError(f"{given.name} is drawn with more digits than an integer holds")
    drawn = f'<randomInteger min="{grid.first}" max="{last}" step="{grid.step}"/>'
    if grid.exponent == 0:
        return template.new(f"DATA_{given.name}", drawn, "integer")
    scale = 10 ** abs(grid.exponent)
    factor = whole(scale) if scale <= LARGEST else real(float(scale))
    name = "divide" if grid.exponent < 0 else "product"
    return template.new(f"DATA_{given.name}", op(name, drawn, factor))


def _listed(template: Template, given: Given, listed: Listed) -> Drawn:
    count = len(listed.mantissas)
    position = template.new(
        f"PLACE_{given.name}", f'<randomInteger min="1" max="{count}"/>', "integer"
    )
    values = [
        m * Fraction(10) ** e for m, e in zip(listed.mantissas, listed.exponents, strict=True)
    ]
    table = op("ordered", *(real(float(exact)) for exact in values))
    shown = template.new(f"DATA_{given.name}", f'<index n="{position}">{table}</index>')
    return Drawn(shown, _si(template, given, shown), position)


def _si(template: Template, given: Given, shown: str) -> str:
    converted = to_si(variable(shown), given.unit)
    if converted == variable(shown):
        return converted
    return variable(template.new(f"SI_{given.name}", converted))


def _ratio(unit: Unit) -> tuple[float, float]:
    """The factor to SI as a fraction of two floats, exact where that can be."""
    if unit.exact is not None:
        top, bottom = unit.exact.as_integer_ratio()
        if max(top, bottom) <= _EXACT or 1 in (top, bottom):
            return float(top), float(bottom)
    return unit.factor, 1.0


def to_si(value: str, unit: Unit) -> str:
    """A value in a unit as SI."""
    top, bottom = _ratio(unit)
    if top != 1.0:
        value = op("product", value, real(top))
    if bottom != 1.0:
        value = op("divide", value, real(bottom))
    return op("sum", value, real(unit.offset)) if unit.offset else value


def from_si(value: str, unit: Unit) -> str:
    """An SI value in a unit."""
    top, bottom = _ratio(unit)
    if unit.offset:
        value = op("subtract", value, real(unit.offset))
    if bottom != 1.0:
        value = op("product", value, real(bottom))
    return op("divide", value, real(top)) if top != 1.0 else value
