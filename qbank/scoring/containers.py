"""Operators on containers and records (mapping note, g2)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

from qbank.scoring.calls import Call, kind_of
from qbank.scoring.faults import KindError, ScoringError, at_line
from qbank.scoring.limits import MAX_REPEATS
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import FALSE, TRUE, Value, boolean, comparable, container, integer

_CONTAINERS = frozenset(["multiple", "ordered"])


def _members(value: Value) -> tuple[object, ...]:
    if value.cardinality not in _CONTAINERS:
        raise KindError(f"expected a container, found {kind_of(value)}")
    return value.members


def _join(cardinality: str, values: list[Value]) -> Value | None:
    """Singles and containers in one, NULLs left out before; integers turn float among floats."""
    base = ""
    members: list[Any] = []
    for value in values:
        if value.cardinality == "record":
            raise KindError("a record cannot be put into a container")
        if base and value.base != base:
            if not comparable(base, value.base):
                raise KindError(f"cannot put {value.base} beside {base}")
            base = "float" if "float" in (base, value.base) else base
        else:
            base = value.base
        members.extend(value.members)
    if base == "float":
        members = [float(m) for m in members]
    return container(cardinality, base, members)


def gathering(cardinality: str) -> Callable[[Call], Expression]:
    """multiple and ordered: NULLs are dropped; with nothing left the result is NULL."""

    def build(call: Call) -> Expression:
        operands = tuple(call.operands)

        def run(session: Session) -> Value | None:
            values = [v for operand in operands if (v := operand(session)) is not None]
            return _join(cardinality, values)

        return call.lenient(run)

    return build


def build_repeat(call: Call) -> Expression:
    """The operands over and over into one ordered container, NULLs left out."""
    times, operands, line = call.integer("numberRepeats"), call.operands, call.element.sourceline

    def run(session: Session) -> Value | None:
        count = times(session)
        if count is None or count < 1:
            return None
        if count > MAX_REPEATS:
            raise ScoringError(
                f"'repeat'{at_line(line)} repeats {count} times",
                hint=f"at most {MAX_REPEATS} are made",
            )
        values: list[Value] = []
        for _ in range(count):
            session.spend(1)
            values.extend(v for o in operands if (v := o(session)) is not None)
        return _join("ordered", values)

    return call.lenient(run)


def build_container_size(call: Call) -> Expression:
    """How many members; 0 for NULL."""
    operand = call.operands[0]

    def run(session: Session) -> Value | None:
        value = operand(session)
        return integer(0 if value is None else len(_members(value)))

    return call.lenient(run)


def build_index(call: Call) -> Expression:
    """The n-th member of an ordered container, from 1; NULL beyond it."""
    position = call.integer("n")
    operand = call.operands[0]

    def run(session: Session) -> Value | None:
        value, n = operand(session), position(session)
        if value is None or n is None:
            return None
        if value.cardinality != "ordered":
            raise KindError(f"expected an ordered container, found {kind_of(value)}")
        return Value("single", value.base, value.data[n - 1]) if 1 <= n <= len(value.data) else None

    return call.lenient(run)


def _with_single(single: Value, held: Value) -> tuple[object, ...]:
    members = _members(held)
    if single.cardinality != "single" or not comparable(single.base, held.base):
        raise KindError(f"cannot look for {kind_of(single)} in {kind_of(held)}")
    return members


def build_member(call: Call) -> Expression:
    """Whether the first, a single value, is among the members of the second."""
    return call.strict(
        lambda single, held: TRUE if single.data in _with_single(single, held) else FALSE
    )


def build_delete(call: Call) -> Expression:
    """The container without any instance of the single value."""

    def delete(single: Value, held: Value) -> Value | None:
        members = _with_single(single, held)
        return container(held.cardinality, held.base, (m for m in members if m != single.data))

    return call.strict(delete)


def build_contains(call: Call) -> Expression:
    """Whether the first holds the second: each member as often, or as a run if ordered."""

    def contains(first: Value, second: Value) -> Value:
        outer, inner = _members(first), _members(second)
        if first.cardinality != second.cardinality or not comparable(first.base, second.base):
            raise KindError(f"cannot look for {kind_of(second)} in {kind_of(first)}")
        if first.cardinality == "multiple":
            return boolean(not Counter(inner) - Counter(outer))
        n = len(inner)
        return boolean(any(outer[i : i + n] == inner for i in range(len(outer) - n + 1)))

    return call.strict(contains)


def build_random(call: Call) -> Expression:
    """One member by chance; a member that stands twice is twice as likely."""
    operand = call.operands[0]

    def run(session: Session) -> Value | None:
        value = operand(session)
        if value is None:
            return None
        return Value("single", value.base, session.chance.pick(_members(value)))

    return call.lenient(run)


def build_field_value(call: Call) -> Expression:
    """A field of a record; NULL when it has none of that name."""
    name = call.text("fieldIdentifier")

    def field(value: Value) -> Value | None:
        if value.cardinality != "record":
            raise KindError(f"expected a record, found {kind_of(value)}")
        found: Value | None = value.data.get(name)
        return found

    return call.strict(field)
