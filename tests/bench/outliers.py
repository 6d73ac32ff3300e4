"""Suspicions without a family: faults put into siblings of the shipped families, and what is found.

Groups of 50 siblings as arrays: shown givens as columns, keys as displayed. Faults are swapped
digits, a turned sign, factors 10, 2 and 1/2, a sibling's key, a slip's value, and 5 to 20 % off.
A fault counts when it leaves the accepted band. First each part by itself with faults in a share of
its keys; then the parts of the same items together, with one fault in a share of the items. The
confidence stated for all suspicions of the second kind is held against how many are right.
`OUTLIERS_FAMILIES` says how many families are used, all if it is not set.
"""

from __future__ import annotations

import itertools
import math
import os
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from qbank.audit.outliers.judge import judge_outliers, judge_parts
from qbank.audit.question import Floats, Group, Question
from qbank.expressions.number_columns import machine_texts
from qbank.expressions.units import Unit
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Given, Sampled
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.place import Place
from tests.bench.measure import Figure

SIBLINGS = 50
SHARES = (0.02, 0.10, 0.30)
KINDS = ("digits", "sign", "ten", "two", "half", "sibling", "slip", "off")
FOUND, ACCUSED, SLOWEST = 0.80, 0.01, 0.2
BINS = (0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.001)  # of stated confidence
LUCK = 1.64  # standard deviations: so far below its bin a share may fall by accident


@dataclass(slots=True)
class Tally:
    groups: int = 0
    judged: int = 0
    faults: int = 0
    found: int = 0
    good: int = 0
    accused: int = 0
    seconds: float = 0.0
    torn: int = 0
    torn_good: int = 0


def figures() -> Iterator[Figure]:
    slowest = 0.0
    for share in SHARES:
        tally = Tally()
        for group, faulty, name in banks(share):
            taken = judge_into(tally, group, faulty, name)
            slowest = max(slowest, taken)
        label = f"{share:.0%} faults"
        yield Figure("outliers", f"{label}: questions judged", tally.judged / tally.groups, "share")
        found = tally.found / max(tally.faults, 1)
        yield Figure("outliers", f"{label}: faults found", found, "share", FOUND, "at least")
        accused = tally.accused / max(tally.good, 1)
        yield Figure("outliers", f"{label}: good keys accused", accused, "share", ACCUSED)
    told: list[tuple[float, bool]] = []
    for share in SHARES:
        tally = Tally()
        for groups, bad in item_banks(share):
            told += judge_items(tally, groups, bad)
        yield from _together(f"parts together, {share:.0%} faults", tally)
    yield from calibration(told)
    yield Figure("outliers", f"slowest group of {SIBLINGS}", slowest, "s", 5 * SLOWEST)


def _together(label: str, tally: Tally) -> Iterator[Figure]:
    yield Figure("outliers", f"{label}: questions judged", tally.judged / tally.groups, "share")
    yield Figure("outliers", f"{label}: faults found where judged",
                 tally.found / max(tally.faults, 1), "share", FOUND, "at least")  # fmt: skip
    yield Figure("outliers", f"{label}: good keys accused", tally.accused / max(tally.good, 1),
                 "share", ACCUSED)  # fmt: skip
    yield Figure("outliers", f"{label}: further faults told as not fitting together", tally.torn,
                 "count")  # fmt: skip
    yield Figure("outliers", f"{label}: good keys told so with them", tally.torn_good, "count")


def calibration(told: Sequence[tuple[float, bool]], bench: str = "outliers") -> Iterator[Figure]:
    """For each bin of stated confidence how many of the findings are right; not fewer than stated,
    beyond what chance allows."""
    for low, high in itertools.pairwise(BINS):
        here = [right for confidence, right in told if low <= confidence < high]
        if not here:
            continue
        stated = sum(c for c, _ in told if low <= c < high) / len(here)
        least = stated - LUCK * math.sqrt(max(stated * (1 - stated), 0.0) / len(here))
        label = f"stated confidence {stated:.2f} ({low:g} to {min(high, 1):g})"
        said = f"{label}: right of {len(here)} findings"
        yield Figure(bench, said, sum(here) / len(here), "share", round(least, 3), "at least")


def judge_items(
    tally: Tally, groups: Sequence[Group], faulty: Sequence[np.ndarray]
) -> list[tuple[float, bool]]:
    """Judges the parts of the same items; returns confidence and truth of each suspicion."""
    told = []
    for (judgements, how), bad in zip(judge_parts(groups), faulty, strict=True):
        tally.groups += 1
        if not how.startswith("the keys follow"):
            continue
        tally.judged += 1
        hit, torn = np.zeros(len(bad), dtype=bool), np.zeros(len(bad), dtype=bool)
        for judgement in judgements:
            (hit if judgement.accuses else torn)[judgement.number] = True
            if judgement.accuses:
                told.append((judgement.confidence, bool(bad[judgement.number])))
        tally.faults += int(bad.sum())
        tally.found += int((hit & bad).sum())
        tally.good += int((~bad).sum())
        tally.accused += int((hit & ~bad).sum())
        tally.torn += int((torn & bad).sum())
        tally.torn_good += int((torn & ~bad).sum())
    return told


def judge_into(tally: Tally, group: Group, faulty: np.ndarray, name: str = "") -> float:
    start = time.process_time()
    judgements, how = judge_outliers(group)
    taken = time.process_time() - start
    tally.seconds += taken
    tally.groups += 1
    if how.startswith("the keys follow"):
        tally.judged += 1
        named = {j.number for j in judgements}
        hit = np.array([k in named for k in range(len(group))])
        tally.faults += int(faulty.sum())
        tally.found += int((hit & faulty).sum())
        tally.good += int((~faulty).sum())
        tally.accused += int((hit & ~faulty).sum())
    return taken


def used() -> Sequence[Path]:
    """The families that are used, evenly taken."""
    paths = sorted(shipped_families(), key=lambda path: Path(path).stem)
    most = int(os.environ.get("OUTLIERS_FAMILIES", len(paths)))
    return [Path(path) for path in paths[:: max(1, len(paths) // most)][:most]]


def item_banks(share: float, seed: int = 1) -> Iterator[tuple[list[Group], list[np.ndarray]]]:
    """The parts of each family's siblings, with a fault in one part of a share of the items."""
    for path in used():
        family = load_family(path)
        made = next(Generator(family).generate(SIBLINGS, seed=5 + seed))
        unknowns = [name for name in made.rounded if name in made.tolerance]
        keys = {name: made.rounded[name].copy() for name in unknowns}
        g = np.random.default_rng([seed, int(share * 100)])
        for row in g.choice(SIBLINGS, max(1, round(share * SIBLINGS)), replace=False).tolist():
            name = unknowns[int(g.integers(len(unknowns)))]
            kind = KINDS[g.integers(len(KINDS))]
            key = _fault(kind, made, name, row, family.find[name].unit, g)
            if math.isfinite(key):
                keys[name][row] = key
        bands = [made.tolerance[name] for name in unknowns]
        faulty = [
            (keys[n] < low) | (keys[n] > high)
            for n, (low, high) in zip(unknowns, bands, strict=True)
        ]
        yield [group_of(made, name, keys[name]) for name in unknowns], faulty


def banks(share: float, seed: int = 0) -> Iterator[tuple[Group, np.ndarray, str]]:
    """Groups with faults, which rows are faulty beyond their band, and a name."""
    for path in used():
        family = load_family(path)
        instances = next(Generator(family).generate(SIBLINGS, seed=5))
        for unknown in instances.rounded:
            if unknown not in instances.tolerance:
                continue
            generator = np.random.default_rng([seed, int(share * 100), len(unknown)])
            keys, faulty = spoiled(instances, unknown, share, generator)
            yield group_of(instances, unknown, keys), faulty, f"{family.name}:{unknown}"


def spoiled(
    instances: Instances, unknown: str, share: float, generator: np.random.Generator
) -> tuple[Floats, np.ndarray]:
    """Keys in the shown unit with faults, and which leave the band of the true key."""
    keys = instances.rounded[unknown].copy()
    unit = instances.family.find[unknown].unit
    low, high = instances.tolerance[unknown]
    count = max(1, round(share * len(keys)))
    for row in generator.choice(len(keys), count, replace=False):
        kind = KINDS[generator.integers(len(KINDS))]
        keys[row] = _fault(kind, instances, unknown, int(row), unit, generator)
    keys = np.where(np.isfinite(keys), keys, instances.rounded[unknown])
    return keys, (keys < low) | (keys > high)


def _fault(
    kind: str, instances: Instances, unknown: str, row: int, unit: Unit, g: np.random.Generator
) -> float:
    true = float(instances.rounded[unknown][row])
    match kind:
        case "digits":
            digits = f"{abs(true):.2e}"
            swapped = digits[2] + "." + digits[0] + digits[3:]
            return math.copysign(float(swapped), true)
        case "sign":
            return -true
        case "ten":
            return true * (10.0 if g.random() < 0.5 else 0.1)
        case "two":
            return true * 2
        case "half":
            return true / 2
        case "sibling":
            return float(instances.rounded[unknown][(row + 1) % len(instances)])
        case "slip":
            values = [float(unit.from_si(w[unknown][row])) for w in instances.wrong.values()]
            values = [v for v in values if math.isfinite(v)]
            return values[g.integers(len(values))] if values else true * 1.5
        case _:
            return true * (1 + float(g.choice([-1, 1])) * float(g.uniform(0.05, 0.2)))


def group_of(instances: Instances, unknown: str, keys: Floats) -> Group:
    """The group as reading a bank would give it."""
    family = instances.family
    asked = family.find[unknown]
    columns: list[Floats] = []
    units: list[Unit | None] = []
    for given in family.given.values():
        if given.hidden or isinstance(given.source, Sampled):
            continue
        columns.append(np.broadcast_to(instances.values[given.name], (len(keys),)))
        units.append(_unit(given))
    texts = machine_texts(keys, asked.shown)
    low, high = instances.tolerance[unknown]
    half = (high - low) / 2
    questions = tuple(
        Question(
            f"i{k}", unknown, k, Place("bank", k + 1, 1), "", "", (), float(keys[k]), texts[k],
            asked.unit, float(keys[k] - half[k]), float(keys[k] + half[k]),
        )
        for k in range(len(keys))
    )  # fmt: skip
    values = np.column_stack(columns) if columns else np.zeros((len(keys), 0))
    return Group(
        questions, "", values, tuple(units), np.full(values.shape, 3, dtype=np.int64),
        np.asarray(asked.unit.to_si(keys)), asked.unit,
    )  # fmt: skip


def _unit(given: Given) -> Unit | None:
    return given.unit if given.unit.text else None
