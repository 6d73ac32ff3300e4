"""The keys a bank states as arrays, and the data they are judged with."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from qbank.audit.question import Question
from qbank.audit.resolving import Resolved, Resolver
from qbank.expressions.units import Unit

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Mask = NDArray[np.bool_]

LAST_BITS = 1e-9  # relative, and of half a unit of the last digit: computed numbers are this sure
_LEAST_FIGURES = 2  # that count in a whole number, however many zeros it ends with
_MOST_FIGURES = 15  # of a double
_SIBLINGS = 5  # keys that show with how many figures a bank writes
_NUMBER = re.compile(
    r"(?P<whole>\d{1,40})?(?:[.,](?P<part>\d{1,40}))?"
    r"(?:\s?(?:[eE]|[×x·*]\s?10\s?\^?)\(?(?P<power>[-+−⁻]?[\d⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3})\)?)?"
)
_PLAIN = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻−", "0123456789--")


def written_places(text: str, value: float) -> tuple[int, int]:
    """Exponents of ten of the last digit written and of the last that surely counts.

    They differ for a whole number that ends with zeros, which may only hold the place. Where no
    number is found in the text, the digits of the shortest decimal of `value` count.

    >>> written_places("15.0 N", 15.0), written_places("1570", 1570.0)
    ((-1, -1), (0, 1))
    """
    text = text.replace("\u202f", "").replace("\u00a0", " ")
    for candidate in (text, repr(abs(value))):
        found = next((m for m in _NUMBER.finditer(candidate) if m["whole"] or m["part"]), None)
        if found is None:
            continue
        part = found["part"] or ""
        power = int((found["power"] or "0").translate(_PLAIN))
        read = float(f"{found['whole'] or 0}.{part or 0}e{power}")
        if candidate is text and abs(read - abs(value)) > 1e-6 * abs(value):
            continue  # a comma between thousands, or another number than the key
        digits = ((found["whole"] or "") + part).lstrip("0")
        if candidate is not text and part == "0":  # repr writes 15.0 for 15
            part, digits = "", digits[:-1]
        place = power - len(part)
        surplus = len(digits) - _MOST_FIGURES
        place += max(surplus, 0)
        zeros = 0 if part else len(digits) - len(digits.rstrip("0"))
        return place, place + max(min(zeros, len(digits) - _LEAST_FIGURES), 0)
    return -_MOST_FIGURES, -_MOST_FIGURES


@dataclass(frozen=True, slots=True, eq=False)
class Keys:
    """Stated keys in their own units; arrays (n,).

    place  exponent of ten of the last digit written; `loose` that of the last that surely counts
    """

    value: Floats
    place: Integers
    loose: Integers

    @classmethod
    def of(cls, questions: Sequence[Question]) -> Keys:
        places = [written_places(q.key_text, q.key) for q in questions]
        table = np.array(places, dtype=np.int64).reshape(-1, 2)
        keys = cls(np.array([q.key for q in questions], dtype=np.float64), table[:, 0], table[:, 1])
        return keys.like_siblings() if len(keys.value) >= _SIBLINGS else keys

    def like_siblings(self) -> Keys:
        """Zeros at the end of a whole number count as far as most siblings have figures: 210 among
        keys such as 198 and 223 has three."""
        usual = int(np.median(self.figures))
        zeros = np.minimum(self.written, usual) - self.figures
        return replace(self, loose=self.loose - np.maximum(zeros, 0))

    def take(self, rows: Mask | Integers) -> Keys:
        return Keys(self.value[rows], self.place[rows], self.loose[rows])

    @property
    def unit(self) -> Floats:
        """One unit of the last digit written, (n,)."""
        return np.power(10.0, self.place)

    @property
    def figures(self) -> Integers:
        """Significant figures that surely count, (n,); 1 for zero."""
        return self._count(self.loose)

    @property
    def written(self) -> Integers:
        """Significant figures as written, (n,)."""
        return self._count(self.place)

    def _count(self, place: Integers) -> Integers:
        size = np.abs(self.value)
        with np.errstate(all="ignore"):
            top = np.floor(np.log10(size) + 1e-12)
            count = np.where((size > 0) & np.isfinite(top), top - place + 1, 1.0)
        return np.maximum(count, 1).astype(np.int64)

    def matches(self, values: Floats) -> Mask:
        """Where a value, rounded, is the key to every digit written, (n,) or (k, n)."""
        return self._within(values, self.place) | self._within(values, self.loose)

    def _within(self, values: Floats, place: Integers) -> Mask:
        unit = np.power(10.0, place)
        room = 0.5 * unit * (1.0 + LAST_BITS) + LAST_BITS * np.abs(self.value)
        with np.errstate(invalid="ignore"):
            return np.asarray(np.abs(values - self.value) <= room)

    def cut(self, values: Floats) -> Mask:
        """Where the key is the value with its further digits cut off, (n,)."""
        unit, size = self.unit, np.abs(values)
        with np.errstate(invalid="ignore"):
            down = np.floor(size / unit * (1.0 + LAST_BITS)) * unit
            return np.asarray(np.abs(np.copysign(down, values) - self.value) <= 1e-6 * unit)


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another number, as an idea of how a key came about.

    values   (n,), in the unit of the key; NaN where it does not apply
    prior    how plausible, compared with others; only the order matters
    figures  the fewest figures of a key for which a match means anything
    says     a sentence for a row
    """

    code: str
    values: Floats
    prior: float
    says: Callable[[int], str]
    figures: int = 1


def told(sentence: str) -> Callable[[int], str]:
    """The same sentence for every row."""
    return lambda _row: sentence


@dataclass(eq=False)
class Work:
    """Questions of one family and unknown, n rows.

    values   givens, SI, (n,); lists (n, m)
    stated   givens whose value the stem states
    answer   recomputed, in the unit of each key, (n,)
    whole    the questions this is a part of, and at which of its `rows`; None for all
    """

    resolver: Resolver
    unknown: str
    values: Mapping[str, Floats]
    stated: frozenset[str]
    questions: Sequence[Question]
    keys: Keys
    resolved: Resolved
    whole: Work | None = None
    rows: Integers | None = None

    def __len__(self) -> int:
        return len(self.questions)

    @classmethod
    def of(
        cls,
        resolver: Resolver,
        unknown: str,
        values: Mapping[str, Floats],
        questions: Sequence[Question],
        stated: frozenset[str] | None = None,
    ) -> Work:
        n = len(questions)
        resolved = resolver.solve(values, n)
        whole = {
            name: np.broadcast_to(array, (n,)) if np.ndim(array) == 0 else np.asarray(array)
            for name, array in values.items()
        }
        known = frozenset(values) if stated is None else stated
        return cls(resolver, unknown, whole, known, questions, Keys.of(questions), resolved)

    def take(self, rows: Integers) -> Work:
        """Some rows, in the order given."""
        old = self.resolved
        part = Resolved(
            old.status[rows],
            old.case[rows],
            {name: array[rows] for name, array in old.values.items()},
            {name: array[rows] for name, array in old.answers.items()},
        )
        return Work(
            self.resolver,
            self.unknown,
            {name: array[rows] for name, array in self.values.items()},
            self.stated,
            [self.questions[row] for row in rows.tolist()],
            self.keys.take(rows),
            part,
            self if self.whole is None else self.whole,
            rows if self.rows is None else self.rows[rows],
        )

    @cached_property
    def units(self) -> list[Unit]:
        """The unit of each key; the family's own where the bank states none."""
        own = self.resolver.family.find[self.unknown].unit
        return [own if q.unit is None else q.unit for q in self.questions]

    @cached_property
    def _scale(self) -> tuple[Floats, Floats]:
        return (
            np.array([unit.factor for unit in self.units], dtype=np.float64),
            np.array([unit.offset for unit in self.units], dtype=np.float64),
        )

    def shown(self, si: Floats) -> Floats:
        """SI values in the unit of each key, (n,)."""
        factor, offset = self._scale
        return (si - offset) / factor

    def si(self, shown: Floats) -> Floats:
        """Values in the unit of each key in SI, (n,)."""
        factor, offset = self._scale
        return shown * factor + offset

    @cached_property
    def answer(self) -> Floats:
        return self.shown(self.resolved.answers[self.unknown])

    @cached_property
    def wrong(self) -> dict[str, Floats]:
        """Slip -> what it leads to, in the unit of each key."""
        old = self.resolved
        found = self.resolver.slips.solve(old.values, old.case, len(self))
        return {slip: self.shown(answers[self.unknown]) for slip, answers in found.items()}

    @cached_property
    def slack(self) -> Floats:
        """How far rounded working can land, in the unit of each key; 0 where it has no bound."""
        old = self.resolved
        sides = self.resolver.honest.deviations(
            {**old.values, **old.answers}, np.maximum(old.case, 0), len(self)
        )[self.unknown]
        slack = np.maximum(*sides) / self._scale[0]
        return np.where(np.isfinite(slack), slack, 0.0)

    def again(self, changed: Mapping[str, Floats | float]) -> Floats:
        """The answer with other values of some givens, SI, in the unit of each key."""
        solved = self.resolver.solve({**self.values, **changed}, len(self))
        return self.shown(solved.answers[self.unknown])
