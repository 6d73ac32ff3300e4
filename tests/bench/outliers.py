"""Suspicions without a family: faults put into siblings of the shipped families, and what is found.

Groups of 50 siblings as arrays: shown givens as columns, keys as displayed. Faults are swapped
digits, a turned sign, factors 10, 2 and 1/2, a sibling's key, a slip's value, and 5 to 20 % off.
A fault counts when it leaves the accepted band.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qbank.audit.outliers.judge import judge_outliers
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


@dataclass(slots=True)
class Tally:
    groups: int = 0
    judged: int = 0
    faults: int = 0
    found: int = 0
    good: int = 0
    accused: int = 0
    seconds: float = 0.0


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
    yield Figure("outliers", f"slowest group of {SIBLINGS}", slowest, "s", 5 * SLOWEST)


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


def banks(share: float, seed: int = 0) -> Iterator[tuple[Group, np.ndarray, str]]:
    """Groups with faults, which rows are faulty beyond their band, and a name."""
    for path in shipped_families():
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
