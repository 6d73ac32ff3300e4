"""Orders and pairs in a cartridge, whose profiles have neither: as multiple choices instead.

A matching becomes one multiple choice among the targets for each source. An order becomes one
multiple choice among whole orders of lettered entries (mapping note, b6). Partial credit within
an order and the feedback of entries and sources are lost; each source of a matching is credited
by itself, which is partial credit whether or not it was meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from random import Random

from qbank.formats.arranging import share, shown_entries
from qbank.item import Choice, Inline, Matching, Option, Ordering

_ORDERS = 4  # offered of an order, the right one among them
_TRIES = 200


def choices_of(part: Ordering | Matching) -> Iterator[Choice]:
    """The choices that the part becomes."""
    if isinstance(part, Ordering):
        yield _among_orders(part)
        return
    for source, target in part.pairs:
        content = next(s.content for s in part.sources if s.identifier == source)
        yield Choice(
            identifier=f"{part.identifier}.{source}",
            prompt=(*_spaced(part.prompt), *content),
            options=tuple(
                Option(o.identifier, o.content, o.identifier == target, _told(o, target), o.slip)
                for o in part.targets
            ),
            points=share(part),
            shuffle=False,
        )


def _told(target: Option, right: str) -> tuple[Inline, ...]:
    """The feedback of a target, which is for who picks it wrongly."""
    return () if target.identifier == right else target.feedback


def _among_orders(part: Ordering) -> Choice:
    shown = shown_entries(part)
    letters = {entry.identifier: chr(ord("A") + n) for n, entry in enumerate(shown)}
    prompt = list(_spaced(part.prompt))
    for n, entry in enumerate(shown):
        prompt += [f"{' ' if n else ''}({letters[entry.identifier]}) ", *entry.content]
    right = [letters[entry.identifier] for entry in part.entries]
    orders = [right, *islice(_other_orders(right, part.identifier), _ORDERS - 1)]
    return Choice(
        identifier=part.identifier,
        prompt=tuple(prompt),
        options=tuple(
            Option(f"C{n}", (" – ".join(order),), order is right)
            for n, order in enumerate(sorted(orders), 1)
        ),
        points=part.points,
        shuffle=False,
    )


def _other_orders(right: list[str], salt: str) -> Iterator[list[str]]:
    """Wrong orders, each once. Drawn at random rather than by single swaps of the right one,
    which would stand out as the order that all others resemble."""
    random = Random(f"{salt}/{' '.join(right)}")  # noqa: S311 - the same each time, no secret
    seen = [right]
    for _ in range(_TRIES):
        order = random.sample(right, len(right))
        if order not in seen:
            seen.append(order)
            yield order


def _spaced(prompt: tuple[Inline, ...]) -> tuple[Inline, ...]:
    return (*prompt, " ") if prompt else ()
