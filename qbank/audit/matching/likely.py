"""How likely an assignment of numbers is by what the family says of its data, beside the words.

A family's rules and expectations ("T_h > T_c", "a > 0") need not hold for anyone's numbers, but of
two readings the one that breaks fewer is the likelier. And of quantities that are numbered, the
first is told first, where nothing else says which is which.
"""

from __future__ import annotations

import re
from weakref import WeakKeyDictionary

import numpy as np

from qbank.audit.matching.bundles import Bundle
from qbank.audit.matching.search import Candidate, columns_of
from qbank.audit.question import Floats
from qbank.audit.resolving import Resolver
from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.tree import Node, names_in
from qbank.family.model import Sampled

BROKEN, MOST_BROKEN = 0.4, 1.2  # worth lost for each statement that does not hold, and at most
IN_ORDER = 0.12  # worth of numbered quantities that stand in order; words outweigh it
_NUMBERED = re.compile(r"(.*?)_?(\d)")

Statement = tuple[frozenset[str], Program]

_compiled: WeakKeyDictionary[Resolver, list[Statement]] = WeakKeyDictionary()


def likelihood(bundle: Bundle, candidate: Candidate) -> float:
    """What to add to the worth of a candidate's reading."""
    return _order(candidate) - _broken(bundle, candidate)


def _order(candidate: Candidate) -> float:
    """A little for each set of numbered quantities whose numbers stand in order."""
    sets: dict[str, list[tuple[int, int]]] = {}
    for name, columns in candidate.reading.columns.items():
        found = _NUMBERED.fullmatch(name)
        if found:
            sets.setdefault(found[1], []).append((int(found[2]), columns[0]))
    pairs = [sorted(members) for members in sets.values() if len(members) > 1]
    ordered = [[at for _, at in members] == sorted(at for _, at in members) for members in pairs]
    return IN_ORDER if ordered and all(ordered) else 0.0


def _broken(bundle: Bundle, candidate: Candidate) -> float:
    n = len(bundle)
    resolver = candidate.resolver
    env: dict[str, Floats | float] = {
        name: datum.fixed for name, datum in resolver.scalars.items() if datum.fixed is not None
    }
    env |= candidate.constants
    for name, columns in candidate.reading.columns.items():
        if name in resolver.scalars:
            env[name] = columns_of(bundle, resolver, name, columns)
    env |= candidate.answers
    lost = 0.0
    for names, program in _statements(resolver):
        if names <= env.keys():
            with np.errstate(all="ignore"):
                held = np.asarray(program({name: env[name] for name in names}, n)[0], dtype=bool)
            lost += BROKEN * float(np.mean(~held))
    return min(lost, MOST_BROKEN)


def _statements(resolver: Resolver) -> list[Statement]:
    """What the family says of single numbers, as programs; what holds in some cases is left out."""
    found = _compiled.get(resolver)
    if found is None:
        family = resolver.family
        lists = {n for n, g in family.given.items() if isinstance(g.source, Sampled)}
        nodes: list[Node] = [rule.need for rule in family.rules if not rule.only]
        nodes += [u.expect for u in family.find.values() if u.expect is not None]
        found = []
        for node in nodes:
            names = names_in(node) - {"pi"}
            if not names & lists:
                found.append((frozenset(names), compile_nodes([node])))
        _compiled[resolver] = found
    return found
