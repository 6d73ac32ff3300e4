"""Draws instances of one family: few points are enumerated, many are dealt to blocks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from qbank.checking.window import Windows
from qbank.errors import DrawError
from qbank.family.model import Family
from qbank.sampling.blocks import CHUNK, Blocks, Layout
from qbank.sampling.drawn import Drawn
from qbank.sampling.enumerated import Enumerated
from qbank.sampling.judge import Judge
from qbank.sampling.permutation import Bijection
from qbank.sampling.points import Candidates, Points, Stretch
from qbank.sampling.streams import Key
from qbank.sampling.tally import Tally, contradiction
from qbank.solving.slips import SlipSolver
from qbank.solving.solver import Solver

LEAST_ACCEPTANCE = 1e-4  # below this the rules are as good as impossible to meet

_FEW = 2**16  # points that are always enumerated; also the most valid points kept in memory
_SOME = 2**19  # points that are enumerated when few of them are valid
_ENOUGH = 400  # accepted candidates that settle the acceptance
_MOST_TRIALS = 2**21
_WINDOW_TRIALS = 2**11  # candidates judged at once until enough of them settle the windows
_MOST_WINDOW_TRIALS = 2**19
_ENOUGH_WINDOWS = 1000
_DOUBT = 5.0  # standard deviations between the acceptance seen and the one relied on


@dataclass(frozen=True, slots=True)
class Count:
    """How many distinct instances a family has; at least `number` where not `exact`."""

    number: int
    exact: bool


class Sampler:
    """Instance k of a seed as a pure function of (family, seed, k), on whole arrays.

    Raises DrawError, when first used, if no draw or fewer than one in 10,000 meets the rules.
    """

    def __init__(self, family: Family, solver: Solver, slips: SlipSolver) -> None:
        self.family = family
        self.points = Points(family)
        self._windows = Windows(family, solver)
        self.judge = Judge(family, solver, slips, self._windows)
        self._shares = len(family.cases) if family.equal_shares else 1
        self._latest: tuple[int, Enumerated] | None = None

    @cached_property
    def windows(self) -> Windows:
        """The tolerance windows, with what holds for all draws settled on a sample of them.

        The sample depends on the family alone, not on a seed.
        """
        key = Key.of(self.family.draw_key, "windows")
        bijection = Bijection(key, self.points.size)
        found: list[Drawn] = []
        size = min(_WINDOW_TRIALS, bijection.size)
        for first in range(0, min(_MOST_WINDOW_TRIALS, bijection.size), size):
            candidates = self._trial(key, bijection, first, size)
            self.judge.judge(candidates, windows=False)
            found.append(Drawn.of(candidates))
            if sum(map(len, found)) >= _ENOUGH_WINDOWS:
                break
        self.judge.settle(Drawn.join(found))
        return self._windows

    def key(self, seed: int) -> Key:
        """The key of all random words of a seed."""
        return Key.of(self.family.draw_key, seed)

    def count(self, seed: int = 0) -> Count:
        """How many distinct instances a seed can draw."""
        if self._method is None:
            few = self._enumerated(seed)
            return Count(few.number, few.exact)
        return Count(self._method.number, exact=False)

    def draw(self, seed: int, start: int, count: int, tally: Tally) -> Iterator[Drawn]:
        """Instances `start .. start+count-1`, in order, in chunks of at most 16384.

        `tally` receives what the rulings did to the candidates judged for them. Raises DrawError
        when `start + count` instances do not exist.
        """
        if count <= 0:
            return
        self.ensure_enough(start + count, seed)
        if self._method is None:
            few = self._enumerated(seed)
            tally.add(few.tally)
            yield from few.draw(self.key(seed), start, count)
        else:
            yield from self._method.draw(self.key(seed), start, count, tally)

    def ensure_enough(self, count: int, seed: int = 0) -> None:
        """Raise DrawError, saying how many there are, when `count` instances do not exist."""
        existing = self.count(seed)
        if count <= existing.number:
            return
        name = self.family.name
        if existing.exact:
            said = f"{name} has {existing.number:,} distinct instances; {count:,} were asked for"
        else:
            said = (
                f"{name} is certain to have {existing.number:,} distinct instances;"
                f" {count:,} were asked for"
            )
        per_case = " in equal shares of its cases" if self._shares > 1 else ""
        decimals = ", or its data lists more decimals" if self.points.lists else ""
        raise DrawError(
            said + per_case,
            place=self.family.place,
            hint=f"ask for fewer, or give the quantities wider ranges or finer steps{decimals}",
        )

    @cached_property
    def _method(self) -> Blocks | None:
        """How blocks are dealt; None where the points are enumerated."""
        _ = self.windows  # settled before anything is judged for good
        if self.points.size <= _FEW:
            return None
        tally, per_share, trials = self._pilot()
        rarest = min(per_share)
        if self._shares * rarest < LEAST_ACCEPTANCE * trials:
            raise self._too_few(tally, per_share)
        valid = self.points.size * (tally.accepted + 1) / trials
        if self.points.size <= _SOME and not self.points.random and valid <= _FEW:
            return None
        acceptance = rarest / trials
        certain = acceptance * max(0.25, 1.0 - _DOUBT / rarest**0.5)
        return Blocks(self.points, self.judge, Layout.planned(acceptance, certain, self._shares))

    def _pilot(self) -> tuple[Tally, list[int], int]:
        """Judge trial candidates until the acceptance is known well enough.

        The result depends on the family alone, not on a seed: tally, accepted candidates of each
        share, and how many were tried.
        """
        key = Key.of(self.family.draw_key, "pilot")
        bijection = Bijection(key, self.points.size)
        tally = Tally(self.judge.rulings)
        per_share = np.zeros(self._shares, dtype=np.int64)
        trials = 0
        size = CHUNK // 2
        while trials + size <= min(_MOST_TRIALS, bijection.size):
            candidates = self._trial(key, bijection, trials, size)
            self.judge.judge(candidates, tally)
            case = candidates.case if self._shares > 1 else np.zeros(len(candidates), dtype=int)
            per_share += np.bincount(case, minlength=self._shares)
            trials += size
            rarest = float(per_share.min())
            hopeless = rarest + _DOUBT * rarest**0.5 + 13.0 < LEAST_ACCEPTANCE * trials
            if rarest >= _ENOUGH or hopeless:
                break
            size = CHUNK
        return tally, per_share.tolist(), trials

    def _trial(self, key: Key, bijection: Bijection, first: int, size: int) -> Candidates:
        positions = bijection(np.arange(first, first + size))
        return self.points.candidates(key, positions, [Stretch(first, 0, size)])

    def _enumerated(self, seed: int) -> Enumerated:
        """All valid points; they depend on the seed only where points have random parts."""
        if self._latest is not None and (self._latest[0] == seed or self._latest[1].exact):
            return self._latest[1]
        few = Enumerated(self.points, self.judge, self.key(seed), self._shares)
        accepted = [len(rows) for rows in few.of_share]
        if self._shares * min(accepted) < max(1.0, LEAST_ACCEPTANCE * few.tally.candidates):
            raise self._too_few(few.tally, accepted)
        self._latest = (seed, few)
        return few

    def _too_few(self, tally: Tally, per_share: list[int]) -> DrawError:
        """The error for rules that are not or hardly ever met, with what each rule rejected."""
        family = self.family
        met = f"{tally.accepted:,} of {tally.candidates:,} draws meet the rules"
        if tally.accepted == 0:
            met = f"none of {tally.candidates:,} draws meets the rules"
        elif min(per_share) == 0 and self._shares > 1:
            rare = ", ".join(
                f"'{case.name}'" for case, n in zip(family.cases, per_share, strict=True) if not n
            )
            met = f"no draw that meets the rules comes to the case {rare}, wanted in equal shares"
        greediest = int(np.argmax(tally.rejected / np.maximum(tally.reached, 1)))
        place = self.judge.rulings[greediest].place
        if tally.accepted == 0:
            named, certain = self._contradiction()
            rulings = [self.judge.rulings[i] for i in named]
            quoted = " and ".join(f"`{ruling.need}`" for ruling in rulings)
            if len(rulings) > 1:
                met += "; these contradict each other: " if certain else "; no draw meets together "
            elif rulings:
                met += "; no draw meets "
            met += quoted
            place = next((ruling.place for ruling in rulings if ruling.author), place)
        table = tally.as_table().replace("\n", "\n    ")
        return DrawError(
            f"{family.name}: {met}\n    {table}",
            place=place,
            hint="loosen the rules that reject most, or widen the ranges of the given quantities",
        )

    def _contradiction(self) -> tuple[list[int], bool]:
        """The rulings that no draw meets together, and whether all points were looked at."""
        key = Key.of(self.family.draw_key, "contradiction")
        bijection = Bijection(key, self.points.size)
        size = min(bijection.size, CHUNK)
        verdicts = self.judge.verdicts(self._trial(key, bijection, 0, size))
        found = contradiction([mask for _, mask in verdicts])
        certain = size == bijection.size and not self.points.random
        return sorted(verdicts[i][0] for i in found), certain
