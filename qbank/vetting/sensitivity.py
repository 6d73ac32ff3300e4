"""How each answer depends on each given: by solving again with one given changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from qbank.checking.tolerance import reach
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.numbers import last_place
from qbank.family.model import ChooseStatements, Fixed, Given, Grid, Listed, Sampled
from qbank.finding import Finding, Severity
from qbank.generation import Generator
from qbank.instances import Floats, Instances
from qbank.sampling.kinds import scalar_kind
from qbank.solving.cases import decide_cases
from qbank.solving.solver import SOLVED
from qbank.vetting.evidence import Evidence, Mask, asked, listed, percent, share

ROWS = 1000  # instances solved again for each given: a share of 1 in 20 is known to 0.7 %
FIXED_CHANGE = 1.1  # a fixed given has no other value, so it is made a tenth larger
NO_EFFECT = 0.01  # of the instances; a given that moves less than that does not matter
THIRD_FIGURE = 2  # powers of ten below the first
SENSITIVE = 0.05  # of the instances
BEYOND_DATA = 0.5  # of the instances


@dataclass(frozen=True, slots=True)
class Effect:
    """What one given does to one answer.

    share_moved     share of instances in which another value of the given moves the answer out of
                    its tolerance
    elasticity      median of (relative change of the answer) / (relative change of the given) for
                    one step of the given's grid; NaN where it has no step
    share_third     share of instances in which half a unit in the third figure of the given, or in
                    its last digit where it shows more, moves the answer by more than its tolerance
    share_last      the same for half a unit in the last digit shown
    """

    share_moved: float
    elasticity: float
    share_third: float
    share_last: float


@dataclass(frozen=True, slots=True)
class Effects:
    """Given -> unknown -> effect, and given -> share of instances whose case or whose statements to
    be marked another value changes."""

    of: Mapping[str, Mapping[str, Effect]]
    decides: Mapping[str, float]


class Resolver:
    """Solves instances again with one given changed."""

    def __init__(self, generator: Generator, instances: Instances) -> None:
        self.generator = generator
        self.family = generator.family
        self.part = instances.take(slice(0, ROWS))
        self.n = len(self.part)
        self._decide = decide_cases(self.family)
        self.asked = asked(self.family)
        statements = [
            statement.when
            for part in self.family.ask
            if isinstance(part, ChooseStatements)
            for statement in part.statements
        ]
        self._statements = compile_nodes(statements) if statements else None
        self.marks = self._marked(self.part.values)
        # the tolerance as the family states it, not as it is narrowed where a slip is near
        find, key = self.family.find, self.part.rounded
        self.band = {
            name: reach(find[name], key[name], last_place(key[name], find[name].shown))
            for name in self.asked
        }

    def answers(self, name: str, values: Floats) -> tuple[dict[str, Floats], Mask, Mask]:
        """Answers in the shown unit with `values` (n,) for a given; where the case is the same and
        everything is solved; where it is not, or a statement holds that did not or the reverse."""
        env = {given: self.part.values[given] for given in self.family.given}
        env[name] = values
        with np.errstate(all="ignore"):
            env = self.generator.solver.lets(env, self.n)
            case, holding = self._decide(env, self.n)
            usable = holding == 1
            case = np.where(usable, case, -1)
            solved = self.generator.solver.solve(env, case, self.n)
            usable &= solved.status == SOLVED
            same = usable & (case == self.part.case)
            marks = self._marked({**env, **solved.values})
            changed = ~same | (marks != self.marks).any(axis=1)
            shown = {
                unknown: self.family.find[unknown].unit.from_si(solved.values[unknown])
                for unknown in self.asked
            }
        return shown, same, changed

    def _marked(self, values: Mapping[str, Floats]) -> Mask:
        """Which statements hold, (n, statements)."""
        if self._statements is None:
            return np.zeros((self.n, 0), dtype=np.bool_)
        return np.column_stack(self._statements(values, self.n))

    def moved(self, unknown: str, shown: Floats, same: Mask) -> tuple[Floats, Mask]:
        """How far an answer lies from the true one, and where that is beyond its tolerance."""
        true = self.family.find[unknown].unit.from_si(self.part.values[unknown])
        by = np.abs(shown - true)
        return by, same & (by > self.band[unknown])


def effects(generator: Generator, instances: Instances) -> Effects:
    """The effect of every given that is one number on every answer asked for."""
    resolver = Resolver(generator, instances)
    of: dict[str, dict[str, Effect]] = {}
    decides: dict[str, float] = {}
    for name, given in generator.family.given.items():
        if isinstance(given.source, Sampled) or given.hidden:
            continue
        of[name], decides[name] = _effects(resolver, given)
    return Effects(of, decides)


def _effects(resolver: Resolver, given: Given) -> tuple[dict[str, Effect], float]:
    name, part = given.name, resolver.part
    now = part.values[name]
    other, same, changed = resolver.answers(name, _another(given, now))
    step = _neighbour(given, part)
    stepped, near, _ = resolver.answers(name, step)
    with np.errstate(divide="ignore"):  # a fixed zero has no relative change
        relative = np.abs(_shown(given, step) - _shown(given, now)) / np.abs(_shown(given, now))
    found = {}
    tiny = {} if _exact(given) else _nudged(resolver, given)
    for unknown in resolver.asked:
        by, _ = resolver.moved(unknown, stepped[unknown], near)
        true = resolver.family.find[unknown].unit.from_si(part.values[unknown])
        with np.errstate(all="ignore"):
            ratio = by / np.abs(true) / relative
        usable = near & np.isfinite(ratio) & np.isfinite(relative)
        found[unknown] = Effect(
            share(resolver.moved(unknown, other[unknown], same)[1]),
            float(np.median(ratio[usable])) if usable.any() else float("nan"),
            *(share(tiny[which][unknown]) if tiny else 0.0 for which in ("third", "last")),
        )
    return found, share(changed)


def _nudged(resolver: Resolver, given: Given) -> dict[str, dict[str, Mask]]:
    """Where half a unit in the third figure, and in the last digit, moves each answer too far."""
    now = _shown(given, resolver.part.values[given.name])
    last = _last_digit(given, resolver.part)
    third = np.minimum(last, _third_figure(now))
    found: dict[str, dict[str, Mask]] = {}
    for which, unit in (("third", third), ("last", last)):
        if which == "last" and (third == last).all():
            found[which] = found["third"]
            continue
        far = {name: np.zeros(resolver.n, dtype=np.bool_) for name in resolver.asked}
        for sign in (0.5, -0.5):
            shown, same, _ = resolver.answers(given.name, given.unit.to_si(now + sign * unit))
            for name in resolver.asked:
                far[name] |= resolver.moved(name, shown[name], same)[1]
        found[which] = far
    return found


def _shown(given: Given, values: Floats) -> Floats:
    return given.unit.from_si(values)


def _another(given: Given, now: Floats) -> Floats:
    """Another value of the given for each row: the opposite end of its range or list."""
    kind = scalar_kind(given)
    if kind is None or isinstance(given.source, Fixed):
        return _enlarged(given, now)
    every = kind.values(np.arange(kind.count)) if kind.count <= ROWS else None
    ends = kind.values(np.array([0, kind.count - 1])) if every is None else every
    low, high = float(ends.min()), float(ends.max())
    return np.where(now < (low + high) / 2, high, low)


def _enlarged(given: Given, now: Floats) -> Floats:
    """A tenth more; one unit where the value is zero."""
    return np.where(now == 0, given.unit.factor, now * FIXED_CHANGE)


def _neighbour(given: Given, part: Instances) -> Floats:
    """The value one grid step away, towards the middle of the range, (n,), SI."""
    kind = scalar_kind(given)
    now = part.values[given.name]
    if kind is None or kind.count < 2:
        return _enlarged(given, now)
    at = part.mantissas[given.name]
    if isinstance(given.source, Grid):
        at = (at - given.source.first) // given.source.step
    near = np.where(at < kind.count / 2, at + 1, at - 1)
    return kind.values(np.clip(near, 0, kind.count - 1))


def _last_digit(given: Given, part: Instances) -> Floats:
    """One unit in the last digit shown, in the shown unit, (n,)."""
    if isinstance(given.source, Grid | Fixed):
        return np.full(len(part), 10.0**given.source.exponent)
    raise TypeError(given.name)


def _third_figure(shown: Floats) -> NDArray[np.float64]:
    size = np.abs(shown)
    with np.errstate(divide="ignore"):
        power = np.floor(np.log10(np.where(size > 0, size, 1.0)))
    return 10.0 ** (power - THIRD_FIGURE)


# ---------------------------------------------------------------------------- checks


def without_effect(evidence: Evidence, seen: Effects) -> Iterator[Finding]:
    """given-without-effect: another value of the given changes nothing that is asked for."""
    for name, by_unknown in seen.of.items():
        moved = max([effect.share_moved for effect in by_unknown.values()], default=0.0)
        if moved <= NO_EFFECT and seen.decides[name] <= NO_EFFECT:
            given = evidence.family.given[name]
            yield Finding(
                "given-without-effect",
                Severity.WARNING,
                given.place,
                f"another value of {name} changes an answer in {percent(moved)} of the instances",
                "each given matters for something that is asked",
                f"ask for something that depends on {name}, or leave it out",
                {"share": moved},
            )


def too_sensitive(evidence: Evidence, seen: Effects) -> Iterator[Finding]:
    """answer-too-sensitive: three-figure work on the data cannot stay within the tolerance.

    A given is moved by half a unit in its third figure, or in its last digit where it shows more.
    Data shown with fewer figures are taken as exact, and so are listed ones, which are nominal
    values (a confidence level, a resistor of a series): common practice, no source.
    """
    for unknown, guilty in _moving(evidence, seen, attrgetter("share_third"), SENSITIVE):
        yield Finding(
            "answer-too-sensitive",
            Severity.WARNING,
            evidence.family.find[unknown].place,
            f"half a unit in the third figure of {_moves(guilty, unknown)}",
            f"in at most {percent(SENSITIVE)} of the instances; else honest rounding is marked"
            " wrong",
            f"add a rule that keeps {unknown} from being a small difference of large terms, or"
            " widen its tolerance",
            {f"share for {name}": share for name, share in guilty.items()},
        )


def beyond_data(evidence: Evidence, seen: Effects) -> Iterator[Finding]:
    """figures-beyond-data: the answer is asked for more exactly than the data are stated."""
    for unknown, guilty in _moving(evidence, seen, attrgetter("share_last"), BEYOND_DATA):
        yield Finding(
            "figures-beyond-data",
            Severity.NOTE,
            evidence.family.find[unknown].place,
            f"half a unit in the last digit shown of {_moves(guilty, unknown)}",
            "an answer no more exact than the data, unless these are to be taken as exact",
            "nothing, if the data count as exact; else show them with another digit, or ask"
            " for fewer figures",
            {f"share for {name}": share for name, share in guilty.items()},
        )


def _moving(
    evidence: Evidence, seen: Effects, share_of: Callable[[Effect], float], most: float
) -> Iterator[tuple[str, dict[str, float]]]:
    """Each unknown asked for that inexact givens move in more than a share of the instances, with
    these givens and their shares."""
    for unknown in asked(evidence.family):
        shares = {
            name: share_of(effect[unknown])
            for name, effect in seen.of.items()
            if not _exact(evidence.family.given[name])
        }
        guilty = {name: share for name, share in shares.items() if share > most}
        if guilty:
            yield unknown, guilty


def _moves(guilty: Mapping[str, float], unknown: str) -> str:
    worst = max(guilty, key=guilty.__getitem__)
    return (
        f"{listed(guilty)} moves {unknown} by more than its tolerance, for {worst} in"
        f" {percent(guilty[worst])} of the instances"
    )


def _exact(given: Given) -> bool:
    """Whether a given is exact by nature: listed, or a whole pure number such as a count."""
    if isinstance(given.source, Listed):
        return True
    whole = isinstance(given.source, Grid | Fixed) and given.source.exponent >= 0
    return whole and given.unit.text in {"", "1"}
