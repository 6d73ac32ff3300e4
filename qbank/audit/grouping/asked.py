"""Which prompts ask for the same: equal ones, and those that differ in a slip of the pen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher

# Words that can come and go without changing what is asked for.
_FILLERS = frozenset(
    {"a", "an", "the", "please", "now", "then", "in", "of", "is", "to", "your", "answer", "enter"}
    | {"type", "value", "correct", "question", "significant", "figures", "rounded", "round"}
    | {"and", "decimal", "places"}
)
_SLIP_LENGTH = 5  # in shorter words one letter makes another word
_SLIP_RATIO = 0.82  # of equal letters; "accelaration" for "acceleration" has 0.92
_COMPARED = 60  # prompts of one wording that are compared with each other

# Words of one length that differ little and mean different things are told apart by this list.
_APART = frozenset({frozenset({"increase", "decrease"}), frozenset({"maximum", "minimum"})})


def same_question(one: tuple[str, ...], two: tuple[str, ...]) -> bool:
    """Whether two prompts ask for the same thing, save fillers and slips of the pen.

    A symbol or a short word that differs makes another question: "T_a" is not "T_b".
    """
    first = [word for word in one if word not in _FILLERS]
    second = [word for word in two if word not in _FILLERS]
    if first == second:
        return True
    if len(first) != len(second):
        return False
    differing = [(a, b) for a, b in zip(first, second, strict=True) if a != b]
    return len(differing) <= max(1, len(first) // 8) and all(_slip(a, b) for a, b in differing)


def _slip(one: str, two: str) -> bool:
    if min(len(one), len(two)) < _SLIP_LENGTH or abs(len(one) - len(two)) > 1:
        return False
    if one[0] != two[0] or frozenset({one, two}) in _APART:
        return False
    return SequenceMatcher(None, one, two, autojunk=False).ratio() >= _SLIP_RATIO


def canonical(
    counts: Mapping[tuple[str, ...], int], items: Mapping[tuple[str, ...], Iterable[int]]
) -> dict[tuple[str, ...], tuple[str, ...]]:
    """The prompt that each prompt is taken for: the most frequent that asks for the same.

    `items` says in which items a prompt stands; two of one item never ask for the same.
    """
    order = sorted(counts, key=lambda prompt: (-counts[prompt], prompt))
    result: dict[tuple[str, ...], tuple[str, ...]] = {}
    chosen: dict[tuple[str, ...], set[int]] = {}
    for prompt in order:
        own = set(items[prompt])
        home = prompt
        for other in list(chosen)[:_COMPARED]:
            if same_question(prompt, other) and not own & chosen[other]:
                home = other
                break
        result[prompt] = home
        chosen.setdefault(home, set()).update(own)
    return result
