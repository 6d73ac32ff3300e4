"""Reads what an item shows, independently of the code that wrote it: formulas, numbers, text."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass

from qbank.expressions.parser import parse_equation, parse_value
from qbank.expressions.tree import Binary, Call, Compare, Logic, Measure, Name, Negate, Node, Not
from qbank.expressions.tree import Number as NumberNode
from qbank.item import Block, Display, Image, Item, Math, Paragraph

_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_GREEK = {"θ": "theta", "μ": "mu", "α": "alpha", "π": "pi", "ρ": "rho", "ν": "nu", "β": "beta",
          "Δ": "Delta"}  # fmt: skip
_RAISED_RUN = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")
NUMERAL = re.compile(r"(?<![\w.₀-₉])−?\d+(?:\.\d+)?(?: × 10[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)?")


def _as_power(run: re.Match[str]) -> str:
    return "^" + run[0].translate(_RAISED)


def strings(part: object) -> Iterator[str]:
    """Every text in an item or a part of one; formulas as plain text."""
    if isinstance(part, str):
        yield part
    elif isinstance(part, Math):
        yield part.plain
    elif isinstance(part, Image):
        yield from (part.alt, part.description)
    elif isinstance(part, tuple):
        for inner in part:
            yield from strings(inner)
    elif is_dataclass(part):
        for field in fields(part):
            yield from strings(getattr(part, field.name))


def maths(part: object) -> Iterator[Math]:
    """Every formula in an item or a part of one."""
    if isinstance(part, Math):
        yield part
    elif isinstance(part, tuple):
        for inner in part:
            yield from maths(inner)
    elif is_dataclass(part):
        for field in fields(part):
            yield from maths(getattr(part, field.name))


def prose(blocks: tuple[Block, ...]) -> str:
    """Paragraphs and displayed formulas, a line each."""
    return "\n".join(
        "".join(strings(block)) for block in blocks if isinstance(block, Paragraph | Display)
    )


def table(item: Item, caption: str) -> list[list[str]]:
    """The rows of the table of that caption in the worked solution, as text."""
    for block in item.solution:
        if getattr(block, "caption", None) == caption:
            return [["".join(strings(cell)) for cell in row] for row in block.rows]  # type: ignore[union-attr]
    raise KeyError(caption)


def grammar(plain: str) -> str:
    """Plain text of a formula as the family language writes it."""
    text = re.sub(r" × 10([⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)", lambda m: "e" + m[1].translate(_RAISED), plain)
    # a unit keeps its dots and raised digits; elsewhere a dot multiplies
    text = re.sub(
        r"(?<=\d) ([A-Za-zµΩ°%][^\s()+−=]*(?:\([^()]*\))?)",
        lambda m: " " + _RAISED_RUN.sub(_as_power, m[1].replace("·", "\0")),
        text,
    )
    text = re.sub(r"(?<=\d)°", " deg", text)
    text = text.replace("·", "*").replace("\0", "·")
    text = re.sub(r"(sin|cos|tan|ln)([²³])\(([^()]*)\)", r"(\1(\3))\2", text)
    text = _RAISED_RUN.sub(_as_power, text)
    text = re.sub(r"([₀-₉]+)", lambda m: "_" + m[1].translate(_LOWERED), text)
    text = text.replace("log_10", "log10").replace("√", "sqrt").replace("∑", "sum")
    for letter, name in _GREEK.items():
        text = text.replace(letter, name)
    return text.replace("−", "-")


def sides(plain: str, values: Mapping[str, float]) -> tuple[float, float]:
    """Both sides of a printed equation, in SI; `values` are those of the names left in it."""
    equation = parse_equation(grammar(plain))
    return evaluate(equation.left, values), evaluate(equation.right, values)


def value(plain: str, values: Mapping[str, float]) -> float:
    return evaluate(parse_value(grammar(plain)), values)


def evaluate(node: Node, values: Mapping[str, float]) -> float:
    """One value at a time with Python's own arithmetic; conditions give 1.0 or 0.0."""
    match node:
        case NumberNode(value=exact):
            return float(exact)
        case Measure(value=exact, unit=unit):
            return float(unit.to_si(float(exact)))
        case Name(id="pi"):
            return math.pi
        case Name(id=name):
            return values[name]
        case Negate(operand=operand):
            return -evaluate(operand, values)
        case Binary(operator=operator, left=left, right=right):
            a, b = evaluate(left, values), evaluate(right, values)
            return {
                "+": lambda: a + b,
                "-": lambda: a - b,
                "*": lambda: a * b,
                "/": lambda: a / b,
                "^": lambda: a**b,
            }[operator]()
        case Call(function="ln", arguments=(argument,)):
            return math.log(evaluate(argument, values))
        case Call(function="abs", arguments=(argument,)):
            return abs(evaluate(argument, values))
        case Call(function=function, arguments=arguments):
            return getattr(math, function)(*(evaluate(a, values) for a in arguments))
        case Compare(operands=operands, operators=operators):
            found = [evaluate(operand, values) for operand in operands]
            tests = {
                "<": lambda a, b: a < b,
                "<=": lambda a, b: a <= b,
                ">": lambda a, b: a > b,
                ">=": lambda a, b: a >= b,
                "==": lambda a, b: math.isclose(a, b, rel_tol=1e-12),
            }
            return float(
                all(tests[o](*found[k : k + 2]) for k, o in enumerate(operators))  # type: ignore[index]
            )
        case Logic(operator=operator, operands=operands):
            held = [bool(evaluate(operand, values)) for operand in operands]
            return float(all(held) if operator == "and" else any(held))
        case Not(operand=operand):
            return 1.0 - evaluate(operand, values)
    raise TypeError(node)
