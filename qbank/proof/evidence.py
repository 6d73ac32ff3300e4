"""What the keys of an item rest on: checks made, or a comparison with its family."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.checking.checker import Checker
from qbank.checking.report import CheckReport
from qbank.errors import QbankError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.generation import LAST_INDEX, Generator
from qbank.item import Choice, Item, Matching, NumberEntry, Ordering, Part
from qbank.rendering.renderer import Renderer


@dataclass(frozen=True, slots=True)
class Evidence:
    """A sentence on what the keys rest on, the checks behind it, and what contradicts it."""

    sentence: str
    checks: CheckReport | None = None
    differences: tuple[str, ...] = ()


GAP = 256  # instances drawn in passing, so that neighbours are made again together
LAST_SEED = 2**63


class Rederived:
    """Items of a bank made again from their families, those that are at hand.

    `checks` sums the checks made on what was made again. `progress` is called with the items
    made again since last time.
    """

    def __init__(self, items: Iterable[Item], progress: Callable[[int], None] | None) -> None:
        self.checks = CheckReport()
        self._evidences: dict[int, Evidence] = {}
        sources: dict[str, _Source | str] = {}
        wanted: dict[tuple[str, int], list[Item]] = {}
        for item in items:
            told = _claim(item, sources)
            if told is not None:
                self._evidences[id(item)] = Evidence(told)
            elif item.provenance is not None:
                claim = item.provenance
                wanted.setdefault((claim.family, claim.seed), []).append(item)
        for (name, seed), claiming in wanted.items():
            source = sources[name]
            if isinstance(source, _Source):
                for run in _runs(claiming):
                    self._derive(source, seed, run)
                    if progress is not None:
                        progress(sum(map(len, run.values())))

    def evidence(self, item: Item) -> Evidence:
        """What is known of an item that was given to the constructor."""
        return self._evidences[id(item)]

    def _derive(self, source: _Source, seed: int, run: Mapping[int, Sequence[Item]]) -> None:
        """Make the items of a family and seed again, by their indices, and compare."""
        try:
            made = source.again(seed, sorted(run))
        except QbankError as fault:
            told = Evidence(f"The item could not be derived again: {fault.message}")
            self._evidences |= {id(item): told for items in run.values() for item in items}
            return
        for index, (again, report) in made.items():
            self.checks.merge(report)
            for item in run[index]:
                self._evidences[id(item)] = _compared(item, again, report)


def _claim(item: Item, sources: dict[str, _Source | str]) -> str | None:
    """Why an item cannot be made again; None where it can. `sources` keeps the families read."""
    claim = item.provenance
    if claim is None or claim.index < 0:
        return "The bank does not say which family the item is of."
    name = claim.family
    if name not in sources:
        sources[name] = _source(name)
    source = sources[name]
    if isinstance(source, str):
        return source
    if source.family.digest != claim.digest:
        return (
            f"The item says it is of the family {name} {claim.version}, but the family of that "
            "name at hand has another content, so its keys were not derived again."
        )
    if not (0 <= claim.seed < LAST_SEED and claim.index < LAST_INDEX):
        return "The item names a seed or index that no family has."
    return None


def _runs(items: Iterable[Item]) -> Iterator[dict[int, list[Item]]]:
    """The items of one family and seed by index, in runs of neighbours."""
    by_index: dict[int, list[Item]] = {}
    for item in items:
        if item.provenance is not None:
            by_index.setdefault(item.provenance.index, []).append(item)
    run: dict[int, list[Item]] = {}
    for index in sorted(by_index):
        if run and index - max(run) > GAP:
            yield run
            run = {}
        run[index] = by_index[index]
    if run:
        yield run


def _compared(item: Item, again: Item, report: CheckReport) -> Evidence:
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

    def again(self, seed: int, indices: Sequence[int]) -> dict[int, tuple[Item, CheckReport]]:
        """The items of some neighbouring indices made again, with the checks made on each."""
        made = {}
        first, last = indices[0], indices[-1]
        for instances in self._generator.generate(last - first + 1, seed, first):
            few = instances.take(np.isin(instances.index, indices))
            for row, item in enumerate(self._renderer.items(few)):
                report = CheckReport()
                self._checker.check(few.take(slice(row, row + 1)), report)
                made[int(few.index[row])] = (item, report)
        return made


def _source(name: str) -> _Source | str:
    """The shipped family of that name, or a sentence on why there is none.

    A bank is anyone's: its text names a shipped family, never a path.
    """
    if not name.replace("-", "").replace("_", "").isalnum():
        return "The bank names a family that is not at hand; its keys were not derived again."
    try:
        return _Source(load_family(find_family(name)))
    except QbankError:
        return (
            f"The bank names the family {name}, which is not at hand; its keys were not "
            "derived again."
        )


def _differences(found: Sequence[Part], expected: Sequence[Part]) -> Iterable[str]:
    if [type(part) for part in found] != [type(part) for part in expected]:
        yield f"the bank has {len(found)} parts of other kinds than the family's {len(expected)}"
        return
    for number, (mine, right) in enumerate(zip(found, expected, strict=True), 1):
        if _key(mine) != _key(right):
            yield f"part {number}: the bank's key is {_key(mine)}, the family's {_key(right)}"


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
