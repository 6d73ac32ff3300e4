"""A group of siblings as plain arrays, cleaned: rows with a key, columns that vary."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from qbank.audit.question import Floats, Group, Question
from qbank.expressions.units import DIMENSIONLESS, Dimension, Unit

_NUMBER = re.compile(
    r"[-+−]?(\d{1,40})(?:[.,](\d{0,40}))?(?:\s{0,2}(?:[eE]|[×x·*]\s{0,2}10\^?)\(?([-+−]?\d{1,3}))?"
)
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
LEAST_ROUNDING = 1e-9  # of the key: below this a double's own error is near


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """The keys of another part of the same items, as one more number of each sibling.

    values (n,): SI where `unit` is known, NaN where a sibling has none; `half` (n,) is half a unit
    in their last place; `label` names the part
    """

    label: str
    values: Floats
    half: Floats
    unit: Unit | None


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """n siblings that have a key and all numbers.

    rows       (n,): their positions in the group
    x          (n, k): the columns that vary, and `columns` their positions in the group
    labels     of those columns, for people: the letter a stem gives them, or their place
    dimensions of those columns; `angles` tells which are angles; None where no unit is known
    constants  dimensions of the columns that do not vary
    y          (n,): keys; `half` (n,) is half a unit in their last place; `band` (n, 2) the
               accepted values, NaN where none is stated; all SI over `size`
    noise      (n, k): half a unit in the last place of answers of other parts; 0 for numbers of
               the stem, which are what they are
    size       of the keys; columns of `x`, too, are over `sizes` of theirs, 1 for angles
    dimension  of the keys; None where their unit is not known
    """

    rows: NDArray[np.int64]
    columns: tuple[int, ...]
    x: Floats
    labels: tuple[str, ...]
    dimensions: tuple[Dimension, ...]
    angles: tuple[bool, ...]
    constants: tuple[Dimension, ...]
    y: Floats
    half: Floats
    band: Floats
    noise: Floats
    dimension: Dimension | None
    size: float
    sizes: tuple[float, ...]

    def __len__(self) -> int:
        return len(self.y)

    def rounded_by(self, extra: Floats) -> Sample:
        """The same with keys that may be off by so much more, (n,), for what they rest on is
        rounded too."""
        with np.errstate(invalid="ignore"):
            more = np.where(np.isfinite(extra), extra, 0.0)
        return replace(self, half=np.hypot(self.half, more)) if more.any() else self

    def generator(self) -> np.random.Generator:
        """Draws that depend on the content alone."""
        digest = hashlib.sha256(self.x.tobytes() + self.y.tobytes()).digest()
        return np.random.default_rng(int.from_bytes(digest[:8], "big"))


def sample_of(group: Group, others: Sequence[Answers] = ()) -> Sample:
    """The siblings that can be compared; columns lacking in more than a tenth are left out.

    The keys of `others` are further columns. Rows stand by their numbers, so that the order of a
    bank makes no difference.
    """
    own = np.asarray(group.values, dtype=np.float64).reshape(len(group), -1)
    values = np.column_stack([own, *(other.values for other in others)])
    units = (*group.units, *(other.unit for other in others))
    names = [_label(group, j) for j in range(own.shape[1])] + [o.label for o in others]
    keys = np.asarray(group.keys, dtype=np.float64)
    known = np.isfinite(values)
    kept = [j for j in range(values.shape[1]) if known[:, j].mean() >= 0.9]
    rows = np.flatnonzero(np.isfinite(keys) & known[:, kept].all(axis=1))
    order = np.lexsort(np.column_stack([keys[rows], values[rows][:, kept]]).T)
    rows = rows[order]
    varying = [j for j in kept if _varies(values[rows, j])]
    alike = _distinct(values[rows], varying)
    constant = [j for j in kept if j not in varying]
    questions = [group.questions[i] for i in rows]
    y = keys[rows]
    half = np.array([half_place(q) for q in questions]) if questions else np.zeros(0)
    size = _size(y)
    y = y / size
    half = half / size
    half = np.maximum(np.where(np.isfinite(half), half, 0.0), LEAST_ROUNDING * np.abs(y))
    halves = np.zeros_like(values)
    for j, other in enumerate(others, own.shape[1]):
        halves[:, j] = other.half
    angles = tuple(_angle(units[j]) for j in alike)
    sizes = [1.0 if a else _size(values[rows, j]) for j, a in zip(alike, angles, strict=True)]
    scale = np.array(sizes).reshape(1, -1)
    return Sample(
        rows=rows.astype(np.int64),
        columns=tuple(alike),
        x=values[rows][:, alike] / scale,
        labels=tuple(names[j] for j in alike),
        dimensions=tuple(_dimension(units[j]) for j in alike),
        angles=angles,
        constants=tuple(d for j in constant if (d := _dimension(units[j])) != DIMENSIONLESS),
        y=y,
        half=half,
        band=np.array([band_of(q) for q in questions]).reshape(-1, 2) / size,
        noise=halves[rows][:, alike] / scale,
        dimension=None if group.key_unit is None else group.key_unit.dimension,
        size=size,
        sizes=tuple(sizes),
    )


def half_place(question: Question) -> float:
    """Half a unit in the last written place of the key, in SI; 0 where it has no number.

    Zeros at the end of a whole number may be written for the place alone; they do not count.
    """
    match = _NUMBER.search(question.key_text)
    if match is None:
        return 0.0
    whole, decimals, exponent = match[1], match[2] or "", match[3] or "0"
    place = -len(decimals)
    if not decimals and len(whole) > 1:
        place = min(len(whole) - len(whole.rstrip("0")), len(whole) - 1)
    power = place + int(exponent.replace("−", "-"))
    factor = 1.0 if question.unit is None else question.unit.factor
    return 0.5 * 10.0 ** max(-300, min(300, power)) * factor


def band_of(question: Question) -> tuple[float, float]:
    """The accepted band in SI; NaN where none is stated."""
    low, high = question.low, question.high
    if question.unit is not None:
        low, high = question.unit.to_si(low), question.unit.to_si(high)
    return low, high


def _size(values: Floats) -> float:
    """A power of two near the middle size of the values, so that no product runs over."""
    sizes = np.abs(values[values != 0])
    if not len(sizes):
        return 1.0
    return 2.0 ** round(float(np.median(np.log2(sizes))))


def _label(group: Group, column: int) -> str:
    quantities = group.questions[0].quantities
    if len(quantities) == group.values.shape[1] and quantities[column].symbol:
        return quantities[column].symbol
    return f"[{column + 1}]"


def _varies(column: Floats) -> bool:
    return len(column) > 0 and bool(np.ptp(column) > 1e-9 * np.abs(column).max())


def _distinct(values: Floats, columns: list[int]) -> list[int]:
    """The columns without those that repeat another, up to a factor."""
    kept: list[int] = []
    for j in columns:
        column = values[:, j]
        if not any(_proportional(column, values[:, i]) for i in kept):
            kept.append(j)
    return kept


def _proportional(one: Floats, other: Floats) -> bool:
    if not other.any():
        return False
    one, other = one / np.abs(one).max(), other / np.abs(other).max()
    factor = float(one @ other) / float(other @ other)
    return bool(np.abs(one - factor * other).max() <= 1e-9)


def _dimension(unit: Unit | None) -> Dimension:
    return DIMENSIONLESS if unit is None else unit.dimension


def _angle(unit: Unit | None) -> bool:
    return unit is not None and unit.text in ("°", "rad", "mrad", "′", "″")


def product_text(factors: Iterable[tuple[str, Fraction | int]]) -> str:
    """A product of powers for people; "[2]" is the second number of the stem.

    >>> product_text([("m", 1), ("v", 2), ("[3]", -1)])
    'm·v²/[3]'
    """
    above: list[str] = []
    below: list[str] = []
    for label, exponent in factors:
        size = abs(Fraction(exponent))
        raised = str(size).translate(_RAISED) if size.denominator == 1 else f"^({size})"
        text = label + ("" if size == 1 else raised)
        (above if exponent > 0 else below).append(text)
    top = "·".join(above) or ("1" if below else "")
    if not below:
        return top
    return f"{top}/{below[0]}" if len(below) == 1 else f"{top}/({'·'.join(below)})"
