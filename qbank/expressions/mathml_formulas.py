"""Formulas as presentation MathML 3 (W3C Recommendation, 2nd edition, 2014, chapter 3)."""

from __future__ import annotations

from xml.sax.saxutils import escape

from qbank.expressions.formula_writer import (
    ATOM,
    FENCES,
    FUNCTIONS,
    LOWEST,
    QUANTILES,
    ROOTS,
    Piece,
    Writer,
    literal_number,
    precedence,
    raised_in_name,
)
from qbank.expressions.numbers import MINUS
from qbank.expressions.symbols import Standing, Symbol, value_mathml
from qbank.expressions.tree import Binary, Call, Measure, Name, Node, Number

_TIMES = "<mo>⋅</mo>"
_INVISIBLE_TIMES = "<mo>\u2062</mo>"
_APPLY = "<mo>\u2061</mo>"
_DISTRIBUTIONS = {  # how formula_writer.DISTRIBUTIONS are set
    "normal_cdf": '<mi mathvariant="normal">Φ</mi>',
    "t_cdf": "<msub><mi>F</mi><mi>t</mi></msub>",
    "chi2_cdf": "<msub><mi>F</mi><msup><mi>χ</mi><mn>2</mn></msup></msub>",
}


class MathMLWriter(Writer):
    """Formulas as what stands inside a `math` element."""

    minus = minus_between = f"<mo>{MINUS}</mo>"
    plus_between = "<mo>+</mo>"

    def fenced(self, pieces: list[Piece]) -> list[Piece]:
        return ["<mrow><mo>(</mo>", *pieces, "<mo>)</mo></mrow>"]

    def single(self, node: Node, least: int = LOWEST, standing: Standing = "alone") -> list[Piece]:
        """The node as exactly one element."""
        pieces = self.write(node, least, standing)
        if precedence(node) < least or self.is_single(node):
            return pieces
        return ["<mrow>", *pieces, "</mrow>"]

    def is_single(self, node: Node) -> bool:
        match node:
            case Name() | Measure() | Number() | Binary(operator="/"):
                return True
            case Binary(operator="^"):
                return not raised_in_name(node.left, node.right)
            case Call(function=function):
                return function in FENCES or function in ROOTS or function == "exp"
            case _:
                return False

    def value(self, number: str, unit: str, standing: Standing) -> str:
        return value_mathml(number, unit, standing)

    def sign(self, symbol: Symbol) -> str:
        return symbol.mathml

    def quotient(self, node: Binary) -> list[Piece]:
        return ["<mfrac>", *self.single(node.left), *self.single(node.right), "</mfrac>"]

    @staticmethod
    def relation(relation: str) -> str:
        return f"<mo>{escape(relation)}</mo>"

    def spoken(self, words: str) -> str:
        return f"<mtext>{words.replace(' ', chr(0xA0))}</mtext>"

    def number(self, node: Number, standing: Standing) -> str:
        text = self.words.number(literal_number(node))
        if "/" not in text:
            return value_mathml(text, "", standing)
        above, _, below = text.partition("/")
        fraction = f"<mfrac>{value_mathml(above, '')}<mn>{below}</mn></mfrac>"
        return fraction if standing == "alone" else f"<mrow><mo>(</mo>{fraction}<mo>)</mo></mrow>"

    def times(self, product: Binary) -> str:
        """A dot next to a number; nothing to be seen between symbols and in 2x, as is usual."""
        return _TIMES if self.needs_dot(product) else _INVISIBLE_TIMES

    def power(self, node: Binary) -> list[Piece]:
        base, exponent = node.left, node.right
        if isinstance(base, Call) and raised_in_name(base, exponent):
            return self.call(base, exponent)
        left = self.single(base, ATOM, "factor")
        return ["<msup>", *left, *self.single(exponent), "</msup>"]

    def call(self, node: Call, exponent: Node | None = None) -> list[Piece]:
        function, arguments = node.function, node.arguments
        if function in FENCES:
            left, right = FENCES[function]
            inside = self.write(arguments[0], LOWEST)
            return [f"<mrow><mo>{left}</mo>", *inside, f"<mo>{right}</mo></mrow>"]
        if function == "sqrt":
            return ["<msqrt>", *self.single(arguments[0]), "</msqrt>"]
        if function == "cbrt":
            return ["<mroot>", *self.single(arguments[0]), "<mn>3</mn></mroot>"]
        if function == "exp":
            base = '<mi mathvariant="normal">e</mi>'
            return [f"<msup>{base}", *self.single(arguments[0]), "</msup>"]
        parts = [self.write(argument, LOWEST) for argument in arguments]
        inside = self.joined(parts, ["<mo>,</mo>"] * (len(parts) - 1))
        if function in QUANTILES:
            return self.quantile(function, inside)
        if function in _DISTRIBUTIONS:
            inside = self.joined(parts, ["<mo>;</mo>"] * (len(parts) - 1))
            return [_DISTRIBUTIONS[function], _APPLY, *self.fenced(inside)]
        if function == "sum":
            return ["<mo>∑</mo>", *self.fenced(inside)]
        name = f"<mi>{FUNCTIONS.get(function, function)}</mi>"
        if function == "log10":
            name = "<msub><mi>log</mi><mn>10</mn></msub>"
        applied: list[Piece] = [name, _APPLY]
        if exponent is not None:
            applied = [f"<msup>{name}", *self.single(exponent), "</msup>", _APPLY]
        return [*applied, *self.fenced(inside)]

    def quantile(self, function: str, inside: list[Piece]) -> list[Piece]:
        sign = {"normal_quantile": "<mi>z</mi>", "t_quantile": "<mi>t</mi>"}.get(function)
        row: list[Piece] = ["<mrow>", *inside, "</mrow>"]
        if sign is None:
            return ["<msubsup><mi>χ</mi>", *row, "<mn>2</mn></msubsup>"]
        return [f"<msub>{sign}", *row, "</msub>"]
