"""The smaller keys of quantities: unit, symbol, how a number is shown, tolerance, yes or no."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

from qbank.errors import ExpressionError
from qbank.expressions.numbers import NumberFormat
from qbank.expressions.units import DIMENSIONLESS, ONE, Unit, parse_unit
from qbank.family import numerals
from qbank.family.keys import Keys, nearest
from qbank.family.model import Fixed, Grid, Listed, ToleranceRule
from qbank.family.nodes import Scalar

MAX_FIGURES = 15
_NOTATIONS: dict[str, Literal["auto", "plain", "scientific"]] = {
    "auto": "auto",
    "plain": "plain",
    "scientific": "scientific",
}
_BOOLEANS = {"yes": True, "true": True, "no": False, "false": False}
_SYMBOL = re.compile(r"[^\W\d_]\w{0,19}'{0,2}")


def read_unit(keys: Keys) -> Unit:
    """`unit`; a pure number where the key is absent."""
    scalar = keys.text("unit")
    if scalar is None:
        return ONE
    try:
        return numerals.moderate_unit(parse_unit(scalar.text), scalar, keys.what)
    except ExpressionError as error:
        raise scalar.located(error, keys.what) from None


def shown_unit(unit: Unit) -> str:
    """The unit as messages call it."""
    return f"its unit {unit.text}" if unit.text else "a quantity without `unit:`"


def read_boolean(keys: Keys, name: str) -> bool:
    """`yes` or `no` under a key; no where it is absent."""
    text = keys.words(name, "no")
    if text.lower() not in _BOOLEANS:
        raise keys.need(name).fault(
            f"{keys.what}, {name}: expected yes or no, found '{text[:40]}'", hint="write yes or no"
        )
    return _BOOLEANS[text.lower()]


def read_symbol(keys: Keys, key: Scalar, taken: dict[str, str]) -> str:
    """`symbol`, else the name in the file; `taken` says which quantity has which symbol."""
    scalar = keys.text("symbol")
    at = scalar if scalar is not None else key
    symbol = at.text.strip()
    if scalar is not None and not _SYMBOL.fullmatch(symbol):
        raise at.fault(
            f"{keys.what}: '{symbol[:40]}' is not a symbol for a formula",
            hint="start with a letter; then letters, digits and _, at most 20 in all",
        )
    if symbol in taken:
        raise at.fault(
            f"{keys.what}: the symbol {symbol} is that of '{taken[symbol]}'",
            hint="give each quantity a symbol of its own",
        )
    taken[symbol] = key.text
    return symbol


def read_format(keys: Keys, figures: int) -> NumberFormat:
    """`figures`, `decimals` and `notation`; `figures` is used where neither is there."""
    text = keys.words("notation", "auto")
    if text not in _NOTATIONS:
        raise keys.need("notation").fault(
            f"{keys.what}, notation: expected auto, plain or scientific, found '{text[:40]}'",
            hint=nearest(text, _NOTATIONS),
        )
    notation = _NOTATIONS[text]
    if "figures" in keys and "decimals" in keys:
        raise keys.key("decimals").fault(
            f"{keys.what}: 'figures' and 'decimals' exclude each other", hint="keep one of them"
        )
    if scalar := keys.text("decimals"):
        count = numerals.whole_number(scalar, f"{keys.what}, decimals", 0, MAX_FIGURES)
        return NumberFormat(decimals=count, notation=notation)
    if scalar := keys.text("figures"):
        figures = numerals.whole_number(scalar, f"{keys.what}, figures", 1, MAX_FIGURES)
    return NumberFormat(figures=figures, notation=notation)


def read_tolerance(keys: Keys, unit: Unit) -> ToleranceRule:
    """`tolerance`: a share of the key in %, or an amount in any unit of the same dimension."""
    scalar = keys.text("tolerance")
    if scalar is None:
        return ToleranceRule()
    what = f"{keys.what}, tolerance"
    fixed, typed, _ = numerals.read_fixed(scalar, what)
    amount = fixed.mantissa * Fraction(10) ** fixed.exponent
    if amount <= 0:
        raise scalar.fault(
            f"{what}: expected more than 0, found {scalar.text.strip()}",
            hint="write a share such as 2 %, or an amount",
        )
    if typed.text == "%":
        if amount > 50:
            raise scalar.fault(
                f"{what}: {scalar.text.strip()} of the key is more than half of it",
                hint="write 50 % at most",
            )
        return ToleranceRule(relative=float(amount / 100))
    if typed.dimension != unit.dimension:
        raise scalar.fault(
            f"{what}: expected {unit.dimension.describe()} like {shown_unit(unit)}, found "
            f"{typed.dimension.describe()}",
            hint="write a share such as 2 %, or an amount with the unit of the answer",
        )
    # A tolerance is a difference, so the offset of degrees Celsius plays no part.
    if typed.exact is not None and unit.exact is not None:
        return ToleranceRule(absolute=float(amount * typed.exact / unit.exact))
    return ToleranceRule(absolute=float(amount) * typed.factor / unit.factor)


def refuse_below_absolute_zero(
    source: Grid | Listed | Fixed, unit: Unit, scalar: Scalar, what: str
) -> None:
    """FamilyError where a temperature in °C lies below 0 K."""
    if not unit.offset or unit.dimension == DIMENSIONLESS:
        return
    match source:
        case Grid(first=first, exponent=exponent) | Fixed(mantissa=first, exponent=exponent):
            lowest = first * Fraction(10) ** exponent
        case Listed(mantissas=mantissas, exponents=exponents):
            lowest = min(m * Fraction(10) ** e for m, e in zip(mantissas, exponents, strict=True))
    if unit.si_value(lowest) < 0:
        raise scalar.fault(
            f"{what}: {float(lowest):g} {unit.text} is below absolute zero",
            hint="correct the temperature; a temperature difference is declared in K",
        )
