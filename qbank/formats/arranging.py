"""What all formats share of parts that are put in order or matched: shown order, feedback, pairs.

Feedback of an entry is for who puts it in another place than its own; that of a source or target
for who pairs it wrongly. A spare target, which no source is paired with, is wrong with each.
"""

from __future__ import annotations

from hashlib import sha256

from qbank.item import Choice, Matching, NumberEntry, Option, Ordering, Part, WrongValue


def shown_entries(part: Ordering) -> tuple[Option, ...]:
    """The entries as they are written: never in the right order, which would tell it.

    The order hangs on the identifiers alone, so that it is the same in every format and file.
    """
    shown = tuple(
        sorted(
            part.entries,
            key=lambda entry: sha256(
                f"{part.identifier}/{entry.identifier}".encode(errors="replace")
            ).digest(),
        )
    )
    return (*shown[1:], shown[0]) if shown == part.entries else shown


def answers_of(part: Part) -> tuple[WrongValue | Option, ...]:
    """All that a part may have feedback for, in order; of a matching, sources before targets."""
    match part:
        case NumberEntry():
            return part.wrong_values
        case Choice():
            return part.options
        case Ordering():
            return part.entries
        case Matching():
            return (*part.sources, *part.targets)


def share(part: Ordering | Matching) -> float:
    """The points for one entry in its place, or for one right pair."""
    return part.points / max(len(part.entries if isinstance(part, Ordering) else part.pairs), 1)


def wrong_with_source(part: Matching, source: str) -> list[tuple[str, str]]:
    """The wrong pairs that a source can be in."""
    return [
        pair for target in part.targets if (pair := (source, target.identifier)) not in part.pairs
    ]


def wrong_with_target(part: Matching, target: str) -> list[tuple[str, str]]:
    """The wrong pairs that a target can be in."""
    return [
        pair for source in part.sources if (pair := (source.identifier, target)) not in part.pairs
    ]


def can_be_wrong(part: Matching, answer: WrongValue | Option) -> bool:
    """Whether a source or target of the part can be in a wrong pair."""
    if answer in part.sources:
        return True
    return any(wrong_with_target(part, t.identifier) for t in part.targets if t is answer)
