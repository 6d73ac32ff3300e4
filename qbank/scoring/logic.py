"""Operators that give a truth: three-valued logic and comparisons (mapping note, g2)."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from qbank.scoring.calls import Call, kind_of, numeric, truth
from qbank.scoring.faults import KindError
from qbank.scoring.rounding import FIGURES, PLACES, round_to, within
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import FALSE, TRUE, Value, boolean, same


def build_and(call: Call) -> Expression:
    """False if any operand is false; else NULL if any is NULL; else true."""
    return call.lenient(_until(call.operands, stop=False))


def build_or(call: Call) -> Expression:
    """True if any operand is true; else NULL if any is NULL; else false."""
    return call.lenient(_until(call.operands, stop=True))


def _until(operands: Iterable[Expression], stop: bool) -> Callable[[Session], Value | None]:
    held = tuple(operands)
    decided, otherwise = (TRUE, FALSE) if stop else (FALSE, TRUE)

    def run(session: Session) -> Value | None:
        result: Value | None = otherwise
        for operand in held:
            value = operand(session)
            if value is None:
                result = None
            elif truth(value) is stop:
                return decided
        return result

    return run


def build_not(call: Call) -> Expression:
    """The other truth; NULL of NULL."""
    return call.strict(lambda value: boolean(not truth(value)))


def build_any_n(call: Call) -> Expression:
    """True when between min and max operands are true, NULL while NULLs could decide."""
    least, most = call.integer("min"), call.integer("max")
    operands = call.operands

    def run(session: Session) -> Value | None:
        low, high = least(session), most(session)
        if low is None or high is None:
            return None
        values = [operand(session) for operand in operands]
        unknown = values.count(None)
        true = sum(truth(value) for value in values if value is not None)
        if low <= true and true + unknown <= high:
            return TRUE
        return FALSE if true > high or true + unknown < low else None

    return call.lenient(run)


def build_is_null(call: Call) -> Expression:
    """True for NULL; never NULL itself."""
    operand = call.operands[0]
    return lambda session: TRUE if operand(session) is None else FALSE


def build_match(call: Call) -> Expression:
    """The same value: of containers a multiset, in order if ordered; strings by case."""

    def match(first: Value, second: Value) -> Value:
        found = same(first, second)
        if found is None:
            raise KindError(f"cannot match {kind_of(first)} with {kind_of(second)}")
        return boolean(found)

    return call.strict(match)


def build_equal(call: Call) -> Expression:
    """Whether the second number lies in the window around the first.

    toleranceMode may be absent (official 3.0 items leave it out): exact, as 3.0 defaults.
    """
    mode = call.one_of("toleranceMode", ("exact", "absolute", "relative"), "exact")
    low, high = call.flag("includeLowerBound", True), call.flag("includeUpperBound", True)
    if mode == "exact":
        return call.strict(lambda first, second: boolean(numeric(first) == numeric(second)))
    words = call.text("tolerance").split()
    if not 1 <= len(words) <= 2:
        raise call.fault("needs one or two numbers as its tolerance")
    sides = [call.number_from(word, "tolerance") for word in (words[0], words[-1])]
    first_of, second_of = call.operands

    def run(session: Session) -> Value | None:
        first, second = first_of(session), second_of(session)
        below, above = (side(session) for side in sides)
        if first is None or second is None or below is None or above is None:
            return None
        return boolean(within(numeric(first), numeric(second), mode, (below, above), (low, high)))

    return call.lenient(run)


def build_equal_rounded(call: Call) -> Expression:
    """Both numbers rounded, then compared. The mode is significantFigures unless said [M]."""
    mode = call.one_of("roundingMode", (FIGURES, PLACES), FIGURES)
    figures = call.integer("figures")
    first_of, second_of = call.operands

    def run(session: Session) -> Value | None:
        first, second, count = first_of(session), second_of(session), figures(session)
        if first is None or second is None or count is None:
            return None
        left, right = (round_to(float(numeric(v)), mode, count) for v in (first, second))
        return None if left is None or right is None else boolean(left == right)

    return call.lenient(run)


def comparison(compare: Callable[[float, float], bool]) -> Callable[[Call], Expression]:
    """gt, gte, lt and lte: the first number against the second."""

    def build(call: Call) -> Expression:
        def run(first: Value, second: Value) -> Value:
            return TRUE if compare(numeric(first), numeric(second)) else FALSE

        return call.strict(run)

    return build


def duration_comparison(compare: Callable[[float, float], bool]) -> Callable[[Call], Expression]:
    """durationLT and durationGTE."""

    def build(call: Call) -> Expression:
        def run(first: Value, second: Value) -> Value:
            for value in (first, second):
                if value.cardinality != "single" or value.base not in ("duration", "float"):
                    raise KindError(f"expected a duration, found {kind_of(value)}")
            return boolean(compare(first.data, second.data))

        return call.strict(run)

    return build
