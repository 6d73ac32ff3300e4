"""Which part of a formula is at fault when dimensions differ, and the one factor that mends it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from qbank.expressions.spelling import spell
from qbank.expressions.tree import Binary, Equation, Name, Negate, Node, Number, walk
from qbank.expressions.units import DIMENSIONLESS, Dimension

Measured = Callable[[Node], Dimension | None]  # the dimension of a part; None if it has none


def mend_equation(
    equation: Equation, left: Dimension, right: Dimension, measured: Measured
) -> tuple[Node, str | None]:
    """The side to underline and a hint; the side one factor mends, else the right one.

    A side with several terms that agree with each other is the better evidence, so the other
    side is tried first.
    """
    sides = [(equation.right, right, left), (equation.left, left, right)]
    if _is_sum(equation.right) and not _is_sum(equation.left):
        sides.reverse()
    names = _names([equation.left, equation.right])
    for without in (True, False):
        for node, is_now, should_be in sides:
            mended = _dropped if without else _changed
            if (mend := mended(node, is_now, should_be, measured, names)) is not None:
                return node, f"Did you mean {spell(mend)}?"
    return sides[0][0], None


def mend_terms(
    terms: Sequence[tuple[Node, Dimension]], measured: Measured
) -> tuple[Node, Dimension, str | None]:
    """The term that differs, the dimension it should have, and a hint.

    With more than two terms the majority is right; of two the one that a factor mends is wrong,
    else the second.
    """
    dimensions = [dimension for _, dimension in terms]
    common = max(dimensions, key=dimensions.count)
    odd = [(node, dimension, common) for node, dimension in terms if dimension != common]
    if dimensions.count(common) == 1:
        (first, a), (second, b) = terms[0], terms[1]
        odd = [(second, b, a), (first, a, b)]
    odd.sort(key=lambda entry: not isinstance(entry[0], Number))  # a number forgot its unit
    if isinstance(odd[0][0], Number):
        return odd[0][0], odd[0][2], None
    names = _names([node for node, _ in terms])
    for mended in (_dropped, _changed):
        for node, is_now, should_be in odd:
            if (mend := mended(node, is_now, should_be, measured, names)) is not None:
                return node, should_be, f"Did you mean {spell(mend)}?"
    return odd[0][0], odd[0][2], None


def _dropped(
    node: Node, is_now: Dimension, should_be: Dimension, measured: Measured, names: Sequence[Name]
) -> Node | None:
    """The product without the one factor that is too many."""
    del names
    factors = _factors(node)
    if len(factors) < 2:
        return None
    surplus = is_now / should_be
    for i in reversed(range(len(factors))):
        factor, power = factors[i]
        dimension = measured(factor)
        if dimension is None or dimension == DIMENSIONLESS:
            continue
        if dimension**power == surplus:
            return _product(factors[:i] + factors[i + 1 :])
    return None


def _changed(
    node: Node, is_now: Dimension, should_be: Dimension, measured: Measured, names: Sequence[Name]
) -> Node | None:
    """The product with a factor squared, moved across the fraction line, or added."""
    factors = _factors(node)
    if _is_sum(node) or (len(factors) == 1 and isinstance(node, Number)):
        return None
    missing = should_be / is_now
    for i, (factor, power) in enumerate(factors):
        base, exponent = _power(factor)
        dimension = measured(base)
        if dimension is None or dimension == DIMENSIONLESS:
            continue
        for step in (1, -1):
            if exponent + step > 0 and dimension ** (step * power) == missing:
                raised = _raised(base, exponent + step)
                return _product([*factors[:i], (raised, power), *factors[i + 1 :]])
        if dimension ** (-2 * exponent * power) == missing:
            return _product([*factors[:i], (factor, -power), *factors[i + 1 :]])
    present = {base.id for factor, _ in factors if isinstance(base := _power(factor)[0], Name)}
    for name in names:
        dimension = measured(name)
        for power in (1, -1):
            if name.id not in present and dimension is not None and dimension**power == missing:
                return _product([*factors, (name, power)])
    return None


def _power(factor: Node) -> tuple[Node, int]:
    """Base and whole exponent of a factor; exponent 1 where it is no such power."""
    if isinstance(factor, Binary) and factor.operator == "^" and isinstance(factor.right, Number):
        exponent = factor.right.value
        if exponent.denominator == 1:
            return factor.left, int(exponent)
    return factor, 1


def _raised(base: Node, exponent: int) -> Node:
    return base if exponent == 1 else Binary("^", base, Number(Fraction(exponent), str(exponent)))


def _factors(node: Node) -> list[tuple[Node, int]]:
    """What a product multiplies (1) and divides by (-1), in reading order."""
    if isinstance(node, Negate):
        return [(_MINUS_ONE, 1), *_factors(node.operand)]
    if isinstance(node, Binary) and node.operator == "*":
        return [*_factors(node.left), *_factors(node.right)]
    if isinstance(node, Binary) and node.operator == "/":
        return [*_factors(node.left), *((f, -power) for f, power in _factors(node.right))]
    return [(node, 1)]


def _product(factors: Sequence[tuple[Node, int]]) -> Node:
    """The factors as a product over a product, a minus before it."""
    top = [factor for factor, power in factors if power > 0 and factor is not _MINUS_ONE]
    bottom = [factor for factor, power in factors if power < 0 and factor is not _MINUS_ONE]
    node = _multiplied(top)
    if bottom:
        node = Binary("/", node, _multiplied(bottom))
    negative = sum(factor is _MINUS_ONE for factor, _ in factors) % 2
    return Negate(node) if negative else node


def _multiplied(factors: Sequence[Node]) -> Node:
    node: Node | None = None
    for factor in factors:
        node = factor if node is None else Binary("*", node, factor)
    return node if node is not None else _ONE


def _is_sum(node: Node) -> bool:
    return isinstance(node, Binary) and node.operator in ("+", "-")


def _names(nodes: Sequence[Node]) -> list[Name]:
    """The names in the formula, each once, in reading order."""
    seen: dict[str, Name] = {}
    for node in nodes:
        for part in walk(node):
            if isinstance(part, Name):
                seen.setdefault(part.id, part)
    return list(seen.values())


_ONE = Number(Fraction(1), "1")
_MINUS_ONE = Number(Fraction(-1), "-1")
