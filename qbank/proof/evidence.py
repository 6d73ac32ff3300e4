"""What the keys of an item rest on: checks made, or a comparison with its family."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from qbank.checking.checker import Checker
from qbank.checking.report import CheckReport
from qbank.errors import QbankError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.generation import Generator
from qbank.item import Choice, Item, Matching, NumberEntry, Ordering, Part, Provenance
from qbank.rendering.renderer import Renderer


@dataclass(frozen=True, slots=True)
class Evidence:
    """A sentence on what the keys rest on, the checks behind it, and what contradicts it."""

    sentence: str
    checks: CheckReport | None = None
    differences: tuple[str, ...] = ()


class Rederived:
    """Items of a bank made again from their families, those that are at hand.

    `checks` sums the checks made on what was made again.
    """

    def __init__(self, items: Iterable[Item]) -> None:
        self.checks = CheckReport()
        self._families: dict[str, _Source | str] = {}
        self._evidences = {id(item): self._judge(item) for item in items}

    def evidence(self, item: Item) -> Evidence:
        """What is known of an item that was given to the constructor."""
        return self._evidences[id(item)]

    def _judge(self, item: Item) -> Evidence:
        source = item.provenance
        if source is None or source.index < 0:
            return Evidence("The package does not say which family the item is of.")
        name = source.family
        if name not in self._families:
            self._families[name] = _source(name)
        family = self._families[name]
        if isinstance(family, str):
            return Evidence(family)
        if family.family.digest != source.digest:
            return Evidence(
                f"The item says it is of the family {name} {source.version}, but the family of "
                "that name at hand has another content, so its keys were not derived again."
            )
        report = CheckReport()
        try:
            again = family.again(source, report)
        except QbankError as fault:
            return Evidence(f"The item could not be derived again: {fault.message}")
        self.checks.merge(report)
        found = tuple(_differences(item.parts, again.parts))
        if found:
            return Evidence("Derived again from its family, and not the same:", report, found)
        return Evidence(
            "Derived again from its family: every key and accepted band is the same.", report
        )


class _Source:
    """A family at hand, compiled."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self._generator = Generator(family)
        self._renderer = Renderer(family)
        self._checker = Checker(family)

    def again(self, source: Provenance, report: CheckReport) -> Item:
        """The item made again; its checks are added to `report`."""
        instances = self._generator.instance(source.seed, source.index)
        self._checker.check(instances, report)
        return self._renderer.item(instances, 0)


def _source(name: str) -> _Source | str:
    """The shipped family of that name, or a sentence on why there is none.

    A bank is anyone's: its text names a shipped family, never a path.
    """
    if not name.replace("-", "").replace("_", "").isalnum():
        return "The package names a family that is not at hand; its keys were not derived again."
    try:
        return _Source(load_family(find_family(name)))
    except QbankError:
        return (
            f"The package names the family {name}, which is not at hand; its keys were not "
            "derived again."
        )


def _differences(found: Sequence[Part], expected: Sequence[Part]) -> Iterable[str]:
    if [type(part) for part in found] != [type(part) for part in expected]:
        yield f"the package has {len(found)} parts of other kinds than the family's {len(expected)}"
        return
    for number, (mine, right) in enumerate(zip(found, expected, strict=True), 1):
        if _key(mine) != _key(right):
            yield f"part {number}: the package's key is {_key(mine)}, the family's {_key(right)}"


def _key(part: Part) -> object:
    """What must be the same in two parts that are keyed alike."""
    match part:
        case NumberEntry(tolerance=band):
            return (part.key, band.low, band.high)
        case Choice():
            return tuple(option.identifier for option in part.options if option.correct)
        case Ordering():
            return tuple(entry.identifier for entry in part.entries)
        case Matching():
            return tuple(sorted(part.pairs))
