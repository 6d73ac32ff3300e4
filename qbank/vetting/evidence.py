"""What the judgement of a family rests on: draws before the rules sift them, and instances.

Everything is drawn once and shared by all checks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from qbank.family.model import ChooseValue, Enter, Family
from qbank.generation import Generator, Report
from qbank.instances import Floats, Instances, Integers
from qbank.place import Place
from qbank.sampling.permutation import Bijection
from qbank.sampling.points import Stretch
from qbank.sampling.streams import Key
from qbank.sampling.tally import Ruling
from qbank.solving.cases import decide_cases

Mask = NDArray[np.bool_]
Scalar = TypeVar("Scalar", bound=np.generic)

_OF_ALL_CHUNKS = ("family", "seed", "typed")

DRAWS = 2**14  # candidates: a rule that turns away 1 in 2,000 is all but certain to be seen to


@dataclass(frozen=True, slots=True)
class Draws:
    """Candidates as they are drawn, before any rule sifts them; arrays are (n,).

    family   whose they are
    values   given, let, unknown -> SI values; unknowns are NaN where the laws gave none
    case     position in `family.cases`; 0 where not exactly one case holds
    solved   exactly one case holds and the laws gave one finite solution
    refused  ruling -> where it is not met, each looked at on its own
    whole    whether these are all points of the family
    """

    family: Family
    values: Mapping[str, Floats]
    case: Integers
    solved: Mask
    refused: Mapping[Ruling, Mask]
    whole: bool

    def __len__(self) -> int:
        return len(self.case)

    def refused_at(self, place: Place) -> Mask:
        """Where the author's ruling at a place is not met."""
        return next(
            mask for ruling, mask in self.refused.items() if ruling.author and ruling.place == place
        )


def draw(generator: Generator, seed: int) -> Draws:
    """The first `DRAWS` points of a seed, or all there are where the family has fewer."""
    family, sampler = generator.family, generator.sampler
    key = Key.of(family.draw_key, f"vetting {seed}")
    bijection = Bijection(key, sampler.points.size)
    count = min(DRAWS, bijection.size)
    positions = bijection(np.arange(count))
    candidates = sampler.points.candidates(key, positions, [Stretch(0, 0, count)])
    with np.errstate(all="ignore"):
        verdicts = sampler.judge.verdicts(candidates)
    rulings = sampler.judge.rulings
    refused = {rulings[at]: ~mask for at, mask in verdicts}
    _, holding = decide_cases(family)(candidates.values, len(candidates))
    answers = [np.isfinite(candidates.values[name]) for name in family.find]
    solved = (holding == 1) & np.logical_and.reduce(answers)
    whole = count == bijection.size and not sampler.points.random
    return Draws(family, candidates.values, candidates.case, solved, refused, whole)


def instances(generator: Generator, seed: int, sample: int) -> tuple[Instances, Report]:
    """Up to `sample` checked instances of a seed, and the report on them.

    Raises DrawError when the rules can hardly be met, CheckFailed or FamilyError for a check that
    does not hold.
    """
    report = Report(generator.family)
    count = min(sample, generator.count(seed).number)
    return joined(list(generator.generate(count, seed, report=report))), report


def joined(chunks: Sequence[Instances]) -> Instances:
    """The instances of all chunks in turn; at least one chunk."""
    first = chunks[0]
    if len(chunks) == 1:
        return first

    columns = [field.name for field in fields(first) if field.name not in _OF_ALL_CHUNKS]
    return replace(
        first,
        **{name: _joined([getattr(chunk, name) for chunk in chunks]) for name in columns},
    )


def _joined(parts: Sequence[Any]) -> Any:
    first = parts[0]
    if isinstance(first, Mapping):
        return {name: _joined([part[name] for part in parts]) for name in first}
    if isinstance(first, tuple):
        return tuple(_joined(list(column)) for column in zip(*parts, strict=True))
    return np.concatenate(parts)


@dataclass(frozen=True, slots=True)
class Evidence:
    """A family that can be drawn, with its instances."""

    generator: Generator
    instances: Instances

    @property
    def family(self) -> Family:
        """The family judged."""
        return self.generator.family


# ---------------------------------------------------------------------------- shared words


def asked(family: Family) -> list[str]:
    """The unknowns whose value is asked for, once each, in the order of the parts."""
    parts = (part for part in family.ask if isinstance(part, Enter | ChooseValue))
    return list(dict.fromkeys(part.quantity for part in parts))


def share(mask: Mask) -> float:
    """The share of True, 0 where there is nothing."""
    return float(np.count_nonzero(mask)) / mask.size if mask.size else 0.0


def percent(part: float) -> str:
    """A share for people; never called nothing or everything unless it is.

    >>> percent(0.25), percent(0.00001), percent(1.0)
    ('25 %', '0.01 %', '100 %')
    """
    if part in {0.0, 1.0}:
        return f"{100 * part:.0f} %"
    value = min(max(100 * part, 0.01), 99.99)
    return f"{value:.2g} %" if value < 10 else f"{value:.4g} %"


def listed(names: Iterable[str]) -> str:
    """Such as "a, b and c"."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def at_point(family: Family, values: Mapping[str, Any], row: int) -> str:
    """The givens of one draw that are single numbers, as shown: "m_a = 2 kg, r = 5 cm"."""
    said = []
    for name, given in family.given.items():
        column = np.asarray(values[name])
        if column.ndim == 1:
            shown = float(given.unit.from_si(column[row : row + 1])[0])
            said.append(f"{name} = {shown:.6g} {given.unit.text}".rstrip())
    return ", ".join(said)
