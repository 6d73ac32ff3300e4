"""Drawing from a small set of points: all are judged once, and the valid ones shuffled."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.instances import Integers
from qbank.sampling.drawn import Drawn
from qbank.sampling.judge import Judge
from qbank.sampling.permutation import shuffled, shuffled_rows
from qbank.sampling.points import Points, Stretch
from qbank.sampling.streams import Key
from qbank.sampling.tally import Tally

_CHUNK = 2**14  # candidates judged, and instances handed on, at once
_TRIES = 8  # for a point whose hidden or random part fails a ruling


class Enumerated:
    """All instances of a family of few points.

    number  how many instances can be drawn: all valid points, or with equal shares as many
            whole rounds of all cases as the rarest case allows
    exact   whether that holds for every seed; False where points have random parts
    tally   what judging all points came to
    """

    def __init__(self, points: Points, judge: Judge, key: Key, shares: int) -> None:
        self.tally = Tally(judge.rulings)
        self.exact = not points.random
        self._key = key
        self._shares = shares
        parts: list[Drawn] = []
        for first in range(0, points.size, _CHUNK):
            pending = np.arange(first, min(first + _CHUNK, points.size))
            for trial in range(_TRIES if points.random else 1):
                # words belong to places in a block, so a later try is a block of its own
                stretch = Stretch(points.size * trial + first, 0, len(pending))
                candidates = points.candidates(key, pending, [stretch])
                judge.judge(candidates, self.tally)
                parts.append(Drawn.of(candidates))
                pending = np.delete(pending, candidates.rows)
                if not len(pending):
                    break
        self._valid = Drawn.join(parts)
        self.of_share = [self._rows(share) for share in range(shares)]
        self.number = shares * min(len(rows) for rows in self.of_share)

    def _rows(self, share: int) -> Integers:
        if self._shares == 1:
            return np.arange(len(self._valid))
        return np.flatnonzero(self._valid.case == share)

    def draw(self, key: Key, start: int, count: int) -> Iterator[Drawn]:
        """Instances `start .. start+count-1`, in order, in chunks of at most 16384."""
        order = self._order(key)
        for first in range(start, start + count, _CHUNK):
            yield self._valid.take(order[first : min(first + _CHUNK, start + count)])

    def _order(self, key: Key) -> Integers:
        """Rows of the valid points in the order of a seed, (number,)."""
        rounds = self.number // self._shares
        columns = [
            rows[shuffled(key, len(rows), share)[:rounds]]
            for share, rows in enumerate(self.of_share)
        ]
        if self._shares == 1:
            return columns[0]
        order = np.empty((rounds, self._shares), dtype=np.int64)
        places = shuffled_rows(key, 0, rounds, self._shares)
        for share, rows in enumerate(columns):
            order[np.arange(rounds), places[:, share]] = rows
        return order.ravel()
