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

from qbank.instances import Floats, Integers

Mask = NDArray[np.bool_]

MOST_EXCHANGES = 50  # for each form
_GAIN = 1e-9  # a smaller gain is a rounding error


class CannotFillError(Exception):
    """No candidate is left for a slot; `slot` says which."""

    def __init__(self, slot: int) -> None:
        super().__init__(slot)
        self.slot = slot


class Assembly:
    """Forms in the making.

    pools   family -> (P,): the difficulty index of each candidate
    slots   the family of each slot
    near    for each slot, (P,): the candidates to consider first; all others where none is left
    shared  at most so many items that two forms may have in common
    """

    def __init__(
        self,
        pools: Mapping[str, Floats],
        slots: Sequence[str],
        near: Sequence[Mask],
        forms: int,
        shared: int,
    ) -> None:
        self.pools = pools
        self.slots = slots
        self.near = near
        self.choice: Integers = np.full((forms, len(slots)), -1, dtype=np.int64)
        self.totals: Floats = np.zeros(forms)
        self._limit = shared
        self._users = {
            family: np.zeros((forms, len(pool)), dtype=np.bool_) for family, pool in pools.items()
        }
        self._common = np.zeros((forms, forms), dtype=np.int64)

    @property
    def spread(self) -> float:
        """How far the totals lie apart, the greatest minus the least."""
        return float(np.ptp(self.totals))

    def fill(self, targets: Sequence[float]) -> None:
        """Give each form a candidate for each slot, near the slot's target.

        Raises CannotFillError where the candidates run out.
        """
        goal = 0.0
        for slot, target in enumerate(targets):
            goal += target
            for form in np.argsort(self.totals, kind="stable").tolist():
                allowed = self._allowed(form, slot)
                if not allowed.any():
                    raise CannotFillError(slot)
                # those that stand on the fewest forms first, so that shared items last
                users = self._users[self.slots[slot]].sum(axis=0)
                allowed &= users == users[allowed].min()
                found = self._nearest(slot, goal - float(self.totals[form]), allowed)
                if found is not None:
                    self._put(form, slot, found)

    def exchange(self) -> None:
        """Bring the totals together, one exchange after the other, while that helps."""
        forms = len(self.totals)
        for _ in range(MOST_EXCHANGES * forms):
            apart = np.abs(self.totals - self.totals.mean())
            # the form farthest off first; a stable order, so that ties fall alike everywhere
            if not any(self._improve(form) for form in np.argsort(-apart, kind="stable").tolist()):
                return

    def _improve(self, form: int) -> bool:
        """Make the exchange of one of the form's items that brings the totals closest."""
        best, move = _GAIN, None
        now = _scatter(self.totals)
        others = (self.totals.sum() - self.totals[form]) / max(len(self.totals) - 1, 1)
        for slot, family in enumerate(self.slots):
            pool = self.pools[family]
            mine = int(self.choice[form, slot])
            wanted = float(others - self.totals[form] + pool[mine])
            found = self._nearest(slot, wanted, self._allowed(form, slot))
            if found is not None:
                gain = now - self._scatter_after({form: pool[found] - pool[mine]})
                if gain > best:
                    best, move = gain, (slot, found, -1)
            for other in self._partners(form, slot):
                step = float(pool[self.choice[other, slot]] - pool[mine])
                gain = now - self._scatter_after({form: step, other: -step})
                if gain > best:
                    best, move = gain, (slot, int(self.choice[other, slot]), other)
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

    def _partners(self, form: int, slot: int) -> list[int]:
        """Forms to swap the slot with: where neither item stands on any further form."""
        users = self._users[self.slots[slot]].sum(axis=0)
        if users[self.choice[form, slot]] > 1:
            return []
        alone = users[self.choice[:, slot]] == 1
        return [other for other in np.flatnonzero(alone).tolist() if other != form]

    def _scatter_after(self, steps: Mapping[int, float]) -> float:
        totals = self.totals.copy()
        for form, step in steps.items():
            totals[form] += step
        return _scatter(totals)

    def _allowed(self, form: int, slot: int) -> Mask:
        """The candidates a form may take: not on it, nor on a form it has enough in common with."""
        users = self._users[self.slots[slot]]
        full = self._common[form] >= self._limit
        full[form] = True
        mask: Mask = ~users[full].any(axis=0)
        first: Mask = mask & self.near[slot]
        return first if first.any() else mask

    def _nearest(self, slot: int, wanted: float, allowed: Mask) -> int | None:
        rows = np.flatnonzero(allowed)
        if not len(rows):
            return None
        pool = self.pools[self.slots[slot]]
        return int(rows[np.argmin(np.abs(pool[rows] - wanted))])

    def _put(self, form: int, slot: int, candidate: int) -> None:
        users = self._users[self.slots[slot]]
        self._note(form, users[:, candidate], 1)
        users[form, candidate] = True
        self.choice[form, slot] = candidate
        self.totals[form] += self.pools[self.slots[slot]][candidate]

    def _take(self, form: int, slot: int) -> None:
        candidate = int(self.choice[form, slot])
        users = self._users[self.slots[slot]]
        users[form, candidate] = False
        self._note(form, users[:, candidate], -1)
        self.choice[form, slot] = -1
        self.totals[form] -= self.pools[self.slots[slot]][candidate]

    def _note(self, form: int, users: Mask, change: int) -> None:
        self._common[form, users] += change
        self._common[users, form] += change


def _scatter(totals: Floats) -> float:
    return float(((totals - totals.mean()) ** 2).sum())
