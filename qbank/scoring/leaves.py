"""Expressions without operands, or that read a declaration (mapping note, e and g2)."""

from __future__ import annotations

import math
import re

from qbank.scoring.areas import read_area
from qbank.scoring.arithmetic import total
from qbank.scoring.calls import Call, kind_of
from qbank.scoring.declarations import Declaration
from qbank.scoring.faults import KindError, ScoringError, at
from qbank.scoring.limits import INTEGER_RANGE
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import Value, boolean, integer, read_value, real

# A number that is all the text of an element.
LITERAL = re.compile(r"[-+0-9.eE]{1,60}")


def constant_of(base: str, text: str, place: str = "") -> Value | None:
    """A single value from its text. Raises ScoringError, naming the place, for a bad one."""
    try:
        return read_value("single", base, [text])
    except ValueError as fault:
        raise ScoringError(f"baseValue '{text[:60]}'{place}: {fault}") from fault


def build_null(_call: Call) -> Expression:
    """NULL."""
    return lambda _session: None


def build_base_value(call: Call) -> Expression:
    """A constant. One that is a plain number stands apart from the program."""
    element, literals = call.element, call.scope.literals
    base = element.get("baseType") or element.get("base-type") or ""
    text = element.text or ""
    if literals is not None and LITERAL.fullmatch(text) and not len(element):
        slot = len(literals)
        literals.append(base)
        return lambda session: session.literals[slot]
    constant = constant_of(base, text, at(element))
    return lambda _session: constant


def build_variable(call: Call) -> Expression:
    """The value of a variable; of an item's, as `ITEM.NAME`, in the rules of a test."""
    name = call.element.get("identifier") or ""
    if name in call.scope.declared:
        return lambda session: session.values[name]
    if call.scope.in_test and "." in name:
        item, _, variable = name.rpartition(".")
        weight = call.text("weightIdentifier", "")
        return lambda session: session.test.variable(item, variable, weight)
    call.scope.warn(f"variable '{name}' is not declared: NULL")
    return build_null(call)


def _named(call: Call) -> Declaration | None:
    """The declaration a leaf names; None, with a warning, when there is none."""
    name = call.text("identifier")
    declared = call.scope.declared.get(name)
    if declared is None:
        call.scope.warn(f"'{call.name}' names '{name}', which is not declared: NULL")
    return declared


def build_correct(call: Call) -> Expression:
    """The key of a response as template processing left it; NULL where there is none."""
    declared = _named(call)
    if declared is None:
        return build_null(call)
    name = declared.name
    return lambda session: session.key(name)


def build_default(call: Call) -> Expression:
    """The default of a variable as template processing left it."""
    declared = _named(call)
    if declared is None:
        return build_null(call)
    name = declared.name
    return lambda session: session.default(name)


def build_random_integer(call: Call) -> Expression:
    """One of min, min + step, ... up to max, all equally likely."""
    low, high = call.integer("min", "0"), call.integer("max")
    step = call.integer("step", "1")

    def run(session: Session) -> Value | None:
        least, most, width = low(session), high(session), step(session)
        if least is None or most is None or width is None or width < 1 or most < least:
            return None
        if max(abs(least), abs(most)) > INTEGER_RANGE:
            raise KindError("an integer leaves the range of 32 bits; use base type float")
        return integer(least + width * session.chance.below((most - least) // width + 1))

    return call.lenient(run)


def build_random_float(call: Call) -> Expression:
    """Uniform between min and max."""
    low, high = call.number("min", "0"), call.number("max")

    def run(session: Session) -> Value | None:
        least, most = low(session), high(session)
        if least is None or most is None or not math.isfinite(most - least) or most < least:
            return None
        return real(least + (most - least) * session.chance.fraction())

    return call.lenient(run)


def build_map_response(call: Call) -> Expression:
    """A response by its mapping: each distinct member once, then held to the bounds.

    An unlisted member adds the default value. The standard leaves NULL to the author's guard;
    here nothing chosen is worth 0, held to the bounds.
    """
    declared = _named(call)
    if declared is None:
        return build_null(call)
    name = declared.name

    def run(session: Session) -> Value | None:
        value, mapping = session.values[name], session.declared[name].mapping
        if mapping is None:
            raise KindError(f"'{name}' has no mapping")
        if value is not None and value.cardinality == "record":
            raise KindError("a record cannot be mapped")
        members = () if value is None else dict.fromkeys(value.members)
        return real(mapping.clamp(float(total([mapping.worth(m) for m in members]))))

    return call.lenient(run)


def build_map_response_point(call: Call) -> Expression:
    """Points by the areas they lie in: each area counts once, each point elsewhere the default."""
    declared = _named(call)
    if declared is None:
        return build_null(call)
    name = declared.name

    def run(session: Session) -> Value | None:
        value, mapping = session.values[name], session.declared[name].areas
        if mapping is None:
            raise KindError(f"'{name}' has no area mapping")
        if value is not None and value.base != "point":
            raise KindError(f"expected points, found {kind_of(value)}")
        worth = 0.0
        met: set[int] = set()
        for x, y in () if value is None else value.members:
            for position, (area, mapped) in enumerate(mapping.areas):
                if area(x, y):
                    if position not in met:
                        met.add(position)
                        worth += mapped
                    break
            else:
                worth += mapping.default
        return real(min(max(worth, mapping.low), mapping.high))

    return call.lenient(run)


def build_inside(call: Call) -> Expression:
    """Whether a point lies in an area; of a container, whether any of its points does."""
    area = read_area(call.element)

    def inside(value: Value) -> Value:
        if value.base != "point":
            raise KindError(f"expected a point, found {kind_of(value)}")
        return boolean(any(area(x, y) for x, y in value.members))

    return call.strict(inside)


def build_custom_operator(call: Call) -> Expression:
    """Bound to one vendor (mapping note, e): not run, and said so."""
    call.scope.warn(
        f"a customOperator of class '{call.text('class', '')}' is not in the standard: NULL"
    )
    return build_null(call)
