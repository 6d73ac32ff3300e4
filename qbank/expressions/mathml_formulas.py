"""Formulas as presentation MathML 3 (W3C Recommendation, 2nd edition, 2014, chapter 3)."""

from __future__ import annotations

from xml.sax.saxutils import escape

from qbank.expressions.formula_writer import (
    ATOM,
    FENCES,
    FUNCTIONS,
    LOWEST,
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
from qbank.expressions.symbols import Standing, value_mathml
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

_TIMES = "<mo>⋅</mo>"
_INVISIBLE_TIMES = "<mo>\u2062</mo>"
_APPLY = "<mo>\u2061</mo>"
_DISTRIBUTIONS = {  # how formula_writer.DISTRIBUTIONS are set
    "normal_cdf": '<mi mathvariant="normal">Φ</mi>',
    "t_cdf": "<msub><mi>F</mi><mi>t</mi></msub>",
    "chi2_cdf": "<msub><mi>F</mi><msup><mi>χ</mi><mn>2</mn></msup></msub>",
}


def relation_sign(relation: str) -> str:
    """The `mo` element of a relation."""
    return f"<mo>{escape(relation)}</mo>"


class MathMLWriter(Writer):
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

    def bare(self, node: Node, standing: Standing) -> list[Piece]:
        match node:
            case Number():
                return [self.number(node, standing)]
            case Measure():
                return [
                    value_mathml(self.words.number(literal_number(node)), node.unit.text, standing)
                ]
            case Name():
                if node.id in self.values:
                    return [Slot(node.id, standing)]
                return [self.symbol_of(node.id).mathml]
            case Negate():
                return [
                    f"<mo>{MINUS}</mo>",
                    *self.write(node.operand, PRODUCT, self.after_minus(standing)),
                ]
            case Binary(operator="+"):
                return self.terms(node, "<mo>+</mo>", standing)
            case Binary(operator="-"):
                return self.terms(node, f"<mo>{MINUS}</mo>", standing)
            case Binary(operator="*"):
                left = self.first_factor(node.left)
                right = self.write(node.right, PRODUCT, "factor")
                return [*left, self.times(node), *right]
            case Binary(operator="/"):
                return ["<mfrac>", *self.single(node.left), *self.single(node.right), "</mfrac>"]
            case Binary():
                return self.power(node)
            case Call():
                return self.call(node)
            case Compare():
                parts = [self.write(part, SUM) for part in node.operands]
                return self.joined(
                    parts, [relation_sign(RELATIONS[sign]) for sign in node.operators]
                )
            case Logic():
                word = self.words.both if node.operator == "and" else self.words.either
                parts = [self.write(part, precedence(node) + 1) for part in node.operands]
                return self.joined(parts, [f"<mtext>\u00a0{word}\u00a0</mtext>"] * (len(parts) - 1))
            case Not():
                word = f"<mtext>{self.words.negated}\u00a0</mtext>"
                return [word, *self.fenced(self.write(node.operand, LOWEST))]

    def number(self, node: Number, standing: Standing) -> str:
        text = self.words.number(literal_number(node))
        if "/" not in text:
            return value_mathml(text, "", standing)
        above, _, below = text.partition("/")
        fraction = f"<mfrac>{value_mathml(above, '')}<mn>{below}</mn></mfrac>"
        return fraction if standing == "alone" else f"<mrow><mo>(</mo>{fraction}<mo>)</mo></mrow>"

    def times(self, node: Binary) -> str:
        """A dot next to a number; nothing to be seen between symbols and in 2x, as is usual."""
        return _TIMES if self.needs_dot(node) else _INVISIBLE_TIMES

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
