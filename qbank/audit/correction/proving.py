"""Proof that a corrected copy differs from its bank in the listed keys and in nothing else."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from itertools import zip_longest

from qbank.audit.correction.changes import Change
from qbank.audit.correction.numerals import whole_numeral
from qbank.errors import CheckFailed, QbankError
from qbank.item import Choice, Item, NumberEntry, Part
from qbank.scoring.bank import find_item

PREFIX = "RESPONSE_"


def ensure_only_keys_changed(
    before: Iterable[Item], after: Iterable[Item], changes: Iterable[Change]
) -> None:
    """Compare a bank and its copy, both read back. Raises CheckFailed for any other difference."""
    wanted: dict[str, dict[str, Change]] = defaultdict(dict)
    for change in changes:
        wanted[change.item][change.part.removeprefix(PREFIX)] = change
    for old, new in zip_longest(before, after):
        if old is None or new is None:
            raise CheckFailed("the corrected copy has another number of items than its bank")
        if repr(old) == repr(new):  # repr, because an unknown bound is NaN
            continue
        listed = wanted.pop(old.identifier, {})
        if not listed:
            raise CheckFailed(f"the corrected copy changes '{old.identifier}', which it should not")
        _ensure_parts(old, new, listed)
    if wanted:
        raise CheckFailed(f"the corrected copy lacks the change of {', '.join(sorted(wanted))}")


def _ensure_parts(old: Item, new: Item, listed: dict[str, Change]) -> None:
    same = repr(replace(old, parts=())) == repr(replace(new, parts=()))
    if not same or len(old.parts) != len(new.parts):
        raise CheckFailed(f"the corrected copy changes more of '{old.identifier}' than its keys")
    seen = set()
    for was, is_now in zip(old.parts, new.parts, strict=True):
        name = was.identifier.removeprefix(PREFIX)
        change = listed.get(name)
        if change is None:
            held = repr(was) == repr(is_now)
        else:
            seen.add(name)
            held = _only_key(was, is_now, change)
        if not held:
            raise CheckFailed(
                f"the corrected copy of '{old.identifier}' reads otherwise than it should in part "
                f"'{was.identifier}'"
            )
    if seen != set(listed):
        raise CheckFailed(f"the corrected copy of '{old.identifier}' lacks a part it should mend")


def _only_key(old: Part, new: Part, change: Change) -> bool:
    if isinstance(old, NumberEntry) and isinstance(new, NumberEntry):
        # What a reader derives from the key and its band goes with them.
        blank = replace(
            old, key=new.key, key_text=new.key_text, key_shown=new.key_shown,
            figures=new.figures, decimals=new.decimals, tolerance=replace(
                old.tolerance, low=new.tolerance.low, high=new.tolerance.high,
                stated=new.tolerance.stated,
            ),
        )  # fmt: skip
        said = change.value
        if said is None and (read := whole_numeral(change.new)) is not None:
            said = read.value
        band = new.tolerance
        inside = math.isnan(band.low) or band.low <= new.key <= band.high
        is_it = said is not None and math.isclose(new.key, float(said), rel_tol=1e-12)
        return is_it and inside and repr(blank) == repr(new)
    if isinstance(old, Choice) and isinstance(new, Choice):
        was = {option.identifier for option in old.options if option.correct}
        is_now = {option.identifier for option in new.options if option.correct}
        # The feedback a platform shows may go with the key; wording and order do not.
        stays = [(o.identifier, repr(o.content)) for o in old.options] == [
            (o.identifier, repr(o.content)) for o in new.options
        ]
        return stays and was - is_now == {change.old} and is_now - was == {change.new}
    return False


def grades_alike(
    before: bytes, after: bytes, response: str, old: list[str], new: list[str]
) -> bool | None:
    """Whether the new key earns in the corrected item what the old one earned in the bank, by
    the item's own rules. None where they cannot be run."""
    earned = _score(before, response, old)
    return None if earned is None else earned == _score(after, response, new)


def _score(item: bytes, response: str, given: list[str]) -> float | None:
    try:
        found = find_item(item)
        return found.score({response: given[0] if len(given) == 1 else given}, 0).score
    except QbankError:
        return None
