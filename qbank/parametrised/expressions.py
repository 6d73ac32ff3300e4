"""Expressions of a family in the operators of the standard (mapping note, e and g2).

Operators are those of 2.1; `Dialect.markup` gives them the names of another version. What a
float cannot be is NULL there, and NULL makes every operator above it NULL, so a condition over
it does not hold.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from qbank.errors import QbankError
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
from qbank.formats.xmltext import number

Env = Mapping[str, str]  # name -> the markup that gives its value, SI

# Relative 1e-12 counts as equal, as everywhere in a family; the standard's tolerance is per cent.
_SAME = '<equal toleranceMode="relative" tolerance="1e-10">'

_FUNCTIONS = {
    **{name: name for name in ("sin", "cos", "tan", "asin", "acos", "atan", "atan2")},
    **{name: name for name in ("sinh", "cosh", "tanh", "exp", "ln", "abs", "floor", "ceil")},
    "log10": "log",
    "sign": "signum",
}
_ORDERS = {"<": "lt", "<=": "lte", ">": "gt", ">=": "gte"}
_LISTS = frozenset(
    ("count", "sum", "mean", "sd", "variance", "median", "least", "greatest")
)  # of data lists


class InexpressibleError(QbankError):
    """A family that cannot be one parametrised item; the message says why in a clause."""


# ---------------------------------------------------------------------------- leaves


def real(value: float) -> str:
    """A float constant. Raises CheckFailed where it is not finite."""
    return f'<baseValue baseType="float">{number(value)}</baseValue>'


def whole(value: int) -> str:
    """An integer constant."""
    return f'<baseValue baseType="integer">{value}</baseValue>'


def name_of(value: str) -> str:
    """An identifier constant."""
    return f'<baseValue baseType="identifier">{value}</baseValue>'


def variable(name: str) -> str:
    """The value of a variable."""
    return f'<variable identifier="{name}"/>'


NULL = "<null/>"
PI = '<mathConstant name="pi"/>'


# ---------------------------------------------------------------------------- operators


def op(name: str, *operands: str) -> str:
    """An operator without attributes."""
    return f"<{name}>{''.join(operands)}</{name}>"


def function(name: str, *operands: str) -> str:
    """A mathOperator."""
    return f'<mathOperator name="{name}">{"".join(operands)}</mathOperator>'


def same(first: str, second: str, per_cent: str = "1e-10") -> str:
    """Equal but for a relative difference, which is in per cent."""
    head = f'<equal toleranceMode="relative" tolerance="{per_cent}">'
    return f"{head}{first}{second}</equal>"


def every(conditions: Sequence[str]) -> str:
    """All of one or more conditions."""
    return conditions[0] if len(conditions) == 1 else op("and", *conditions)


def some(conditions: Sequence[str]) -> str:
    """At least one of one or more conditions."""
    return conditions[0] if len(conditions) == 1 else op("or", *conditions)


def rounded(value: str, *, figures: int | None, decimals: int | None) -> str:
    """A number as it is shown; a negative count of decimals rounds to tens."""
    if figures is not None:
        return f'<roundTo roundingMode="significantFigures" figures="{figures}">{value}</roundTo>'
    places = decimals or 0
    if places >= 0:
        return f'<roundTo roundingMode="decimalPlaces" figures="{places}">{value}</roundTo>'
    tens = real(10.0**-places)
    whole_tens = f'<roundTo roundingMode="decimalPlaces" figures="0">{op("divide", value, tens)}'
    return op("product", whole_tens + "</roundTo>", tens)


# ---------------------------------------------------------------------------- trees


def value(node: Node, env: Env) -> str:
    """A number. Raises InexpressibleError for what the operators cannot say."""
    match node:
        case Number(value=exact):
            return real(float(exact))
        case Measure(value=exact, unit=unit):
            return real(unit.si_value(exact))
        case Name(id="pi"):
            return PI
        case Name(id=name):
            return env[name]
        case Negate(operand=operand):
            return op("subtract", real(0.0), value(operand, env))
        case Binary():
            return _binary(node, env)
        case Call(function=called, arguments=arguments):
            return _call(called, [value(part, env) for part in arguments])
        case _:
            return _truth(node, env)


def _binary(node: Binary, env: Env) -> str:
    if node.operator in ("+", "*"):  # a run of sums or of products is one operator
        name = "sum" if node.operator == "+" else "product"
        return op(name, *(value(part, env) for part in _run(node, node.operator)))
    name = {"-": "subtract", "/": "divide", "^": "power"}[node.operator]
    return op(name, value(node.left, env), value(node.right, env))


def _run(node: Node, operator: str) -> list[Node]:
    if isinstance(node, Binary) and node.operator == operator:
        return [*_run(node.left, operator), node.right]
    return [node]


def _call(called: str, operands: list[str]) -> str:
    if called in _FUNCTIONS:
        return function(_FUNCTIONS[called], *operands)
    if called == "sqrt":
        return op("power", operands[0], real(0.5))
    if called == "cbrt":
        third = op("divide", real(1.0), real(3.0))
        size = op("power", function("abs", operands[0]), third)
        return op("product", function("signum", operands[0]), size)
    if called in ("min", "max"):
        return op(called, *operands)
    if called.endswith("_quantile"):
        raise InexpressibleError(f"it uses {called}, and the standard has no quantiles")
    if called.endswith("_cdf"):
        raise InexpressibleError(
            f"it uses {called}, and the standard has no distribution functions"
        )
    if called in _LISTS:
        raise InexpressibleError(
            f"it takes {called} of a data list, and the standard draws no lists"
        )
    raise InexpressibleError(f"the standard has no operator for {called}")


def condition(node: Node, env: Env) -> str:
    """Whether a condition holds; NULL where a side has no value."""
    return _truth(node, env)


def _truth(node: Node, env: Env) -> str:
    match node:
        case Compare(operands=operands, operators=operators):
            sides = [value(part, env) for part in operands]
            return every(
                [
                    _compared(sides[k], operator, sides[k + 1])
                    for k, operator in enumerate(operators)
                ]
            )
        case Logic(operator=operator, operands=operands):
            return op(operator, *(_truth(part, env) for part in operands))
        case Not(operand=operand):
            return op("not", _truth(operand, env))
        case _:
            raise InexpressibleError("a condition is no comparison")


def _compared(left: str, operator: str, right: str) -> str:
    """Sides that agree to 1e-12 of themselves count as equal, whatever their last bit."""
    alike = f"{_SAME}{left}{right}</equal>"
    if operator == "==":
        return alike
    if operator == "!=":
        return op("not", alike)
    order = op(_ORDERS[operator], left, right)
    if operator in ("<=", ">="):
        return op("or", order, alike)
    return op("and", order, op("not", alike))
