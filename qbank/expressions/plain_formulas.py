"""Formulas as plain text, in Unicode: `T_b·R − T_a·r = I·α`."""

from __future__ import annotations

from qbank.expressions.formula_writer import (
    ATOM,
    DISTRIBUTIONS,
    FENCES,
    FUNCTIONS,
    LOWEST,
    POWER,
    QUANTILES,
    ROOTS,
    Piece,
    Writer,
    literal_number,
    raised_in_name,
)
from qbank.expressions.numbers import MINUS
from qbank.expressions.symbols import Standing, Symbol, value_plain
from qbank.expressions.tree import Binary, Call, Name, Negate, Node, Number


class PlainWriter(Writer):
    """Formulas in Unicode."""

    minus, plus_between, minus_between = MINUS, " + ", f" {MINUS} "

    def fenced(self, pieces: list[Piece]) -> list[Piece]:
        return ["(", *pieces, ")"]

    def number(self, node: Number, standing: Standing) -> str:
        return self.value(self.words.number(literal_number(node)), "", standing)

    def value(self, number: str, unit: str, standing: Standing) -> str:
        return value_plain(number, unit, standing)

    def sign(self, symbol: Symbol) -> str:
        return symbol.plain

    def times(self, product: Binary) -> str:
        del product
        return "·"

    def quotient(self, node: Binary) -> list[Piece]:
        left = self.first_factor(node.left)
        return [*left, "/", *self.write(node.right, POWER, "factor")]

    @staticmethod
    def relation(relation: str) -> str:
        return f" {relation} "

    def spoken(self, words: str) -> str:
        return words

    def power(self, node: Binary) -> list[Piece]:
        base, exponent = node.left, node.right
        raised = _superscript(exponent)
        if raised and isinstance(base, Call) and raised_in_name(base, exponent):
            return self.call(base, raised)
        left = self.write(base, ATOM, "factor")
        if raised:
            return [*left, raised]
        right = self.write(exponent, LOWEST)
        atom = isinstance(exponent, Name) and exponent.id not in self.values
        return [*left, "^", *(right if atom else self.fenced(right))]

    def call(self, node: Call, raised: str = "") -> list[Piece]:
        arguments = [self.write(argument, LOWEST) for argument in node.arguments]
        inside = self.joined(arguments, [", "] * (len(arguments) - 1))
        if node.function in FENCES:
            left, right = FENCES[node.function]
            return [left, *inside, right]
        if node.function in QUANTILES:
            inside = self.joined(arguments, ["; "] * (len(arguments) - 1))
            return [QUANTILES[node.function], *self.fenced(inside)]
        if node.function in DISTRIBUTIONS:
            inside = self.joined(arguments, ["; "] * (len(arguments) - 1))
            return [DISTRIBUTIONS[node.function], *self.fenced(inside)]
        if node.function == "log10":
            return ["log₁₀", *self.fenced(inside)]
        if node.function == "sum":
            return ["∑", *self.fenced(inside)]
        name = ROOTS.get(node.function) or FUNCTIONS.get(node.function, node.function)
        return [name, raised, *self.fenced(inside)]


_SUPERSCRIPTS = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


def _superscript(exponent: Node) -> str | None:
    """A literal whole exponent in raised digits."""
    if isinstance(exponent, Negate):
        raised = _superscript(exponent.operand)
        return None if raised is None or raised[0] == "⁻" else "⁻" + raised
    if isinstance(exponent, Number) and exponent.value.denominator == 1:
        return str(exponent.value.numerator).translate(_SUPERSCRIPTS)
    return None
