"""How near each instance is to going the other way: the distance to the nearest case boundary."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import (
    Binary,
    Compare,
    Logic,
    Measure,
    Name,
    Negate,
    Node,
    Not,
    Number,
    children,
)
from qbank.family.model import Family, Let
from qbank.instances import Floats, Integers


class Margins:
    """The conditions of a family's cases, compiled."""

    def __init__(self, family: Family) -> None:
        self._conditions = [
            None if case.when is None else _facing(case.when, family.let) for case in family.cases
        ]
        operands = [
            operand
            for condition in self._conditions
            if condition is not None
            for comparison in _comparisons(condition)
            for operand in comparison.operands
        ]
        self._program = compile_nodes(operands) if operands else None

    def __call__(self, values: Mapping[str, Floats], case: Integers) -> Floats:
        """The relative distance (n,) of each instance from the nearest boundary, 0 to 1.

        `values` are givens and lets, SI; `case` (n,) is the position of the case that holds. A
        comparison is as far from turning as its sides differ, relative to the larger of them; a
        condition of several parts is as far as the part that turns it first. 1 where nothing is
        to be decided, or where no side comes near the other.
        """
        n = len(case)
        if self._program is None:
            return np.ones(n)
        sides = iter(self._program(values, n))
        nearest = np.ones(n)
        for position, condition in enumerate(self._conditions):
            if condition is not None:
                margin = _margin(condition, sides)
                nearest = np.minimum(nearest, np.where(case == position, margin, -margin))
        return np.clip(nearest, 0.0, 1.0)


def _facing(condition: Node, lets: Mapping[str, Let]) -> Node:
    """The condition with `a - b > 0` written as `a > b`, also where a let stands for the left side.

    Nothing but zero is near zero on a relative scale; what a solver weighs are a and b.
    """
    match condition:
        case Compare(operands=(side, Number() | Measure() as zero), operators=operators):
            if zero.value != 0 or (isinstance(zero, Measure) and zero.unit.offset):
                return condition
            if isinstance(side, Name) and side.id in lets:
                side = lets[side.id].expression
            if isinstance(side, Binary) and side.operator == "-":
                return Compare((side.left, side.right), operators)
            if isinstance(side, Binary) and side.operator == "+":
                return Compare((side.left, Negate(side.right)), operators)
            return condition
        case Logic(operator=operator, operands=operands):
            return Logic(operator, tuple(_facing(part, lets) for part in operands))
        case Not(operand=operand):
            return Not(_facing(operand, lets))
        case _:
            return condition


def _comparisons(condition: Node) -> Iterator[Compare]:
    """The comparisons of a condition, in the order in which `_margin` takes their sides."""
    if isinstance(condition, Compare):
        yield condition
    else:
        for part in children(condition):
            yield from _comparisons(part)


def _margin(condition: Node, sides: Iterator[Floats]) -> Floats:
    """By how much a condition holds (positive) or fails (negative), -1 to 1, (n,)."""
    match condition:
        case Compare(operands=operands, operators=operators):
            values = [next(sides) for _ in operands]
            pairs = zip(operators, values, values[1:], strict=False)  # one operator fewer
            chain: Floats = np.minimum.reduce([_apart(*pair) for pair in pairs])
            return chain
        case Logic(operator=operator, operands=operands):
            margins = [_margin(part, sides) for part in operands]
            pick = np.minimum if operator == "and" else np.maximum
            joined: Floats = pick.reduce(margins)
            return joined
        case Not(operand=operand):
            return -_margin(operand, sides)
        case _:
            raise TypeError(condition)  # the loader lets no other node stand as a condition


def _apart(operator: str, left: Floats, right: Floats) -> Floats:
    """The signed relative distance of two sides; 0 where both are zero."""
    scale = np.maximum(np.abs(left), np.abs(right))
    distance = np.divide(right - left, scale, out=np.zeros_like(scale), where=scale > 0)
    match operator:
        case "<" | "<=":
            signed = distance
        case ">" | ">=":
            signed = -distance
        case "==":
            signed = -np.abs(distance)
        case _:
            signed = np.abs(distance)
    return np.clip(signed, -1.0, 1.0)
