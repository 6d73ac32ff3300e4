"""Expression trees as formulas: plain text, presentation MathML 3 and LaTeX, from the same tree.

A formula is compiled once per family into pieces: fixed text, and slots where an instance puts
the value of a quantity. Printing it for an instance only joins strings.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction

from qbank.expressions.formula_writer import LOWEST, Piece, Slot, Words, merged
from qbank.expressions.latex_formulas import LatexWriter, symbol_latex
from qbank.expressions.mathml_formulas import MathMLWriter
from qbank.expressions.plain_formulas import PlainWriter
from qbank.expressions.symbols import Symbol
from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Equation,
    Logic,
    Name,
    Negate,
    Node,
    Not,
    Number,
    names_in,
)

MATH_NAMESPACE = "http://www.w3.org/1998/Math/MathML"
OPEN_MATH = f'<math xmlns="{MATH_NAMESPACE}">'
CLOSE_MATH = "</math>"
ENGLISH = Words()


@dataclass(frozen=True, slots=True)
class Formula:
    """A compiled formula; `mathml` is what stands inside the `math` element, and `latex`, which
    is empty unless it was asked for, what stands in math mode."""

    plain: tuple[Piece, ...]
    mathml: tuple[Piece, ...]
    latex: tuple[Piece, ...] = ()


def typeset(
    node: Node | Equation,
    symbols: Mapping[str, Symbol],
    values: Collection[str] = (),
    words: Words = ENGLISH,
    latex: bool = False,
) -> Formula:
    """The formula of an expression, condition or law; as LaTeX too where `latex` says so.

    A name in `values` becomes a slot for its value; any other is written with its symbol, or
    with one made from its name where `symbols` has none.
    """
    if isinstance(node, Equation):
        sides = [typeset(side, symbols, values, words, latex) for side in (node.left, node.right)]
        return chain(*sides)
    slots = frozenset(values)
    return Formula(
        merged(PlainWriter(symbols, slots, words).write(node, LOWEST)),
        merged(MathMLWriter(symbols, slots, words).write(node, LOWEST)),
        merged(LatexWriter(symbols, slots, words).write(node, LOWEST)) if latex else (),
    )


def chain(*formulas: Formula, relation: str = "=") -> Formula:
    """Formulas joined by a relation: `I = M*r^2/2 = 0.12 kg m^2`."""
    plain: list[Piece] = list(formulas[0].plain)
    mathml: list[Piece] = list(formulas[0].mathml)
    latex: list[Piece] = list(formulas[0].latex)
    for formula in formulas[1:]:
        plain += [PlainWriter.relation(relation), *formula.plain]
        mathml += [MathMLWriter.relation(relation), *formula.mathml]
        latex += [LatexWriter.relation(relation), *formula.latex]
    asked = all(formula.latex for formula in formulas)
    return Formula(merged(plain), merged(mathml), merged(latex) if asked else ())


def of_symbol(sign: Symbol) -> Formula:
    """A symbol on its own."""
    return Formula((sign.plain,), (sign.mathml,), (symbol_latex(sign),))


def of_slot(name: str) -> Formula:
    """A value on its own."""
    slot = (Slot(name, "alone"),)
    return Formula(slot, slot, slot)


# ---------------------------------------------------------------------------- case constants


def specialise(node: Node, constants: Mapping[str, float]) -> Node:
    """The expression with a case's constants put in and the ones and minus ones worked off.

    `s*(T_a - m_a*g)` is `T_a - m_a*g` for s = 1 and `m_a*g - T_a` for s = -1: equal to the
    original for every value of the other names. What holds no constant stays as it was written.
    """
    if not names_in(node) & constants.keys():
        return node
    match node:
        case Name():
            return _literal(constants[node.id])
        case Negate():
            return _negated(specialise(node.operand, constants))
        case Binary():
            left, right = (specialise(part, constants) for part in (node.left, node.right))
            return _combined(node, left, right)
        case Call():
            arguments = tuple(specialise(part, constants) for part in node.arguments)
            return Call(node.function, arguments, node.span)
        case Compare():
            operands = tuple(specialise(part, constants) for part in node.operands)
            return Compare(operands, node.operators, node.span)
        case Logic():
            operands = tuple(specialise(part, constants) for part in node.operands)
            return Logic(node.operator, operands, node.span)
        case Not():
            return Not(specialise(node.operand, constants), node.span)
        case _:
            return node


def specialise_equation(equation: Equation, constants: Mapping[str, float]) -> Equation:
    """`specialise` on both sides; a minus sign before both is dropped."""
    left = specialise(equation.left, constants)
    right = specialise(equation.right, constants)
    if isinstance(left, Negate) and isinstance(right, Negate):
        left, right = left.operand, right.operand
    return Equation(left, right, equation.span)


def _literal(value: float) -> Node:
    exact = Fraction(repr(value))
    text = str(exact.numerator) if exact.denominator == 1 else repr(value)
    number = Number(abs(exact), text.lstrip("-"))
    return Negate(number) if exact < 0 else number


def _is(node: Node, value: int) -> bool:
    if isinstance(node, Negate):
        return _is(node.operand, -value)
    return isinstance(node, Number) and node.value == value


def _negated(node: Node) -> Node:
    match node:
        case Negate():
            return node.operand
        case Binary(operator="-"):
            return Binary("-", node.right, node.left, node.span)
        case Number() if node.value == 0:
            return node
        case _:
            return Negate(node)


def _combined(node: Binary, left: Node, right: Node) -> Node:
    match node.operator:
        case "*" if _is(left, 0) or _is(right, 0):
            return Number(Fraction(0), "0")
        case "*" if _is(left, 1):
            return right
        case "*" if _is(left, -1):
            return _negated(right)
        case "*" | "/" | "^" if _is(right, 1):
            return left
        case "*" | "/" if _is(right, -1):
            return _negated(left)
        case "*" | "/" if isinstance(left, Negate):
            return _negated(_combined(node, left.operand, right))
        case "*" if isinstance(right, Negate):
            return _negated(_combined(node, left, right.operand))
        case "+" if isinstance(right, Negate):
            return _combined(Binary("-", left, right), left, right.operand)
        case "+" if _is(left, 0):
            return right
        case "+" if isinstance(left, Negate):
            return Binary("-", right, left.operand, node.span)
        case "-" if isinstance(right, Negate):
            return _combined(Binary("+", left, right), left, right.operand)
        case "-" if _is(left, 0):
            return _negated(right)
        case "+" | "-" if _is(right, 0):
            return left
        case _:
            return Binary(node.operator, left, right, node.span)
