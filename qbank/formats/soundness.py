"""What every format asks of an item, whatever it writes: a fault here is one of the tool."""

from __future__ import annotations

import math
import re

from qbank.errors import CheckFailed
from qbank.formats.pictures import ensure_picture, images_of
from qbank.formats.xmltext import IDENTIFIER, NUMBER
from qbank.item import Choice, Item, Matching, NumberEntry, Ordering, Part

# BCP 47 as the datatype `language` of XML Schema has it.
_LANGUAGE = re.compile(r"[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8})*")


def ensure_sound(item: Item, *, unkeyed: bool = False) -> None:
    """Raise CheckFailed unless an item is named and keyed as its docstrings promise.

    With `unkeyed`, parts whose key nobody stated pass.
    """
    if not IDENTIFIER.fullmatch(item.identifier):
        raise CheckFailed(
            f"the item's identifier '{item.identifier}' is no name of 1 to 32 letters, digits, "
            "dots, hyphens and underscores"
        )
    if not item.title:
        raise CheckFailed(f"item '{item.identifier}' has no title")
    if not _LANGUAGE.fullmatch(item.language):
        raise CheckFailed(f"item '{item.identifier}': '{item.language}' names no language")
    for image in images_of(item):
        ensure_picture(image)
    for part in item.parts:
        if not math.isfinite(part.points) or part.points < 0:
            raise CheckFailed(f"part '{part.identifier}' scores {part.points} points")
        if unkeyed and not is_keyed(part):
            continue
        match part:
            case NumberEntry():
                _ensure_bands(part)
            case Choice():
                _ensure_options(part)
            case Ordering():
                _ensure_entries(part)
            case Matching():
                _ensure_pairs(part)


def is_keyed(part: Part) -> bool:
    """Whether it is said what answers are right."""
    match part:
        case NumberEntry():
            band = part.tolerance
            return not (math.isnan(part.key) or (math.isnan(band.low) and math.isnan(band.high)))
        case Choice():
            return part.multiple or any(option.correct for option in part.options)
        case Matching():
            return bool(part.pairs)
    return True


def _ensure_bands(part: NumberEntry) -> None:
    """The key lies in its band, and the ranges of wrong values stay apart from it."""
    low, high = part.tolerance.low, part.tolerance.high
    if not NUMBER.fullmatch(part.key_text) or not low <= float(part.key_text) <= high:
        raise CheckFailed(
            f"part '{part.identifier}': the key {part.key_text} is no number in {low} .. {high}"
        )
    for wrong in part.wrong_values:
        if not wrong.low <= wrong.high or (wrong.low < high and low < wrong.high):
            raise CheckFailed(
                f"part '{part.identifier}': the range {wrong.low} .. {wrong.high} of slip "
                f"'{wrong.slip}' is empty or meets the accepted one, {low} .. {high}"
            )


def _ensure_options(part: Choice) -> None:
    names = {option.identifier for option in part.options}
    right = sum(option.correct for option in part.options)
    if len(names) < len(part.options) or len(names) < 2 or (right != 1 and not part.multiple):
        raise CheckFailed(
            f"part '{part.identifier}': {len(part.options)} options with {len(names)} names, "
            f"{right} of them right"
        )


def _ensure_entries(part: Ordering) -> None:
    names = {entry.identifier for entry in part.entries}
    if len(names) < len(part.entries) or len(names) < 2:
        raise CheckFailed(
            f"part '{part.identifier}': {len(part.entries)} entries to put in order with "
            f"{len(names)} names"
        )


def _ensure_pairs(part: Matching) -> None:
    """Each source has one target of its own side's, and each target can be picked wrongly."""
    sources = [source.identifier for source in part.sources]
    targets = {target.identifier for target in part.targets}
    if len(targets) < len(part.targets) or len(targets) < 2:
        raise CheckFailed(
            f"part '{part.identifier}': {len(part.targets)} targets with {len(targets)} names"
        )
    paired = [target for _, target in part.pairs]
    if sorted(source for source, _ in part.pairs) != sorted(set(sources)) or (
        len(set(sources)) < len(sources) or not targets.issuperset(paired) or not sources
    ):
        raise CheckFailed(f"part '{part.identifier}': the pairs do not give each source one target")
