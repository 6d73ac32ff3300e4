"""Formulas as plain text, in Unicode: `T_b·R − T_a·r = I·α`."""

from __future__ import annotations

from qbank.expressions.formula_writer import (
    ATOM,
    DISTRIBUTIONS,
    FENCES,
    FUNCTIONS,
    LOWEST,
    POWER,
    PRODUCT,
    QUANTILES,
    RELATIONS,
    ROOTS,
    SUM,
    Piece,
    Slot,
    Writer,
    literal_number,
    precedence,
    raised_in_name,
)
from qbank.expressions.numbers import MINUS
from qbank.expressions.symbols import Standing, value_plain
from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Logic,
    Measure,
    Name,
    Negate,
    Node,
    Not,
    Number,
)


class PlainWriter(Writer):
    def fenced(self, pieces: list[Piece]) -> list[Piece]:
        return ["(", *pieces, ")"]

    def bare(self, node: Node, standing: Standing) -> list[Piece]:
        match node:
            case Number():
                return [value_plain(self.words.number(literal_number(node)), "", standing)]
            case Measure():
                return [
                    value_plain(self.words.number(literal_number(node)), node.unit.text, standing)
                ]
            case Name():
                if node.id in self.values:
                    return [Slot(node.id, standing)]
                return [self.symbol_of(node.id).plain]
            case Negate():
                return [MINUS, *self.write(node.operand, PRODUCT, self.after_minus(standing))]
            case Binary(operator="+"):
                return self.terms(node, " + ", standing)
            case Binary(operator="-"):
                return self.terms(node, f" {MINUS} ", standing)
            case Binary(operator="*"):
                left = self.first_factor(node.left)
                return [*left, "·", *self.write(node.right, PRODUCT, "factor")]
            case Binary(operator="/"):
                left = self.first_factor(node.left)
                return [*left, "/", *self.write(node.right, POWER, "factor")]
            case Binary():
                return self.power(node)
            case Call():
                return self.call(node)
            case Compare():
                parts = [self.write(part, SUM) for part in node.operands]
                return self.joined(parts, [f" {RELATIONS[sign]} " for sign in node.operators])
            case Logic():
                word = self.words.both if node.operator == "and" else self.words.either
                parts = [self.write(part, precedence(node) + 1) for part in node.operands]
                return self.joined(parts, [f" {word} "] * (len(parts) - 1))
            case Not():
                return [self.words.negated, " ", *self.fenced(self.write(node.operand, LOWEST))]

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
