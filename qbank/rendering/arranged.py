"""Parts put in order and matched: the texts of the author, mixed by the item.

Identifiers go by the place at which an entry or target is shown, so that they tell nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import repeat
from math import factorial

from qbank.family.model import Match, PutInOrder, Slip
from qbank.item import Inline, Matching, Option, Ordering
from qbank.item import Part as ItemPart
from qbank.rendering.columns import Column, Fixed, MathPart, apply, content, together
from qbank.rendering.identity import places
from qbank.rendering.sentences import Sentences

Content = tuple[Inline, ...]


def order_part(
    ask: PutInOrder, identifier: str, sentences: Sentences, prompt: Column[Content]
) -> Column[ItemPart]:
    """The part for `order`; no item shows the entries in the right order."""
    contents = together([sentences.inline(entry) for entry in ask.entries])
    count = len(ask.entries)
    return apply(
        Ordering,
        Fixed(identifier),
        prompt,
        lambda batch: map(
            _entries, contents(batch), places(batch, identifier, factorial(count) - 1)
        ),
        Fixed(ask.points),
        Fixed(ask.partial),
    )


def match_part(
    ask: Match, identifier: str, sentences: Sentences, prompt: Column[Content]
) -> Column[ItemPart]:
    """The part for `match`: sources as the author has them, targets mixed.

    Targets that read the same are one; what a slip writes is no target more where a right one
    reads so, or that of a slip before it.
    """
    sources = together([sentences.inline(source) for source, _ in ask.pairs])
    targets = [sentences.inline(target) for _, target in ask.pairs]
    slips: list[Slip] = []
    formulas, case = sentences.formulas, sentences.formulas.case.name
    for name in ask.spare:
        slip = sentences.family.slips[name]
        if slip.only and case not in slip.only:
            continue
        for wrong in slip.laws.values():
            slips.append(slip)
            targets.append(content([MathPart(formulas.math(formulas.symbolic(wrong)))]))
    offered = together(targets)
    right = len(ask.pairs)

    made: Column[tuple[tuple[Option, ...], tuple[tuple[str, str], ...]]] = lambda batch: map(  # noqa: E731
        _targets,
        offered(batch),
        repeat(right),
        repeat(slips),
        places(batch, identifier, factorial(len(targets))),
    )
    return apply(
        _matching,
        Fixed(identifier),
        prompt,
        sources,
        made,
        Fixed(ask.points),
        Fixed(ask.partial),
    )


def _entries(contents: Sequence[Content], place: int) -> tuple[Option, ...]:
    """The entries in the right order, named by where a mixed order shows them."""
    shown = permutation(len(contents), place + 1)
    names = {k: f"E{n}" for n, k in enumerate(shown, 1)}
    return tuple(Option(names[k], text, correct=False) for k, text in enumerate(contents))


def _targets(
    contents: Sequence[Content], right: int, slips: Sequence[Slip], place: int
) -> tuple[tuple[Option, ...], tuple[tuple[str, str], ...]]:
    """The targets as shown, and the right pairs."""
    distinct = list(dict.fromkeys(contents))
    others = factorial(len(distinct)) - 1  # all orders but the author's
    shown = permutation(len(distinct), place % others + 1 if others else 0)
    names = {distinct[k]: f"T{n}" for n, k in enumerate(shown, 1)}
    options = []
    for k in shown:
        at = contents.index(distinct[k])
        slip = slips[at - right] if at >= right else None
        feedback = () if slip is None else (slip.says,)
        options.append(
            Option(names[distinct[k]], distinct[k], False, feedback, slip.name if slip else None)
        )
    pairs = tuple((f"S{n}", names[target]) for n, target in enumerate(contents[:right], 1))
    return tuple(options), pairs


def _matching(
    identifier: str,
    prompt: Content,
    sources: Sequence[Content],
    targets: tuple[tuple[Option, ...], tuple[tuple[str, str], ...]],
    points: float,
    partial: bool,
) -> ItemPart:
    left = tuple(Option(f"S{n}", text, correct=False) for n, text in enumerate(sources, 1))
    return Matching(identifier, prompt, left, *targets, points, partial)


def permutation(count: int, place: int) -> list[int]:
    """The permutation of `0 .. count - 1` at a place below `count!` in lexicographic order; at
    place 0 everything stands where it stood.

    >>> permutation(3, 0), permutation(3, 1), permutation(3, 5)
    ([0, 1, 2], [0, 2, 1], [2, 1, 0])
    """
    left = list(range(count))
    found = []
    for size in range(count - 1, -1, -1):
        at, place = divmod(place, factorial(size))
        found.append(left.pop(at))
    return found
