"""What formulas in plain text, MathML and LaTeX share: binding, and what stands where."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from qbank.expressions.numbers import MINUS, exact_number
from qbank.expressions.symbols import PI, Standing, Symbol, symbol
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


@dataclass(frozen=True, slots=True)
class Slot:
    """A gap in a formula that holds the value of `name`, in parentheses where `standing` asks."""

    name: str
    standing: Standing


Piece = str | Slot


@dataclass(frozen=True, slots=True)
class Words:
    """What formulas take from a language: the words between comparisons, and the decimal mark
    (ISO 80000-1, 7.3.2: a comma or a point on the line)."""

    both: str = "and"
    either: str = "or"
    negated: str = "not"
    mark: str = "."

    def number(self, text: str) -> str:
        """A number of `expressions.numbers` as the language writes it."""
        return text if self.mark == "." else text.replace(".", self.mark)

    @property
    def between(self) -> str:
        """What stands between the numbers of a list, told apart from the decimal mark."""
        return "; " if self.mark == "," else ", "


LOWEST, OR, AND, NOT, COMPARE, SUM, PRODUCT, POWER, ATOM = range(9)
RELATIONS = {"<": "<", "<=": "≤", ">": ">", ">=": "≥", "==": "=", "!=": "≠"}
FUNCTIONS = {
    "asin": "arcsin",
    "acos": "arccos",
    "atan": "arctan",
    "sign": "sgn",
    "least": "min",
    "greatest": "max",
    "variance": "var",
}
SQUARED_IN_NAME = frozenset({"sin", "cos", "tan", "sinh", "cosh", "tanh", "ln"})
FENCES = {"abs": ("|", "|"), "floor": ("⌊", "⌋"), "ceil": ("⌈", "⌉")}
ROOTS = {"sqrt": "√", "cbrt": "∛"}
QUANTILES = {"normal_quantile": "z", "t_quantile": "t", "chi2_quantile": "χ²"}
DISTRIBUTIONS = {"normal_cdf": "Φ", "t_cdf": "F_t", "chi2_cdf": "F_χ²"}


def precedence(node: Node) -> int:
    """How tightly the outermost operation binds; names, numbers and calls are atoms."""
    match node:
        case Logic(operator="or"):
            return OR
        case Logic():
            return AND
        case Not():
            return NOT
        case Compare():
            return COMPARE
        case Negate() | Binary(operator="+" | "-"):
            return SUM
        case Binary(operator="*" | "/"):
            return SUM if negative_product(node) else PRODUCT
        case Binary(operator="^"):
            return POWER
        case _:
            return ATOM


def negative_product(node: Node) -> bool:
    """Whether a minus sign stands before the first factor, as in −a·b, and needs no parentheses."""
    if isinstance(node, Binary) and node.operator in "*/":
        return negative_product(node.left)
    return isinstance(node, Negate)


def raised_in_name(base: Node, exponent: Node) -> bool:
    """Whether `sin(x)^2` is to be written sin²(x)."""
    return (
        isinstance(base, Call)
        and base.function in SQUARED_IN_NAME
        and isinstance(exponent, Number)
        and exponent.value.denominator == 1
        and exponent.value > 0
    )


class Writer(ABC):
    """What all writers share: the walk over the tree, where a value stands and what needs
    parentheses. A writer says how each sign is written: `minus` before a term, `plus_between` and
    `minus_between` terms."""

    minus: str
    plus_between: str
    minus_between: str

    def __init__(self, symbols: Mapping[str, Symbol], values: frozenset[str], words: Words) -> None:
        self.symbols = symbols
        self.values = values
        self.words = words

    def symbol_of(self, name: str) -> Symbol:
        return self.symbols.get(name) or (PI if name == "pi" else symbol(name))

    def write(self, node: Node, least: int, standing: Standing = "alone") -> list[Piece]:
        """The node, in parentheses where it binds less tightly than `least`."""
        if precedence(node) < least:
            return self.fenced(self.bare(node, "alone"))
        return self.bare(node, standing)

    def bare(self, node: Node, standing: Standing) -> list[Piece]:
        """The node without parentheses of its own."""
        match node:
            case Number():
                return [self.number(node, standing)]
            case Measure():
                number = self.words.number(literal_number(node))
                return [self.value(number, node.unit.text, standing)]
            case Name():
                if node.id in self.values:
                    return [Slot(node.id, standing)]
                return [self.sign(self.symbol_of(node.id))]
            case Negate():
                return [self.minus, *self.write(node.operand, PRODUCT, after_minus(standing))]
            case Binary(operator="+"):
                return self.terms(node, self.plus_between, standing)
            case Binary(operator="-"):
                return self.terms(node, self.minus_between, standing)
            case Binary(operator="*"):
                left = self.first_factor(node.left)
                return [*left, self.times(node), *self.write(node.right, PRODUCT, "factor")]
            case Binary(operator="/"):
                return self.quotient(node)
            case Binary():
                return self.power(node)
            case Call():
                return self.call(node)
            case Compare():
                parts = [self.write(part, SUM) for part in node.operands]
                return self.joined(parts, [self.relation(RELATIONS[o]) for o in node.operators])
            case Logic():
                word = self.words.both if node.operator == "and" else self.words.either
                parts = [self.write(part, precedence(node) + 1) for part in node.operands]
                return self.joined(parts, [self.spoken(f" {word} ")] * (len(parts) - 1))
            case Not():
                word = self.spoken(f"{self.words.negated} ")
                return [word, *self.fenced(self.write(node.operand, LOWEST))]

    @abstractmethod
    def fenced(self, pieces: list[Piece]) -> list[Piece]:
        """The pieces in parentheses."""

    @abstractmethod
    def number(self, node: Number, standing: Standing) -> str:
        """A literal number."""

    @abstractmethod
    def value(self, number: str, unit: str, standing: Standing) -> str:
        """A number and its unit, in parentheses where its neighbours would be misread."""

    @abstractmethod
    def sign(self, symbol: Symbol) -> str:
        """The symbol of a quantity."""

    @abstractmethod
    def times(self, product: Binary) -> str:
        """What stands between two factors."""

    @abstractmethod
    def quotient(self, node: Binary) -> list[Piece]:
        """One thing over another."""

    @abstractmethod
    def power(self, node: Binary) -> list[Piece]:
        """A base with its exponent."""

    @abstractmethod
    def call(self, node: Call) -> list[Piece]:
        """A function of its arguments."""

    @staticmethod
    @abstractmethod
    def relation(relation: str) -> str:
        """A relation between two formulas."""

    @abstractmethod
    def spoken(self, words: str) -> str:
        """Words within a formula, with the spaces around them."""

    def joined(self, parts: list[list[Piece]], separators: list[str]) -> list[Piece]:
        pieces = list(parts[0])
        for separator, part in zip(separators, parts[1:], strict=True):
            pieces += [separator, *part]
        return pieces

    def first_factor(self, node: Node) -> list[Piece]:
        """The left side of a product or a quotient."""
        return self.write(node, SUM if negative_product(node) else PRODUCT, "factor")

    def needs_dot(self, node: Binary) -> bool:
        """Whether a dot is to be seen between factors: next to a number, save in 2x."""
        number_follows = self.starts_with_number(node.right)
        first = node.left.operand if isinstance(node.left, Negate) else node.left
        coefficient = isinstance(first, Number) and not number_follows
        return number_follows or (self.ends_in_number(node.left) and not coefficient)

    def starts_with_number(self, node: Node) -> bool:
        match node:
            case Number() | Measure():
                return True
            case Name():
                return node.id in self.values
            case Binary(operator="*" | "/" | "^"):
                return self.starts_with_number(node.left)
            case _:
                return False

    def ends_in_number(self, node: Node) -> bool:
        match node:
            case Number() | Measure():
                return True
            case Name():
                return node.id in self.values
            case Negate():
                return self.ends_in_number(node.operand)
            case Binary(operator="*"):
                return self.ends_in_number(node.right)
            case Binary(operator="^"):
                return self.ends_in_number(node.left)
            case _:
                return False

    def terms(self, node: Binary, separator: str, standing: Standing) -> list[Piece]:
        """Both sides of a sum or difference."""
        plus = node.operator == "+" and not _starts_negative(node.right)
        left = self.write(node.left, SUM, standing)
        return [*left, separator, *self.write(node.right, SUM if plus else PRODUCT, "term")]


def after_minus(standing: Standing) -> Standing:
    """Where a negated value stands: in −(3 kg)·g it is a factor still."""
    return "factor" if standing == "factor" else "term"


def _starts_negative(node: Node) -> bool:
    """Whether a sum begins with a minus sign, which must not follow another sign."""
    if isinstance(node, Binary) and node.operator in "+-":
        return _starts_negative(node.left)
    return negative_product(node)


def merged(pieces: list[Piece]) -> tuple[Piece, ...]:
    """Neighbouring fixed texts made one."""
    merged: list[Piece] = []
    for piece in pieces:
        if isinstance(piece, str) and merged and isinstance(merged[-1], str):
            merged[-1] += piece
        elif piece != "":
            merged.append(piece)
    return tuple(merged)


def literal_number(node: Number | Measure) -> str:
    """A literal as people read it, with the digits its author wrote."""
    parts = numeral_parts(node.text)
    if parts is None or parts[0] * Fraction(10) ** parts[1] != node.value:
        return _fraction_text(node.value)  # made by us, such as a third
    return exact_number(*parts)


_NUMERAL = re.compile(r"\s*([+-]?)(\d*)(?:\.(\d*))?(?:[eE]([+-]?\d+))?(?![\d.])")


def numeral_parts(text: str) -> tuple[int, int, bool] | None:
    """Mantissa, exponent and whether a power of ten was written; None if no numeral leads."""
    found = _NUMERAL.match(text)
    if not found or not (found[2] or found[3]):
        return None
    decimals = found[3] or ""
    mantissa = int(found[2] + decimals) * (-1 if found[1] == "-" else 1)
    return mantissa, int(found[4] or 0) - len(decimals), found[4] is not None


def numeral_for_people(text: str) -> str | None:
    """ "1.8e-5" as "1.8 × 10⁻⁵"; None where the text does not begin with a numeral."""
    parts = numeral_parts(text)
    return None if parts is None else exact_number(*parts)


def _fraction_text(value: Fraction) -> str:
    text = str(value.numerator) if value.denominator == 1 else str(value)
    return text.replace("-", MINUS)
