"""What an item says that a format has no words for, told by what the format says it can."""

from __future__ import annotations

from itertools import chain

from qbank.formats.base import Capabilities
from qbank.item import (
    Choice,
    Display,
    Inline,
    Item,
    Matching,
    Math,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Part,
    Table,
)


def unsaid_kinds(item: Item, target: Capabilities) -> list[str]:
    """What the item says and the target has no words for, by kind."""
    numbers = [part for part in item.parts if isinstance(part, NumberEntry)]
    told = [wrong.feedback for part in numbers for wrong in part.wrong_values]
    told.extend(option.feedback for part in item.parts for option in _options(part))
    found = {
        "tolerance": not target.tolerance and bool(numbers),
        "several_parts": not target.several_parts and len(item.parts) > 1,
        "feedback": not target.feedback and any(told),
        "hints": not target.hints and bool(item.hints),
        "arranging": not target.arranging
        and any(isinstance(part, Ordering | Matching) for part in item.parts),
        "mathml": not target.mathml and _has_math(item),
    }
    return [kind for kind, lost in found.items() if lost]


def _options(part: Part) -> tuple[Option, ...]:
    match part:
        case Choice():
            return part.options
        case Ordering():
            return part.entries
        case Matching():
            return part.sources + part.targets
    return ()


def _has_math(item: Item) -> bool:
    runs: list[tuple[Inline, ...]] = [*item.hints]
    for block in (*item.stem, *item.solution):
        match block:
            case Display():
                return True
            case Paragraph():
                runs.append(block.content)
            case Table():
                runs.extend(chain(block.header, *block.rows))
    for part in item.parts:
        runs.append(part.prompt)
        runs.extend(option.content for option in _options(part))
    return any(isinstance(piece, Math) for run in runs for piece in run)
