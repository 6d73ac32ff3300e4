"""Instances of the shipped families, and hand-given data solved, for tests against the outside."""

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.generation import generate, work


@cache
def _family(name):
    return load_family(find_family(name))


@cache
def _drawn(name, count, seed):
    family = _family(name)
    chunks = list(generate(family, seed=seed, count=count))
    values = {
        quantity: np.concatenate([chunk.values[quantity] for chunk in chunks])
        for quantity in chunks[0].values
    }
    case = np.concatenate([chunk.case for chunk in chunks])
    names = np.array([one.name for one in family.cases])
    assert len(case) == count
    return SimpleNamespace(**values, case=names[case], count=count, family=family)


@pytest.fixture
def drawn():
    """`drawn(name, count)`: SI arrays of givens, lets and unknowns by name, and `case` names."""
    return lambda name, count=300, seed=2026: _drawn(name, count, seed)


@pytest.fixture
def worked():
    """`worked(name, m_a="1.2 kg", ...)`: hand-given data solved; answers in the shown units."""

    def solve(name, **data):
        family = _family(name)
        one = work(family, data).instances
        answers = {
            unknown: float(quantity.unit.from_si(one.values[unknown])[0])
            for unknown, quantity in family.find.items()
        }
        shown = {
            "let": {let: float(one.values[let][0]) for let in family.let},
            "rounded": {unknown: float(one.rounded[unknown][0]) for unknown in family.find},
            "case": family.cases[int(one.case[0])].name,
        }
        return SimpleNamespace(**answers, **shown)

    return solve


def published(value, digits):
    """What a printed value of that many digits after the point can stand for."""
    return pytest.approx(value, abs=0.5000001 * 10.0**-digits, rel=0)


@pytest.fixture(name="published")
def _published():
    return published
