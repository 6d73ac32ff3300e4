"""Drawing from a large set of points: blocks of instances that each own a range of positions.

A keyed bijection puts the positions in a random order. Block b owns the positions of order
`b*window .. (b+1)*window - 1` and takes the first valid ones among them, so that it depends on
no other block, and different blocks never share a point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.errors import CheckFailed
from qbank.instances import Integers
from qbank.sampling.drawn import Drawn
from qbank.sampling.judge import Judge
from qbank.sampling.permutation import Bijection, shuffled_rows
from qbank.sampling.points import Points, Stretch
from qbank.sampling.streams import Key
from qbank.sampling.tally import Tally

CHUNK = 2**15  # candidates judged at once
_LARGEST_BLOCK = 1024
_SMALLEST_BLOCK = 16
_MOST_ROWS = 2**14  # instances handed on at once
_DEVIATIONS = 7.5  # of a block's yield: exp(-7.5**2 / 2) < 1e-12 is the chance that it runs short


@dataclass(frozen=True, slots=True)
class Layout:
    """How positions are dealt to blocks.

    shares   classes drawn in equal shares: the number of cases, or 1
    quota    instances of each class in a block
    window   positions a block owns
    first    of those, how many are judged at first
    more     and how many at a time when they do not suffice
    """

    shares: int
    quota: int
    window: int
    first: int
    more: int

    @property
    def block(self) -> int:
        """Instances in a block."""
        return self.shares * self.quota

    @classmethod
    def planned(cls, acceptance: float, certain: float, shares: int) -> Layout:
        """For an expected acceptance of the rarest class, and one that is surely reached.

        A block yields a number of valid points with a standard deviation of at most the root
        of its mean. The window is chosen so that the yield stays below the quota with a chance
        under 1e-12 (Chernoff's bound for the lower tail).
        """
        quota = _LARGEST_BLOCK // shares
        while quota * shares > _SMALLEST_BLOCK and quota / acceptance > CHUNK:
            quota //= 2
        quota = max(quota, 1)
        root = (_DEVIATIONS + math.sqrt(_DEVIATIONS**2 + 4 * quota)) / 2
        window = math.ceil(root**2 / certain)
        likely = math.ceil((quota + 2.0 * math.sqrt(quota)) / acceptance)
        first = min(window, likely, CHUNK)
        return cls(shares, quota, window, first, max(first // 16, 64))


class Blocks:
    """Instances of one family by blocks. `number` of them are certain to exist."""

    def __init__(self, points: Points, judge: Judge, layout: Layout) -> None:
        self._points = points
        self._judge = judge
        self.layout = layout
        whole = Bijection(Key(0), points.size).size
        self.number = whole // layout.window * layout.block

    def draw(self, key: Key, start: int, count: int, tally: Tally) -> Iterator[Drawn]:
        """Instances `start .. start+count-1`, in order, in chunks of at most 16384."""
        block = self.layout.block
        bijection = Bijection(key, self._points.size)
        at_once = max(1, min(CHUNK // self.layout.first, _MOST_ROWS // block))
        last = (start + count - 1) // block
        for lowest in range(start // block, last + 1, at_once):
            numbers = range(lowest, min(lowest + at_once, last + 1))
            drawn = self._blocks(key, bijection, numbers, tally)
            begin = max(start - lowest * block, 0)
            end = min(start + count - lowest * block, len(drawn))
            yield drawn if end - begin == len(drawn) else drawn.take(slice(begin, end))

    def _blocks(
        self, key: Key, bijection: Bijection, numbers: Sequence[int], tally: Tally
    ) -> Drawn:
        """All instances of some blocks, in order."""
        layout = self.layout
        have = np.zeros((len(numbers), layout.shares), dtype=np.int64)
        orders = self._orders(key, numbers)
        parts: list[Drawn] = []
        places: list[Integers] = []
        done, width = 0, layout.first
        open_blocks = np.arange(len(numbers))
        while len(open_blocks):
            if width == 0:
                raise self._ran_short(numbers[int(open_blocks[0])])
            for some in np.array_split(open_blocks, -(-len(open_blocks) * width // CHUNK)):
                stretches = [Stretch(numbers[i], done, width) for i in some.tolist()]
                drawn, block = self._judged(key, bijection, stretches, tally)
                place = self._places(some[block], drawn.case, have, orders)
                taken = np.flatnonzero(place >= 0)
                parts.append(drawn.take(taken))
                places.append(place[taken])
            open_blocks = np.flatnonzero((have < layout.quota).any(axis=1))
            done += width
            width = min(layout.more, layout.window - done)
        place = np.concatenate(places)
        drawn = Drawn.join(parts)
        if np.array_equal(place, np.arange(len(place))):
            return drawn
        return drawn.take(np.argsort(place, kind="stable"))

    def _judged(
        self, key: Key, bijection: Bijection, stretches: Sequence[Stretch], tally: Tally
    ) -> tuple[Drawn, Integers]:
        """What is valid in some stretches, and from which stretch each row is."""
        width = stretches[0].count
        starts = np.array([s.block * self.layout.window + s.first for s in stretches])
        order = (starts[:, None] + np.arange(width)).ravel()
        candidates = self._points.candidates(key, bijection(order), stretches)
        self._judge.judge(candidates, tally)
        return Drawn.of(candidates), candidates.rows // width

    def _orders(self, key: Key, numbers: Sequence[int]) -> Integers | None:
        """Where in a round of all classes each class comes, (blocks, quota, shares)."""
        layout = self.layout
        if layout.shares == 1:
            return None
        rows = [shuffled_rows(key, number, layout.quota, layout.shares) for number in numbers]
        return np.stack(rows)

    def _places(
        self, block: Integers, case: Integers, have: Integers, orders: Integers | None
    ) -> Integers:
        """The place of each row among the instances of all blocks, (n,); -1 for what is left over.

        `block` (n,) ascends; `have` (blocks, shares) counts what each block has so far and is
        brought up to date.
        """
        layout = self.layout
        place = np.full(len(block), -1, dtype=np.int64)
        for share in range(layout.shares):
            rows = np.flatnonzero(case == share) if orders is not None else np.arange(len(block))
            of_share = block[rows]
            counts = np.bincount(of_share, minlength=len(have))
            firsts = np.cumsum(counts) - counts
            rank = np.arange(len(rows)) - firsts[of_share] + have[of_share, share]
            used = rank < layout.quota
            rows, of_share, rank = rows[used], of_share[used], rank[used]
            within = (
                rank if orders is None else (rank * layout.shares + orders[of_share, rank, share])
            )
            place[rows] = of_share * layout.block + within
            have[:, share] = np.minimum(have[:, share] + counts, layout.quota)
        return place

    def _ran_short(self, number: int) -> CheckFailed:
        layout = self.layout
        return CheckFailed(
            f"block {number} holds fewer than {layout.block} valid draws among the"
            f" {layout.window} it owns, which should happen less than once in 10**12 blocks",
            hint="draw with another seed, and report this: the acceptance was judged wrongly",
        )
