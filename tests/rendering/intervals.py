"""Quantities as intervals with a dimension: what a printed number says, and no more.

A number rounded to its last place stands for every value within half a unit of that place; what
is computed from such numbers is known to lie between the ends (R. E. Moore, Interval Analysis,
1966, chapter 3; from memory).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from scipy import stats

from qbank.expressions.tree import Binary, Call, Measure, Name, Negate, Node
from qbank.expressions.tree import Number as NumberNode
from qbank.expressions.units import Dimension, Unit, parse_unit

PURE = parse_unit("%").dimension
LAST_BITS = 1e-9


class Unlike(Exception):
    """Quantities of different dimensions where they should be alike."""


@dataclass(frozen=True)
class Quantity:
    """All values between `low` and `high`, in coherent SI."""

    low: float
    high: float
    dimension: Dimension = PURE

    def __post_init__(self) -> None:
        assert self.low <= self.high, self

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def exact(self) -> bool:
        return self.low == self.high

    def like(self, other: Quantity) -> None:
        if self.dimension != other.dimension:
            raise Unlike(f"{self.dimension} and {other.dimension}")

    def meets(self, other: Quantity) -> bool:
        """Whether both can be the same value."""
        self.like(other)
        ends = [abs(end) for end in (self.low, self.high, other.low, other.high)]
        slack = LAST_BITS * max((end for end in ends if math.isfinite(end)), default=0.0)
        return self.low <= other.high + slack and other.low <= self.high + slack

    def __neg__(self) -> Quantity:
        return Quantity(-self.high, -self.low, self.dimension)

    def __add__(self, other: Quantity) -> Quantity:
        self.like(other)
        return Quantity(self.low + other.low, self.high + other.high, self.dimension)

    def __sub__(self, other: Quantity) -> Quantity:
        return self + -other

    def __mul__(self, other: Quantity) -> Quantity:
        ends = [a * b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Quantity(min(ends), max(ends), self.dimension * other.dimension)

    def __truediv__(self, other: Quantity) -> Quantity:
        dimension = PURE / other.dimension
        if other.low <= 0.0 <= other.high:
            return self * Quantity(-math.inf, math.inf, dimension)
        return self * Quantity(1.0 / other.high, 1.0 / other.low, dimension)

    def __pow__(self, other: Quantity) -> Quantity:
        if other.exact:
            power = Fraction(other.low).limit_denominator(12)
            dimension = self.dimension**power if self.dimension != PURE else PURE
        else:
            self.like(other)
            dimension = PURE
        ends = [a**b for a in (self.low, self.high) for b in (other.low, other.high)]
        if self.low < 0.0 < self.high:
            ends.append(0.0)
        return Quantity(min(ends), max(ends), dimension)


Values = Quantity | tuple[Quantity, ...]  # a tuple is a data list


def point(value: float, dimension: Dimension = PURE) -> Quantity:
    return Quantity(value, value, dimension)


def measured(value: float, half: float, unit: Unit | None) -> Quantity:
    """A value in its shown unit, give or take `half` of that unit."""
    if unit is None:
        return Quantity(value - half, value + half)
    ends = [float(unit.to_si(end)) for end in (value - half, value + half)]
    return Quantity(min(ends), max(ends), unit.dimension)


# ---------------------------------------------------------------------------- functions


def _rising(function: Callable[[float], float], least: float = -math.inf) -> object:
    def applied(x: Quantity) -> Quantity:
        x.like(point(0.0))
        return Quantity(function(max(x.low, least)), function(max(x.high, least)))

    return applied


def _sine(x: Quantity, shift: float = 0.0) -> Quantity:
    x.like(point(0.0))
    ends = [math.sin(x.low + shift), math.sin(x.high + shift)]
    for turn in (math.pi / 2, -math.pi / 2):  # a crest or a trough within
        whole = math.ceil((x.low + shift - turn) / (2 * math.pi))
        if turn + 2 * math.pi * whole <= x.high + shift:
            ends.append(math.sin(turn))
    return Quantity(min(ends), max(ends))


def _falling(function: Callable[[float], float]) -> object:
    return lambda x: -_rising(lambda value: -function(value))(x)  # type: ignore[operator]


def _size(x: Quantity) -> Quantity:
    ends = sorted((abs(x.low), abs(x.high)))
    return Quantity(0.0 if x.low < 0.0 < x.high else ends[0], ends[1], x.dimension)


def _root(x: Quantity, order: int) -> Quantity:
    dimension = x.dimension ** Fraction(1, order)
    if order == 3:
        return Quantity(math.cbrt(x.low), math.cbrt(x.high), dimension)
    return Quantity(math.sqrt(max(x.low, 0.0)), math.sqrt(max(x.high, 0.0)), dimension)


def _extreme(pick: Callable[..., float]) -> object:
    def applied(*parts: Quantity) -> Quantity:
        for part in parts:
            part.like(parts[0])
        low, high = pick(p.low for p in parts), pick(p.high for p in parts)
        return Quantity(low, high, parts[0].dimension)

    return applied


def _atan2(y: Quantity, x: Quantity) -> Quantity:
    y.like(x)
    ends = [math.atan2(a, b) for a in (y.low, y.high) for b in (x.low, x.high)]
    return Quantity(min(ends), max(ends))


def _quantile(share: Quantity, freedom: Quantity, law: object) -> Quantity:
    ends = [float(law.ppf(end, freedom.middle)) for end in (share.low, share.high)]  # type: ignore[attr-defined]
    return Quantity(*ends)


def _normal(share: Quantity) -> Quantity:
    return Quantity(*(float(stats.norm.ppf(end)) for end in (share.low, share.high)))


def _share(value: Quantity, freedom: Quantity, law: object) -> Quantity:
    ends = [float(law.cdf(end, freedom.middle)) for end in (value.low, value.high)]  # type: ignore[attr-defined]
    return Quantity(*ends)


def _of_list(function: Callable[[list[float]], float], power: int = 1) -> object:
    def applied(values: tuple[Quantity, ...]) -> Quantity:
        dimension = values[0].dimension ** power if power else PURE
        return point(function([value.middle for value in values]), dimension)

    return applied


def _variance(values: list[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)


def _median(values: list[float]) -> float:
    ordered, half = sorted(values), len(values) // 2
    return ordered[half] if len(values) % 2 else (ordered[half - 1] + ordered[half]) / 2


FUNCTIONS: dict[str, object] = {
    "sin": _sine,
    "cos": lambda x: _sine(x, math.pi / 2),
    "tan": _rising(math.tan),
    "asin": _rising(math.asin),
    "acos": _falling(math.acos),
    "atan": _rising(math.atan),
    "atan2": _atan2,
    "sinh": _rising(math.sinh),
    "tanh": _rising(math.tanh),
    "exp": _rising(math.exp),
    "ln": _rising(math.log, 1e-300),
    "log10": _rising(math.log10, 1e-300),
    "sqrt": lambda x: _root(x, 2),
    "cbrt": lambda x: _root(x, 3),
    "abs": _size,
    "sign": _rising(lambda value: math.copysign(1.0, value)),
    "floor": _rising(math.floor),
    "ceil": _rising(math.ceil),
    "min": _extreme(min),
    "max": _extreme(max),
    "count": _of_list(len, 0),
    "sum": _of_list(math.fsum),
    "mean": _of_list(lambda values: math.fsum(values) / len(values)),
    "sd": _of_list(lambda values: math.sqrt(_variance(values))),
    "variance": _of_list(_variance, 2),
    "median": _of_list(_median),
    "least": _of_list(min),
    "greatest": _of_list(max),
    "normal_quantile": _normal,
    "t_quantile": lambda share, freedom: _quantile(share, freedom, stats.t),
    "chi2_quantile": lambda share, freedom: _quantile(share, freedom, stats.chi2),
    "normal_cdf": _rising(lambda value: float(stats.norm.cdf(value))),
    "t_cdf": lambda value, freedom: _share(value, freedom, stats.t),
    "chi2_cdf": lambda value, freedom: _share(value, freedom, stats.chi2),
}


def each(operation: Callable[..., Quantity], *parts: Values) -> Values:
    """An operation, value by value where a part is a data list."""
    lists = [part for part in parts if isinstance(part, tuple)]
    if not lists:
        return operation(*parts)
    columns = [part if isinstance(part, tuple) else itertools.repeat(part) for part in parts]
    return tuple(operation(*row) for row in zip(*columns, strict=False))


def called(name: str, parts: list[Values]) -> Values:
    """The function of the family language applied."""
    function = FUNCTIONS[name]
    lists = {"count", "sum", "mean", "sd", "variance", "median", "least", "greatest"}
    if name in lists:
        return function(*parts)  # type: ignore[operator,no-any-return]
    return each(function, *parts)  # type: ignore[arg-type]


OPERATIONS: dict[str, Callable[[Quantity, Quantity], Quantity]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
    "^": lambda a, b: a**b,
}


def evaluated(node: Node, values: dict[str, Values]) -> Values:
    """An expression of a family at quantities given by name."""
    match node:
        case NumberNode(value=value):
            return point(float(value))
        case Measure(value=value, unit=unit):
            return point(float(unit.to_si(float(value))), unit.dimension)
        case Name(id="pi"):
            return point(math.pi)
        case Name(id=name):
            return values[name]
        case Negate(operand=operand):
            return each(lambda x: -x, evaluated(operand, values))
        case Binary(operator=operator, left=left, right=right):
            return each(OPERATIONS[operator], evaluated(left, values), evaluated(right, values))
        case Call(function=function, arguments=arguments):
            return called(function, [evaluated(part, values) for part in arguments])
    raise TypeError(node)
