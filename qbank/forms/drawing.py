"""From a blueprint to drawn forms: pools of candidates, assembled until the totals agree."""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.errors import DrawError
from qbank.expressions.numbers import round_values
from qbank.forms.assembly import Assembly, CannotFillError
from qbank.forms.blueprint import MOST_FORMS, Blueprint
from qbank.forms.formset import Form, FormItem, FormSet
from qbank.forms.slots import Slot, choose_slots, points_of
from qbank.generation import Generator
from qbank.hardness.features import INDEX_FORMAT, Difficulty, Features
from qbank.instances import Floats, Instances, Integers

POOL_SIZES = (128, 512, 2048, 8192)  # candidates a family, tried one after the other
ALIKE = 4  # candidates that are considered first, for each item that is needed
ATTEMPTS = 4  # with other model items, before the pools grow
UNITS = 10**4  # the index is given to four decimals
PER_ITEM = 8  # candidates at least, for each item that is needed


@dataclass(frozen=True, slots=True)
class _Pool:
    """Candidates of one family: the first instances of the seed, in chunks, and their features."""

    chunks: tuple[Instances, ...]
    features: tuple[Features, ...]
    index: Integers  # the difficulty index in units of its last decimal
    parts: Floats  # (candidates, features): what each feature adds to the index

    def at(self, row: int) -> tuple[Instances, dict[str, float]]:
        """One candidate, and its features."""
        for instances, features in zip(self.chunks, self.features, strict=True):
            if row < len(instances):
                return instances.take(np.array([row])), features.row(row)
            row -= len(instances)
        raise IndexError(row)


class _Candidates:
    """A family, compiled, that makes pools of the size that is asked for."""

    def __init__(self, slot: Slot, seed: int) -> None:
        self._seed = seed
        self._generator = Generator(slot.family)
        self._difficulty = Difficulty(slot.family)
        self.exists = self._generator.count(seed)

    def pool(self, size: int) -> _Pool:
        chunks = tuple(self._generator.generate(min(size, self.exists.number), self._seed))
        features = tuple(self._difficulty(chunk) for chunk in chunks)
        return _Pool(
            chunks,
            features,
            np.rint(np.concatenate([f.index for f in features]) * UNITS).astype(np.int64),
            np.concatenate([f.parts for f in features]),
        )


def draw_forms(blueprint: Blueprint, seed: int = 0, forms: int | None = None) -> FormSet:
    """Draw the forms of a blueprint; `forms` takes the place of the number it says.

    Every form has the same families at the same slots, and no two forms share more items than
    the blueprint allows. The totals of the difficulty index agree within its band. The same
    blueprint, families, seed and number of forms give the same forms.

    Raises FamilyError for a family that cannot be used; DrawError, at the line concerned, where
    no family fits, where there are fewer distinct instances than the forms need, and where the
    totals cannot be brought within the band.
    """
    number = blueprint.forms if forms is None else forms
    if not 1 <= number <= MOST_FORMS:
        raise ValueError(f"expected 1 to {MOST_FORMS} forms, got {number}")
    slots = choose_slots(blueprint, seed)
    names = [slot.family.name for slot in slots]
    candidates = {slot.family.name: _Candidates(slot, seed) for slot in slots}
    if blueprint.shared == 0:
        _ensure_enough(slots, candidates, number)
    best: tuple[Assembly, dict[str, _Pool]] | None = None
    for size in POOL_SIZES:
        wanted = {n: max(size, PER_ITEM * number * k) for n, k in Counter(names).items()}
        pools = {name: candidates[name].pool(wanted[name]) for name in candidates}
        for attempt in range(ATTEMPTS):
            found = _assemble(slots, pools, number, blueprint.shared, f"{seed} {attempt}")
            if best is None or found.spread < best[0].spread:
                best = found, pools
            if best[0].spread <= blueprint.band * UNITS:
                return _form_set(blueprint, seed, slots, *best)
        if all(wanted[name] >= candidates[name].exists.number for name in candidates):
            break  # larger pools would be the same ones
    spread = math.nan if best is None else best[0].spread / UNITS
    raise DrawError(
        f"the totals of the difficulty index lie {spread:.4f} apart between the {number} forms,"
        f" and the band is {blueprint.band:g}",
        place=blueprint.band_place,
        hint="widen `band:`, ask for fewer forms, or name families with more instances",
    )


def _ensure_enough(
    slots: Sequence[Slot], candidates: Mapping[str, _Candidates], forms: int
) -> None:
    per_form = Counter(slot.family.name for slot in slots)
    for slot in slots:
        name = slot.family.name
        needed, exists = forms * per_form[name], candidates[name].exists
        if needed > exists.number:
            sure = "" if exists.exact else " for certain"
            raise DrawError(
                f"{forms} forms need {needed:,} different instances of '{name}', which has"
                f" {exists.number:,}{sure}",
                place=slot.place,
                hint="ask for fewer forms or items, or allow `shared:` items",
            )


def _assemble(
    slots: Sequence[Slot], pools: Mapping[str, _Pool], forms: int, shared: int, lot: str
) -> Assembly:
    names = [slot.family.name for slot in slots]
    models = [_model(pools[name].index, lot, at) for at, name in enumerate(names)]
    near = [
        _near(pools[name].parts, model, ALIKE * forms * names.count(name))
        for name, model in zip(names, models, strict=True)
    ]
    index = {name: pool.index for name, pool in pools.items()}
    assembly = Assembly(index, names, near, forms, shared)
    try:
        assembly.fill([int(index[name][m]) for name, m in zip(names, models, strict=True)])
    except CannotFillError as fault:
        slot = slots[fault.slot]
        raise DrawError(
            f"{forms} forms that share at most {shared} items cannot be filled: the"
            f" {len(pools[slot.family.name].index):,} instances of '{slot.family.name}' run out",
            place=slot.place,
            hint="ask for fewer forms or items, or allow more `shared:` items",
        ) from None
    assembly.exchange()
    return assembly


def _model(index: Integers, lot: str, slot: int) -> int:
    """A candidate from the middle half of the pool by its index, drawn by lot."""
    word = int.from_bytes(hashlib.sha256(f"{lot} {slot}".encode()).digest()[:8])
    order = np.argsort(index, kind="stable")
    middle = order[len(order) // 4 : max(len(order) * 3 // 4, len(order) // 4 + 1)]
    return int(middle[word % len(middle)])


def _near(parts: Floats, model: int, count: int) -> NDArray[np.intp]:
    """The candidates whose features are most like the model's, by what they add to the index.

    `count` of them, and those that are as near as the last.
    """
    distance = round_values(np.abs(parts - parts[model]).sum(axis=1), INDEX_FORMAT)
    if count >= len(distance):
        return np.arange(len(distance))
    return np.flatnonzero(distance <= np.partition(distance, count)[count])


def _form_set(
    blueprint: Blueprint,
    seed: int,
    slots: Sequence[Slot],
    assembly: Assembly,
    pools: Mapping[str, _Pool],
) -> FormSet:
    forms = []
    for number, row in enumerate(assembly.choice.tolist(), start=1):
        items = []
        for slot, candidate in zip(slots, row, strict=True):
            pool = pools[slot.family.name]
            instance, features = pool.at(candidate)
            index = float(pool.index[candidate]) / UNITS
            items.append(FormItem(instance, points_of(slot.family), index, features))
        forms.append(Form(number, tuple(items)))
    return FormSet(blueprint.title, seed, blueprint.band, blueprint.shared, tuple(forms))
