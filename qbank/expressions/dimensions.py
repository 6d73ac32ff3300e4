"""Dimensions and shapes of expressions: what fits, and which part does not.

A literal 0 fits any dimension. Case constants and functions of pure numbers are pure numbers.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from fractions import Fraction
from typing import Literal, NoReturn

from qbank.errors import ExpressionError
from qbank.expressions.functions import FUNCTIONS, OF_DISTRIBUTIONS
from qbank.expressions.limits import literal_value
from qbank.expressions.mending import mend_equation, mend_terms
from qbank.expressions.spelling import spell
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
    walk,
)
from qbank.expressions.units import DIMENSIONLESS, Dimension

Dimensions = Mapping[str, Dimension]
Shape = Literal["scalar", "list"]


def dimension_of(node: Node, env: Dimensions, lists: Collection[str] = ()) -> Dimension:
    """The dimension of a value, where `env` has that of every name; of 0 it is none.

    Raises `ExpressionError` at the part whose dimensions do not fit, with both sides in words
    and, where one factor explains it, the mend; also for a data list used as one value.
    """
    shape_of(node, lists)
    return _dimension(node, env) or DIMENSIONLESS


def check_equation(equation: Equation, env: Dimensions, lists: Collection[str] = ()) -> None:
    """Both sides of a law are single values of one dimension; else `ExpressionError`."""
    for side in (equation.left, equation.right):
        if shape_of(side, lists) == "list":
            _fail("a law holds single values, found a data list", side, _LIST_MEND)
    left, right = _dimension(equation.left, env), _dimension(equation.right, env)
    if left is None or right is None or left == right:
        return
    culprit, hint = mend_equation(equation, left, right, lambda n: _quietly(n, env))
    raise ExpressionError(
        f"the sides differ in dimension: left is {left.describe()}, right is {right.describe()}",
        span=culprit.span,
        hint=hint or _FACTOR_MEND,
    )


def check_condition(node: Node, env: Dimensions, lists: Collection[str] = ()) -> None:
    """All sides of every comparison agree and are single values; else `ExpressionError`."""
    match node:
        case Not(operand=operand):
            check_condition(operand, env, lists)
        case Logic(operands=operands):
            for operand in operands:
                check_condition(operand, env, lists)
        case Compare(operands=operands):
            for operand in operands:
                if shape_of(operand, lists) == "list":
                    _fail("a data list cannot be compared", operand, _LIST_MEND)
            _common(operands, "the sides of the comparison differ in dimension", env)
        case _:
            _fail("expected a condition, found a value", node, "Compare it, such as x > 0.")


def shape_of(node: Node, lists: Collection[str]) -> Shape:
    """Whether a value is one number or a data list, given the names that are data lists.

    Raises `ExpressionError` where a list function gets a single value, or a function of a
    distribution a list.
    """
    if isinstance(node, Name):
        return "list" if node.id in lists else "scalar"
    if isinstance(node, Call):
        shapes = [shape_of(argument, lists) for argument in node.arguments]
        if FUNCTIONS[node.function].kind == "list":
            if shapes[0] == "scalar":
                _fail(
                    f"{node.function} takes a data list, found a single value",
                    node.arguments[0],
                    _scalar_twin(node.function),
                )
            return "scalar"
        if node.function in OF_DISTRIBUTIONS and "list" in shapes:
            _fail(f"{node.function} takes single values, found a data list", node, _LIST_MEND)
        return "list" if "list" in shapes else "scalar"
    if isinstance(node, Compare | Logic | Not):
        for part in walk(node):
            if isinstance(part, Compare):
                for operand in part.operands:
                    shape_of(operand, lists)
        return "scalar"
    below = [shape_of(child, lists) for child in _operands(node)]
    return "list" if "list" in below else "scalar"


_FACTOR_MEND = "Look for a factor that is missing or one too many, and at the units of the data."
_LIST_MEND = "Take one number of it, such as mean(x) or count(x)."


def _scalar_twin(name: str) -> str:
    twins = {"least": "min", "greatest": "max", "sum": "+"}
    if name in twins:
        return f"Of single values write {twins[name]}."
    return "Data lists are the givens with sample."


def _operands(node: Node) -> tuple[Node, ...]:
    match node:
        case Negate(operand=operand):
            return (operand,)
        case Binary(left=left, right=right):
            return (left, right)
        case _:
            return ()


def _quietly(node: Node, env: Dimensions) -> Dimension | None:
    try:
        return _dimension(node, env)
    except ExpressionError:
        return None


def _dimension(node: Node, env: Dimensions) -> Dimension | None:
    """The dimension; None for what is 0 by its writing and so fits any."""
    match node:
        case Number(value=value):
            return DIMENSIONLESS if value else None
        case Measure(unit=unit):
            return unit.dimension
        case Name(id="pi"):
            return DIMENSIONLESS
        case Name(id=name):
            if name not in env:
                near = difflib.get_close_matches(name, env, 1, 0.6)
                hint = f"Did you mean {near[0]}?" if near else None
                _fail(f"there is no quantity {name!r} here", node, hint)
            return env[name]
        case Negate(operand=operand):
            return _dimension(operand, env)
        case Binary(operator="+" | "-"):
            return _sum(node, env)
        case Binary(operator="^", left=base, right=exponent):
            return _power(base, exponent, env)
        case Binary(operator=operator, left=left, right=right):
            a, b = _dimension(left, env), _dimension(right, env)
            if a is None or b is None:
                return None
            return a * b if operator == "*" else a / b
        case Call():
            return _call(node, env)
        case _:
            return _fail("expected a value, found a condition", node, None)


def _terms(node: Node) -> list[Node]:
    """The terms of a sum that is not broken by brackets of another kind, in reading order."""
    if isinstance(node, Binary) and node.operator in "+-":
        return [*_terms(node.left), *_terms(node.right)]
    return [node]


def _sum(node: Binary, env: Dimensions) -> Dimension | None:
    for part in (node.left, node.right):
        if node.operator == "+" and isinstance(part, Measure) and part.unit.offset:
            _fail(
                f"a sum with {part.text}, which is an absolute temperature",
                part,
                "Write a temperature difference in K.",
            )
    return _common(_terms(node), "the terms of the sum differ in dimension", env)


def _common(parts: Collection[Node], fault: str, env: Dimensions) -> Dimension | None:
    """The dimension all parts share; else an error at the odd one out."""
    found = [(part, dimension) for part in parts if (dimension := _dimension(part, env))]
    if not found:
        return None
    if all(dimension == found[0][1] for _, dimension in found):
        return found[0][1]
    culprit, expected, hint = mend_terms(found, lambda n: _quietly(n, env))
    dimension = next(d for part, d in found if part is culprit)
    others = next(part for part, d in found if d == expected)
    if isinstance(culprit, Number) and expected != DIMENSIONLESS:
        hint = f"Give the number its unit: {culprit.text} {expected}."
    elif isinstance(culprit, Measure):
        hint = f"Give it a unit for {expected.describe()}."
    return _fail(
        f"{fault}: {_short(others)} is {expected.describe()}, "
        f"{_short(culprit)} is {dimension.describe()}",
        culprit,
        hint or _FACTOR_MEND,
    )


def _power(base: Node, exponent: Node, env: Dimensions) -> Dimension | None:
    above = _dimension(exponent, env)
    if above is not None and above != DIMENSIONLESS:
        _fail(
            f"an exponent that is {above.describe()}; expected a pure number",
            exponent,
            "Divide it by a reference value.",
        )
    below = _dimension(base, env)
    if below is None or below == DIMENSIONLESS:
        return below
    value = literal_value(exponent)
    if value is None:
        _fail(
            f"{_short(base)} is {below.describe()}, and its exponent is no plain number",
            exponent,
            "Only pure numbers can have an exponent that varies; divide by a reference value.",
        )
    return below ** Fraction(value).limit_denominator(1000)


def _call(node: Call, env: Dimensions) -> Dimension | None:
    function = FUNCTIONS[node.function]
    if function.rule in ("same", "ratio"):
        fault = f"the arguments of {node.function} differ in dimension"
        common = _common(node.arguments, fault, env)
        return DIMENSIONLESS if function.rule == "ratio" else common
    if function.rule == "pure":
        for argument in node.arguments:
            dimension = _dimension(argument, env)
            if dimension is not None and dimension != DIMENSIONLESS:
                _fail(
                    f"{node.function} needs a pure number, found {dimension.describe()}",
                    argument,
                    f"Divide it by a reference, such as {_short(argument, 30)}/(1 {dimension}).",
                )
        return DIMENSIONLESS
    dimension = _dimension(node.arguments[0], env)
    power = {"square root": Fraction(1, 2), "cube root": Fraction(1, 3), "square": Fraction(2)}
    return None if dimension is None else dimension ** power[function.rule]


def _short(node: Node, most: int = 40) -> str:
    text = spell(node)
    return text if len(text) <= most else "this part"


def _fail(message: str, node: Node, hint: str | None) -> NoReturn:
    raise ExpressionError(message, span=node.span, hint=hint)
