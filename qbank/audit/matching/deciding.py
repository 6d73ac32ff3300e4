"""Which candidate a bundle is read by, and for which of its parts that is beyond doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from qbank.audit.matching.agreement import LEAST_SHARE, MOST_CHANCE, tally
from qbank.audit.matching.alone import by_text
from qbank.audit.matching.bundles import Bundle, Part
from qbank.audit.matching.fits import Decision, Fit, same
from qbank.audit.matching.search import FEW, Candidate, Found, compatible, scaled
from qbank.audit.matching.words import naming

_MARGIN = 3.0  # powers of ten by which the better of two readings must be less of an accident
_LEAST_TIGHT = 0.25  # of the agreeing keys that agree to the last digit; else the law only is near
_MOST_NEAR = 0.2  # of all keys that miss narrowly; else the law only nearly fits
_CLEARLY = 0.05  # of all keys by which another constant must do better than the family's own
# Confidence that the reading is right by keys, the chance of an accident below MOST_CHANCE, and
# below a thousandth of it.
_FOUND, _CERTAIN = 0.95, 0.97
_BEYOND = -9.0  # log10 of that last chance


def decide(bundle: Bundle, found: Found) -> list[Decision]:
    """A decision for each part of a bundle.

    The candidate with the most evidence over all parts is taken for those parts where it passes,
    then the next for the parts that are left. Once a reading is established by one part, only the
    unknowns are left to try for the others.
    """
    fits = [_fits(part, found.candidates) for part in bundle.parts]
    if len(bundle) > FEW:  # few keys do not say which value of a constant they were made with
        fits = _one_constant(fits)
    decisions: list[Decision | None] = [None] * len(bundle.parts)
    established: set[int] = set()
    while True:
        left = [at for at, decision in enumerate(decisions) if decision is None]
        chosen = _best(fits, left, established)
        if chosen is None:
            break
        progress = False
        established.add(chosen)
        # the part with the most evidence carries the number of readings tried
        order = sorted(left, key=lambda at: _log(fits[at], chosen))
        carried = False
        for at in order:
            own = [fit for fit in fits[at] if id(fit.candidate) == chosen]
            if not own:
                continue
            best = max(own, key=lambda fit: fit.rank)
            trials = len(compatible(bundle.parts[at], best.candidate.resolver))
            if not carried:
                trials = max(trials, found.tried)
            decision = _judge(bundle, bundle.parts[at], best, fits[at], trials)
            if decision is not None:
                decisions[at] = decision
                progress = True
                carried = carried or decision.fit is not None
        if not progress and len(established) >= len(found.candidates):
            break
    return [
        _unfit(bundle, part, found, fits[at]) if decisions[at] is None else decisions[at]  # type: ignore[misc]
        for at, part in enumerate(bundle.parts)
    ]


def _fits(part: Part, candidates: Sequence[Candidate]) -> list[Fit]:
    out = []
    for candidate in candidates:
        find = candidate.resolver.family.find
        for name, factor in compatible(part, candidate.resolver):
            if name not in candidate.answers:
                continue
            keys = scaled(part, factor, find[name].unit)
            width = part.width if part.group.key_unit else part.width.scaled(abs(factor))
            answers = candidate.answers[name][part.rows]
            looked = np.isfinite(keys) & candidate.looked[part.rows]
            if not looked.any():
                continue
            found = tally(answers, keys, width, int(looked.sum()))
            out.append(
                Fit(
                    candidate, name, factor, found,
                    naming(part.asked, candidate.resolver.family, name),
                )
            )  # fmt: skip
    return out


def _one_constant(fits: Sequence[list[Fit]]) -> list[list[Fit]]:
    """Of candidates that differ in a constant alone, the one with which most keys of all parts
    agree to the last digit. The family's own is kept unless another does clearly better."""
    tight: dict[int, float] = {}
    homes: dict[tuple[int, int], list[Candidate]] = {}
    counted = 0
    for part in fits:
        best: dict[int, int] = {}
        for fit in part:
            own = id(fit.candidate)
            if own not in tight:
                tight[own] = 0.0
                home = (id(fit.candidate.resolver), id(fit.candidate.reading))
                homes.setdefault(home, []).append(fit.candidate)
            best[own] = max(best.get(own, 0), fit.tally.tight)
        counted += max((fit.tally.counted for fit in part), default=0)
        for own, number in best.items():
            tight[own] += number
    kept = {
        id(
            max(
                candidates,
                key=lambda one: (
                    tight[id(one)] - (_CLEARLY * counted if one.constants else 0.0),
                    not one.constants,
                ),
            )
        )
        for candidates in homes.values()
    }
    return [[fit for fit in part if id(fit.candidate) in kept] for part in fits]


def _log(fits: Sequence[Fit], candidate: int) -> float:
    return min((fit.tally.log10 for fit in fits if id(fit.candidate) == candidate), default=0.0)


def _best(fits: Sequence[Sequence[Fit]], left: Sequence[int], done: set[int]) -> int | None:
    """The candidate with the most evidence over the parts that are left."""
    totals: dict[int, list[float]] = {}
    for at in left:
        best: dict[int, Fit] = {}
        for fit in fits[at]:
            own = id(fit.candidate)
            if own not in done and (own not in best or fit.rank > best[own].rank):
                best[own] = fit
        for own, fit in best.items():
            entry = totals.setdefault(own, [0.0] * len(fit.rank))
            for position, value in enumerate(fit.rank):
                entry[position] += value
    if not totals:
        return None
    order = list(totals)
    return max(order, key=lambda own: (totals[own], -order.index(own)))


def _judge(
    bundle: Bundle, part: Part, fit: Fit, rivals: Sequence[Fit], trials: int
) -> Decision | None:
    """Whether a fit is beyond doubt; None where it is not good enough to speak of."""
    count = fit.tally.counted
    log10 = fit.tally.log10 + math.log10(trials)
    agreeing = fit.tally.agreeing >= count - math.floor(count * (1 - LEAST_SHARE))
    if agreeing and log10 <= math.log10(MOST_CHANCE):
        if fit.tally.tight < _LEAST_TIGHT * fit.tally.agreeing or (
            fit.tally.near > max(1, _MOST_NEAR * count)
        ):
            return Decision(
                None,
                code="none-fits",
                reason=f"{fit.candidate.resolver.family.name} comes near most keys and meets few,"
                " so another law is likely behind them",
            )
        rival = _rival(part, fit, rivals)
        if rival is not None:
            return _ambiguous(fit, rival)
        return Decision(fit, min(1.0, 10.0**log10), _CERTAIN if log10 < _BEYOND else _FOUND)
    if count <= FEW and count == len(part.group):
        return by_text(bundle, part, rivals)
    return None


def _rival(part: Part, fit: Fit, rivals: Sequence[Fit]) -> Fit | None:
    """Another fit nearly as good that gives other answers; None where the best stands alone."""
    count = fit.tally.counted
    for other in rivals:
        if other is fit or other.tally.agreeing < LEAST_SHARE * count:
            continue
        clear = fit.tally.log10 <= other.tally.log10 - _MARGIN
        if clear and fit.tally.agreeing > other.tally.agreeing:
            continue
        if not same(part, fit, other):
            return other
    return None


def _ambiguous(fit: Fit, rival: Fit) -> Decision:
    def says(one: Fit) -> str:
        columns = ", ".join(
            f"number {numbers[0] + 1} as {name}"
            for name, numbers in sorted(one.candidate.reading.columns.items())
        )
        return f"{one.unknown} of {one.candidate.resolver.family.name} with {columns}"

    return Decision(
        None,
        code="ambiguous",
        reason=f"two readings fit about as well: {says(fit)}; and {says(rival)}",
    )


def _unfit(bundle: Bundle, part: Part, found: Found, fits: Sequence[Fit]) -> Decision:
    if not len(bundle.kinds):
        return Decision(None, code="no-numbers", reason="the stems state no numbers")
    known = int(np.isfinite(part.keys).sum())
    if not known:
        return Decision(None, code="key-in-words", reason="no key is a number")
    if not found.fitting or not fits:
        return Decision(
            None,
            code="no-family",
            reason="no family has these units and asks for such an answer",
        )
    best = max(fits, key=lambda fit: fit.rank)
    name = best.candidate.resolver.family.name
    share = f"{best.tally.agreeing} of {best.tally.counted} keys"
    if known <= FEW:
        reason = (
            f"{known} siblings are too few to find a family by trying, and the text does not name"
            f" all quantities; {name} comes nearest with {share}"
        )
    else:
        reason = f"no family fits; {name} comes nearest with {share}"
    return Decision(None, code="none-fits", reason=reason)
