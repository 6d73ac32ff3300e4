"""Operators on numbers (mapping note, g2): an integer only when all operands are integers."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from qbank.scoring.calls import Call, kind_of, numeric, whole
from qbank.scoring.faults import KindError
from qbank.scoring.rounding import FIGURES, PLACES, round_half_up, round_to
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import NUMERIC, Value, integer, real


def gather(values: Sequence[Value]) -> tuple[bool, list[float]]:
    """The numbers of singles and containers in turn, and whether all are integers."""
    numbers: list[float] = []
    integers = True
    for value in values:
        if value.base not in NUMERIC:
            raise KindError(f"expected numbers, found {kind_of(value)}")
        integers = integers and value.base == "integer"
        numbers.extend(value.members)
    return integers, numbers


def reduction(function: Callable[[list[float]], float]) -> Callable[[Call], Expression]:
    """sum, product, min and max over all numbers of the operands."""

    def build(call: Call) -> Expression:
        def run(*values: Value) -> Value | None:
            integers, numbers = gather(values)
            result = function(numbers)
            return integer(int(result)) if integers else real(float(result))

        return call.strict(run)

    return build


def total(numbers: list[float]) -> float:
    """The sum with one rounding, so that points add up as people add them."""
    try:
        return sum(numbers) if all(isinstance(n, int) for n in numbers) else math.fsum(numbers)
    except (OverflowError, ValueError):  # fsum refuses infinities of both signs
        return sum(numbers)


def build_subtract(call: Call) -> Expression:
    """The first minus the second."""

    def subtract(first: Value, second: Value) -> Value | None:
        result = numeric(first) - numeric(second)
        if first.base == second.base == "integer":
            return integer(int(result))
        return real(result)

    return call.strict(subtract)


def build_divide(call: Call) -> Expression:
    """Always a float; NULL for a divisor of zero."""

    def divide(first: Value, second: Value) -> Value | None:
        left, right = numeric(first), numeric(second)
        return None if right == 0 else real(left / right)

    return call.strict(divide)


def build_power(call: Call) -> Expression:
    """Always a float; NULL where no real number results. Beyond the largest float: infinite."""

    def power(first: Value, second: Value) -> Value | None:
        base, exponent = float(numeric(first)), float(numeric(second))
        try:
            return real(math.pow(base, exponent))
        except ValueError:
            return None
        except OverflowError:
            odd = exponent % 2 == 1
            return real(-math.inf if base < 0 and odd else math.inf)

    return call.strict(power)


def whole_division(remainder: bool) -> Callable[[Call], Expression]:
    """integerDivide rounds down; integerModulus is x - y floor(x / y). NULL by zero."""

    def build(call: Call) -> Expression:
        def run(first: Value, second: Value) -> Value | None:
            left, right = whole(first), whole(second)
            if right == 0:
                return None
            return integer(left % right if remainder else left // right)

        return call.strict(run)

    return build


def build_round(call: Call) -> Expression:
    """To the nearest integer, half toward plus infinity."""

    def run(value: Value) -> Value | None:
        found = round_half_up(float(numeric(value)))
        return None if found is None else integer(found)

    return call.strict(run)


def build_truncate(call: Call) -> Expression:
    """To the integer toward zero."""

    def run(value: Value) -> Value | None:
        number = numeric(value)
        return integer(math.trunc(number)) if math.isfinite(number) else None

    return call.strict(run)


def build_round_to(call: Call) -> Expression:
    """To significant figures or decimals, a float; NULL for a count that makes no sense."""
    mode = call.one_of("roundingMode", (FIGURES, PLACES), FIGURES)
    figures = call.integer("figures")
    operand = call.operands[0]

    def run(session: Session) -> Value | None:
        value, count = operand(session), figures(session)
        if value is None or count is None:
            return None
        found = round_to(float(numeric(value)), mode, count)
        return None if found is None else real(found)

    return call.lenient(run)


def build_integer_to_float(call: Call) -> Expression:
    """An integer as float."""
    return call.strict(lambda value: real(float(whole(value))))


def common(function: Callable[..., int]) -> Callable[[Call], Expression]:
    """gcd and lcm over integers: gcd(0, 0) is 0, and an lcm with a 0 is 0."""

    def build(call: Call) -> Expression:
        def run(*values: Value) -> Value | None:
            integers, numbers = gather(values)
            if not integers:
                raise KindError("expected integers, found floats")
            result = 0 if function is math.gcd else 1
            for number in numbers:
                # Step by step, so that the range is left before numbers grow.
                result = integer(function(result, int(number))).data
            return integer(result)

        return call.strict(run)

    return build
