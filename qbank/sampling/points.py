"""The points a family's givens span: how many there are, and what stands at each.

A *position* numbers the combinations of everything an instance shows: a digit for each given
that is drawn, and for each of the first values of a data list its residue (see lists.py). So
different positions are different to a reader. What is never shown, and what the positions have
no room for, comes from random words of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from qbank.checking.window import Window
from qbank.family.model import Family
from qbank.instances import Floats, Integers
from qbank.sampling.kinds import FixedKind, ScalarKind, scalar_kind
from qbank.sampling.lists import WORDS_A_VALUE, ListKind, list_kinds
from qbank.sampling.permutation import LARGEST
from qbank.sampling.streams import Key, Purpose, Words, below

Column = TypeVar("Column", Integers, Words)

_LARGEST_RESIDUES = 2**32  # of all lists together; more would only make numbers larger
_TRIALS = 4096  # points at which the spread of a data list is looked at


@dataclass(frozen=True, slots=True)
class Stretch:
    """Candidates `first .. first+count-1` of a block: where their random words come from."""

    block: int
    first: int
    count: int


class Points:
    """All points of one family.

    size    how many positions there are
    random  whether a point depends on random words besides its position
    """

    def __init__(self, family: Family) -> None:
        self.scalars: dict[str, ScalarKind] = {}
        for name, given in family.given.items():
            kind = scalar_kind(given)
            if kind is not None:
                self.scalars[name] = kind
        self.lists = list_kinds(family.given)
        self.size = 1
        self._axes: list[tuple[str, int]] = []  # given or list, and its number of digits
        self._free: list[str] = []  # drawn from words of their own
        for name, kind in self.scalars.items():
            if isinstance(kind, FixedKind):
                continue
            if family.given[name].hidden or self.size * kind.count > LARGEST:
                self._free.append(name)
            else:
                self._axes.append((name, kind.count))
                self.size *= kind.count
        self.radices = self._add_residues(Key.of(family.draw_key, "spread of lists"))
        self.random = bool(self._free or self.lists)

    def _add_residues(self, key: Key) -> dict[str, int]:
        """Radix of each list's residues; adds their axes and multiplies the size by them."""
        trial = Candidates(self, self._trial_digits(key), key, (), count=_TRIALS)
        radices: dict[str, int] = {}
        room = min(_LARGEST_RESIDUES, LARGEST // self.size)
        for kind in self.lists:
            trial.need(kind.needs)
            radix = kind.radix(trial.values, _TRIALS)
            radices[kind.name] = radix
            for _ in range(kind.least):
                if radix == 1 or room < radix:
                    break
                room //= radix
                self.size *= radix
                self._axes.append((kind.name, radix))
        return radices

    def _trial_digits(self, key: Key) -> dict[str, Integers]:
        return {
            name: below(key.words(Purpose.HIDDEN + i, 0, _TRIALS), kind.count)
            for i, (name, kind) in enumerate(self.scalars.items())
        }

    def candidates(self, key: Key, positions: Integers, stretches: Sequence[Stretch]) -> Candidates:
        """The points at `positions` (n,), whose words are those of `stretches`, n in all.

        Positions from `size` on are no points and are left out.
        """
        n = len(positions)
        digits: dict[str, Integers] = {}
        residues: dict[str, list[Integers]] = {kind.name: [] for kind in self.lists}
        rest = positions
        for name, count in self._axes:
            quotient = rest // count
            digit = rest - quotient * count
            rest = quotient
            if name in residues:
                residues[name].append(digit)
            else:
                digits[name] = digit
        for i, name in enumerate(self._free):
            words = _words(key, Purpose.HIDDEN + i, stretches, 1)[:, 0]
            digits[name] = below(words, self.scalars[name].count)
        made = Candidates(self, digits, key, stretches, count=n, residues=residues)
        outside = positions >= self.size
        if outside.any():
            made.keep(~outside)
        return made


class Candidates:
    """Points under judgement; values are made when first needed, for the rows still kept.

    rows    which of the points that were made are still kept
    values  SI values of the kept rows: givens once needed, and whatever a judge adds
    sizes   of data lists, once made
    case    position in `family.cases`, once decided
    wrong   slip -> unknown -> SI values, once a judge needed them
    windows unknown -> its tolerance window, likewise
    """

    def __init__(
        self,
        points: Points,
        digits: dict[str, Integers],
        key: Key,
        stretches: Sequence[Stretch],
        *,
        count: int,
        residues: dict[str, list[Integers]] | None = None,
    ) -> None:
        self._points = points
        self._digits = digits
        self._residues = residues or {}
        self._key = key
        self._stretches = stretches
        self._made = count
        self.rows: Integers = np.arange(count, dtype=np.int64)
        self.values: dict[str, Floats] = {}
        self._mantissas: dict[str, Integers] = {}
        self.sizes: dict[str, Integers] = {}
        self.case: Integers = np.zeros(count, dtype=np.int64)
        self.wrong: dict[str, dict[str, Floats]] = {}
        self.windows: dict[str, Window] = {}

    def __len__(self) -> int:
        return len(self.rows)

    def need(self, names: Iterable[str]) -> None:
        """Make the values of these givens; names of other things and data lists are passed over."""
        for name in names:
            kind = self._points.scalars.get(name)
            if kind is None or name in self.values:
                continue
            if isinstance(kind, FixedKind):
                self.values[name] = np.broadcast_to(kind.value, len(self.rows))
            else:
                self.values[name] = kind.values(self._kept(self._digits[name]))

    def need_all(self) -> NDArray[np.bool_]:
        """Make all values, data lists too; which rows have data lists that can be drawn, (n,)."""
        self.need(self._points.scalars)
        possible = np.ones(len(self), dtype=np.bool_)
        for i, kind in enumerate(self._points.lists):
            self._need_list(i, kind, possible)
        return possible

    def _need_list(self, i: int, kind: ListKind, possible: NDArray[np.bool_]) -> None:
        words = _words(self._key, Purpose.VALUES + i, self._stretches, kind.most * WORDS_A_VALUE)
        words = self._kept(words).reshape(len(self), kind.most, WORDS_A_VALUE)
        digits = [self._kept(digit) for digit in self._residues[kind.name]]
        radix = self._points.radices[kind.name]
        mantissas, drawable = kind.mantissas(self.values, digits, radix, words)
        if kind.source.like:
            sizes = self.sizes[kind.source.like]
        else:
            word = self._kept(_words(self._key, Purpose.SIZE + i, self._stretches, 1)[:, 0])
            sizes = kind.least + below(word, kind.most - kind.least + 1)
        mantissas[np.arange(kind.most) >= sizes[:, None]] = 0
        self._mantissas[kind.name] = mantissas
        self.sizes[kind.name] = sizes
        self.values[kind.name] = kind.values(mantissas, sizes)
        possible &= drawable

    def keep(self, mask: NDArray[np.bool_]) -> None:
        """Drop the rows where `mask` (n,) is False."""
        kept = np.flatnonzero(mask)
        if len(kept) == len(self.rows):
            return
        self.rows = self.rows[kept]
        self.case = self.case[kept]
        self.values = {name: column[kept] for name, column in self.values.items()}
        self._mantissas = {name: column[kept] for name, column in self._mantissas.items()}
        self.sizes = {name: column[kept] for name, column in self.sizes.items()}
        self.wrong = {
            slip: {name: column[kept] for name, column in answers.items()}
            for slip, answers in self.wrong.items()
        }
        self.windows = {name: window.take(kept) for name, window in self.windows.items()}

    def mantissas(self) -> dict[str, Integers]:
        """What is displayed, of every given, for the kept rows; as in `Instances.mantissas`."""
        shown: dict[str, Integers] = {}
        for name, kind in self._points.scalars.items():
            digits = self._digits.get(name)
            at = self.rows if digits is None else self._kept(digits)
            shown[name] = kind.mantissas(at)
        return shown | self._mantissas

    def _kept(self, column: Column) -> Column:
        return column if len(self.rows) == self._made else column[self.rows]


def _words(key: Key, purpose: int, stretches: Sequence[Stretch], each: int) -> Words:
    """Words of the candidates in `stretches`, (n, each): candidate j owns its own `each` words."""
    parts = [
        key.words(purpose, part.block, part.count * each, part.first * each) for part in stretches
    ]
    return np.concatenate(parts).reshape(-1, each)
