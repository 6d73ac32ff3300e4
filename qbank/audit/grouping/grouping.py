"""Questions sorted into groups of siblings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from qbank.audit.grouping.asked import canonical
from qbank.audit.grouping.columns import Worded, group_of
from qbank.audit.grouping.similar import clusters
from qbank.audit.grouping.wording import (
    Wording,
    asking_prompt,
    asking_stem,
    with_prompt,
    wordings_of,
)
from qbank.audit.question import Group, Question
from qbank.expressions.units import Dimension

Tokens = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """One question among the rest. `stem` is the position of its stem's wording among all, `asked`
    the words that ask; `rank` tells apart parts of one item that ask in the same words."""

    worded: Worded
    stem: int
    asked: Tokens
    rank: int
    choice: bool
    dimension: Dimension | None


@dataclass(frozen=True, slots=True)
class _Stem:
    """What the parts of an item share."""

    position: int
    wording: Wording
    asked: Tokens


def group_questions(questions: Sequence[Question]) -> list[Group]:
    """The groups of siblings in the order of their first question; singles are groups of one.

    Siblings agree in their wording with the numbers taken out, save small edits: a word changed,
    another name, a slip of the pen, a sentence more. What they ask for must agree in all but
    fillers and slips of the pen. Parts of one item, choices and numbers to enter, and answers of
    different dimensions are never in one group. Which questions are grouped does not depend on
    their order. Time: about linear in the amount of text.
    """
    parts, stems = _parts(questions)
    order = sorted(range(len(stems)), key=stems.__getitem__)
    found = clusters([stems[at] for at in order])
    cluster = dict(zip(order, found, strict=True))
    home = _homes(parts, cluster)
    keys = [
        (cluster[part.stem], home[cluster[part.stem], part.asked], part.rank, part.choice)
        for part in parts
    ]
    dimensions: dict[object, set[Dimension | None]] = {}
    for key, part in zip(keys, parts, strict=True):
        dimensions.setdefault(key, set()).update({part.dimension} - {None})
    groups: dict[object, list[Worded]] = {}
    for key, part in zip(keys, parts, strict=True):
        # a part without a unit joins its siblings, unless these have units of several kinds
        several = len(dimensions[key]) > 1
        groups.setdefault((key, part.dimension if several else None), []).append(part.worded)
    return [group_of(members) for members in groups.values()]


def _parts(questions: Sequence[Question]) -> tuple[list[_Part], list[Tokens]]:
    """The parts, and the different wordings of stems."""
    seen: Counter[tuple[int, Tokens, bool]] = Counter()
    positions: dict[Tokens, int] = {}
    stems: dict[tuple[int, str, bool], _Stem] = {}
    out: list[_Part] = []
    for question in questions:
        shared = (question.number, question.stem, not question.prompt.strip())
        if shared not in stems:
            wording, _ = wordings_of(question)
            at = positions.setdefault(wording.tokens, len(positions))
            stems[shared] = _Stem(at, wording, asking_stem(question))
        stem = stems[shared]
        asked = stem.asked + asking_prompt(question)
        mark = (question.number, asked, bool(question.options))
        out.append(
            _Part(
                Worded(question, with_prompt(question, stem.wording)),
                stem.position,
                asked,
                seen[mark],
                bool(question.options),
                None if question.unit is None else question.unit.dimension,
            )
        )
        seen[mark] += 1
    return out, list(positions)


def _homes(parts: Sequence[_Part], cluster: dict[int, int]) -> dict[tuple[int, Tokens], Tokens]:
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
