"""What is to stand in place of a wrong key: the number as its bank writes numbers, and its band."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from qbank.audit.correction.changes import LeftAlone
from qbank.audit.correction.numerals import (
    LONGEST,
    Numeral,
    find_numeral,
    in_style,
    rounded,
    whole_numeral,
)
from qbank.audit.verdict import Judgement

MOST_FIGURES = 12
_PERMILLE = Decimal(1000)
# Tolerances that people state as a percentage (common practice, no source), in permille, and by
# how much a band may miss one because its bounds were rounded to be printed.
_STATED = (1, 2, 5, 10, 20, 30, 50, 100)
_PRINTED = Decimal("0.02")


@dataclass(frozen=True, slots=True)
class NewKey:
    """The old and the new number of a key, and what is to be accepted around the new one.

    `proposed` is the band the judgement gives, None where it gives none.
    """

    old: Decimal
    new: Decimal
    proposed: tuple[Decimal, Decimal] | None

    def text(self, model: Numeral) -> str:
        """The new key, written as `model` writes the old one."""
        text = in_style(self.new, model)
        if len(text) > LONGEST:
            raise LeftAlone("the right number is too long to be written as the old one is")
        return text

    def band(self, low: Decimal, high: Decimal) -> tuple[Decimal, Decimal]:
        """The bounds that are to replace an absolute band stated around the old key.

        The judgement's own where it gives them; else the same percentage of the key where the
        old band is one that people state; else the same distances. Raises LeftAlone for a band
        that does not hold the old key, or that would be narrower than rounding the new one.
        """
        if not low <= self.old <= high:
            raise LeftAlone("the band it states does not hold the key it states")
        if self.proposed is not None:
            least, most = self.proposed
        else:
            factor = self._factor(low, high)
            least = self.new - (self.old - low) * factor
            most = self.new + (high - self.old) * factor
            place = self.new.as_tuple().exponent
            half = Decimal(5).scaleb(int(place) - 1)
            narrow = low < high and (self.new - least < half or most - self.new < half)
            if narrow and low < self.old < high:
                raise LeftAlone("its band, moved to the new key, is narrower than its rounding")
        if not least <= self.new <= most:
            raise LeftAlone("the band proposed does not hold the new key")
        return least, most

    def _factor(self, low: Decimal, high: Decimal) -> Decimal:
        """By what the distances of the bounds grow: the ratio of the keys, or 1."""
        if self.old == 0 or self.new == 0:
            return Decimal(1)
        below, above = ((self.old - low), (high - self.old))
        shares = [side / abs(self.old) * _PERMILLE for side in (below, above)]
        if all(any(abs(share - said) <= _PRINTED for said in _STATED) for share in shares):
            return abs(self.new / self.old)
        return Decimal(1)


def new_key(judgement: Judgement) -> NewKey:
    """The replacement that a judgement asks for. Raises LeftAlone when it does not say it fully."""
    old = find_numeral(judgement.states)
    if old is None:
        raise LeftAlone("the key it states is no number")
    return new_key_for(judgement, old.value, old.figures)


def new_key_for(judgement: Judgement, old: Decimal, figures: int) -> NewKey:
    """The same where the old key was read as a person would, in so many figures."""
    if not math.isfinite(judgement.value):
        raise LeftAlone("the right number is not known")
    band = None
    if math.isfinite(judgement.low) and math.isfinite(judgement.high):
        band = (judgement.low, judgement.high)
    new = _rounded_as_said(judgement, figures, band)
    if new == old:
        raise LeftAlone("the right number, rounded as its bank rounds, is the one it states")
    proposed = None
    if band is not None:
        proposed = (Decimal(repr(band[0])), Decimal(repr(band[1])))
    return NewKey(old, new, proposed)


def _rounded_as_said(
    judgement: Judgement, written: int, band: tuple[float, float] | None
) -> Decimal:
    """The value with the figures of what the judgement expects, or of the old key; with more
    where so few would leave the band, or would be off by more than half of their last place."""
    said = find_numeral(judgement.expected)
    if said is not None:
        place = int(said.value.as_tuple().exponent)
        off = abs(said.value - Decimal(repr(judgement.value)))
        if off <= Decimal("0.51").scaleb(place) and _within(said.value, band):
            return said.value
    for figures in range(min(written, MOST_FIGURES), MOST_FIGURES + 1):
        value = rounded(judgement.value, figures)
        if _within(value, band):
            return value
    raise LeftAlone("the right number lies outside the band proposed for it")


def _within(value: Decimal, band: tuple[float, float] | None) -> bool:
    return band is None or band[0] <= float(value) <= band[1]


def bound_text(value: Decimal, model: str) -> str:
    """A bound written as the old one is, with at most three figures more than it has."""
    read = whole_numeral(model)
    if read is None:
        raise LeftAlone("a bound of its band is no number")
    return in_style(tidy(value), read)


def tidy(value: Decimal) -> Decimal:
    """Without the noise of binary arithmetic and without zeros at the end."""
    short = Decimal(repr(float(value))) if len(value.as_tuple().digits) > 15 else value
    plain = short.normalize()
    return plain.quantize(Decimal(1)) if int(plain.as_tuple().exponent) > 0 else plain


def states(text: str, value: Decimal) -> Numeral | None:
    """The numeral of a text that is a number of that value and nothing else; else None."""
    found = whole_numeral(text)
    return found if found is not None and found.value == value else None
