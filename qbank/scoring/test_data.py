"""What the rules of a test read from its items (mapping note, f and g2; [M] where marked).

Every expression takes a subset by sectionIdentifier, includeCategory and excludeCategory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from qbank.scoring.calls import Call
from qbank.scoring.declarations import Declaration
from qbank.scoring.session import Expression, Session
from qbank.scoring.values import NUMERIC, Value, container, integer, real, same


@dataclass(frozen=True, slots=True)
class ItemResult:
    """One selected item of a test after its attempts.

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


@dataclass(frozen=True, slots=True)
class TestData:
    """The selected items of a test in the order they are shown."""

    __test__ = False  # no test case, whatever its name looks like

    items: Sequence[ItemResult]

    def subset(
        self, section: str, include: Sequence[str], exclude: Sequence[str]
    ) -> list[ItemResult]:
        return [
            item
            for item in self.items
            if (not section or section in item.sections)
            and (not include or any(c in item.categories for c in include))
            and not any(c in item.categories for c in exclude)
        ]

    def variable(self, item: str, name: str, weight: str) -> Value | None:
        """An item's variable; of a number, times the weight of that name (1 where undefined)."""
        for result in self.items:
            if result.identifier == item:
                return _weighted(result, result.values.get(name), weight)
        return None


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
