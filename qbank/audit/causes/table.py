"""All causes with their codes, and which of them reproduce a key."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np

from qbank.audit.causes import answer, data, digits, edits, slips, units
from qbank.audit.causes.work import Alternative, Work
from qbank.audit.verdict import Cause

Finder = Callable[[Work], Iterator[Alternative]]

FINDERS: Mapping[str, Finder] = {
    "slip": slips.single_slips,
    "sign": digits.sign,
    "digits-swapped": digits.swapped_digits,
    "power-of-ten": digits.powers_of_ten,
    "answer-unit": units.unit_of_the_answer,
    "other-part": data.other_answer,
    "neighbour-key": data.neighbours,
    "unit": units.unit_of_a_given,
    "constant": data.other_constant,
    "too-few-figures": digits.too_few_figures,
    "givens": data.given_for_given,
    "half-or-double": data.half_or_double,
    "given": data.changed_given,
    "last-step": answer.last_step,
    "factor": answer.factor,
    "digit-mistyped": digits.mistyped_digit,
}
LATER: Mapping[str, Finder] = {  # dear: only for keys that nothing above reproduces well
    "law": edits.edited_laws,
    "slips": slips.pairs_of_slips,
}
SURE = 60.0  # prior of a cause that needs no further search
MOST_OTHERS = 3
UNSURE_FIGURES = 2  # with so few figures many ideas lead to a key,
UNSURE = 40.0  # and with one more many of the less plausible ones
FEW = 60.0  # prior that a cause needs where the key has one figure
SAME = 1e-9
ZERO = 1e-6  # of the right answer: what counts as a zero

Found = tuple[float, Cause]


def find_causes(work: Work) -> list[tuple[Cause | None, tuple[Cause, ...]]]:
    """For each row what reproduces its key best, and further ideas that do; (None, ()) for none.

    An idea counts where its number, rounded, is the key to every digit written and the right
    answer is not that number.
    """
    found: list[list[Found]] = [[] for _ in range(len(work))]
    _collect(work, FINDERS, found, np.arange(len(work)))
    rest = [row for row, known in enumerate(found) if not any(p >= SURE for p, _ in known)]
    if rest:
        rows = np.array(rest)
        _collect(work.take(rows), LATER, found, rows)
    return [_ranked(known) for known in found]


def _collect(
    work: Work, finders: Mapping[str, Finder], found: list[list[Found]], rows: np.ndarray
) -> None:
    figures = work.keys.figures
    for finder in finders.values():
        for idea in finder(work):
            with np.errstate(invalid="ignore"):
                same = np.abs(idea.values - work.answer) <= SAME * np.abs(work.answer)
            met = work.keys.matches(idea.values) & ~same & (figures >= min(idea.figures, 3))
            if idea.prior < FEW:
                met &= figures >= 2
            with np.errstate(invalid="ignore"):  # zero is no small number, rounded
                met &= (work.keys.value != 0) | (np.abs(idea.values) <= ZERO * np.abs(work.answer))
            for row in np.flatnonzero(met).tolist():
                said = idea.says(row)
                more = UNSURE_FIGURES + (idea.prior < UNSURE)
                if figures[row] <= more:
                    said = f"perhaps {said}"
                cause = Cause(idea.code, said, float(idea.values[row]))
                found[int(rows[row])].append((idea.prior, cause))


def _ranked(known: list[Found]) -> tuple[Cause | None, tuple[Cause, ...]]:
    if not known:
        return None, ()
    order = sorted(known, key=lambda entry: -entry[0])
    causes: dict[tuple[str, str], Cause] = {}
    for _, cause in order:
        causes.setdefault((cause.code, cause.says), cause)
    first, *others = causes.values()
    return first, tuple(others[:MOST_OTHERS])
