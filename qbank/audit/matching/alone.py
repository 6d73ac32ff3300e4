"""A few keys, often one: the text decides, and the key itself is a witness.

Numbers prove little here. Each reading gets odds from the text: how many of the stem's words the
family uses, how many numbers it explains (all, or it is none), whether words or symbols say which
number is which, and whether what is asked is named beside the other unknowns of its kind. The
weights were set by hand and held against the questions of `tests/audit/singles` and those of
`tests/audit/trial`: none of 260 right keys of questions that no family solves may be accused. Of
wrong keys some 60 % are found where a question has the family's words, and 40 % in other terms.

To approve takes less than to accuse. A key that a likely reading reproduces to its digits is right:
an accident is as rare as its figures are many. A key is held against a reading only where no other
reading worth a thought reproduces it, no word of the stem hints at another law, and the odds of the
reading are fair; what becomes of the accusation then hangs on its cause (`audit/confidence.py`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qbank.audit.causes.work import Keys
from qbank.audit.matching.agreement import SHARE, accident
from qbank.audit.matching.bundles import ANGLE, BARE, PURE, Bundle, Kind, Part, kind
from qbank.audit.matching.fits import Decision, Fit
from qbank.audit.matching.likely import likelihood
from qbank.audit.matching.readings import fits, plausible
from qbank.audit.matching.search import columns_of
from qbank.audit.matching.trade import GENERIC
from qbank.audit.matching.words import (
    INCIDENTAL_ROOTS,
    QUALIFYING_ROOTS,
    TELLING_ROOTS,
    asked_for,
    kinship,
    marks,
    roots,
    symbols_of,
    vocabulary,
)
from qbank.audit.question import Floats
from qbank.expressions.units import parse_unit
from qbank.family.model import Family, Grid, Listed

# Log odds (natural) that a reading is right, from the text.
_BASE = -1.0
_KIN, _KIN_MIDDLE = 6.0, 0.5  # of the share of words, above and below the middle
_COLUMN, _COLUMNS_FREE, _COLUMNS_MOST = 0.6, 2, 2.4  # for each number beyond two, up to so much
_NAMED, _ALMOST, _NOT, _TIED, _OTHER = 1.5, 0.5, -1.5, -2.0, -4.0  # what is asked
_SETTLED, _OPEN, _UNSETTLED = 0.7, 0.0, -1.0  # which number is which
_TOLD, _MOST_TOLD = -2.5, 3  # for each word that hints at another law
_WORSE = 3.0  # for each unit of worth that another assignment is ahead
_LEAD, _SLIGHT = 0.3, 0.1  # of worth or naming, by which the better is ahead
_MISREAD = 3.0  # log odds by which another unknown of the family may not be behind
_EXCHANGED = 0.35  # of worth, by which a reading with numbers exchanged may not be behind
# Thresholds.
_APPROVE = 2.0  # log odds, the key as a witness: 88 %
_BEHIND = 4.0  # log odds by which a reading may be behind the likeliest and still be approved
_ACCUSE = 0.0  # log odds of the text alone
_DESPITE = 2.0  # the same where a word hints at another law
_THOUGHT = 6.0  # log odds by which a reading may be behind and still save a key
_SWAP = 1.5  # worth, half a symbol, by which another assignment may be behind and save a key
_ELIMINATED = 0.5  # worth by which the only assignment left needs no word of its own
_SIZED = 0.7  # of 1, of its size then: half as large again as the family draws, or less
_NEAR = 0.05  # worth by which a number may be nearer to an unknown than to its given
_FIGURES = 3  # with which an agreement is hardly an accident
_MOST, _LEAST = 0.9, 0.05  # confidence that a text can give


@dataclass(frozen=True, slots=True, eq=False)
class _Read:
    """A fit with the log odds of its text.

    worth  of its assignment of numbers, by words and by what the family says of its data
    lead   by which that is ahead of other assignments with other answers
    clear  whether what is asked is named, beside others of its kind
    hints  whether words hint at another law, and the rest does not outweigh them
    """

    fit: Fit
    odds: float
    worth: float
    lead: float
    clear: bool
    hints: bool


def by_text(bundle: Bundle, part: Part, tried: Sequence[Fit]) -> Decision | None:
    """The reading of a few keys that the text allows and, where it can, the keys confirm; None
    where none may be spoken of."""
    possible = [fit for fit in tried if _possible(bundle, part, fit)]
    if not possible:
        return None
    worth = _worths(bundle, [*possible, *filter(_agrees, tried)])
    reads = [_weigh(bundle, part, fit, possible, worth) for fit in possible]
    best = max(reads, key=lambda read: (round(read.odds, 6), read.lead, read.fit.tally.agreeing))
    approved = _approved(part, reads, best)
    if approved is not None:
        read, odds = approved
        # a key that only comes near is held to its digits where the text is as good as its word
        tight = 2 * read.fit.tally.tight >= read.fit.tally.counted
        worded = read.clear and not read.hints and read.odds >= _ACCUSE
        sure = worded or (tight and read.fit.tally.counted in (1, read.fit.tally.agreeing))
        return Decision(read.fit, 1.0, _confidence(odds) if sure else _LEAST)
    if best.fit.tally.agreeing or not _may_accuse(bundle, part, best, reads, worth, tried):
        return None
    return Decision(best.fit, 1.0, _confidence(best.odds))


def _confidence(odds: float) -> float:
    return min(max(1 / (1 + math.exp(-min(max(odds, -30.0), 30.0))), _LEAST), _MOST)


def _possible(bundle: Bundle, part: Part, fit: Fit) -> bool:
    """Whether a fit explains every number, with constants that the keys do not choose unless most
    of them agree."""
    if fit.factor != 1.0 and part.group.key_unit is not None:
        return False
    own = fit.candidate.resolver.family.find[fit.unknown].unit
    scaled = part.group.key_unit is None and not math.isclose(fit.factor, own.factor)
    if (fit.candidate.constants or scaled) and not _agrees(fit):
        return False
    if not np.isfinite(fit.candidate.answers[fit.unknown][part.rows]).any():
        return False
    columns = fit.candidate.reading.columns
    return sum(map(len, columns.values())) == len(bundle.kinds)


def _agrees(fit: Fit) -> bool:
    """Whether at least half of the keys agree."""
    return 0 < fit.tally.counted <= 2 * fit.tally.agreeing


# ---------------------------------------------------------------------------- the text


def _worths(bundle: Bundle, some: Sequence[Fit]) -> dict[int, float]:
    """The worth of each fit's assignment, by the identity of its candidate."""
    found = {id(fit.candidate): fit.candidate for fit in some}
    return {
        key: candidate.reading.score + likelihood(bundle, candidate)
        for key, candidate in found.items()
    }


def _weigh(
    bundle: Bundle, part: Part, fit: Fit, rivals: Sequence[Fit], worths: Mapping[int, float]
) -> _Read:
    family = fit.candidate.resolver.family
    worth = worths[id(fit.candidate)]
    lead = min(
        (
            worth - worths[id(other.candidate)]
            for other in rivals
            if other.candidate.resolver is fit.candidate.resolver
            and other.unknown == fit.unknown
            and other.factor == fit.factor
            and not other.candidate.constants
            and not _alike(part, fit, other)
        ),
        default=math.inf,
    )
    named, clear = asks(part, family, fit.unknown)
    told = hints(bundle, part, family)
    odds = _BASE + _KIN * (kinship(bundle.words, family) - _KIN_MIDDLE) + named
    odds += min(_COLUMNS_MOST, _COLUMN * (len(bundle.kinds) - _COLUMNS_FREE))
    odds += _TOLD * min(len(told), _MOST_TOLD)
    odds += _SETTLED if lead >= _LEAD else _OPEN if lead >= _SLIGHT else _UNSETTLED
    odds += _WORSE * min(lead, 0.0)
    despite = odds >= _DESPITE and told <= INCIDENTAL_ROOTS - roots(part.asked)
    return _Read(fit, odds, worth, lead, clear, bool(told) and not despite)


def _alike(part: Part, one: Fit, two: Fit) -> bool:
    """Whether two fits give the same answers, as near as keys are written."""
    first = one.candidate.answers[one.unknown][part.rows]
    second = two.candidate.answers[two.unknown][part.rows]
    known = np.isfinite(first) & np.isfinite(second)
    return bool(np.all(np.abs(first - second)[known] <= SHARE * np.abs(first)[known]))


def hints(bundle: Bundle, part: Part, family: Family) -> frozenset[str]:
    """Words that hint at another law than the family's: in the stem those in none of its prose, and
    in what is asked those that its own stem and quantities lack."""
    own = vocabulary(family)
    stem = (bundle.words & TELLING_ROOTS) - own.prose
    return stem | (roots(part.asked) & TELLING_ROOTS) - own.all


def asks(part: Part, family: Family, unknown: str) -> tuple[float, bool]:
    """How plainly a part asks for an unknown, beside the others of its kind: log odds, and whether
    it is beyond doubt."""
    find = family.find
    wanted = kind(find[unknown].unit)
    words = roots(part.asked)
    alike = [name for name in find if kind(find[name].unit) == wanted]
    told = words & frozenset().union(*(vocabulary(family).meaning[name] for name in alike))
    shares = {name: _share(part, words, told, family, name) for name in alike}
    own = shares.pop(unknown)
    rival = max(shares.values(), default=-1.0)
    # "the greatest speed" is not "the speed"
    used = frozenset().union(*(vocabulary(family).meaning[n] for n in (unknown, *family.given)))
    qualified = bool(words & QUALIFYING_ROOTS - used)
    if rival < 0:
        odds = _NAMED if own >= 0.5 else _ALMOST if own > 0 else _NOT
    elif own >= rival + _LEAD:
        odds = _NAMED
    elif own >= rival + _SLIGHT:
        odds = _ALMOST
    else:
        odds = _OTHER if own <= rival - _SLIGHT else _TIED
    clear = own > 0 and own >= rival + _SLIGHT and not qualified and _meant(part, family, unknown)
    return odds + (_TIED if qualified else 0.0), clear


def _meant(part: Part, family: Family, unknown: str) -> bool:
    """Whether nothing speaks for another quantity than this unknown.

    A given may be what is asked, where the question turns the family round. The noun that is asked
    for must be the unknown's, its meaning must not be narrower, and if a word of the meaning is
    missing no other word of the family may stand in its place.
    """
    own = vocabulary(family)
    meaning = own.meaning[unknown]
    head, core = asked_for(part.asked)
    wanted = kind(family.find[unknown].unit)
    if (
        not head & (meaning | _generic(wanted))
        and not symbols_of(part.asked, "") & own.symbols[unknown]
    ):
        return False
    missing = meaning - core
    if missing & QUALIFYING_ROOTS or (missing and (core & own.all) - meaning):
        return False
    share = len(meaning & core) / max(1, len(meaning))
    return all(
        len(own.meaning[name] & core) / max(1, len(own.meaning[name])) <= share
        for name, given in family.given.items()
        if kind(given.unit) == wanted
    )


def _share(
    part: Part, words: frozenset[str], told: frozenset[str], family: Family, name: str
) -> float:
    """How well the asking words name an unknown: the harmonic mean of the share of its meaning
    that they hold, and of the share of `told`, what they hold of all such meanings, that is its
    own; and 1 more for its symbol."""
    own = vocabulary(family)
    meaning = own.meaning[name]
    share = 2 * len(meaning & told) / (len(meaning) + len(told)) if meaning else 0.0
    if not share and words & _generic(kind(family.find[name].unit)):
        share = _LEAD
    unit = part.group.key_unit
    symbols = symbols_of(part.asked, "" if unit is None else unit.text)
    marked = marks(family.find[name].meaning) & symbols
    return share + (1.0 if own.symbols[name] & symbols else 0.0) + (0.5 if marked else 0.0)


def _generic(wanted: Kind) -> frozenset[str]:
    """Words for any quantity of a kind."""
    if not _generics:
        for unit, words in GENERIC.items():
            _generics[kind(parse_unit(unit))] = roots(words)
    return _generics.get(wanted, frozenset())


_generics: dict[Kind, frozenset[str]] = {}


# ---------------------------------------------------------------------------- the keys


def _approved(part: Part, reads: Sequence[_Read], best: _Read) -> tuple[_Read, float] | None:
    """The likeliest reading with which most keys agree, if they make it likely enough."""
    agreeing = [
        read
        for read in reads
        if read.odds >= best.odds - _BEHIND
        and _agrees(read.fit)
        and not _exchanged(read, best)
        # of a reading that is not the likeliest, or with another constant, to the last digit
        and (
            2 * read.fit.tally.tight >= read.fit.tally.counted
            or (read.odds >= best.odds - _ALMOST and not read.fit.candidate.constants)
        )
    ]
    if not agreeing:
        return None
    read = max(agreeing, key=lambda read: (round(read.odds, 6), read.fit.tally.tight))
    tried = sum(other.odds >= best.odds - _BEHIND for other in reads)
    width = part.width.tight if read.fit.tally.tight else part.width.wide
    p = accident(part.keys, width) * tried
    odds = read.odds - math.log(min(1.0, p))
    return (_by_own_constants(read, reads), odds) if odds >= _APPROVE else None


def _exchanged(read: _Read, best: _Read) -> bool:
    """Whether a reading is the likeliest one with numbers exchanged, or asks for something else,
    against what the text plainly says."""
    if not best.clear or read.fit.candidate.resolver is not best.fit.candidate.resolver:
        return False
    if read.fit.unknown != best.fit.unknown:
        return read.odds <= best.odds - _MISREAD
    return best.worth - read.worth >= _EXCHANGED


def _by_own_constants(read: _Read, reads: Sequence[_Read]) -> _Read:
    """The same reading with the constants of the family: judging tries the others."""
    for other in reads:
        if (
            other.fit.candidate.reading is read.fit.candidate.reading
            and other.fit.unknown == read.fit.unknown
            and other.fit.factor == read.fit.factor
            and not other.fit.candidate.constants
        ):
            return other
    return read


def _may_accuse(
    bundle: Bundle,
    part: Part,
    best: _Read,
    reads: Sequence[_Read],
    worth: Mapping[int, float],
    tried: Sequence[Fit],
) -> bool:
    """Whether keys that disagree may be held against a reading."""
    if best.odds < _ACCUSE or not best.clear or best.hints or best.lead < _SLIGHT:
        return False
    if _turned_round(bundle, best.fit):
        return False
    if _unsupported(bundle, best):
        return False
    if _by_convention(bundle, part, best.fit):
        return False
    weighed = {id(read.fit): read for read in reads}
    sure = figures(part) >= _FIGURES
    for fit in tried:
        if not _agrees(fit) or (sure and not fit.tally.tight):
            continue
        read = weighed.get(id(fit))
        if fit.candidate.resolver is not best.fit.candidate.resolver:
            if read is not None and read.odds >= best.odds - _THOUGHT:
                return False
        elif fit.unknown != best.fit.unknown:
            # where it is not named beyond doubt, more likely what is asked was misread than that
            # the key of another part stands here
            family = fit.candidate.resolver.family
            named = asks(part, family, best.fit.unknown)[0] >= _NAMED
            named &= asks(part, family, fit.unknown)[0] <= _OTHER
            if not (named and _read_alike(fit, best.fit)):
                return False
        elif best.worth - worth[id(fit.candidate)] < _SWAP:
            return False
    return True


def _read_alike(one: Fit, two: Fit) -> bool:
    """Whether the givens that two fits have in common stand in the same numbers."""
    first, second = one.candidate.reading.columns, two.candidate.reading.columns
    return all(first[name] == second[name] for name in first.keys() & second.keys())


def _turned_round(bundle: Bundle, fit: Fit) -> bool:
    """Whether a number is called what the family solves for, so that the question is another."""
    family = fit.candidate.resolver.family
    own = vocabulary(family)
    for name, columns in fit.candidate.reading.columns.items():
        here = bundle.contexts[columns[0]]
        worth = here.score(own.meaning[name], own.symbols[name])
        for other, unknown in family.find.items():
            if not fits(bundle.kinds[columns[0]], kind(unknown.unit)):
                continue
            if own.meaning[other] < own.meaning[name]:
                continue  # "margin of error" within "margin of error wanted"
            if here.score(own.meaning[other], own.symbols[other]) > worth + _NEAR:
                return True
    return False


def _unsupported(bundle: Bundle, read: _Read) -> bool:
    """Whether a number is a given only because it must be one: it has no unit where the given has,
    or others of its kind compete and no word near it speaks for the given, nor its size where it
    is the only one left."""
    fit, resolver = read.fit, read.fit.candidate.resolver
    own = vocabulary(resolver.family)
    data = {**resolver.scalars, **resolver.lists}
    free = [kind(datum.unit) for datum in data.values() if datum.fixed is None]
    for name, columns in fit.candidate.reading.columns.items():
        wanted, datum = kind(data[name].unit), data[name]
        if bundle.kinds[columns[0]] == BARE and wanted != PURE and not datum.listed:
            return True
        if datum.fixed is not None or free.count(wanted) < 2:
            continue
        sized = plausible(bundle, columns[0], resolver.family, datum) >= _SIZED
        if sized and read.lead >= _ELIMINATED and not datum.listed:
            continue
        contexts = (bundle.contexts[columns[0]], bundle.contexts[columns[-1]])
        if not any(here.score(own.meaning[name], own.symbols[name]) for here in contexts):
            return True
    return False


def _by_convention(bundle: Bundle, part: Part, fit: Fit) -> bool:
    """Whether most keys are right where one given has the other sign, or an angle is measured from
    the other axis: texts differ in such conventions."""
    resolver = fit.candidate.resolver
    columns = fit.candidate.reading.columns
    n = len(bundle)
    values: dict[str, Floats] = {
        name: columns_of(bundle, resolver, name, own) for name, own in columns.items()
    }
    for name in columns.keys() & resolver.scalars.keys():
        datum = resolver.scalars[name]
        if datum.fixed is not None or datum.unit.offset:
            continue
        others = [-values[name]] if _signed(resolver.family, name) else []
        if kind(datum.unit) == ANGLE:
            others = [math.pi / 2 - values[name], math.pi - values[name]]
        for other in others:
            with np.errstate(all="ignore"):
                solved = resolver.solve({**values, name: other}, n)
            answers = solved.answers[fit.unknown][part.rows]
            met = np.abs(answers - part.keys) <= part.width.tight
            if met.sum() > fit.tally.counted / 2:
                return True
    return False


def _signed(family: Family, name: str) -> bool:
    """Whether it may be a convention which way a given is counted positive: it has a direction, or
    the family draws values of either sign."""
    if not _directed:
        _directed.update(
            kind(parse_unit(unit)) for unit in ("m/s", "m/s^2", "N", "A", "V", "C", "1")
        )
    source = family.given[name].source
    if kind(family.given[name].unit) in _directed:
        return True
    if isinstance(source, Grid):
        return min(source.first, source.first + source.step * (source.count - 1)) < 0
    return not isinstance(source, Listed) or min(source.mantissas) < 0


_directed: set[Kind] = set()


def figures(part: Part) -> int:
    """The fewest significant figures of the keys."""
    found = Keys.of(part.group.questions).figures[np.isfinite(part.keys)]
    return int(found.min()) if len(found) else 0
