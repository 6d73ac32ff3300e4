"""Slips that come to the same answer in an instance: as the key, or as each other."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from qbank.checking.tolerance import TOO_OFTEN
from qbank.checking.window import SAME, Window, Wrong
from qbank.family.model import Family
from qbank.instances import Floats, Instances

Mask = NDArray[np.bool_]
Meeting = tuple[str, str, str]  # answer, slip, and the slip it meets; "" for the key


def meetings(
    family: Family,
    names: Sequence[str],
    values: Mapping[str, Floats],
    tolerance: Mapping[str, tuple[Floats, Floats]],
    wrong: Wrong,
) -> Iterator[tuple[Meeting, Mask]]:
    """For each answer in `names` and each slip: where (n,) it comes to the key, or to a slip
    before it.

    `values` and `wrong` are in SI, `tolerance` in the shown unit. A slip meets the key where it
    changes nothing; it meets another slip where the two lie less than the half-width of the
    answer's tolerance apart, so that a response could not be told to be one or the other.
    """
    for name in names:
        exact = values[name]
        low, high = tolerance[name]
        half = 0.5 * (high - low) * family.find[name].unit.factor
        same = SAME * np.maximum(np.abs(exact), half)
        before: list[tuple[str, Floats, Mask]] = []
        with np.errstate(invalid="ignore"):  # NaN: the slip has no value, and meets nothing
            for slip in family.slips:
                own = wrong[slip][name]
                at_key = np.abs(own - exact) <= same
                yield (name, slip, ""), at_key
                for other, theirs, theirs_at_key in before:
                    meets = (np.abs(own - theirs) <= half) & ~(at_key & theirs_at_key)
                    yield (name, slip, other), meets
                before.append((slip, own, at_key))


def count_meetings(instances: Instances, names: Sequence[str]) -> dict[Meeting, int]:
    """How many instances each pair meets in; pairs that never do are left out."""
    found = meetings(
        instances.family, names, instances.values, instances.tolerance, instances.wrong
    )
    counts = {meeting: int(np.count_nonzero(mask)) for meeting, mask in found}
    return {meeting: count for meeting, count in counts.items() if count}


def usual_meetings(
    family: Family,
    names: Sequence[str],
    values: Mapping[str, Floats],
    windows: Mapping[str, Window],
    wrong: Wrong,
) -> frozenset[Meeting]:
    """The pairs that meet in more than half of the draws: they lie in the nature of the slips,
    such as one that does not touch the answer, and no draw could be rid of them."""
    tolerance = {name: (windows[name].low, windows[name].high) for name in names}
    return frozenset(
        meeting
        for meeting, mask in meetings(family, names, values, tolerance, wrong)
        if len(mask) and np.mean(mask) > TOO_OFTEN
    )


def all_apart(
    family: Family,
    names: Sequence[str],
    values: Mapping[str, Floats],
    windows: Mapping[str, Window],
    wrong: Wrong,
    usual: Collection[Meeting],
) -> Mask:
    """Where (n,) no pair meets but those in `usual`."""
    tolerance = {name: (windows[name].low, windows[name].high) for name in names}
    apart: Mask = np.ones(len(next(iter(windows.values())).key), dtype=np.bool_)
    for meeting, mask in meetings(family, names, values, tolerance, wrong):
        if meeting not in usual:
            apart &= ~mask
    return apart
