"""The way of one candidate through a test: what is passed over, and where branches lead.

From memory of the standard [M]: pre-conditions must all be true for a part, section or item to be
shown; NULL counts as false. Branch rules are tried in turn after a part, section or item was
shown, and the first that is true leads on, past what lies between. In parts that are not linear
both are ignored for sections and items. A target lies ahead in the same part, or is a later part
where a part branches; EXIT_SECTION, EXIT_TESTPART and EXIT_TEST end what they name. The sections
that a jump leaves have been cut short: their own branch rules are not tried.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from lxml import etree

from qbank.scoring.faults import at
from qbank.scoring.names import get
from qbank.scoring.plan import Node
from qbank.scoring.selection import Selected

EXIT_TEST, EXIT_PART, EXIT_SECTION = "EXIT_TEST", "EXIT_TESTPART", "EXIT_SECTION"
Test = Callable[[etree._Element], bool]


class _Ended(Exception):  # noqa: N818 - not a fault: EXIT_TEST
    """The test is over."""


@dataclass(frozen=True, slots=True)
class Steps:
    """What the route asks of whoever grades.

    `begin` opens a part with its items, `show` grades an item, `skip` tells of one passed over,
    `end` closes the part; `holds` evaluates the expression in a condition or a branch.
    """

    begin: Callable[[Node, list[Selected]], None]
    show: Callable[[Selected], None]
    skip: Callable[[Selected], None]
    end: Callable[[Node], None]
    holds: Test
    warn: Callable[[str], None]


def is_linear(part: Node) -> bool:
    """Whether the items of a part are met one after the other."""
    return get(part.element, "navigationMode") == "linear"


def follow(parts: list[Node], items: list[list[Selected]], steps: Steps) -> None:
    """Take one candidate through the parts of a test."""
    n = 0
    try:
        while n < len(parts):
            part, row = parts[n], items[n]
            n += 1
            if not _admitted(part, steps):
                _skip(row, steps)
                continue
            steps.begin(part, row)
            way = _Way(row, steps)
            ended = False
            try:
                if is_linear(part):
                    way.one_by_one()
                else:
                    way.all()
            except _Ended:
                ended = True
            steps.end(part)
            target = EXIT_TEST if ended else _target(part, steps)
            if target == EXIT_TEST:
                raise _Ended
            if target is None or target == EXIT_PART:
                continue
            ahead = next((k for k in range(n, len(parts)) if target in parts[k].identifiers), None)
            if ahead is None:
                steps.warn(f"no part '{target}' lies ahead of part '{part.identifier}'")
                continue
            for row in items[n:ahead]:
                _skip(row, steps)
            n = ahead
    except _Ended:
        for row in items[n:]:
            _skip(row, steps)


def _skip(row: list[Selected], steps: Steps) -> None:
    for item in row:
        steps.skip(item)


def _admitted(node: Node, steps: Steps) -> bool:
    return all(steps.holds(condition) for condition in node.held("preCondition"))


def _target(node: Node, steps: Steps) -> str | None:
    """The target of the first branch rule that is true."""
    for rule in node.held("branchRule"):
        if steps.holds(rule):
            return get(rule, "target") or ""
    return None


class _Way:
    """The way through the items of one part."""

    def __init__(self, row: list[Selected], steps: Steps) -> None:
        self._row = row
        self._steps = steps
        self._admitted: dict[Node, bool] = {}
        self._left: set[Node] = set()  # sections ended by EXIT_SECTION
        self._tried: set[Node] = set()  # sections whose branch rules were tried
        self._last = {node: n for n, item in enumerate(row) for node in item.chain}
        self._places: dict[str, list[int]] = {}  # of targets: an item, a section's first item
        begun: set[Node] = set()
        for n, item in enumerate(row):
            fresh = [node for node in item.chain[1:] if node not in begun]
            begun.update(fresh)
            names = {item.identifier, item.node.identifier}
            names.update(name for node in fresh for name in node.identifiers)
            for name in names:
                self._places.setdefault(name, []).append(n)

    def all(self) -> None:
        """Meet every item: the part is not linear."""
        self._tell_ignored()
        for item in self._row:
            self._steps.show(item)

    def one_by_one(self) -> None:
        """Meet the items as the rules lead."""
        n = 0
        while n < len(self._row):
            item = self._row[n]
            target = None
            if self._is_met(item):
                self._steps.show(item)
                target = _target(item.node, self._steps)
            else:
                self._steps.skip(item)
            n = self._next(n, target)

    def _is_met(self, item: Selected) -> bool:
        for node in item.chain[1:]:
            if node in self._left:
                return False
            if node not in self._admitted:
                self._admitted[node] = _admitted(node, self._steps)
            if not self._admitted[node]:
                return False
        return _admitted(item.node, self._steps)

    def _next(self, n: int, target: str | None) -> int:
        """The place of the item after the one at `n`, whose branch leads to `target`.

        Where a section ends with it, that section's branch rules come next.
        """
        origin = self._row[n].node
        for section in self._row[n].chain[:0:-1]:
            if target == EXIT_SECTION:
                self._left.add(section)  # the rest of its items is passed over when it comes
                target = None
            elif target is not None:
                break
            elif self._last[section] > n:
                return n + 1
            if self._admitted.get(section) and section not in self._tried:
                self._tried.add(section)
                origin, target = section, _target(section, self._steps)
        if target is None or target == EXIT_SECTION:
            return n + 1
        return self._jump(n, target, origin)

    def _jump(self, n: int, target: str, origin: Node) -> int:
        if target in (EXIT_PART, EXIT_TEST):
            ahead = len(self._row)
        else:
            places = self._places.get(target, [])
            k = bisect_right(places, n)
            if k == len(places):
                self._steps.warn(
                    f"no section or item '{target}' lies ahead of '{origin.identifier}' in its part"
                )
                return n + 1
            ahead = places[k]
        _skip(self._row[n + 1 : ahead], self._steps)
        if target == EXIT_TEST:
            raise _Ended
        return ahead

    def _tell_ignored(self) -> None:
        seen: set[Node] = set()
        for item in self._row:
            for node in (*item.chain[1:], item.node):
                if node in seen:
                    continue
                seen.add(node)
                for name in ("preCondition", "branchRule"):
                    for found in node.held(name)[:1]:
                        self._steps.warn(f"'{name}'{at(found)} is ignored: its part is not linear")
