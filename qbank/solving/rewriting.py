"""Small operations on expression trees that solving needs: putting in, counting, setting apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from qbank.expressions.tree import (
    ArithmeticOperator,
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
    children,
    names_in,
    walk,
)


def number(value: Fraction | int | float) -> Number:
    """A literal; a float stands for the decimal it prints as."""
    exact = Fraction(repr(value)) if isinstance(value, float) else Fraction(value)
    return Number(exact, str(value))


ZERO, ONE, TWO = number(0), number(1), number(2)
PI = Name("pi")


def binary(left: Node, operator: ArithmeticOperator, right: Node) -> Node:
    """`left operator right`, with the neutral numbers left out."""
    match operator:
        case "+" if left == ZERO:
            return right
        case "+" | "-" if right == ZERO:
            return left
        case "-" if left == ZERO:
            return negate(right)
        case "*" if left == ONE:
            return right
        case "*" | "/" if right == ONE:
            return left
        case _:
            return Binary(operator, left, right)


def negate(node: Node) -> Node:
    """`-node`."""
    if isinstance(node, Negate):
        return node.operand
    return number(-node.value) if isinstance(node, Number) else Negate(node)


def call(function: str, *arguments: Node) -> Node:
    """`function(arguments)`."""
    return Call(function, arguments)


def at_least(left: Node, right: Node) -> Node:
    """The condition `left >= right`."""
    return Compare((left, right), (">=",))


def rebuilt(node: Node, parts: tuple[Node, ...]) -> Node:
    """The same node over other parts, in the order of `children`."""
    match node:
        case Negate():
            return Negate(parts[0], node.span)
        case Not():
            return Not(parts[0], node.span)
        case Binary():
            return Binary(node.operator, parts[0], parts[1], node.span)
        case Call():
            return Call(node.function, parts, node.span)
        case Compare():
            return Compare(parts, node.operators, node.span)
        case Logic():
            return Logic(node.operator, parts, node.span)
        case _:
            return node


def substitute(node: Node, values: Mapping[str, Node]) -> Node:
    """Every name in `values` replaced by its expression, all at once."""
    if isinstance(node, Name):
        return values.get(node.id, node)
    parts = children(node)
    replaced = tuple(substitute(part, values) for part in parts)
    if all(new is old for new, old in zip(replaced, parts, strict=True)):
        return node
    return rebuilt(node, replaced)


def substitute_equation(equation: Equation, values: Mapping[str, Node]) -> Equation:
    """`substitute` on both sides."""
    left, right = substitute(equation.left, values), substitute(equation.right, values)
    if left is equation.left and right is equation.right:
        return equation
    return Equation(left, right, equation.span)


def put_constants(equation: Equation, constants: Mapping[str, Node]) -> Equation:
    """The constants of a case put into a law; a term they make zero is left out, so that a
    law says which unknowns it really holds."""
    if not constants:
        return equation
    whole = substitute_equation(equation, constants)
    return Equation(_without_zeros(whole.left), _without_zeros(whole.right), whole.span)


def _without_zeros(node: Node) -> Node:
    parts = tuple(_without_zeros(part) for part in children(node))
    if isinstance(node, Binary):
        left, right = parts
        match node.operator:
            case "*" if ZERO in (left, right):
                return ZERO
            case "/" if left == ZERO:
                return ZERO
            case "+" if left == ZERO:
                return right
            case "+" | "-" if right == ZERO:
                return left
            case "-" if left == ZERO:
                return Negate(right, node.span)
    return rebuilt(node, parts)


def size(node: Node) -> int:
    """How many nodes the tree has."""
    return sum(1 for _ in walk(node))


def occurrences(node: Node, name: str) -> int:
    """How often a name stands in the tree."""
    return sum(1 for part in walk(node) if isinstance(part, Name) and part.id == name)


class Opaque:
    """Sets apart what algebra need not look into.

    The largest parts of an expression that hold no unknown become plain names (`@1`, `@2`, ...;
    no family can use `@`), so that symbolic work sees small expressions, keeps the author's own
    grouping, and never meets a function it does not know. Equal parts get the same name.
    """

    def __init__(self, unknowns: Iterable[str]) -> None:
        self._unknowns = frozenset(unknowns)
        self._names: dict[Node, str] = {}
        self.meaning: dict[str, Node] = {}

    def hide(self, node: Node) -> Node:
        """The expression with its parts free of unknowns set apart."""
        named = names_in(node)
        if named and not named & self._unknowns:
            return node if isinstance(node, Name) and node.id != "pi" else self._apart(node)
        if not named:  # plain numbers stay exact; anything with a unit or a function is set apart
            plain = all(isinstance(part, Number | Negate | Binary) for part in walk(node))
            return node if plain else self._apart(node)
        return rebuilt(node, tuple(self.hide(part) for part in children(node)))

    def show(self, node: Node) -> Node:
        """The expression with what was set apart put back."""
        return substitute(node, self.meaning)

    def _apart(self, node: Node) -> Name:
        name = self._names.setdefault(node, f"@{len(self._names) + 1}")
        self.meaning[name] = node
        return Name(name)
