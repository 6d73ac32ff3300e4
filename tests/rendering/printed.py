"""Reads printed formulas back into quantities, from plain text and from MathML.

Nothing here is shared with the code that prints: numbers, units and formulas are read as a
person reads them. A value with its unit must stand in parentheses where a factor, a divisor or
a power touches it, or it cannot be read (ISO 80000-1, 7.1.3 and 7.1.4; from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Set

from lxml import etree

from qbank.errors import QbankError
from qbank.expressions.units import parse_unit
from tests.rendering.intervals import OPERATIONS, Quantity, Values, called, each, measured, point

_RAISED_DIGITS = "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"
_PLAIN = str.maketrans(_RAISED_DIGITS + "−", "0123456789--")
_LOWER = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_RAISED = re.compile(f"[{_RAISED_DIGITS}]+")
_ATOM = f"[A-Za-zµΩÅ°%‰]+[{_RAISED_DIGITS}]*"
_PRODUCT = rf"{_ATOM}(?:·{_ATOM})*"
_UNIT = re.compile(rf"(?:1|{_PRODUCT})(?:/(?:{_ATOM}|\({_PRODUCT}\)))?")
_GOES_ON = re.compile(f"(?![{_RAISED_DIGITS}])\\w")
_FUNCTIONS = {
    "arcsin": "asin", "arccos": "acos", "arctan": "atan", "sgn": "sign", "var": "variance",
    "log_10": "log10", "√": "sqrt", "∛": "cbrt", "∑": "sum", "z": "normal_quantile",
    "t": "t_quantile", "χ²": "chi2_quantile", "Φ": "normal_cdf", "F_t": "t_cdf", "F_χ²": "chi2_cdf",
    "sin": "sin", "cos": "cos", "tan": "tan", "sinh": "sinh", "cosh": "cosh", "tanh": "tanh",
    "exp": "exp", "ln": "ln", "mean": "mean", "sd": "sd", "median": "median", "count": "count",
    "min": "min", "max": "max", "atan2": "atan2",
}  # fmt: skip
_CALL = re.compile(
    "(" + "|".join(sorted(_FUNCTIONS, key=len, reverse=True)) + rf")([{_RAISED_DIGITS}]*)\("
)


class Unreadable(Exception):
    """A printed formula that cannot be read without guessing."""


def plain_symbol(text: str) -> str:
    """One spelling of a symbol: `V₁` and `V_1` are the same."""
    return re.sub("[₀-₉]+", lambda run: "_" + run[0].translate(_LOWER), text)


class Reader:
    """Reads formulas whose symbols stand for `values`; `exact` are the printed numbers that were
    not rounded, as (number, unit) with the unit's text."""

    def __init__(
        self, values: Mapping[str, Values], exact: Set[tuple[float, str]], mark: str
    ) -> None:
        self.values = {plain_symbol(name): value for name, value in values.items()}
        self.names = sorted(self.values, key=len, reverse=True)
        self.exact = exact
        numeral = rf"(\d+)(?:{re.escape(mark)}(\d+))?(?: × 10([{_RAISED_DIGITS}]+))?"
        self.number = re.compile(numeral)

    def side(self, text: str) -> Values:
        """The value of a printed expression without relations."""
        parse = _Parse(self, plain_symbol(text))
        value = parse.sum()
        if parse.rest:
            raise Unreadable(f"'{parse.rest}' is left of '{text}'")
        return value

    def value(self, text: str) -> Quantity:
        """A printed number with its unit, which may carry a minus sign."""
        value = self.side(text)
        assert isinstance(value, Quantity)
        return value

    def list_of(self, text: str, between: str) -> tuple[Quantity, ...]:
        """A data list: numbers, and one unit for all at the end."""
        *numbers, last = text.split(between)
        found = self.number.search(last)
        assert found
        unit = last[found.end() :]
        return tuple(self.value(number + unit) for number in (*numbers, last[: found.end()]))


class _Parse:
    """One pass over one text, by recursive descent."""

    def __init__(self, reader: Reader, text: str) -> None:
        self.reader = reader
        self.text = text
        self.at = 0
        self.minus_before = -1  # where the last minus sign ended
        self.below_zero = -1  # where a number began that has taken the sign for its own
        self.bare = False  # whether a value with its unit stood last, not in parentheses

    @property
    def rest(self) -> str:
        return self.text[self.at :]

    def take(self, sign: str) -> bool:
        if not self.text.startswith(sign, self.at):
            return False
        self.at += len(sign)
        return True

    def sum(self) -> Values:
        value = self.term()
        while True:
            self.spaces()
            if self.take("+"):
                value = each(OPERATIONS["+"], value, self.term())
            elif self.take("−"):
                value = each(OPERATIONS["-"], value, self.term())
            else:
                return value

    def spaces(self) -> None:
        while self.take(" "):
            pass

    def term(self) -> Values:
        self.spaces()
        if not self.take("−"):
            return self.product()
        self.minus_before = start = self.at
        value = self.product()
        # −5 °C lies below zero on its own scale
        return value if self.below_zero == start else each(lambda x: -x, value)

    def product(self) -> Values:
        value = self.power()
        while True:
            for sign, operator in (("·", "*"), ("/", "/")):
                if self.take(sign):
                    self.refuse_bare()
                    value = each(OPERATIONS[operator], value, self.power())
                    self.refuse_bare()
                    break
            else:
                return value

    def refuse_bare(self) -> None:
        if self.bare:
            raise Unreadable(f"a value with its unit needs parentheses in '{self.text}'")

    def power(self) -> Values:
        value = self.atom()
        raised = _RAISED.match(self.text, self.at)
        if raised:
            self.refuse_bare()
            self.at = raised.end()
            power = point(float(raised[0].translate(_PLAIN)))
            return each(OPERATIONS["^"], value, power)
        if self.take("^"):
            self.refuse_bare()
            return each(OPERATIONS["^"], value, self.atom())
        return value

    def atom(self) -> Values:
        self.bare = False
        number = self.reader.number.match(self.text, self.at)
        if number:
            return self.measure(number)
        for left, right in (("(", ")"), ("|", "|")):
            if self.take(left):
                value = self.sum()
                self.need(right)
                return value if left == "(" else called("abs", [value])
        if self.take("π"):
            return point(math.pi)
        call = _CALL.match(self.text, self.at)
        if call:
            return self.call(call)
        for name in self.reader.names:
            end = self.at + len(name)
            if self.rest.startswith(name) and not _GOES_ON.match(self.text, end):
                self.at = end
                return self.reader.values[name]
        raise Unreadable(f"'{self.rest}' within '{self.text}'")

    def need(self, sign: str) -> None:
        if not self.take(sign):
            raise Unreadable(f"expected '{sign}' before '{self.rest}' within '{self.text}'")
        self.bare = False

    def call(self, found: re.Match[str]) -> Values:
        self.at = found.end()
        parts = [self.sum()]
        while self.take(",") or self.take(";"):
            parts.append(self.sum())
        self.need(")")
        name = _FUNCTIONS[found[1]]
        if len(parts) == 1:  # of a data list
            name = {"min": "least", "max": "greatest"}.get(name, name)
        value = called(name, parts)
        if found[2]:
            return each(OPERATIONS["^"], value, point(float(found[2].translate(_PLAIN))))
        return value

    def measure(self, number: re.Match[str]) -> Quantity:
        self.at = number.end()
        whole, decimals, power = number[1], number[2] or "", number[3]
        exponent = int(power.translate(_PLAIN)) if power else 0
        value = float(f"{whole}.{decimals or 0}e{exponent}")
        unit = ""
        if self.take("°") and not self.rest[:1].isalpha():
            unit = "°"
        elif self.text.startswith(" ", self.at):
            found = _UNIT.match(self.text, self.at + 1)
            if found:
                self.at, unit = found.end(), found[0]
        self.bare = unit not in ("", "°") or power is not None
        known = any(
            unit == other and math.isclose(value, abs(figure), rel_tol=1e-12)
            for figure, other in self.reader.exact
        )
        half = 0.0 if known else 0.5 * 10.0 ** (exponent - len(decimals))
        try:
            scale = parse_unit(unit) if unit else None
        except QbankError as fault:
            raise Unreadable(f"{fault} within '{self.text}'") from fault
        if scale is not None and scale.offset and self.minus_before == number.start():
            self.below_zero = number.start()
            value = -value
        return measured(value, half, scale)


# ---------------------------------------------------------------------------- MathML


def linear(mathml: str) -> str:
    """A MathML formula as the plain text of the same formula; fractions and powers in
    parentheses, as their place says what they hold."""
    text = "".join(map(_linear, etree.fromstring(mathml)))
    for sign in "=<>≤≥≠":
        text = text.replace(sign, f" {sign} ")
    text = text.replace("\u00a0", " ").replace("\u2062", "·").replace("⋅", "·")
    return re.sub(r"  +", " ", text.replace("\u2061", ""))


def _linear(element: etree._Element) -> str:
    parts = list(element)
    match etree.QName(element).localname:
        case "mrow" | "math":
            return "".join(map(_linear, parts))
        case "mfrac":
            above, below = map(_linear, parts)
            return f"(({above})/({below}))"
        case "msqrt":
            return f"√({''.join(map(_linear, parts))})"
        case "mroot":
            return f"∛({_linear(parts[0])})"
        case "msup":
            return _raised(parts[0], _linear(parts[1]))
        case "msub":
            return _lowered(parts[0], _linear(parts[1]))
        case "msubsup":
            return f"χ²({_linear(parts[1])})"
        case "mo":
            sign = element.text or ""
            return " × " if sign == "×" else sign
        case "mtext":
            return element.text or ""
        case _:
            return element.text or ""


def _raised(base: etree._Element, power: str) -> str:
    sign = _linear(base)
    if base.get("mathvariant") == "normal" and sign == "e":
        return f"exp({power})"
    if sign == "χ" and power == "2":
        return "χ²"
    if sign == "10" or sign in _FUNCTIONS:  # a power of ten, or sin²
        digits = power.translate(str.maketrans("0123456789-−", _RAISED_DIGITS + "⁻"))
        return sign + digits
    return f"{sign}^({power})"


def _lowered(base: etree._Element, label: str) -> str:
    sign = _linear(base)
    if sign == "log":
        return "log₁₀"
    if re.match(r"[\d(]", label) and sign in "zt" and not label.isdecimal():
        return f"{sign}({label})"
    return f"{sign}_{label}"
