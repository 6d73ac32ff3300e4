"""Expression trees -> one list of array operations in which nothing is computed twice.

Equal operations share one number (value numbering), constants are folded, whole and half powers
become multiplications and square roots, and comparisons get their tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from qbank.expressions.functions import FUNCTIONS
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

COMPARISON_TOLERANCE = 1e-12  # relative: a decimal on a boundary must not hang on the last bit
_LARGEST_UNROLLED_POWER = 64

Function = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Operation:
    """`function` of earlier operations. `name` and `constant` have no function."""

    kind: Literal["name", "constant", "elementwise", "reduction"]
    function: Function | None
    arguments: tuple[int, ...]
    name: str = ""
    constant: float = 0.0
    truth: bool = False  # the result is a truth value


_BINARY = {"+": np.add, "-": np.subtract, "*": np.multiply, "/": np.divide}
_COMMUTATIVE = {
    np.add, np.multiply, np.minimum, np.maximum, np.logical_and, np.logical_or
}  # fmt: skip
_FLIPPED = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "==", "!=": "!="}


class Lowering:
    """Collects the operations of several expressions; positions in `operations` are results."""

    def __init__(self) -> None:
        self.operations: list[Operation] = []
        self._known: dict[object, int] = {}

    def add(self, node: Node) -> int:
        """The position of the operation whose result is the value of `node`."""
        match node:
            case Number(value=value):
                return self.constant(_as_float(value))
            case Measure(value=value, unit=unit):
                return self.constant(unit.si_value(value))
            case Name(id="pi"):
                return self.constant(math.pi)
            case Name(id=name):
                return self._intern(("name", name), Operation("name", None, (), name=name))
            case Negate(operand=operand):
                return self.negative(self.add(operand))
            case Binary(operator="^", left=left, right=right):
                return self.power(self.add(left), self.add(right))
            case Binary(operator=operator, left=left, right=right):
                return self.arithmetic(_BINARY[operator], self.add(left), self.add(right))
            case Call(function=name, arguments=arguments):
                return self.call(name, [self.add(argument) for argument in arguments])
            case Not(operand=operand):
                return self.apply(np.logical_not, self.add(operand))
            case Logic(operator=word, operands=operands):
                function = np.logical_and if word == "and" else np.logical_or
                return self.folded(function, [self.add(operand) for operand in operands])
            case Compare(operands=operands, operators=operators):
                places = [self.add(operand) for operand in operands]
                links = [
                    self.comparison(operator, places[i], places[i + 1])
                    for i, operator in enumerate(operators)
                ]
                return self.folded(np.logical_and, links)

    # -- building

    def constant(self, value: float) -> int:
        return self._intern(
            ("constant", value.hex()), Operation("constant", None, (), constant=value)
        )

    def value_of(self, place: int) -> float | None:
        """The number at a place, if it is a constant."""
        operation = self.operations[place]
        return operation.constant if operation.kind == "constant" else None

    def apply(self, function: Function, *arguments: int) -> int:
        """`function` elementwise; worked out at once where all arguments are constants."""
        values = [self.value_of(place) for place in arguments]
        truth = function in _TRUTH
        if not truth and None not in values:
            with np.errstate(all="ignore"):
                return self.constant(float(function(*values)))
        if function in _COMMUTATIVE:
            arguments = tuple(sorted(arguments))
        operation = Operation("elementwise", function, arguments, truth=truth)
        return self._intern((function, arguments), operation)

    def folded(self, function: Function, places: list[int]) -> int:
        result = places[0]
        for place in places[1:]:
            result = self.apply(function, result, place)
        return result

    def negative(self, place: int) -> int:
        operation = self.operations[place]
        if operation.function is np.negative:
            return operation.arguments[0]
        return self.apply(np.negative, place)

    def arithmetic(self, function: Function, a: int, b: int) -> int:
        """`a` and `b` joined, without the steps that change nothing."""
        left, right = self.value_of(a), self.value_of(b)
        if function is np.multiply and left is not None:
            a, b, left, right = b, a, right, left
        if right == 1 and function in (np.multiply, np.divide):
            return a
        if right == -1 and function in (np.multiply, np.divide):
            return self.negative(a)
        if right == 0 and function is np.subtract:
            return a
        if function is np.divide and right is not None and _is_power_of_two(right):
            return self.apply(np.multiply, a, self.constant(1 / right))
        return self.apply(function, a, b)

    def power(self, base: int, exponent: int) -> int:
        value = self.value_of(exponent)
        if value is None or abs(value) > _LARGEST_UNROLLED_POWER or value % 0.5:
            return self.apply(np.power, base, exponent)
        if value < 0:
            positive = self.power(base, self.constant(-value))
            return self.apply(np.divide, self.constant(1.0), positive)
        if value % 1:
            root = self.apply(np.sqrt, base)
            whole = self.power(base, self.constant(value - 0.5))
            return root if value == 0.5 else self.apply(np.multiply, whole, root)
        if value == 0:
            return self.constant(1.0)
        if value == 1:
            return base
        half = self.power(base, self.constant(float(value // 2)))
        square = self.apply(np.multiply, half, half)
        return self.apply(np.multiply, square, base) if value % 2 else square

    def call(self, name: str, places: list[int]) -> int:
        function = FUNCTIONS[name]
        if function.kind == "list":
            key = (function.evaluate, tuple(places))
            return self._intern(key, Operation("reduction", function.evaluate, tuple(places)))
        if function.most > 2:
            return self.folded(function.evaluate, places)
        return self.apply(function.evaluate, *places)

    def comparison(self, operator: str, a: int, b: int) -> int:
        """`a operator b`, where sides that agree to a relative 1e-12 count as equal."""
        if self.value_of(a) is not None:
            a, b, operator = b, a, _FLIPPED[operator]
        match operator:
            case ">":
                return self.apply(np.greater, a, self._widened(b, 1))
            case ">=":
                return self.apply(np.greater_equal, a, self._widened(b, -1))
            case "<":
                return self.apply(np.less, a, self._widened(b, -1))
            case "<=":
                return self.apply(np.less_equal, a, self._widened(b, 1))
            case "==":
                above = self.apply(np.greater_equal, a, self._widened(b, -1))
                below = self.apply(np.less_equal, a, self._widened(b, 1))
                return self.apply(np.logical_and, above, below)
            case _:
                return self.apply(np.logical_not, self.comparison("==", a, b))

    def _widened(self, place: int, sign: int) -> int:
        """The value moved up or down by the tolerance of comparisons."""
        size = self.apply(np.abs, place)
        slack = self.apply(np.multiply, size, self.constant(sign * COMPARISON_TOLERANCE))
        return self.apply(np.add, place, slack)

    def _intern(self, key: object, operation: Operation) -> int:
        place = self._known.get(key)
        if place is None:
            place = self._known[key] = len(self.operations)
            self.operations.append(operation)
        return place


_TRUTH: set[Function] = {
    np.greater, np.greater_equal, np.less, np.less_equal,
    np.logical_and, np.logical_or, np.logical_not,
}  # fmt: skip


def _is_power_of_two(value: float) -> bool:
    """Whether dividing by it is the same, bit for bit, as multiplying by its reciprocal."""
    return (
        value != 0
        and math.isfinite(value)
        and abs(math.frexp(value)[0]) == 0.5
        and (1e-300 < abs(value) < 1e300)
    )


def _as_float(value: Any) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.copysign(math.inf, value)
