"""Faults put into banks, and what checking finds: `python -m tests.bench faults`.

Siblings of the shipped families in every format, as made and in other words, with faults of every
kind in none to a third of the items; `faultbank` makes the banks and knows the truth. Levels 1 to
3 have to find every key that is wrong beyond tolerance and rounding and accuse no good one; level
4 is measured with the families withheld. `FAULTS_FAMILIES` says how many families are used, 20 if
it is not set; 1000 takes all, and some half an hour.
Speeds are items a second of processor time, one core, start-up left out.
"""

from __future__ import annotations

import os
import random
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from qbank.audit.check import check_bank
from qbank.audit.verdict import Audit, Judgement, Level
from qbank.family.library import shipped_families
from tests.bench.faultbank import stems
from tests.bench.faultbank.banks import FORMATS, TABLE, Bank, apart, make_bank, write
from tests.bench.faultbank.offers import EQUAL, TWO
from tests.bench.faultbank.outcome import Outcome, at_of, weigh
from tests.bench.measure import Figure
from tests.bench.outliers import calibration

FAMILIES = 20
SIBLINGS = 50
SHARES = (0.0, 0.02, 0.10, 0.30)
CAUSES = 0.9
SUSPECTED, ACCUSED = 0.80, 0.01
LEVEL_1_SPEED, LEVEL_3_SPEED = 2000.0, 300.0
LARGE = 10_000
NO_ORIGIN = "cartridge-1.3"  # has no place for where an item comes from
UNRELATED = "mean-interval"


@dataclass
class _Desk:
    """A folder to work in, and the families that are used."""

    folder: Path
    families: Sequence[str]
    number: int = 0

    def check(self, bank: Bank, name: str, items: Any = None, **options: Any) -> Audit:
        self.number += 1
        path = write(bank, self.folder / str(self.number), name, items)
        return check_bank(path, **options)


def families() -> list[str]:
    """Names of as many shipped families as the environment says, evenly taken."""
    names = sorted(Path(path).stem for path in shipped_families())
    most = int(os.environ.get("FAULTS_FAMILIES", FAMILIES))
    return names[:: max(1, len(names) // most)][:most]


def figures() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory() as folder:
        desk = _Desk(Path(folder), families())
        yield Figure("faults", "families", len(desk.families), "count")
        yield from _as_made(desk)
        yield from _reworded(desk)
        yield from _withheld(desk)
        yield from _shuffled(desk)
        yield from _large(desk)


def _as_made(desk: _Desk) -> Iterator[Figure]:
    whole = Outcome()
    for name in FORMATS:
        into = Outcome()
        for share in SHARES:
            bank = make_bank(
                desk.families, SIBLINGS, share, bands=name == "jsonl"
            )  # others refuse such bands
            weigh(into, bank, desk.check(bank, name))
        yield from _skipped(f"as made, {name}", into)
        if name == NO_ORIGIN:  # choices among formulas cannot be judged without a family's name
            yield from _counts(f"as made, {name}", into)
            yield Figure("faults", f"as made, {name}: good keys accused", into.accused, "count", 0)
            continue
        yield from _counts(f"level 1, {name}", into)
        _add(whole, into)
    yield from _limits("level 1", whole)


def _reworded(desk: _Desk) -> Iterator[Figure]:
    """Each kind of stem in each format and share once over; levels 2 and 3."""
    names = [*FORMATS, TABLE]
    for level in (3, 2):
        whole, picked = Outcome(), Outcome()
        told: list[tuple[float, bool]] = []
        for at, kind in enumerate(stems.KINDS):
            clean = make_bank(desk.families, SIBLINGS, 0.0, kind)
            into = Outcome()
            options: dict[str, Any] = {}
            if level == 2:
                options["bindings"] = desk.folder / f"{kind}.yaml"
                options["bindings"].write_text(desk.check(clean, "jsonl").binding, "utf-8")
            for k, share in enumerate((*SHARES, 0.30)):
                bank = make_bank(desk.families, SIBLINGS, share, kind) if share else clean
                name = TABLE if k == len(SHARES) else names[(at * len(SHARES) + k) % len(FORMATS)]
                audit = desk.check(bank, name, **options)
                weigh(into, bank, audit)
                weigh(picked, bank, audit, among=bank.choices)
                told += _stated(bank, audit, Level.MATCHED)
            yield from _counts(f"level {level}, stems '{kind}'", into)
            yield from _skipped(f"level {level}, stems '{kind}'", into)
            _add(whole, into)
        yield from _limits(f"level {level}", whole)
        yield from _limits(f"level {level}, choices among numbers", picked)
        for figure in calibration(told, "faults") if level == 3 else ():
            yield replace(figure, figure=f"level 3, {figure.figure}")


def _withheld(desk: _Desk) -> Iterator[Figure]:
    """Level 4: the families are not at hand, and choices stand in items of their own.

    Two right options leave the key right, and a surface tells of the key alone.
    """
    into, picked, whole = Outcome(), Outcome(), Outcome()
    told: list[tuple[float, bool]] = []
    torn = 0
    names = [name for name in desk.families if name != UNRELATED]
    for kind, share in zip(stems.KINDS, SHARES[1:], strict=True):
        bank = apart(make_bank(names, SIBLINGS, share, kind))
        for at, put in bank.faults.items():
            if put.kind in (TWO, EQUAL):
                bank.faults[at] = replace(put, wrong=False)
        audit = desk.check(bank, "jsonl", families=[UNRELATED])
        weigh(into, bank, audit, only_judged=True)
        weigh(picked, bank, audit, only_judged=True, among=bank.choices)
        weigh(whole, bank, audit)
        told += _stated(bank, audit, Level.OUTLIER)
        torn += sum(j.code == "parts-disagree" and _is_wrong(bank, j) for j in audit.judgements)
    yield Figure("faults", "level 4: keys of groups with a surface", into.keys, "count")
    yield Figure("faults", f"level 4: share of all {whole.keys} keys", into.keys / whole.keys,
                 "share")  # fmt: skip
    yield Figure("faults", "level 4: wrong keys found", into.found_share, "share", SUSPECTED,
                 "at least")  # fmt: skip
    yield Figure("faults", "level 4: good keys accused", into.accused_share, "share", ACCUSED)
    yield Figure("faults", f"level 4: of all {whole.wrong} wrong keys found", whole.found_share,
                 "share")  # fmt: skip
    yield Figure("faults", "level 4: wrong keys told as not fitting another part's", torn, "count")
    yield Figure("faults", f"level 4, choices among numbers: found of {picked.wrong} wrong keys",
                 picked.found_share, "share", SUSPECTED, "at least")  # fmt: skip
    yield Figure("faults", "level 4, choices among numbers: good keys accused",
                 picked.accused_share, "share", ACCUSED)  # fmt: skip
    for figure in calibration(told, "faults"):
        yield replace(figure, figure=f"level 4, {figure.figure}")


def _stated(bank: Bank, audit: Audit, level: Level) -> list[tuple[float, bool]]:
    """Confidence of each accusation of a level, and whether it is right."""
    return [
        (j.confidence, _is_wrong(bank, j))
        for j in audit.judgements
        if j.accuses and j.level is level
    ]


def _is_wrong(bank: Bank, judgement: Judgement) -> bool:
    put = bank.faults.get(at_of(judgement))
    return put is not None and put.wrong


def _shuffled(desk: _Desk) -> Iterator[Figure]:
    changed = 0
    for kind in (None, "listed"):
        bank = make_bank(desk.families, 20, 0.10, kind)
        items = list(bank.items)
        random.Random(3).shuffle(items)
        plain, mixed = desk.check(bank, "jsonl"), desk.check(bank, "jsonl", items)
        changed += len(_told(plain) ^ _told(mixed))
    yield Figure("faults", "verdicts that hang on the order of the items", changed, "count", 0)


def _told(audit: Audit) -> set[tuple[str, str, str, str]]:
    return {(j.item, j.part, j.verdict.name, j.expected) for j in audit.judgements}


def _large(desk: _Desk) -> Iterator[Figure]:
    """A clean bank of ten thousand items gives no finding, and how fast that is known."""
    each = -(-LARGE // len(desk.families))
    warm = make_bank(desk.families, 20, 0.0)
    desk.check(warm, "jsonl")
    for kind, level, least in ((None, 1, LEVEL_1_SPEED), ("listed", 3, LEVEL_3_SPEED)):
        bank = make_bank(desk.families, each, 0.0, kind)
        path = write(bank, desk.folder / f"large-{level}", "jsonl")
        start = time.process_time()
        audit = check_bank(path)
        speed = audit.items / (time.process_time() - start)
        findings = sum(j.accuses for j in audit.judgements)
        label = f"level {level}, clean bank of {audit.items} items"
        yield Figure("faults", f"{label}: findings", findings, "count", 0)
        yield Figure("faults", f"{label}: speed", speed, "items/s", least, "at least")


# ---------------------------------------------------------------------------- figures


def _counts(label: str, into: Outcome) -> Iterator[Figure]:
    missed = ", ".join(f"{kind} {count}" for kind, count in into.missed.most_common())
    said = f"{label}: wrong keys missed of {into.wrong}" + (f" ({missed})" if missed else "")
    yield Figure("faults", f"{label}: keys", into.keys, "count")
    yield Figure("faults", said, into.wrong - into.found, "count")


def _skipped(label: str, into: Outcome) -> Iterator[Figure]:
    for why, count in into.skipped.items():
        yield Figure("faults", f"{label}: faults not counted: {why}", count, "count")


def _limits(label: str, whole: Outcome) -> Iterator[Figure]:
    yield Figure("faults", f"{label}: wrong keys put in", whole.wrong, "count")
    yield Figure("faults", f"{label}: wrong keys found", whole.found_share, "share", 1.0,
                 "at least")  # fmt: skip
    yield Figure("faults", f"{label}: good keys accused of {whole.good}", whole.accused, "count", 0)
    yield Figure("faults", f"{label}: keys right by rounding or another constant accused of "
                 f"{whole.harmless}", whole.blamed, "count", 0)  # fmt: skip
    yield Figure("faults", f"{label}: keys judged", whole.judged / max(whole.keys, 1), "share")
    yield Figure("faults", f"{label}: causes named right", whole.named_share, "share", CAUSES,
                 "at least")  # fmt: skip
    among = whole.among / max(whole.causes, 1)
    yield Figure("faults", f"{label}: causes right, further ones included", among, "share")


def _add(whole: Outcome, part: Outcome) -> None:
    for name in (
        "wrong", "found", "good", "accused", "harmless", "blamed", "named", "among", "causes",
        "keys", "judged",
    ):  # fmt: skip
        setattr(whole, name, getattr(whole, name) + getattr(part, name))
    whole.missed.update(part.missed)
    whole.unnamed.update(part.unnamed)
