"""Questions sorted into groups of siblings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from qbank.audit.grouping.asked import canonical
from qbank.audit.grouping.columns import Worded, group_of
from qbank.audit.grouping.similar import clusters
from qbank.audit.grouping.wording import asking, wording_of
from qbank.audit.question import Group, Question
from qbank.expressions.units import Dimension

Tokens = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """One question among the rest; `asked` holds the words of its prompt, `rank` tells apart parts
    of one item that ask in the same words."""

    worded: Worded
    stem: Tokens
    asked: Tokens
    rank: int
    choice: bool
    dimension: Dimension | None


def group_questions(questions: Sequence[Question]) -> list[Group]:
    """The groups of siblings in the order of their first question; singles are groups of one.

    Siblings agree in their wording with the numbers taken out, save small edits: a word changed,
    another name, a slip of the pen, a sentence more. What they ask for must agree in all but
    fillers and slips of the pen. Parts of one item, choices and numbers to enter, and answers of
    different dimensions are never in one group. Which questions are grouped does not depend on
    their order. Time: about linear in the amount of text.
    """
    parts = _parts(questions)
    stems = sorted({part.stem for part in parts})
    cluster = dict(zip(stems, clusters(stems), strict=True))
    home = _homes(parts, cluster)
    groups: dict[object, list[Worded]] = {}
    keys = [
        (cluster[part.stem], home[cluster[part.stem], part.asked], part.rank, part.choice)
        for part in parts
    ]
    dimensions: dict[object, set[Dimension | None]] = {}
    for key, part in zip(keys, parts, strict=True):
        dimensions.setdefault(key, set()).update({part.dimension} - {None})
    for key, part in zip(keys, parts, strict=True):
        # a part without a unit joins its siblings, unless these have units of several kinds
        several = len(dimensions[key]) > 1
        groups.setdefault((key, part.dimension if several else None), []).append(part.worded)
    return [group_of(members) for members in groups.values()]


def _parts(questions: Sequence[Question]) -> list[_Part]:
    seen: Counter[tuple[int, Tokens, bool]] = Counter()
    out: list[_Part] = []
    for question in questions:
        in_stem = [q for q in question.quantities if q.start < len(question.stem)]
        asked = asking(question)
        mark = (question.number, asked, bool(question.options))
        out.append(
            _Part(
                Worded(question, wording_of(question.text, question.quantities)),
                wording_of(question.stem, in_stem).tokens,
                asked,
                seen[mark],
                bool(question.options),
                None if question.unit is None else question.unit.dimension,
            )
        )
        seen[mark] += 1
    return out


def _homes(parts: Sequence[_Part], cluster: dict[Tokens, int]) -> dict[tuple[int, Tokens], Tokens]:
    """For each cluster and prompt the prompt it is taken for."""
    counts: dict[int, Counter[Tokens]] = {}
    items: dict[int, dict[Tokens, set[int]]] = {}
    for part in parts:
        own = cluster[part.stem]
        counts.setdefault(own, Counter())[part.asked] += 1
        items.setdefault(own, {}).setdefault(part.asked, set()).add(part.worded.question.number)
    return {
        (own, asked): home
        for own, counted in counts.items()
        for asked, home in canonical(counted, items[own]).items()
    }
