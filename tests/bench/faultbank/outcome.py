"""An audit held against the truth of its bank."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Container
from dataclasses import dataclass, field

from qbank.audit.verdict import Audit, Judgement, Verdict
from tests.bench.faultbank.banks import At, Bank, Put
from tests.bench.faultbank.faults import ALIKE

_BANDS = ("band-accepts-slip", "band-rejects-answer")
_SURFACE = "the keys follow"


@dataclass(slots=True)
class Outcome:
    """Counts over one or more banks.

    wrong, found     keys that are wrong beyond tolerance and rounding, and those accused
    good, accused    keys nothing was done to, and those accused
    harmless, blamed keys that were changed within tolerance, and those accused
    named            found ones whose cause is the true one, or gives the same number
    among            the same, where further causes that were told count too
    keys, judged     all keys, and those that any level judged
    skipped          faults that are not counted, by why: the format has no place for them
    """

    wrong: int = 0
    found: int = 0
    good: int = 0
    accused: int = 0
    harmless: int = 0
    blamed: int = 0
    named: int = 0
    among: int = 0
    causes: int = 0
    keys: int = 0
    judged: int = 0
    missed: Counter[str] = field(default_factory=Counter)
    unnamed: Counter[str] = field(default_factory=Counter)
    skipped: Counter[str] = field(default_factory=Counter)
    false: list[Judgement] = field(default_factory=list)
    lost: list[tuple[str, Judgement | None]] = field(default_factory=list)
    astray: list[tuple[Put, Judgement]] = field(default_factory=list)

    @property
    def found_share(self) -> float:
        return self.found / self.wrong if self.wrong else 1.0

    @property
    def accused_share(self) -> float:
        return self.accused / self.good if self.good else 0.0

    @property
    def named_share(self) -> float:
        return self.named / self.causes if self.causes else 1.0


def at_of(judgement: Judgement) -> At:
    """Item and number of the part, where the format has kept parts or made items of them."""
    number = judgement.part.removeprefix("R")
    if judgement.part.startswith("R") and number.isdigit():
        return judgement.item, int(number)
    item, _, part = judgement.item.rpartition("_")
    return (item, int(part)) if part.isdigit() and item else (judgement.item, 1)


def weigh(
    into: Outcome,
    bank: Bank,
    audit: Audit,
    *,
    only_judged: bool = False,
    among: Container[At] | None = None,
) -> Outcome:
    """Adds an audit. With `only_judged`, keys of groups that no surface was fitted to are left
    out, which is how suspicions are counted; with `among`, keys that are not among these."""
    by_at: dict[At, list[Judgement]] = {}
    for judgement in audit.judgements:
        by_at.setdefault(at_of(judgement), []).append(judgement)
    seen = {
        bank.groups.get(at, "")
        for at, found in by_at.items()
        if any(_SURFACE in one.how.lower() for one in found)
    }
    for at, group in bank.groups.items():
        if (among is not None and at not in among) or (only_judged and group not in seen):
            continue
        found, put = by_at.get(at, []), bank.faults.get(at)
        if all(one.code == "no-key-to-solve" for one in found):
            if put is not None:  # an essay, to which a number may fall back, keeps no key
                into.skipped["in an essay, which keeps no key" if found else "no such part"] += 1
            continue
        hits = [one for one in found if one.accuses]
        if put is not None:  # of a key that is right as it is written, the band is told
            hits += [one for one in found if one.code in _BANDS]
        into.keys += 1
        into.judged += any(one.verdict is not Verdict.UNCHECKED for one in found)
        if put is None:
            into.good += 1
            into.accused += bool(hits)
            into.false += hits[:1]
        elif not put.wrong:
            into.harmless += 1
            into.blamed += bool(hits)
        else:
            into.wrong += 1
            into.found += bool(hits)
            if not hits:
                into.missed[put.kind] += 1
                into.lost.append((f"{at} {group} {put}", found[0]))
            elif put.codes:
                _weigh_cause(into, put, hits)
    return into


def _weigh_cause(into: Outcome, put: Put, hits: list[Judgement]) -> None:
    into.causes += 1
    first = any(_is(one.code, math.nan, put) or _named(one, put) for one in hits)
    among = first or any(_is(c.code, c.value, put) for one in hits for c in one.others)
    into.named += first
    into.among += among
    if not first:
        into.unnamed[put.kind] += 1
        into.astray.append((put, hits[0]))


def _named(judgement: Judgement, put: Put) -> bool:
    cause = judgement.cause
    if cause is None:
        return "unexplained" in put.codes
    return _is(cause.code, cause.value, put)


def _is(code: str, value: float, put: Put) -> bool:
    return code in put.codes or math.isclose(value, put.value, rel_tol=ALIKE)
