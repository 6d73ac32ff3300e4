"""Conditions of QTI 1.2.1 on responses (mapping note, g5, from memory; doubts marked [?]).

A response is a list of texts; there is no NULL, so a test on what is missing or is no number is
simply false. The tests of a `conditionvar` are joined by and. `varequal` on several responses
asks whether the value is among them.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from lxml import etree

from qbank.scoring.areas import area_of
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_DEPTH
from qbank.scoring.values import number_of

Responses = Mapping[str, Sequence[str]]
Condition = Callable[[Responses], bool]

_NUMERIC: dict[str, Callable[[float, float], bool]] = {
    "varlt": operator.lt,
    "varlte": operator.le,
    "vargt": operator.gt,
    "vargte": operator.ge,
}
_DURATIONS = frozenset(["durequal", "durlt", "durlte", "durgt", "durgte"])


@dataclass(slots=True)
class Reading:
    """What the conditions of an item may ask for, and what was met while reading them.

    `numeric` holds the responses that are numbers, so that 392 and 392.0 are equal in them.
    """

    known: frozenset[str]
    numeric: frozenset[str]
    warnings: list[str] = field(default_factory=list)

    def warn(self, message: str) -> None:
        if message not in self.warnings:
            self.warnings.append(message)


def condition_of(element: etree._Element, reading: Reading, depth: int = 0) -> Condition:
    """A conditionvar, or an and, or, not in one, as a function of the responses.

    Raises ScoringError for a test that 1.2.1 does not have.
    """
    if depth > MAX_DEPTH:
        raise ScoringError(f"conditions stand more than {MAX_DEPTH} deep{at(element)}")
    tests = [
        _test(child, reading, depth + 1)
        for child in element
        if etree.QName(child).localname != "qticomment"
    ]
    kind = etree.QName(element).localname
    if kind == "or":
        return lambda responses: any(test(responses) for test in tests)
    if kind == "not":
        return lambda responses: not all(test(responses) for test in tests)
    return lambda responses: all(test(responses) for test in tests)


def _test(element: etree._Element, reading: Reading, depth: int) -> Condition:
    kind = etree.QName(element).localname
    if kind in ("and", "or", "not"):
        return condition_of(element, reading, depth)
    if kind == "other":
        return lambda _responses: True
    if kind == "var_extension" or kind in _DURATIONS:
        reading.warn(f"'{kind}'{at(element)} is not judged here: false")
        return lambda _responses: False
    name = element.get("respident") or ""
    if name not in reading.known:
        reading.warn(f"'{kind}'{at(element)} asks for '{name}', which no part of the item gives")
    if kind == "unanswered":
        return lambda responses: not responses.get(name)
    wanted = (element.text or "").strip()
    build = _TESTS.get(kind)
    if build is None and kind not in _NUMERIC:
        raise ScoringError(f"there is no test '{kind}'{at(element)}")
    value_test = (
        _compared(_NUMERIC[kind], wanted, element)
        if build is None
        else build(element, wanted, name in reading.numeric)
    )
    position = element.get("index")
    if position is None or not position.isdigit():
        return lambda responses: value_test(responses.get(name, ()))
    n = int(position)
    return lambda responses: value_test(responses.get(name, ())[n - 1 : n] if n else ())


Test = Callable[[Sequence[str]], bool]


def _number(text: str) -> float | None:
    try:
        return number_of(text.strip())
    except ValueError:
        return None


def _compared(
    compare: Callable[[float, float], bool], wanted: str, element: etree._Element
) -> Test:
    bound = _number(wanted)
    if bound is None:
        raise ScoringError(f"'{wanted[:60]}'{at(element)} is no number to compare with")
    limit = bound

    def test(texts: Sequence[str]) -> bool:
        numbers = (_number(text) for text in texts)
        return any(number is not None and compare(number, limit) for number in numbers)

    return test


def _folded(element: etree._Element) -> Callable[[str], str]:
    """How texts are compared: without regard to case unless it says so."""
    return str if element.get("case") == "Yes" else str.casefold


def _equal(element: etree._Element, wanted: str, numeric: bool) -> Test:
    fold = _folded(element)
    number = _number(wanted) if numeric else None

    def test(texts: Sequence[str]) -> bool:
        if number is not None:
            return any(_number(text) == number for text in texts)
        return any(fold(text.strip()) == fold(wanted) for text in texts)

    return test


def _substring(element: etree._Element, wanted: str, _numeric: bool) -> Test:
    fold = _folded(element)
    return lambda texts: any(fold(wanted) in fold(text) for text in texts)


def _subset(element: etree._Element, wanted: str, _numeric: bool) -> Test:
    """Exact: the responses are the listed ones; Partial: at least one of them is [?]."""
    listed = {word.strip() for word in wanted.split(",")}
    if element.get("setmatch") == "Partial":
        return lambda texts: bool(listed & {text.strip() for text in texts})
    return lambda texts: listed == {text.strip() for text in texts}


def _inside(element: etree._Element, wanted: str, _numeric: bool) -> Test:
    """Ellipse: centre, width, height; Rectangle: corner, width, height; Bounded: a polygon [?]."""
    kind = element.get("areatype") or ""
    try:
        numbers = [number_of(word) for word in wanted.replace(",", " ").split()]
        if kind == "Ellipse":
            left, top, width, height = numbers
            area = area_of("ellipse", [left, top, width / 2, height / 2])
        elif kind == "Rectangle":
            left, top, width, height = numbers
            area = area_of("rect", [left, top, left + width, top + height])
        else:
            area = area_of("poly", numbers)
    except ValueError as fault:
        raise ScoringError(f"'{wanted[:60]}'{at(element)} is no area: {fault}") from fault

    def test(texts: Sequence[str]) -> bool:
        for text in texts:
            point = [_number(word) for word in text.replace(",", " ").split()]
            if len(point) != 2:
                continue
            x, y = point
            if x is not None and y is not None and area(x, y):
                return True
        return False

    return test


_TESTS: dict[str, Callable[[etree._Element, str, bool], Test]] = {
    "varequal": _equal,
    "varsubstring": _substring,
    "varsubset": _subset,
    "varinside": _inside,
}
