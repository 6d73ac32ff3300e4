"""The features that make an instance laborious, for whole arrays of instances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from qbank.expressions.numbers import NumberFormat, decimal_parts, round_values
from qbank.family.model import Family, Given, Listed, Sampled, Unknown
from qbank.hardness.margins import Margins
from qbank.hardness.path import Path
from qbank.hardness.weights import WEIGHTS
from qbank.instances import Floats, Instances, Integers

FEW_FIGURES = 2  # an answer of at most so many figures, zeros at its end aside, is round
INDEX_FORMAT = NumberFormat(decimals=4)  # so that no machine's last bit decides between items


@dataclass(frozen=True, slots=True)
class Features:
    """What makes each of n instances laborious; every array is (n,) float64.

    steps          steps from the data to the answers: intermediate quantities, deciding which way
                   it goes, laws solved alone or together, roots to pick (see `Path`)
    figures        significant figures of all shown data, zeros at their ends not counted
    conversions    shown data and answers whose unit is not a coherent SI unit; angles in degrees
                   are not counted, since calculators take them
    negatives      different negative values met on the way
    decades        |log10| of the shown number, averaged over shown data and answers
    closeness      1 minus the relative distance from the nearest boundary between cases: 0 where
                   the decision is plain or there is none, 1 at balance
    round_answers  share of the answers that are round: at most two figures once zeros at the end
                   are dropped, fewer than are shown
    """

    steps: Floats
    figures: Floats
    conversions: Floats
    negatives: Floats
    decades: Floats
    closeness: Floats
    round_answers: Floats

    def __len__(self) -> int:
        return len(self.steps)

    @property
    def index(self) -> Floats:
        """The difficulty index (n,), in equations, to four decimals.

        The sum of the features times the weights in `WEIGHTS`, which give their reasons. It is a
        judgement made before any student has seen the item, not a measured difficulty.
        """
        return round_values(self.parts.sum(axis=1), INDEX_FORMAT)

    @property
    def parts(self) -> Floats:
        """What each feature adds to the index, (n, features), in the order of `WEIGHTS`."""
        return np.stack([w.per_unit * self.of(w.feature) for w in WEIGHTS], axis=1)

    def of(self, name: str) -> Floats:
        """One feature by its name, (n,)."""
        array: Floats = getattr(self, name)
        return array

    def row(self, row: int) -> dict[str, float]:
        """The features of one instance as plain numbers, to four decimals."""
        return {
            weight.feature: float(round_values(self.of(weight.feature)[[row]], INDEX_FORMAT)[0])
            for weight in WEIGHTS
        }


class Difficulty:
    """A family's paths and boundaries, compiled; makes the features of its instances.

    >>> import qbank
    >>> family = qbank.load_family(qbank.find_family("stepped-drum"))
    >>> Difficulty(family)(qbank.instance(family, seed=0, k=3)).steps.tolist()
    [8.0]
    """

    def __init__(self, family: Family) -> None:
        self.family = family
        self._paths = [Path(family, case) for case in family.cases]
        self._margins = Margins(family)
        self._shown = [given for given in family.given.values() if not given.hidden]
        quantities: list[Given | Unknown] = [*self._shown, *family.find.values()]
        self._conversions = sum(map(_is_converted, quantities))

    def __call__(self, instances: Instances) -> Features:
        """The features of each row. Raises ValueError for instances of other content."""
        if instances.family.digest != self.family.digest:
            raise ValueError(
                f"expected instances of {self.family.name} as it was compiled, "
                f"got those of {instances.family.name} with other content"
            )
        n, case = len(instances), instances.case
        steps = np.array([path.steps for path in self._paths], dtype=np.float64)
        negatives = np.zeros(n)
        for position, path in enumerate(self._paths):
            rows = np.flatnonzero(case == position)
            if len(rows):
                values = {name: array[rows] for name, array in instances.values.items()}
                negatives[rows] = path.negatives(values, len(rows))
        figures = sum((_data_figures(given, instances) for given in self._shown), np.zeros(n))
        return Features(
            steps=steps[case],
            figures=figures,
            conversions=np.full(n, float(self._conversions)),
            negatives=negatives,
            decades=self._decades(instances),
            closeness=1.0 - self._margins(instances.values, case),
            round_answers=self._round_answers(instances),
        )

    def _decades(self, instances: Instances) -> Floats:
        sizes = [_away_from_one(given, instances) for given in self._shown]
        sizes += [_decades_of(instances.rounded[name]) for name in self.family.find]
        return _mean(sizes)

    def _round_answers(self, instances: Instances) -> Floats:
        return _mean([_is_round(unknown, instances) for unknown in self.family.find.values()])


def difficulty(instances: Instances) -> Features:
    """The features of instances, and with them their difficulty index; see `Features`."""
    return Difficulty(instances.family)(instances)


def _mean(arrays: Sequence[Floats]) -> Floats:
    average: Floats = np.mean(arrays, axis=0)
    return average


def _is_converted(quantity: Given | Unknown) -> bool:
    unit = quantity.unit
    return (unit.factor != 1.0 or unit.offset != 0.0) and unit.text != "°"


def _data_figures(given: Given, instances: Instances) -> Floats:
    """The figures of one given, of all its values where it is a data list, (n,)."""
    if given.name in instances.typed:
        texts = instances.typed[given.name].split(",")
        return np.array([float(sum(map(_typed_figures, texts)))])
    mantissas = instances.mantissas[given.name]
    if isinstance(given.source, Listed):
        mantissas = np.array(given.source.mantissas)[mantissas]
    figures = _figures(mantissas)
    if isinstance(given.source, Sampled):
        used = np.arange(mantissas.shape[1]) < instances.sizes[given.name][:, None]
        figures = np.where(used, figures, 0).sum(axis=1)
    return figures.astype(np.float64)


def _typed_figures(text: str) -> int:
    digits = "".join(map(str, Decimal(text.strip()).as_tuple().digits))
    return max(1, len(digits.strip("0")))


def _figures(mantissas: Integers) -> Integers:
    """How many figures integers have, zeros at the end not counted; 1 for zero."""
    left = np.abs(mantissas)
    while (even := (left % 10 == 0) & (left > 0)).any():
        left = np.where(even, left // 10, left)
    return _digits(left)


def _digits(integers: Integers) -> Integers:
    powers = 10 ** np.arange(1, 19, dtype=np.int64)
    return np.asarray(np.searchsorted(powers, integers, side="right") + 1, dtype=np.int64)


def _away_from_one(given: Given, instances: Instances) -> Floats:
    shown = _decades_of(given.unit.from_si(instances.values[given.name]))
    if shown.ndim == 1:
        return shown
    average: Floats = np.divide(np.nansum(shown, axis=1), instances.sizes[given.name])
    return average


def _decades_of(shown: Floats) -> Floats:
    """|log10| of the numbers as shown; 0 for zero."""
    size = np.abs(shown)
    powers: Floats = np.abs(np.log10(size, out=np.zeros_like(size), where=size != 0))
    return powers


def _is_round(unknown: Unknown, instances: Instances) -> Floats:
    mantissas: Integers = np.abs(decimal_parts(instances.rounded[unknown.name], unknown.shown)[0])
    figures = _figures(mantissas)
    fewer = (figures < _digits(mantissas)) | (mantissas == 0)
    return np.where((figures <= FEW_FIGURES) & fewer, 1.0, 0.0)
