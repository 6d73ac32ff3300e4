"""Data from a bank solved by its family: as generation solves it, and never stopped by a row."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from qbank.audit.resolving import Resolver, resolver_of
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.solving.execution import NO_CASE, NOT_FINITE, SOLVED

FAMILIES = [path.stem for path in shipped_families()]


@cache
def resolver(name: str) -> Resolver:
    return resolver_of(load_family(find_family(name)))


@cache
def instances(name: str, n: int = 40) -> Instances:
    return next(Generator(resolver(name).family).generate(n, 11))


def stated(name: str) -> dict[str, np.ndarray]:
    """What the stems of some instances state."""
    own, made = resolver(name), instances(name)
    names = [*(n for n, datum in own.scalars.items() if datum.fixed is None), *own.lists]
    return {n: made.values[n] for n in names}


@pytest.mark.parametrize("name", FAMILIES)
def test_solves_what_a_stem_states_as_generation_does(name: str) -> None:
    made = instances(name)
    found = resolver(name).solve(stated(name), len(made), with_slips=True, with_slack=True)
    assert found.solved.all()
    assert (found.case == made.case).all()
    for unknown in resolver(name).family.find:
        np.testing.assert_allclose(found.answers[unknown], made.values[unknown], rtol=1e-12)
        assert (found.slack[unknown] >= 0).all()
        for slip, answers in made.wrong.items():
            np.testing.assert_allclose(found.wrong[slip][unknown], answers[unknown], rtol=1e-9)


def test_a_bad_row_leaves_the_others_alone() -> None:
    name = "stepped-drum"
    values = {k: v.copy() for k, v in stated(name).items()}
    own = resolver(name)
    first = next(iter(values))
    values[first][3] = np.nan
    values[first][5] = np.inf
    found = own.solve(values, 40, with_slips=True, with_slack=True)
    assert (found.status[[3, 5]] != SOLVED).all()
    rest = np.delete(np.arange(40), [3, 5])
    assert (found.status[rest] == SOLVED).all()
    np.testing.assert_array_equal(
        found.answers["alpha"][rest], instances(name).values["alpha"][rest]
    )
    assert np.isnan(found.answers["alpha"][[3, 5]]).all()


def test_a_fixed_given_may_be_passed() -> None:
    own = resolver("stepped-drum")
    base = {name: float(v[0]) for name, v in stated("stepped-drum").items()}
    # every answer of the drum is proportional to g
    once = own.solve(base, 1).answers["alpha"][0]
    g = own.scalars["g"].fixed
    assert g is not None
    twice = own.solve({**base, "g": np.array([2 * g])}, 1).answers["alpha"][0]
    assert twice == pytest.approx(2 * once, rel=1e-12)


def test_what_is_not_known_leaves_what_does_not_hang_on_it() -> None:
    own = resolver("level-launch")
    values = stated("level-launch")
    assert own.needs["t"] < own.needs["v"]
    kept = {name: array for name, array in values.items() if name in own.needs["t"]}
    found = own.solve(kept, 40)
    np.testing.assert_allclose(
        found.answers["t"], instances("level-launch").values["t"], rtol=1e-12
    )
    assert np.isnan(found.answers["v"]).all()


def test_data_without_any_answer_have_a_status() -> None:
    found = resolver("stepped-drum").solve({}, 3)
    assert set(found.status) <= {NO_CASE, NOT_FINITE}
    assert all(np.isnan(array).all() for array in found.answers.values())


def test_another_shape_is_refused() -> None:
    with pytest.raises(ValueError, match="expected 2 rows"):
        resolver("stepped-drum").solve({"m_a": np.ones(3)}, 2)


def test_a_resolver_is_made_once_for_a_content() -> None:
    path: Path = find_family("stepped-drum")
    assert resolver_of(load_family(path)) is resolver_of(load_family(path))


@pytest.mark.parametrize("name", FAMILIES)
def test_hostile_numbers_give_a_status(name: str) -> None:
    """Zeros, signs turned, huge and tiny numbers: no row raises or warns."""
    rng = np.random.default_rng(6)
    values = {k: v.copy() for k, v in stated(name).items()}
    numbers = np.array([0.0, -1.0, 1e300, -1e300, 1e-300, np.inf, np.nan, 1.0])
    for array in values.values():
        rows = rng.integers(0, 40, 12)
        array[rows] = rng.choice(numbers, array[rows].shape)
    found = resolver(name).solve(values, 40, with_slips=True, with_slack=True)
    for answers in found.answers.values():
        assert np.isfinite(answers[found.solved]).all()
