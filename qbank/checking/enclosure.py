"""Bounds on an expression while the unknowns range over a box: interval arithmetic on arrays.

The rounded answers and the exact ones lie in one box, half a unit in the last place to each side.
How far a law can be from closing there follows from the mean value theorem, once the partial
derivatives are bounded over the whole box (Moore, Kearfott and Cloud, Introduction to Interval
Analysis, 2009, chapters 5 and 6, from memory). Rounding of the last bits is not directed outward;
callers allow for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.functions import FUNCTIONS, OF_DISTRIBUTIONS
from qbank.expressions.tree import Binary, Call, Name, Negate, Node, Number, children
from qbank.instances import Floats

Interval = tuple[Floats, Floats]
Box = Mapping[str, Interval]

EVEN = frozenset({"abs", "cosh"})
# monotone in each argument, or a step function: the extremes are at the corners
MONOTONE = frozenset(
    {"exp", "ln", "log10", "sqrt", "cbrt", "asin", "acos", "atan", "sinh", "tanh"}
    | {"sign", "floor", "ceil", "min", "max"}
    | OF_DISTRIBUTIONS
)

PEAKS = {"sin": math.pi / 2, "cos": 0.0}  # where they are 1


class Enclosure:
    """Expressions compiled for bounding over boxes of the unknowns in `names`.

    Parts without an unknown are computed as plain numbers.
    """

    def __init__(self, nodes: Sequence[Node], names: frozenset[str]) -> None:
        self.nodes = tuple(nodes)
        self._data: list[Node] = []  # the largest parts without an unknown
        moving: dict[int, bool] = {}  # derivatives share their parts, so look at each once
        for node in nodes:
            if not self._collect(node, names, moving):
                self._data.append(node)
        self._program = compile_nodes(self._data)

    def _collect(self, node: Node, names: frozenset[str], moving: dict[int, bool]) -> bool:
        """Whether the node depends on an unknown."""
        if id(node) not in moving:
            parts = children(node)
            fixed = [part for part in parts if not self._collect(part, names, moving)]
            moving[id(node)] = len(fixed) < len(parts) or (
                isinstance(node, Name) and node.id in names
            )
            if moving[id(node)]:
                self._data += fixed
        return moving[id(node)]

    def __call__(self, env: Mapping[str, Floats], box: Box, n: int) -> list[Interval]:
        """Lower and upper bounds (n,) of each expression, for data in `env` and unknowns in `box`.

        Infinite where the box holds a pole; NaN where it leaves the domain of a function.
        """
        with np.errstate(all="ignore"):
            values = self._program(env, n)
            known = {
                id(node): (value, value) for node, value in zip(self._data, values, strict=True)
            }
            return [_bounds(node, box, known) for node in self.nodes]


def _bounds(node: Node, box: Box, known: dict[int, Interval]) -> Interval:
    """The bounds of a node; `known` remembers those found, by the identity of the node."""
    found = known.get(id(node))
    if found is None:
        found = known[id(node)] = _fresh_bounds(node, box, known)
    return found


def _fresh_bounds(node: Node, box: Box, known: dict[int, Interval]) -> Interval:
    match node:
        case Name(id=name):
            return box[name]
        case Negate(operand=operand):
            low, high = _bounds(operand, box, known)
            return -high, -low
        case Binary(operator="^", left=left, right=Number(value=power)) if power.denominator == 1:
            return _integer_power(_bounds(left, box, known), int(power))
        case Binary(operator=operator, left=left, right=right):
            first, second = _bounds(left, box, known), _bounds(right, box, known)
            return _ARITHMETIC[operator](first, second)
        case Call(function=function, arguments=arguments):
            return _function(function, [_bounds(part, box, known) for part in arguments])
        case _:
            raise TypeError(f"expected an arithmetic expression, got {type(node).__name__}")


def _add(a: Interval, b: Interval) -> Interval:
    return a[0] + b[0], a[1] + b[1]


def _subtract(a: Interval, b: Interval) -> Interval:
    return a[0] - b[1], a[1] - b[0]


def _multiply(a: Interval, b: Interval) -> Interval:
    return _corners(np.multiply, [a, b])


def _divide(a: Interval, b: Interval) -> Interval:
    low, high = _corners(np.divide, [a, b])
    pole = (b[0] <= 0) & (b[1] >= 0)
    return np.where(pole, -np.inf, low), np.where(pole, np.inf, high)


def _power(a: Interval, b: Interval) -> Interval:
    # monotone in base and exponent for positive bases; others give NaN
    return _corners(np.power, [a, b])


_ARITHMETIC: dict[str, Callable[[Interval, Interval], Interval]] = {
    "+": _add,
    "-": _subtract,
    "*": _multiply,
    "/": _divide,
    "^": _power,
}


def _integer_power(a: Interval, power: int) -> Interval:
    if power < 0:
        one = np.ones_like(a[0])
        return _divide((one, one), _integer_power(a, -power))
    return _even(lambda x: x**power, a) if power % 2 == 0 else (a[0] ** power, a[1] ** power)


def _function(name: str, arguments: list[Interval]) -> Interval:
    evaluate = FUNCTIONS[name].evaluate
    if name in EVEN:
        return _even(evaluate, arguments[0])
    if name in MONOTONE:
        while len(arguments) > 2:  # min and max of many are folded from the left
            arguments = [_corners(evaluate, arguments[:2]), *arguments[2:]]
        return _corners(evaluate, arguments)
    low, high = _corners(evaluate, arguments)
    if name in PEAKS:
        peak = PEAKS[name]
        low = np.where(_holds_turn(arguments[0], peak + math.pi), -1.0, low)
        return low, np.where(_holds_turn(arguments[0], peak), 1.0, high)
    if name == "tan":
        branch = [np.floor(bound / math.pi + 0.5) for bound in arguments[0]]
        broken = branch[0] != branch[1]
        return np.where(broken, -np.inf, low), np.where(broken, np.inf, high)
    if name == "atan2":
        (y_low, y_high), (x_low, _) = arguments
        cut = (y_low <= 0) & (y_high >= 0) & (x_low <= 0)
        return np.where(cut, -math.pi, low), np.where(cut, math.pi, high)
    raise TypeError(f"no bounds are known for the function {name}")


def _holds_turn(a: Interval, at: float) -> NDArray[np.bool_]:
    """Whether the interval holds `at` or that and whole turns."""
    turns = [np.floor((bound - at) / (2 * math.pi)) for bound in a]
    crossed: NDArray[np.bool_] = turns[0] != turns[1]
    return crossed


def _even(evaluate: Callable[[Floats], Floats], a: Interval) -> Interval:
    """A function that is even and grows with the size of its argument."""
    sizes = np.abs(a[0]), np.abs(a[1])
    nearest = np.where((a[0] <= 0) & (a[1] >= 0), 0.0, np.minimum(*sizes))
    return evaluate(nearest), evaluate(np.maximum(*sizes))


def _corners(evaluate: Callable[..., Floats], arguments: Sequence[Interval]) -> Interval:
    values = [evaluate(*corner) for corner in product(*arguments)]
    return np.minimum.reduce(values), np.maximum.reduce(values)
