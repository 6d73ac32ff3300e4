"""Expression trees -> text in the language itself, which reads back as the same tree."""

from __future__ import annotations

from qbank.expressions.tree import (
    Binary,
    Call,
    Compare,
    Equation,
    Logic,
    Measure,
    Name,
    Negate,
    Node,
    Not,
    Number,
)

_OR, _AND, _NOT, _COMPARE, _SUM, _PRODUCT, _SIGN, _POWER, _ATOM = range(9)
_LEVELS = {"+": _SUM, "-": _SUM, "*": _PRODUCT, "/": _PRODUCT, "^": _POWER}


def spell(node: Node | Equation) -> str:
    """The expression as an author would type it, with no brackets but those it needs."""
    if isinstance(node, Equation):
        return f"{spell(node.left)} = {spell(node.right)}"
    return _at_level(node, _OR)


def _at_level(node: Node, level: int) -> str:
    text, own = _spelled(node)
    return text if own >= level else f"({text})"


def _spelled(node: Node) -> tuple[str, int]:
    """The text and how tightly its outermost operator binds."""
    match node:
        case Number(text=text):
            return text, _ATOM
        case Measure(text=text):
            # a unit would swallow the operator after it
            return text, _PRODUCT if not text.startswith("-") else _SIGN
        case Name(id=name):
            return name, _ATOM
        case Negate(operand=operand):
            return f"-{_at_level(operand, _SIGN)}", _SIGN
        case Call(function=name, arguments=arguments):
            return f"{name}({', '.join(_at_level(a, _SUM) for a in arguments)})", _ATOM
        case Binary(operator="^", left=left, right=right):
            return f"{_at_level(left, _ATOM)}^{_at_level(right, _SIGN)}", _POWER
        case Binary(operator=sign, left=left, right=right):
            level = _LEVELS[sign]
            gap = " " if level == _SUM else ""
            return f"{_at_level(left, level)}{gap}{sign}{gap}{_at_level(right, level + 1)}", level
        case Not(operand=operand):
            return f"not {_at_level(operand, _NOT)}", _NOT
        case Compare(operands=operands, operators=operators):
            parts = [_at_level(operands[0], _SUM)]
            for comparison, operand in zip(operators, operands[1:], strict=True):
                parts += [comparison, _at_level(operand, _SUM)]
            return " ".join(parts), _COMPARE
        case Logic(operator=word, operands=operands):
            level = _OR if word == "or" else _AND
            return f" {word} ".join(_at_level(o, level + 1) for o in operands), level
