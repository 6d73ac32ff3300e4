"""Choosing the items of parallel forms so that the totals of the difficulty index agree.

For each slot a model item from the middle half of the family's pool is drawn with the seed, and
only candidates whose features are like the model's are considered: so the forms stay alike under
other weights too. Form by form the candidate is taken whose index is nearest to the model's plus
what the form still lacks, so that errors even out as the forms fill up. Then items are exchanged
for as long as the totals come closer together: one of a form against an unused candidate, or
those of two forms at the same slot against each other.

Filling slot by slot towards what is still lacking is the idea of a known heuristic of test
assembly (R. M. Luecht, Applied Psychological Measurement 22 (1998) 224-236, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from qbank.instances import Integers

Rows = NDArray[np.intp]

MOST_EXCHANGES = 50  # for each form


class CannotFillError(Exception):
    """No candidate is left for a slot; `slot` says which."""

    def __init__(self, slot: int) -> None:
        super().__init__(slot)
        self.slot = slot


class Assembly:
    """Forms in the making. All arithmetic is on integers, so it comes out alike everywhere.

    pools   family -> (P,): the difficulty index of each candidate, in units of its last decimal
    slots   the family of each slot
    near    for each slot: the candidates to consider first; all others where none is left
    shared  at most so many items that two forms may have in common
    """

    def __init__(
        self,
        pools: Mapping[str, Integers],
        slots: Sequence[str],
        near: Sequence[Rows],
        forms: int,
        shared: int,
    ) -> None:
        self.pools = pools
        self.slots = slots
        self.near = near
        self.choice: Integers = np.full((forms, len(slots)), -1, dtype=np.int64)
        self.totals: Integers = np.zeros(forms, dtype=np.int64)
        self._limit = shared
        self._users = {
            family: np.zeros((forms, len(pool)), dtype=np.bool_) for family, pool in pools.items()
        }
        self._uses = {family: np.zeros(len(pool), dtype=np.int64) for family, pool in pools.items()}
        self._common = np.zeros((forms, forms), dtype=np.int64)

    @property
    def spread(self) -> int:
        """How far the totals lie apart, the greatest minus the least."""
        return int(np.ptp(self.totals))

    def fill(self, targets: Sequence[int]) -> None:
        """Give each form a candidate for each slot, near the slot's target.

        Raises CannotFillError where the candidates run out.
        """
        goal = 0
        for slot, target in enumerate(targets):
            goal += target
            for form in np.argsort(self.totals, kind="stable").tolist():
                rows = self._allowed(form, slot)
                if not len(rows):
                    raise CannotFillError(slot)
                uses = self._uses[self.slots[slot]][rows]
                rows = rows[uses == uses.min()]  # what stands on few forms first
                self._put(form, slot, self._nearest(slot, goal - int(self.totals[form]), rows))

    def exchange(self) -> None:
        """Bring the totals together, one exchange after the other, while that helps."""
        forms = len(self.totals)
        for _ in range(MOST_EXCHANGES * forms):
            off = np.abs(forms * self.totals - self.totals.sum())
            # the form farthest off first; in a stable order, so that ties fall alike everywhere
            if not any(self._improve(form) for form in np.argsort(-off, kind="stable").tolist()):
                return

    def _improve(self, form: int) -> bool:
        """Make the exchange of one of the form's items that brings the totals closest together."""
        best, move = 0, None
        for slot, family in enumerate(self.slots):
            pool, mine = self.pools[family], int(self.choice[form, slot])
            rows = self._allowed(form, slot)
            if len(rows):
                candidate = self._nearest(slot, self._wanted(form) + int(pool[mine]), rows)
                gain = self._gain_of_replacing(form, int(pool[candidate] - pool[mine]))
                if gain > best:
                    best, move = gain, (slot, candidate, -1)
            others = self._partners(form, slot)
            if len(others):
                steps = pool[self.choice[others, slot]] - pool[mine]
                gains = self._gain_of_swapping(form, others, steps)
                at = int(np.argmax(gains))
                if gains[at] > best:
                    other = int(others[at])
                    best, move = int(gains[at]), (slot, int(self.choice[other, slot]), other)
        if move is None:
            return False
        slot, candidate, other = move
        mine = int(self.choice[form, slot])
        self._take(form, slot)
        if other >= 0:
            self._take(other, slot)
            self._put(other, slot, mine)
        self._put(form, slot, candidate)
        return True

    def _wanted(self, form: int) -> int:
        """What the total of a form lacks to be the mean of the others, rounded down."""
        rest = len(self.totals) - 1
        others = int(self.totals.sum() - self.totals[form])
        return others // rest - int(self.totals[form]) if rest else 0

    # The scatter is n times the sum of squares minus the square of the sum: n squared times the
    # variance, an integer. Gains are by how much it falls.

    def _gain_of_replacing(self, form: int, step: int) -> int:
        """Where the total of one form grows by `step`."""
        n = len(self.totals)
        off = n * int(self.totals[form]) - int(self.totals.sum())
        return -(2 * step * off + (n - 1) * step * step)

    def _gain_of_swapping(self, form: int, others: Rows, steps: Integers) -> Integers:
        """Where the form's total grows by each of `steps`, and that of another falls by it."""
        n = len(self.totals)
        gap = self.totals[form] - self.totals[others]
        gains: Integers = -2 * n * steps * (gap + steps)
        return gains

    def _partners(self, form: int, slot: int) -> Rows:
        """Forms to swap the slot with: where neither item stands on any further form."""
        uses = self._uses[self.slots[slot]][self.choice[:, slot]]
        alone = (uses == 1) if uses[form] == 1 else np.zeros(len(uses), dtype=np.bool_)
        alone[form] = False
        return np.flatnonzero(alone)

    def _allowed(self, form: int, slot: int) -> Rows:
        """The candidates a form may take: not on it, nor on a form it has enough in common with."""
        first = self._free(form, slot, self.near[slot])
        if len(first):
            return first
        return self._free(form, slot, np.arange(len(self.pools[self.slots[slot]])))

    def _free(self, form: int, slot: int, rows: Rows) -> Rows:
        family = self.slots[slot]
        if self._limit == 0:
            taken = self._uses[family][rows] > 0
        else:
            full = self._common[form] >= self._limit
            full[form] = True
            taken = self._users[family][np.ix_(full, rows)].any(axis=0)
        free: Rows = rows[~taken]
        return free

    def _nearest(self, slot: int, wanted: int, rows: Rows) -> int:
        return int(rows[np.argmin(np.abs(self.pools[self.slots[slot]][rows] - wanted))])

    def _put(self, form: int, slot: int, candidate: int) -> None:
        family = self.slots[slot]
        self._note(form, self._users[family][:, candidate], 1)
        self._users[family][form, candidate] = True
        self._uses[family][candidate] += 1
        self.choice[form, slot] = candidate
        self.totals[form] += self.pools[family][candidate]

    def _take(self, form: int, slot: int) -> None:
        family, candidate = self.slots[slot], int(self.choice[form, slot])
        self._users[family][form, candidate] = False
        self._uses[family][candidate] -= 1
        self._note(form, self._users[family][:, candidate], -1)
        self.choice[form, slot] = -1
        self.totals[form] -= self.pools[family][candidate]

    def _note(self, form: int, users: NDArray[np.bool_], change: int) -> None:
        """Count an item that a form has, or no longer has, in common with its other users."""
        self._common[form, users] += change
        self._common[users, form] += change
