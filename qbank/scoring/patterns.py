"""Regular expressions of XML Schema, matched in time that grows with the text and no faster.

`patternMatch` takes the language of XML Schema part 2, appendix F (from memory): anchored at
both ends, `^` and `$` ordinary characters, classes with subtraction, `\\i` and `\\c` for names.
It has neither references back nor lookaround, so a set of automaton states walks along the text
and no pattern can make it step back; size and work are bounded (`limits`).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from qbank.scoring.faults import ScoringError
from qbank.scoring.limits import MAX_DEPTH, MAX_PATTERN_STATES, MAX_PATTERN_WORK

Test = Callable[[str], bool]


class One(NamedTuple):
    """A character that passes a test."""

    test: Test


class Run(NamedTuple):
    """Nodes after each other."""

    nodes: list[Node]


class Either(NamedTuple):
    """One of several nodes."""

    nodes: list[Node]


class Repeat(NamedTuple):
    """A node at least and at most so often; without a bound where `most` is None."""

    node: Node
    least: int
    most: int | None


Node = One | Run | Either | Repeat

_SINGLE = {"n": "\n", "r": "\r", "t": "\t"} | {c: c for c in "\\|.?*+(){}-[]^$"}
_QUANTIFIERS: dict[str, tuple[int, int | None]] = {"?": (0, 1), "*": (0, None), "+": (1, None)}


def _is_space(c: str) -> bool:
    return c in " \t\n\r"


def _is_digit(c: str) -> bool:
    return unicodedata.category(c) == "Nd"


def _is_word(c: str) -> bool:
    return unicodedata.category(c)[0] not in "PZC"


def _is_initial(c: str) -> bool:
    return c in "_:" or c.isalpha()


def _is_name(c: str) -> bool:
    return c in "_:-.·" or c.isalpha() or unicodedata.category(c) in ("Nd", "Mn", "Mc", "Lm")


_CLASSES: dict[str, Test] = {
    "s": _is_space, "d": _is_digit, "w": _is_word, "i": _is_initial, "c": _is_name,
}  # fmt: skip
# The blocks a pattern is likely to name; all others are refused by name.
_BLOCKS = {
    "BasicLatin": (0x0000, 0x007F), "Latin-1Supplement": (0x0080, 0x00FF),
    "LatinExtended-A": (0x0100, 0x017F), "LatinExtended-B": (0x0180, 0x024F),
    "Greek": (0x0370, 0x03FF), "GreekandCoptic": (0x0370, 0x03FF), "Cyrillic": (0x0400, 0x04FF),
    "Hebrew": (0x0590, 0x05FF), "Arabic": (0x0600, 0x06FF),
    "MathematicalOperators": (0x2200, 0x22FF), "Hiragana": (0x3040, 0x309F),
    "Katakana": (0x30A0, 0x30FF), "CJKUnifiedIdeographs": (0x4E00, 0x9FFF),
}  # fmt: skip


def _complement(test: Test) -> Test:
    return lambda c: not test(c)


class _Reader:
    """Reads one pattern into a tree."""

    def __init__(self, pattern: str) -> None:
        self.pattern = pattern
        self.at = 0

    def fault(self, message: str) -> ScoringError:
        return ScoringError(
            f"the pattern cannot be read: {message}",
            excerpt=self.pattern,
            span=(self.at, self.at + 1),
            hint="patternMatch takes a regular expression of XML Schema",
        )

    def peek(self) -> str:
        return self.pattern[self.at : self.at + 1]

    def take(self) -> str:
        c = self.peek()
        if not c:
            raise self.fault("it ends too early")
        self.at += 1
        return c

    def whole(self) -> Node:
        node = self.alternatives(0)
        if self.peek():
            raise self.fault("a ')' without '('")
        return node

    def alternatives(self, depth: int) -> Node:
        if depth > MAX_DEPTH:
            raise self.fault(f"more than {MAX_DEPTH} brackets within each other")
        branches = [self.branch(depth)]
        while self.peek() == "|":
            self.at += 1
            branches.append(self.branch(depth))
        return Either(branches) if len(branches) > 1 else branches[0]

    def branch(self, depth: int) -> Node:
        pieces: list[Node] = []
        while self.peek() not in ("", "|", ")"):
            pieces.append(self.quantified(self.atom(depth)))
        return Run(pieces)

    def atom(self, depth: int) -> Node:
        c = self.take()
        if c == "(":
            node = self.alternatives(depth + 1)
            if self.peek() != ")":
                raise self.fault("a '(' without ')'")
            self.at += 1
            return node
        if c == "[":
            return One(self.char_class(depth))
        if c == ".":
            return One(lambda c: c not in "\n\r")
        if c == "\\":
            return One(self.escape()[0])
        if c in "?*+{}]":
            self.at -= 1
            raise self.fault(f"'{c}' has nothing before it")
        return One(c.__eq__)

    def quantified(self, node: Node) -> Node:
        c = self.peek()
        if c in _QUANTIFIERS:
            self.at += 1
            return Repeat(node, *_QUANTIFIERS[c])
        if c != "{":
            return node
        end = self.pattern.find("}", self.at)
        least, comma, most = self.pattern[self.at + 1 : max(end, self.at + 1)].partition(",")
        if end < 0 or not _is_count(least) or not (most == "" or _is_count(most)):
            raise self.fault("expected a count such as {2}, {2,} or {2,5}")
        self.at = end + 1
        low = int(least)
        high = low if not comma else (int(most) if most else None)
        if max(low, high or 0) > MAX_PATTERN_STATES or (high is not None and high < low):
            raise self.fault("a count that is too large or falls")
        return Repeat(node, low, high)

    def escape(self) -> tuple[Test, str | None]:
        """The test of an escape, and its character when it stands for a single one."""
        c = self.take()
        if c in _SINGLE:
            return _SINGLE[c].__eq__, _SINGLE[c]
        if c in _CLASSES:
            return _CLASSES[c], None
        if c.lower() in _CLASSES:
            return _complement(_CLASSES[c.lower()]), None
        if c in "pP":
            end = self.pattern.find("}", self.at)
            if self.peek() != "{" or end < 0:
                raise self.fault("expected a category such as \\p{Lu}")
            test = self.category(self.pattern[self.at + 1 : end])
            self.at = end + 1
            return (test if c == "p" else _complement(test)), None
        raise self.fault(f"there is no escape '\\{c}'")

    def category(self, name: str) -> Test:
        if name.startswith("Is"):
            if name[2:] not in _BLOCKS:
                raise self.fault(f"the block '{name}' is not known here")
            low, high = _BLOCKS[name[2:]]
            return lambda c: low <= ord(c) <= high
        if not 1 <= len(name) <= 2 or name[0] not in "LMNPZSC":
            raise self.fault(f"there is no category '{name}'")
        return lambda c: unicodedata.category(c).startswith(name)

    def char_class(self, depth: int) -> Test:
        """What stands after `[`: ranges and escapes, perhaps minus another class."""
        if depth > MAX_DEPTH:
            raise self.fault(f"more than {MAX_DEPTH} brackets within each other")
        negated = self.peek() == "^"
        if negated:
            self.at += 1
        chars: set[str] = set()
        tests: list[Test] = []
        without: Test | None = None
        first = True
        while first or self.peek() != "]":
            if self.peek() == "-" and self.pattern[self.at + 1 : self.at + 2] == "[":
                self.at += 2
                without = self.char_class(depth + 1)
                if self.peek() != "]":
                    raise self.fault("a subtraction ends its class")
                break
            self.member(chars, tests)
            first = False
        self.at += 1
        held = frozenset(chars)

        def included(c: str) -> bool:
            return (c in held or any(test(c) for test in tests)) != negated

        if without is None:
            return included
        left_out = without
        return lambda c: included(c) and not left_out(c)

    def member(self, chars: set[str], tests: list[Test]) -> None:
        c = self.take()
        if c == "\\":
            test, single = self.escape()
            if single is None:
                tests.append(test)
                return
            c = single
        elif c == "[":
            self.at -= 1
            raise self.fault("'[' within a class is written '\\['")
        if self.peek() == "-" and self.pattern[self.at + 1 : self.at + 2] not in ("]", "[", ""):
            self.at += 1
            end = self.take()
            if end == "\\":
                end = self.escape()[1] or ""
            if len(end) != 1 or end < c:
                raise self.fault("a range that falls or has no end")
            low, high = c, end
            tests.append(lambda c: low <= c <= high)
        else:
            chars.add(c)


def _is_count(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 6


class Pattern:
    """A pattern made ready to match whole texts."""

    def __init__(self, pattern: str) -> None:
        # A state is a test with the state after it, or the states it stands for.
        self._tests: list[Test | None] = [None]
        self._next: list[list[int]] = [[]]
        self._steps = 0
        self._start = self._emit(_Reader(pattern).whole(), 0)
        self._moves: dict[tuple[frozenset[int], str], frozenset[int]] = {}

    def matches(self, text: str) -> bool:
        """Whether the whole text matches. Raises ScoringError where that is too much work."""
        if len(self._tests) * len(text) > MAX_PATTERN_WORK:
            raise ScoringError("a text is too long for the pattern it is held against")
        states = self._closure([self._start])
        for c in text:
            key = (states, c)
            moved = self._moves.get(key)
            if moved is None:
                moved = self._closure(
                    [self._next[s][0] for s in states if (t := self._tests[s]) is not None and t(c)]
                )
                if len(self._moves) < MAX_PATTERN_STATES:
                    self._moves[key] = moved
            if not moved:
                return False
            states = moved
        return 0 in states

    def _closure(self, states: list[int]) -> frozenset[int]:
        seen = set(states)
        left = list(states)
        while left:
            state = left.pop()
            if self._tests[state] is None:
                for other in self._next[state]:
                    if other not in seen:
                        seen.add(other)
                        left.append(other)
        return frozenset(seen)

    def _state(self, test: Test | None, following: list[int]) -> int:
        if len(self._tests) >= MAX_PATTERN_STATES:
            raise ScoringError(
                "a pattern is too large to match in bounded time",
                hint="use smaller counts in its braces",
            )
        self._tests.append(test)
        self._next.append(following)
        return len(self._tests) - 1

    def _emit(self, node: Node, after: int) -> int:
        """Add a node's states before the state `after`; the state to start from."""
        self._steps += 1
        if self._steps > 20 * MAX_PATTERN_STATES:
            raise ScoringError("a pattern is too large to match in bounded time")
        if isinstance(node, One):
            return self._state(node.test, [after])
        if isinstance(node, Either):
            return self._state(None, [self._emit(n, after) for n in node.nodes])
        if isinstance(node, Run):
            for n in reversed(node.nodes):
                after = self._emit(n, after)
            return after
        start = after
        if node.most is None:
            start = self._state(None, [after])
            self._next[start].append(self._emit(node.node, start))
        else:
            for _ in range(node.most - node.least):
                start = self._state(None, [after, self._emit(node.node, start)])
        for _ in range(node.least):
            start = self._emit(node.node, start)
        return start


@lru_cache(maxsize=256)
def compile_pattern(pattern: str) -> Pattern:
    """A pattern, read once. Raises ScoringError when it cannot be read or is too large."""
    return Pattern(pattern)
