"""What a proof sheet shows, gathered from a family or from a bank."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

import numpy as np

from qbank.checking.checker import Checker
from qbank.checking.report import CheckReport
from qbank.errors import QbankError
from qbank.expressions.symbols import symbol
from qbank.family.model import Family
from qbank.formats.opening import open_any_bank
from qbank.generation import Generator, Report
from qbank.instances import Floats, Instances
from qbank.item import Item, NumberEntry
from qbank.proof.evidence import Evidence, Rederived
from qbank.proof.pools import pool_keys
from qbank.rendering.plain import inline_text
from qbank.rendering.renderer import Renderer
from qbank.sampling.tally import Tally

MOST_SHOWN = 200  # instances on one page, so that it opens at once
LARGEST_CHUNK = 512

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class Shown:
    """One instance on the page: its item, its number from 1, and what its keys rest on."""

    number: int
    item: Item
    evidence: Evidence

    @property
    def case(self) -> str:
        source = self.item.provenance
        return source.case if source else ""


@dataclass(frozen=True, slots=True)
class Series:
    """The answers of one part over all instances: `values` (n,) in `unit`, `cases` their names."""

    title: str
    unit: str
    values: Floats
    cases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """All that one page says.

    total     instances drawn or found; `shown` are the first of them
    facts     what the page is about, as label and text
    lost      what a bank says that was not understood, a sentence each
    tally     how many draws each rule turned away; None for a bank, which does not say
    checks    checks made on all instances drawn, or derived again; None when there were none
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    total: int
    shown: tuple[Shown, ...]
    series: tuple[Series, ...]
    cases: dict[str, int] = field(default_factory=dict)
    lost: tuple[str, ...] = ()
    tally: Tally | None = None
    checks: CheckReport | None = None


# ---------------------------------------------------------------------------- from a family


def from_family(
    family: Family, count: int, seed: int, most: int, progress: Progress | None = None
) -> Proof:
    """`count` instances of `seed` drawn and checked; the first `most` of them are shown.

    Raises as `Generator.generate`. `progress` is called with the instances shown since last time.
    """
    generator = Generator(family)
    report = Report(family)
    renderer = Renderer(family)
    shown: list[Shown] = []
    chunks = []
    for instances in generator.generate(count, seed=seed, report=report):
        chunks.append((instances.rounded, instances.case))
        room = instances.take(slice(0, most - len(shown)))
        evidences = _checked_one_by_one(generator.family, room)
        for item, evidence in zip(renderer.items(room), evidences, strict=True):
            shown.append(Shown(len(shown) + 1, item, evidence))
            if progress is not None:
                progress(1)
    cases = tuple(family.cases[k].name for _, case in chunks for k in case.tolist())
    series = tuple(
        Series(
            f"{unknown.meaning} {symbol(unknown.symbol).plain}".strip(),
            unknown.unit.text,
            np.concatenate([rounded[name] for rounded, _ in chunks]) if chunks else np.zeros(0),
            cases,
        )
        for name, unknown in family.find.items()
    )
    facts = [
        ("Family", f"{family.name} {family.version}".strip()),
        ("Subject", family.subject),
        ("Level", family.level),
        ("Licence", family.licence),
        ("Authors", ", ".join(family.authors)),
        ("Seed", str(seed)),
    ]
    return Proof(
        family.title,
        tuple((label, text) for label, text in facts if text),
        report.instances,
        tuple(shown),
        series,
        report.by_case(),
        tally=report.rules,
        checks=report.checks,
    )


def _checked_one_by_one(family: Family, instances: Instances) -> Iterator[Evidence]:
    checker = Checker(family)
    for row in range(len(instances)):
        report = CheckReport()
        checker.check(instances.take(slice(row, row + 1)), report)
        yield Evidence("Solved and checked when this page was made.", report)


# ---------------------------------------------------------------------------- from a bank


def from_bank(
    path: Path,
    most: int,
    progress: Progress | None = None,
    columns: Mapping[str, str] | None = None,
) -> Proof:
    """The items of the bank at `path`, of anyone's making; the first `most` of them are shown.

    Items whose family is at hand are derived again and compared; of others the page shows what
    the bank holds. `columns` says for a table which column holds what. Raises QbankError when the
    bank cannot be read. `progress` is called with the items read, and then with those derived
    again, since last time.
    """
    shown: list[Item] = []
    lost: list[str] = []
    collected: dict[tuple[str, str], _Collected] = {}
    cases: dict[str, int] = {}
    total = 0
    with open_any_bank(path, columns) as reading:
        items = iter(reading)
        for chunk in iter(lambda: list(islice(items, LARGEST_CHUNK)), []):
            total += len(chunk)
            read = [each.item for each in chunk]
            lost += [str(loss) for each in chunk for loss in each.losses]
            shown += read[: most - len(shown)]
            for item, pool in zip(read, pool_keys(read), strict=True):
                case = item.provenance.case if item.provenance else ""
                cases[case] = cases.get(case, 0) + 1
                _collect(item, pool, case, collected)
            if progress is not None:
                progress(len(chunk))
        lost += [str(loss) for loss in (*reading.losses, *reading.unreadable)]
    if not total and lost:
        raise QbankError(f"nothing of '{path}' can be read", hint=lost[0])
    rederived = Rederived(shown, progress)
    numbered = tuple(
        Shown(number, item, rederived.evidence(item)) for number, item in enumerate(shown, 1)
    )
    series = tuple(
        Series(c.title, c.unit, np.array(c.values, dtype=np.float64), tuple(c.cases))
        for c in collected.values()
        if len(c.values) > 1
    )
    facts = (("Bank", path.name), ("Items", f"{total:,}"))
    checks = rederived.checks if rederived.checks.made else None
    return Proof(path.stem, facts, total, numbered, series, cases, tuple(lost), checks=checks)


@dataclass(slots=True)
class _Collected:
    title: str
    unit: str
    values: list[float] = field(default_factory=list)
    cases: list[str] = field(default_factory=list)


def _collect(
    item: Item, pool: str, case: str, collected: dict[tuple[str, str], _Collected]
) -> None:
    for part in item.parts:
        if isinstance(part, NumberEntry):
            key = (pool, part.identifier)
            if key not in collected:
                title = ": ".join(filter(None, (item.title, inline_text(part.prompt))))
                collected[key] = _Collected(title, part.unit)
            collected[key].values.append(part.key)
            collected[key].cases.append(case)
