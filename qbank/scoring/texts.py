"""Operators on strings (mapping note, b7 and g2)."""

from __future__ import annotations

from qbank.scoring.calls import Call, kind_of
from qbank.scoring.faults import KindError
from qbank.scoring.patterns import compile_pattern
from qbank.scoring.session import Expression
from qbank.scoring.values import Value, boolean

_TEXTS = frozenset(["string", "identifier", "uri", "file"])


def _text(value: Value) -> str:
    if value.cardinality != "single" or value.base not in _TEXTS:
        raise KindError(f"expected a string, found {kind_of(value)}")
    return str(value.data)


def build_string_match(call: Call) -> Expression:
    """The same string; with the deprecated `substring`, the second occurs in the first [?]."""
    sensitive = call.flag("caseSensitive", True)
    part = call.flag("substring", False)

    def match(first: Value, second: Value) -> Value:
        left, right = _text(first), _text(second)
        if not sensitive:
            left, right = left.casefold(), right.casefold()
        return boolean(right in left if part else left == right)

    return call.strict(match)


def build_substring(call: Call) -> Expression:
    """Whether the first string occurs in the second."""
    sensitive = call.flag("caseSensitive", True)

    def occurs(first: Value, second: Value) -> Value:
        left, right = _text(first), _text(second)
        if not sensitive:
            left, right = left.casefold(), right.casefold()
        return boolean(left in right)

    return call.strict(occurs)


def build_pattern_match(call: Call) -> Expression:
    """Whether the whole string matches a regular expression of XML Schema."""
    pattern = compile_pattern(call.text("pattern"))
    return call.strict(lambda value: boolean(pattern.matches(_text(value))))
