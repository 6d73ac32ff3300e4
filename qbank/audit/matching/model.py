"""What matching and binding give: groups whose numbers have been read as quantities of a family."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from qbank.audit.question import Floats, Group
from qbank.audit.verdict import Assignment, Level
from qbank.expressions.units import Unit
from qbank.family.model import Family


@dataclass(frozen=True, slots=True, eq=False)
class MatchedGroup:
    """A group of n questions whose numbers are known to be quantities of a family.

    columns     given -> the columns of the group that hold it; more than one for a data list
    constants   fixed given -> value (SI) taken in place of the family's, where no number of the
                stem states it
    key_unit    unit of the keys; that of the group, or the one found where the bank states none
    keys        (n,), SI
    values      given -> (n,), for data lists (n, m); SI, ready for `Resolver.solve`
    usable      (n,), rows that may be judged: they hold all numbers and a key, the family can solve
                their data, and they do not share a word of their own that may change what is right
    answers     (n,), SI, by the family; NaN where it gives none
    agreeing    (n,), keys within the tolerance of `agreement.py`
    confidence  (n,), that the row was read rightly; lower where its wording is not its siblings'
    chance      bound on the probability that so many keys agree by accident; 1 where the text
                alone decided
    """

    group: Group
    family: Family
    unknown: str
    level: Level
    columns: Mapping[str, tuple[int, ...]]
    constants: Mapping[str, float]
    key_unit: Unit
    keys: Floats
    values: Mapping[str, Floats]
    usable: NDArray[np.bool_]
    answers: Floats
    agreeing: NDArray[np.bool_]
    confidence: Floats
    chance: float
    assignment: Assignment


@dataclass(frozen=True, slots=True, eq=False)
class Unmatched:
    """A group for which nothing may be judged by a family, and why, in a sentence."""

    group: Group
    reason: str
    code: str  # "no-numbers", "key-in-words", "no-family", "none-fits", "ambiguous", "binding"


@dataclass(frozen=True, slots=True, eq=False)
class Matching:
    """Each group is either in `matched` or in `unmatched`, in the order given."""

    matched: tuple[MatchedGroup, ...]
    unmatched: tuple[Unmatched, ...]
