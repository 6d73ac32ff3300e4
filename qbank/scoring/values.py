"""Values of QTI variables: base types, cardinalities, NULL, and when two are the same.

A value is a `Value`; NULL is `None`. An empty string and an empty container are NULL as well
(mapping note, g1). Data by cardinality: single, one scalar; multiple and ordered, a tuple of
scalars; record, a dict of field names to single values.

Scalars by base type: boolean `bool`, integer `int`, float and duration `float`, point
`(float, float)`, pair and directedPair `(str, str)` with a pair's two names in sorted order as
`A B` is `B A`, everything else `str`.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from qbank.scoring.faults import KindError, ScoringError
from qbank.scoring.limits import INTEGER_RANGE, MAX_CONTAINER

BASE_TYPES = frozenset([
    "identifier", "boolean", "integer", "float", "string", "point", "pair", "directedPair",
    "duration", "file", "uri",
])  # fmt: skip
CARDINALITIES = frozenset(["single", "multiple", "ordered", "record"])
NUMERIC = frozenset(["integer", "float"])

# Lexical forms of XML Schema: whole numbers, doubles.
_INTEGER = re.compile(r"[+-]?[0-9]+")
_FLOAT = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
_SPECIAL = {"INF": math.inf, "+INF": math.inf, "-INF": -math.inf, "NaN": math.nan}
MAX_NUMERAL = 400  # characters


class Value(NamedTuple):
    """A value that is not NULL."""

    cardinality: str
    base: str  # empty for records
    data: Any

    @property
    def members(self) -> tuple[Any, ...]:
        """The scalars of a container, or the one scalar of a single value."""
        return (self.data,) if self.cardinality == "single" else tuple(self.data)


TRUE = Value("single", "boolean", True)
FALSE = Value("single", "boolean", False)


def boolean(truth: bool) -> Value:
    """A truth as a value."""
    return TRUE if truth else FALSE


def integer(number: int) -> Value:
    """An integer value. Raises KindError outside 32 bits."""
    if not -INTEGER_RANGE <= number < INTEGER_RANGE:
        raise KindError("an integer leaves the range of 32 bits; use base type float")
    return Value("single", "integer", number)


def real(number: float) -> Value | None:
    """A float value; NULL for what is not a number."""
    return None if number != number else Value("single", "float", number)  # noqa: PLR0124 - NaN


def identifier(name: str) -> Value:
    """An identifier value."""
    return Value("single", "identifier", name)


def container(cardinality: str, base: str, members: Iterable[Any]) -> Value | None:
    """A multiple or ordered value; NULL without members. Raises ScoringError above the bound."""
    data = tuple(members)
    if len(data) > MAX_CONTAINER:
        raise ScoringError(f"a container has more than {MAX_CONTAINER} members")
    return Value(cardinality, base, data) if data else None


# ---------------------------------------------------------------------------- text to values


def scalar(base: str, text: str) -> Any:
    """A scalar from its lexical form. Raises ValueError, saying what was expected.

    White space around everything but strings is not part of the value (mapping note, b7).
    """
    if base in ("string", "file"):
        return text
    text = text.strip()
    if base in ("identifier", "uri"):
        return text
    if base in ("float", "duration"):
        return number_of(text)
    if base == "integer":
        if len(text) > MAX_NUMERAL or not _INTEGER.fullmatch(text):
            raise ValueError("expected a whole number")
        found = int(text)
        if not -INTEGER_RANGE <= found < INTEGER_RANGE:
            raise ValueError("expected a whole number of at most 32 bits")
        return found
    if base == "boolean":
        if text in ("true", "1"):
            return True
        if text in ("false", "0"):
            return False
        raise ValueError("expected true or false")
    words = text.split()
    if base == "point":
        if len(words) != 2:
            raise ValueError("expected two numbers with a space between them")
        return number_of(words[0]), number_of(words[1])
    if base in ("pair", "directedPair"):
        if len(words) != 2:
            raise ValueError("expected two identifiers with a space between them")
        return tuple(sorted(words)) if base == "pair" else (words[0], words[1])
    raise ValueError(f"there is no base type '{base}'")


def number_of(text: str) -> float:
    """A double of XML Schema. Raises ValueError for any other text."""
    if len(text) <= MAX_NUMERAL and _FLOAT.fullmatch(text):
        return float(text)
    if text in _SPECIAL:
        return _SPECIAL[text]
    raise ValueError("expected a number, with '.' as the decimal sign")


def read_value(cardinality: str, base: str, texts: Sequence[str]) -> Value | None:
    """A value of a declared kind from the lexical forms of its members.

    Raises ValueError for a form that is not of the base type or several for a single.
    """
    found = [s for s in [scalar(base, text) for text in texts] if s != ""]
    if not found:
        return None
    if cardinality == "single":
        if len(found) > 1:
            raise ValueError("expected one value")
        first = found[0]
        # A number that is none carries no answer.
        return None if first != first else Value("single", base, first)  # noqa: PLR0124 - NaN
    return container(cardinality, base, found)


# ---------------------------------------------------------------------------- comparison


def same(first: Value, second: Value) -> bool | None:
    """Whether two values match: the same members, in the same order if ordered.

    None when their kinds do not allow the question. An integer may be held against a float.
    """
    if first.cardinality != second.cardinality:
        return None
    if first.cardinality == "record":
        return bool(first.data == second.data)
    if first.base != second.base and not comparable(first.base, second.base):
        return None
    if first.cardinality == "multiple":
        return Counter(first.data) == Counter(second.data)
    return bool(first.data == second.data)


_TEXTS = frozenset(["string", "identifier", "uri"])


def comparable(first: str, second: str) -> bool:
    """Base types whose scalars can be held against each other."""
    return (
        first == second
        or (first in NUMERIC and second in NUMERIC)
        or (first in _TEXTS and second in _TEXTS)
    )


# ---------------------------------------------------------------------------- values to text


def plain(value: Value | None) -> Any:
    """A value as bool, int, float, str, list or dict; None for NULL. Pairs become text."""
    if value is None:
        return None
    if value.cardinality == "single":
        return _plain_scalar(value.data)
    if value.cardinality == "record":
        return {name: plain(held) for name, held in value.data.items()}
    return [_plain_scalar(member) for member in value.data]


def _plain_scalar(data: Any) -> Any:
    return " ".join(map(text_of_scalar, data)) if isinstance(data, tuple) else data


def text_of_scalar(data: Any) -> str:
    """A scalar in its lexical form."""
    if isinstance(data, bool):
        return "true" if data else "false"
    if isinstance(data, float):
        if math.isinf(data):
            return "INF" if data > 0 else "-INF"
        return repr(int(data)) if data.is_integer() and abs(data) < 1e15 else repr(data)
    if isinstance(data, tuple):
        return " ".join(map(text_of_scalar, data))
    return str(data)
