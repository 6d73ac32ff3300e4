"""What the rules of a test read from its items (mapping note, f and g2; [M] where marked).

Every expression takes a subset by sectionIdentifier, includeCategory and excludeCategory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from qbank.scoring.calls import Call
from qbank.scoring.declarations import Declaration
from qbank.scoring.faults import ScoringError
from qbank.scoring.limits import MAX_LOOKS
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import NUMERIC, Value, container, integer, real, same


@dataclass(frozen=True, slots=True)
class ItemResult:
    """One selected item of a test, after its attempt or before it.

    `values` are its variables by the names the test knows them by; `attempted` whether the
    candidate submitted anything for it.
    """

    identifier: str
    sections: tuple[str, ...]
    categories: tuple[str, ...]
    weights: Mapping[str, float]
    declared: Mapping[str, Declaration]
    values: Mapping[str, Value | None]
    correct: Mapping[str, Value | None]
    attempted: bool

    @property
    def responses(self) -> Iterator[tuple[str, Value | None, Value | None]]:
        """Name, answer and key of each response."""
        for name, declared in self.declared.items():
            if declared.kind == "response":
                yield name, self.values.get(name), self.correct.get(name, declared.correct)

    @property
    def responded(self) -> bool:
        """Attempted, with an answer other than the default to at least one response."""
        return self.attempted and any(
            answer is not None and answer != self.declared[name].default
            for name, answer, _ in self.responses
        )

    @property
    def right(self) -> bool | None:
        """Whether every answer matches its key; None where a response has no key."""
        pairs = [(answer, key) for _, answer, key in self.responses]
        if not pairs or any(key is None for _, key in pairs):
            return None
        return all(a is not None and k is not None and same(a, k) is True for a, k in pairs)


class TestData:
    """The items of a test that are not passed over, in the order they are shown.

    Raises ScoringError when rules look at items more often than any test needs.
    """

    __test__ = False  # no test case, whatever its name looks like

    def __init__(self, items: Iterable[ItemResult] = ()) -> None:
        self._items = {item.identifier: item for item in items}
        self._looks = 0

    def put(self, item: ItemResult) -> None:
        """Take an item's result in the place of what was held of it."""
        self._items[item.identifier] = item

    def pass_over(self, identifier: str) -> None:
        """Leave out an item that the candidate does not meet."""
        self._items.pop(identifier, None)

    def _look(self, count: int) -> None:
        self._looks += count
        if self._looks > MAX_LOOKS:
            raise ScoringError(f"a test's rules look at items more than {MAX_LOOKS} times")

    def subset(
        self, section: str, include: Sequence[str], exclude: Sequence[str]
    ) -> list[ItemResult]:
        """The items of a section, with one of the categories to include and none to exclude."""
        self._look(len(self._items) * (1 + len(include) + len(exclude)))
        return [
            item
            for item in self._items.values()
            if (not section or section in item.sections)
            and (not include or any(c in item.categories for c in include))
            and not any(c in item.categories for c in exclude)
        ]

    def variable(self, item: str, name: str, weight: str) -> Value | None:
        """An item's variable; of a number, times the weight of that name (1 where undefined)."""
        found = self._items.get(item)
        return None if found is None else _weighted(found, found.values.get(name), weight)


def _weighted(item: ItemResult, value: Value | None, weight: str) -> Value | None:
    if value is None or not weight or value.base not in NUMERIC or value.cardinality != "single":
        return value
    return real(value.data * item.weights.get(weight, 1.0))


def _subset_of(call: Call) -> Callable[[Session], list[ItemResult]]:
    section = call.text("sectionIdentifier", "")
    include = call.text("includeCategory", "").split()
    exclude = call.text("excludeCategory", "").split()
    if not call.scope.in_test:
        raise call.fault("has a meaning in the outcome processing of a test only")

    def subset(session: Session) -> list[ItemResult]:
        found: list[ItemResult] = session.test.subset(section, include, exclude)
        return found

    return subset


def build_test_variables(call: Call) -> Expression:
    """A single variable of every item, NULLs left out, weighted if a weight is named."""
    subset = _subset_of(call)
    name = call.text("variableIdentifier")
    weight = call.text("weightIdentifier", "")
    wanted = call.text("baseType", "")

    def run(session: Session) -> Value | None:
        bases = set()
        members = []
        for item in subset(session):
            value = _weighted(item, item.values.get(name), weight)
            if value is None or value.cardinality != "single":
                continue
            if value.base != wanted and (wanted or value.base not in NUMERIC):
                continue
            bases.add(value.base)
            members.append(value.data)
        if len(bases) > 1:  # integers beside floats
            return container("multiple", "float", map(float, members))
        return container("multiple", bases.pop(), members) if bases else None

    return run


def outcome_bound(attribute: str) -> Callable[[Call], Expression]:
    """outcomeMaximum is NULL when an item declares none; outcomeMinimum leaves such out [M]."""

    def build(call: Call) -> Expression:
        subset = _subset_of(call)
        name = call.text("outcomeIdentifier")
        weight = call.text("weightIdentifier", "")

        def run(session: Session) -> Value | None:
            members = []
            for item in subset(session):
                declared = item.declared.get(name)
                bound = None if declared is None else declared.bound(attribute)
                if bound is not None:
                    members.append(bound * (item.weights.get(weight, 1.0) if weight else 1.0))
                elif attribute == "normalMaximum":
                    return None
            return container("multiple", "float", members)

        return run

    return build


_COUNTED: dict[str, Callable[[ItemResult], bool]] = {
    "correct": lambda item: item.right is True,
    "incorrect": lambda item: item.attempted and item.right is False,
    "presented": lambda item: item.attempted,
    "responded": lambda item: item.responded,
    "selected": lambda _item: True,
}


def counting(what: str) -> Callable[[Call], Expression]:
    """How many items of the subset are correct, incorrect, presented, responded or selected."""
    counts = _COUNTED[what]

    def build(call: Call) -> Expression:
        subset = _subset_of(call)
        return lambda session: integer(sum(counts(item) for item in subset(session)))

    return build
