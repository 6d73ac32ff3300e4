"""Conditions as statements about the signs of differences, so that logic can decide them.

`a > b` and `a < b` are about one difference, a - b; no sign of it makes both true. What the signs
alone leave open, interval arithmetic decides where it can.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Binary, Compare, Logic, Node, Not, Number, children
from qbank.instances import Floats

SAME = 1e-12  # sides this near, relative to the larger, are equal, as in qbank.expressions.arrays
MOST_DIFFERENCES = 6  # 3**6 combinations of signs are looked at

Signs = tuple[int, ...]
Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """`left - right`; its sign is what a comparison asks for."""

    left: Node
    right: Node


class SignTable:
    """Conditions over the signs of the differences they compare.

    `differences` lists each once, whichever way round and in whatever order of terms and factors
    it is written.
    """

    def __init__(self, conditions: Sequence[Node]) -> None:
        self.differences: list[Difference] = []
        self._known: dict[Key, tuple[int, int]] = {}  # -> position, +1 or -1
        self._formulas = [self._formula(condition) for condition in conditions]

    def combinations(self) -> Iterator[Signs]:
        """All combinations of signs -1, 0 and 1."""
        return product((-1, 0, 1), repeat=len(self.differences))

    def holding(self, signs: Signs) -> list[bool]:
        """Which conditions hold for a combination of signs."""
        return [_holds(formula, signs) for formula in self._formulas]

    def signs(self, values: Mapping[str, Floats], n: int) -> NDArray[np.int8]:
        """The sign of each difference at `n` points, (differences, n)."""
        sides = [side for d in self.differences for side in (d.left, d.right)]
        arrays = compile_nodes(sides)(values, n)
        found = np.zeros((len(self.differences), n), dtype=np.int8)
        with np.errstate(all="ignore"):
            for i, (left, right) in enumerate(zip(arrays[::2], arrays[1::2], strict=True)):
                near = np.abs(left - right) <= SAME * np.maximum(np.abs(left), np.abs(right))
                found[i] = np.where(near, 0, np.where(left > right, 1, -1))
        return found

    def _formula(self, node: Node) -> _Formula:
        match node:
            case Compare(operands=operands, operators=operators):
                pairs = zip(operands, operators, operands[1:], strict=False)
                return _Formula("and", tuple(self._comparison(a, op, b) for a, op, b in pairs))
            case Logic(operator=operator, operands=operands):
                return _Formula(operator, tuple(self._formula(part) for part in operands))
            case Not(operand=operand):
                return _Formula("not", (self._formula(operand),))
            case _:
                raise TypeError(f"expected a condition, got {type(node).__name__}")

    def _comparison(self, left: Node, operator: str, right: Node) -> _Formula:
        if isinstance(right, Number) and right.value == 0 and _is_difference(left):
            left, right = children(left)
        elif isinstance(left, Number) and left.value == 0 and _is_difference(right):
            right, left = children(right)
        one, other = _key(left), _key(right)
        if (one, other) not in self._known:
            at = len(self.differences)
            self.differences.append(Difference(left, right))
            self._known[one, other] = at, 1
            self._known[other, one] = at, -1
        at, direction = self._known[one, other]
        allowed = frozenset(direction * sign for sign in _ALLOWED[operator])
        return _Formula("sign", (), at, allowed)


_ALLOWED = {
    "<": (-1,),
    "<=": (-1, 0),
    ">": (1,),
    ">=": (0, 1),
    "==": (0,),
    "!=": (-1, 1),
}


@dataclass(frozen=True, slots=True)
class _Formula:
    kind: str  # "and", "or", "not" or "sign"
    parts: tuple[_Formula, ...]
    difference: int = -1
    allowed: frozenset[int] = frozenset()


def _holds(formula: _Formula, signs: Signs) -> bool:
    match formula.kind:
        case "sign":
            return signs[formula.difference] in formula.allowed
        case "not":
            return not _holds(formula.parts[0], signs)
        case "and":
            return all(_holds(part, signs) for part in formula.parts)
        case _:
            return any(_holds(part, signs) for part in formula.parts)


def _is_difference(node: Node) -> bool:
    return isinstance(node, Binary) and node.operator == "-"


def _key(node: Node) -> Key:
    """A key that is the same for `a*b` and `b*a`; equal keys mean equal values."""
    if isinstance(node, Binary) and node.operator in "+*":
        return ("commutes", node.operator, *sorted(_operands(node, node.operator), key=repr))
    if not children(node):
        return (node,)
    name = getattr(node, "operator", getattr(node, "function", ""))
    return (type(node).__name__, name, *(_key(part) for part in children(node)))


def _operands(node: Node, operator: str) -> list[Key]:
    if isinstance(node, Binary) and node.operator == operator:
        return [*_operands(node.left, operator), *_operands(node.right, operator)]
    return [_key(node)]
