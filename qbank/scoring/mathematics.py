"""mathOperator, mathConstant and statsOperator (mapping note, e and g2; angles in radians).

What is not real is NULL. A logarithm of zero is minus infinity and what no float can hold is
infinite (from memory of the standard, in doubt).
"""

from __future__ import annotations

import math
from collections.abc import Callable

from qbank.scoring.arithmetic import gather
from qbank.scoring.calls import Call, numeric
from qbank.scoring.session import Expression
from qbank.scoring.values import Value, integer, real


def _logarithm(function: Callable[[float], float]) -> Callable[[float], float]:
    return lambda x: -math.inf if x == 0 else function(x)


def _signum(x: float) -> float:
    return float((x > 0) - (x < 0))


FUNCTIONS: dict[str, Callable[..., float]] = {
    "sin": math.sin, "cos": math.cos, "tan": math.tan,
    "sec": lambda x: 1 / math.cos(x),
    "csc": lambda x: 1 / math.sin(x),
    "cot": lambda x: math.cos(x) / math.sin(x),
    "asin": math.asin, "acos": math.acos, "atan": math.atan, "atan2": math.atan2,
    "asec": lambda x: math.acos(1 / x),
    "acsc": lambda x: math.asin(1 / x),
    "acot": lambda x: math.pi / 2 if x == 0 else math.atan(1 / x),
    "sinh": math.sinh, "cosh": math.cosh, "tanh": math.tanh,
    "sech": lambda x: 0.0 if abs(x) > 710 else 1 / math.cosh(x),
    "csch": lambda x: 0.0 if abs(x) > 710 else 1 / math.sinh(x),
    "coth": lambda x: 1 / math.tanh(x),
    "log": _logarithm(math.log10), "ln": _logarithm(math.log), "exp": math.exp,
    "abs": abs, "signum": _signum, "floor": math.floor, "ceil": math.ceil,
    "toDegrees": math.degrees, "toRadians": math.radians,
}  # fmt: skip
_WHOLE = frozenset(["floor", "ceil"])


def build_math_operator(call: Call) -> Expression:
    """A function of one number, or of two for atan2; NULL outside its domain."""
    name = call.text("name")
    if name not in FUNCTIONS:
        raise call.fault(f"has no function '{name}'", f"there are {', '.join(FUNCTIONS)}")
    needed = 2 if name == "atan2" else 1
    if len(call.operands) != needed:
        raise call.fault(f"'{name}' takes {needed} operands, not {len(call.operands)}")
    function = FUNCTIONS[name]
    is_whole = name in _WHOLE

    def run(*values: Value) -> Value | None:
        numbers = [float(numeric(value)) for value in values]
        try:
            result = function(*numbers)
        except (ValueError, ZeroDivisionError):
            return None
        except OverflowError:
            if is_whole:
                return None
            # exp, cosh and sinh are all that grow so large; only sinh keeps the sign.
            result = math.copysign(math.inf, numbers[0]) if name == "sinh" else math.inf
        return integer(int(result)) if is_whole else real(float(result))

    return call.strict(run)


def build_math_constant(call: Call) -> Expression:
    """pi or e."""
    name = call.one_of("name", ("pi", "e"))
    constant = real(math.pi if name == "pi" else math.e)
    return lambda _session: constant


STATISTICS = ("mean", "sampleVariance", "sampleSD", "popVariance", "popSD")


def build_stats_operator(call: Call) -> Expression:
    """Of a container, a float; a sample of fewer than two has no variance: NULL."""
    name = call.one_of("name", STATISTICS)

    def run(value: Value) -> Value | None:
        _, numbers = gather([value])
        count = len(numbers)
        mean = math.fsum(numbers) / count
        if name == "mean":
            return real(mean)
        sample = name.startswith("sample")
        if sample and count < 2:
            return None
        squares = math.fsum((n - mean) * (n - mean) for n in numbers)
        variance = squares / (count - 1 if sample else count)
        return real(math.sqrt(variance) if name.endswith("SD") else variance)

    def guarded(value: Value) -> Value | None:
        try:
            return run(value)
        except (ValueError, OverflowError):  # infinities of both signs, sums no float holds
            return None

    return call.strict(guarded)
