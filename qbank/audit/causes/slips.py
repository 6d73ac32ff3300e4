"""Mistakes the family itself describes, alone and two at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from weakref import WeakKeyDictionary

from qbank.audit.causes.work import Alternative, Work, told
from qbank.audit.resolving import Resolver
from qbank.errors import QbankError
from qbank.family.model import Slip
from qbank.solving.slips import SlipSolver

MOST_PAIRS = 45


def single_slips(work: Work) -> Iterator[Alternative]:
    """Each slip of the family."""
    for name, values in work.wrong.items():
        says = work.resolver.family.slips[name].says
        yield Alternative(f"slip:{name}", values, 100.0, told(f"the slip '{name}': {says}"))


def pairs_of_slips(work: Work) -> Iterator[Alternative]:
    """Each two slips made together, where they touch different things."""
    old = work.resolved
    for first, second, solver in _pairs(work.resolver):
        name = f"{first}+{second}"
        found = solver.solve(old.values, old.case, len(work))[name][work.unknown]
        says = told(f"the slips '{first}' and '{second}' made together")
        yield Alternative(f"slips:{name}", work.shown(found), 22.0, says, figures=3)


_compiled: WeakKeyDictionary[Resolver, list[tuple[str, str, SlipSolver]]] = WeakKeyDictionary()


def _pairs(resolver: Resolver) -> list[tuple[str, str, SlipSolver]]:
    if resolver not in _compiled:
        made = []
        family = resolver.family
        for a, b in list(combinations(family.slips.values(), 2))[:MOST_PAIRS]:
            both = _together(a, b)
            if both is None:
                continue
            try:
                solver = SlipSolver(replace(family, slips={both.name: both}), resolver.solver)
            except QbankError:
                continue
            made.append((a.name, b.name, solver))
        _compiled[resolver] = made
    return _compiled[resolver]


def _together(a: Slip, b: Slip) -> Slip | None:
    """Both slips as one; None where they touch the same thing or hold in no common case."""
    if _touched(a) & _touched(b) or (a.cases and b.cases):
        return None
    only = a.only or b.only
    if a.only and b.only:
        only = tuple(case for case in a.only if case in b.only)
        if not only:
            return None
    return replace(
        a,
        name=f"{a.name}+{b.name}",
        laws={**a.laws, **b.laws},
        lets={**a.lets, **b.lets},
        change={**a.change, **b.change},
        swap=(*a.swap, *b.swap),
        unconverted=(*a.unconverted, *b.unconverted),
        cases={**a.cases, **b.cases},
        drop=(*a.drop, *b.drop),
        only=only,
    )


def _touched(slip: Slip) -> set[str]:
    laws = {f"law {name}" for name in (*slip.laws, *slip.drop)}
    return {
        *laws, *slip.lets, *slip.change, *slip.unconverted, *(n for pair in slip.swap for n in pair)
    }  # fmt: skip
