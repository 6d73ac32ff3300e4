"""Families found by trying, for groups that nothing else ties to a family."""

from __future__ import annotations

import math
from collections import Counter, OrderedDict
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from qbank.audit.grouping.wording import wordings_of
from qbank.audit.matching.agreement import tally
from qbank.audit.matching.bundles import Bundle, Part, bundles
from qbank.audit.matching.deciding import decide
from qbank.audit.matching.fits import Decision, Fit
from qbank.audit.matching.model import MatchedGroup, Matching, Unmatched
from qbank.audit.matching.search import columns_of, scaled, search
from qbank.audit.matching.sentences import says
from qbank.audit.matching.text_units import without_text_unit
from qbank.audit.question import Floats, Group
from qbank.audit.resolving import Resolver, resolver_of
from qbank.audit.verdict import Assignment, Level
from qbank.errors import ExpressionError, QbankError
from qbank.expressions.units import DIMENSIONLESS, Unit, parse_unit
from qbank.family.model import Family

_ODD = (
    0.6  # of the confidence, where a row that disagrees is worded otherwise than those that agree
)
_PREFIXES = "kcmMµdGn"
_LIKE = 0.85  # of equal letters: a slip of the pen


def match_groups(groups: Sequence[Group], families: Sequence[Family]) -> Matching:
    """Find the family of each group by trying.

    For every family whose units allow it, the assignments of the stems' numbers to its givens are
    tried, and the one under which most keys agree is taken, if so many agreeing by accident is
    less likely than `MOST_CHANCE`, at least two thirds agree, and no other reading does about as
    well. Of up to seven keys the text has to name the family, every quantity and what is asked.
    Nothing hangs on the order of the questions. Families whose laws cannot be solved are left out.
    """
    resolvers = _resolvers(families)
    results: dict[int, MatchedGroup | Unmatched] = {}
    for bundle in bundles(groups):
        found = search(bundle, resolvers)
        for part, decision in zip(bundle.parts, decide(bundle, found), strict=True):
            results[id(part.group)] = _result(bundle, part, decision)
    for group in groups:
        if isinstance(results[id(group)], Unmatched):
            again = _without_unit(group, resolvers)
            if again is not None:
                results[id(group)] = again
    ordered = [results[id(group)] for group in groups]
    return Matching(
        tuple(result for result in ordered if isinstance(result, MatchedGroup)),
        tuple(result for result in ordered if isinstance(result, Unmatched)),
    )


def _without_unit(group: Group, resolvers: Sequence[Resolver]) -> MatchedGroup | None:
    """The match of a group as if its words held no unit of the answer, if that is a number."""
    bare = without_text_unit(group)
    if bare is None:
        return None
    (bundle,) = bundles([bare])
    (decision,) = decide(bundle, search(bundle, resolvers))
    found = _result(bundle, bundle.parts[0], decision)
    if not isinstance(found, MatchedGroup) or found.key_unit.dimension != DIMENSIONLESS:
        return None
    return found


def _resolvers(families: Sequence[Family]) -> list[Resolver]:
    found: OrderedDict[str, Resolver] = OrderedDict()
    for family in sorted(families, key=lambda family: (family.name, family.digest)):
        try:
            found.setdefault(family.digest, resolver_of(family))
        except QbankError:
            continue
    return list(found.values())


def _result(bundle: Bundle, part: Part, decision: Decision) -> MatchedGroup | Unmatched:
    fit = decision.fit
    if fit is None:
        return Unmatched(part.group, decision.reason, decision.code)
    values = _values(bundle, part, fit)
    unit = part.group.key_unit or _unit(fit)
    family = fit.candidate.resolver.family
    keys = scaled(part, fit.factor, family.find[fit.unknown].unit)
    return finish(
        part,
        fit.candidate.resolver,
        fit.unknown,
        columns=fit.candidate.reading.columns,
        constants=fit.candidate.constants,
        values=values,
        keys=keys,
        key_unit=unit,
        factor=1.0 if part.group.key_unit else fit.factor,
        level=Level.MATCHED,
        chance=decision.chance,
        confidence=decision.confidence,
    )


def _unit(fit: Fit) -> Unit:
    """The unit of keys that have none: the family's, or one that differs by a power of ten."""
    own = fit.candidate.resolver.family.find[fit.unknown].unit
    if math.isclose(fit.factor, own.factor):
        return own
    bare = [own.text, own.text[1:]]  # with and without its prefix
    texts = ["%", "1", *(prefix + text for prefix in ("", *_PREFIXES) for text in bare if text)]
    for text in texts:
        try:
            unit = parse_unit(text)
        except ExpressionError:
            continue
        if unit.dimension == own.dimension and math.isclose(unit.factor, fit.factor):
            return unit
    factor = Fraction(fit.factor).limit_denominator(10**12)
    return Unit(f"{fit.factor:g} {own.dimension}".strip(), own.dimension, fit.factor, exact=factor)


def _values(bundle: Bundle, part: Part, fit: Fit) -> dict[str, Floats]:
    resolver = fit.candidate.resolver
    values = {
        name: columns_of(bundle, resolver, name, columns)[part.rows]
        for name, columns in fit.candidate.reading.columns.items()
    }
    n = len(part.group)
    values.update({name: np.full(n, value) for name, value in fit.candidate.constants.items()})
    return values


def finish(
    part: Part,
    resolver: Resolver,
    unknown: str,
    *,
    columns: Mapping[str, tuple[int, ...]],
    constants: Mapping[str, float],
    values: Mapping[str, Floats],
    keys: Floats,
    key_unit: Unit,
    factor: float,
    level: Level,
    chance: float,
    confidence: float,
) -> MatchedGroup:
    """A matched group: all rows solved, compared, and put into words."""
    group, family = part.group, resolver.family
    n = len(group)
    with np.errstate(all="ignore"):
        solved = resolver.solve(values, n)
    answers = solved.answers[unknown]
    width = part.width if factor == 1.0 else part.width.scaled(abs(factor))
    found = tally(answers, keys, width, int(np.isfinite(keys).sum()))
    usable = np.isfinite(answers) & np.isfinite(keys)
    whole = np.full(n, confidence)
    if level is Level.MATCHED:
        odd, another = _worded_otherwise(group, found.mask)
        whole[odd] *= _ODD
        usable &= ~another
    return MatchedGroup(
        group=group,
        family=family,
        unknown=unknown,
        level=level,
        columns=dict(columns),
        constants=dict(constants),
        key_unit=key_unit,
        keys=keys,
        values=dict(values),
        usable=usable,
        answers=answers,
        agreeing=found.mask,
        confidence=whole,
        chance=chance,
        assignment=Assignment(
            family.name, unknown, group.wording, n, found.agreeing, chance,
            says(group, family, unknown, columns, constants),
        ),
    )  # fmt: skip


def _worded_otherwise(
    group: Group, agreeing: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Rows that disagree and hold a word that no agreeing row holds, or lack one that all hold: the
    word may change what is right. Names and slips of the pen do not count.

    The second mask holds those that share such a word with another row: a variant of the question,
    of which nothing is known.
    """
    odd = np.zeros(len(group), dtype=np.bool_)
    another = np.zeros(len(group), dtype=np.bool_)
    if agreeing.all() or not agreeing.any():
        return odd, another
    bags = [frozenset(wordings_of(question)[1].tokens) for question in group.questions]
    fine = [bag for bag, agrees in zip(bags, agreeing, strict=True) if agrees]
    known = frozenset().union(*fine)
    always = known.intersection(*fine)
    strange: dict[int, frozenset[str]] = {}
    for row in np.flatnonzero(~agreeing).tolist():
        own = bags[row]
        if always <= own <= known:
            continue
        text = group.questions[row].text
        new = [word for word in own - known if word.capitalize() not in text]
        lost = [word for word in always - own if not any(_slip(word, other) for other in new)]
        strange[row] = frozenset(
            word for word in new if not any(_slip(word, other) for other in always - own)
        )
        odd[row] = bool(strange[row]) or any(word.islower() for word in lost)
    counts = Counter(word for words in strange.values() for word in words)
    for row, words in strange.items():
        another[row] = any(counts[word] > 1 for word in words)
    return odd, another


def _slip(one: str, two: str) -> bool:
    if min(len(one), len(two)) < 4 or one[0] != two[0]:
        return False
    return SequenceMatcher(None, one, two, autojunk=False).ratio() >= _LIKE
