"""Forms for paper: the same questions under several letters, with siblings or mixed options."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qbank.item import Choice, Item, Matching, Option, Ordering, Part
from qbank.proof.asked import entries_mixed, shuffled
from qbank.proof.pools import pool_keys

MOST_FORMS = 26


@dataclass(frozen=True, slots=True)
class Asked:
    """A part as it stands on a form: `options` in the order printed; for a matching its targets."""

    part: Part
    options: tuple[Option, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    number: int
    item: Item
    parts: tuple[Asked, ...]


@dataclass(frozen=True, slots=True)
class Form:
    letter: str
    questions: tuple[Question, ...]

    @property
    def points(self) -> float:
        """The most a candidate can score."""
        return sum(question.item.points for question in self.questions)


def arrange(items: Sequence[Item], count: int) -> tuple[Form, ...]:
    """`count` forms; each pool of siblings is one question, in the order of the items.

    Form k takes the k-th sibling of each pool. Where the siblings run out they are used again,
    with the options in another order. Raises ValueError unless 1 <= count <= 26.
    """
    if not 1 <= count <= MOST_FORMS:
        raise ValueError(f"count {count}; expected from 1 to {MOST_FORMS}")
    pools: dict[str, list[Item]] = {}
    for item, key in zip(items, pool_keys(items), strict=True):
        pools.setdefault(key, []).append(item)
    forms = []
    for k in range(count):
        letter = chr(ord("A") + k)
        questions = []
        for number, pool in enumerate(pools.values(), 1):
            item = pool[k % len(pool)]
            again = k >= len(pool)
            parts = tuple(_asked(part, f"{item.identifier}/{letter}", again) for part in item.parts)
            questions.append(Question(number, item, parts))
        forms.append(Form(letter, tuple(questions)))
    return tuple(forms)


def _asked(part: Part, salt: str, again: bool) -> Asked:
    match part:
        case Choice(options=options):
            mixed = again and part.shuffle
            return Asked(part, shuffled(options, salt) if mixed else options)
        case Ordering():
            return Asked(part, entries_mixed(part, salt))
        case Matching(targets=targets):
            return Asked(part, shuffled(targets, salt))
        case _:
            return Asked(part)
