"""Finding out by trying what an item's rules accept, with the scorer and within bounds."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from qbank.errors import QbankError
from qbank.scoring.responses import Answer

MOST_TRIES = 400  # scorings of one item
CLOSE = 1e-9  # of the key, how closely the end of a band is found

Score = Callable[[Mapping[str, Answer]], float | None]


class Spent(Exception):  # noqa: N818 - says what happened
    """The tries are used up."""


class Prober:
    """Scores responses of one item, counting the tries. What cannot be scored is worth 0."""

    def __init__(self, score: Score, keys: Mapping[str, Answer]) -> None:
        self._score = score
        self.keys = dict(keys)
        self.left = MOST_TRIES

    def points(self, changed: Mapping[str, Answer | None]) -> float:
        """The points for the keys with some responses changed, or left out where None."""
        if self.left <= 0:
            raise Spent
        self.left -= 1
        given = {n: a for n, a in (self.keys | dict(changed)).items() if a is not None}
        try:
            return self._score(given) or 0.0
        except (QbankError, ArithmeticError, ValueError):
            return 0.0

    def worth(self, response: str) -> float:
        """What the key of a response adds to the score."""
        return self.points({}) - self.points({response: None})

    def best(
        self, response: str, answers: Iterable[Answer]
    ) -> tuple[float, list[Answer]]:  # fmt: skip
        """The points of the best of some answers above none at all, and which reach them."""
        without = self.points({response: None})
        best, found = 0.0, []
        for answer in answers:
            gain = self.points({response: answer}) - without
            if gain > best + 1e-9:
                best, found = gain, [answer]
            elif found and abs(gain - best) <= 1e-9:
                found.append(answer)
        return best, found

    def band(self, response: str, key: float) -> Band | None:
        """The interval around a key that scores as much as the key; None where the key itself
        scores nothing or the tries do not suffice."""
        try:
            without = self.points({response: None})
            full = self.points({response: _text(key)})
            if full <= without + 1e-12:
                return None

            def accepts(value: float) -> bool:
                return self.points({response: _text(value)}) >= full - 1e-9 * max(1.0, abs(full))

            low, high = (_end(key, sign, accepts) for sign in (-1.0, 1.0))
        except Spent:
            return None
        return Band(low, high, full - without)


@dataclass(frozen=True, slots=True)
class Band:
    """What was found: the accepted interval and the points it is worth."""

    low: float
    high: float
    points: float


def _text(value: float) -> str:
    return repr(value)


def _end(key: float, sign: float, accepts: Callable[[float], bool]) -> float:
    """The last accepted value away from a key; infinite where none is refused."""
    scale = abs(key) or 1.0
    step = CLOSE * scale
    if not accepts(key + sign * step):
        return key
    inside, outside = step, math.inf
    while step < 1e6 * scale:
        step *= 8
        if not accepts(key + sign * step):
            outside = step
            break
        inside = step
    if outside == math.inf:
        return sign * math.inf
    while outside - inside > CLOSE * scale and outside - inside > CLOSE * outside:
        middle = (inside + outside) / 2
        if accepts(key + sign * middle):
            inside = middle
        else:
            outside = middle
    return _shortest(key + sign * inside, key + sign * outside, accepts)


def _shortest(inside: float, outside: float, accepts: Callable[[float], bool]) -> float:
    """The shortest numeral between what is accepted and what is not: the end people meant."""
    low, high = min(inside, outside), max(inside, outside)
    for digits in range(1, 15):
        candidate = float(f"{(low + high) / 2:.{digits}g}")
        if low <= candidate <= high:
            return candidate if accepts(candidate) else math.nextafter(candidate, inside)
    return inside
