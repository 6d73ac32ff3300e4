"""Which case holds, from the data alone."""

from __future__ import annotations

import numpy as np

from qbank.solving.cases import decide_cases
from tests.solving.models import make_family

BASE = {"given": "a", "find": "x", "laws": {"x": "x = a"}}
A = {"a": np.array([-2.0, -1.0, 0.0, 1.0, 2.0])}


def decide(cases):
    case, holding = decide_cases(make_family(**BASE, cases=cases))(A, 5)
    assert case.dtype == holding.dtype == np.int64
    return case.tolist(), holding.tolist()


def test_a_family_without_cases_always_has_its_one_case():
    case, holding = decide_cases(make_family(**BASE))(A, 5)
    assert case.tolist() == [0] * 5
    assert holding.tolist() == [1] * 5


def test_exclusive_cases_gaps_and_overlaps():
    assert decide({"low": {"when": "a < 0"}, "high": {"when": "a > 0"}}) == (
        [0, 0, -1, 1, 1],
        [1, 1, 0, 1, 1],
    )
    assert decide({"low": {"when": "a <= 1"}, "high": {"when": "a >= -1"}}) == (
        [0, 0, 0, 0, 1],
        [1, 2, 2, 2, 1],
    )


def test_otherwise_closes_the_list():
    assert decide({"low": {"when": "a < 0"}, "high": {"when": "a > 1"}, "rest": {}}) == (
        [0, 0, 2, 2, 1],
        [1, 1, 1, 1, 1],
    )


def test_a_decimal_on_the_boundary_does_not_hang_on_its_last_bit():
    family = make_family(
        given="a", find="x", laws={"x": "x = a"},
        cases={"up to": {"when": "a <= 0.3"}, "above": {"when": "a > 0.3"}},
    )  # fmt: skip
    case, holding = decide_cases(family)({"a": np.array([0.1 + 0.2, 0.3, 0.3001])}, 3)
    assert case.tolist() == [0, 0, 1]
    assert holding.tolist() == [1, 1, 1]


def test_undefined_data_have_no_case():
    case, holding = decide_cases(
        make_family(**BASE, cases={"low": {"when": "a < 0"}, "high": {"when": "a >= 0"}})
    )({"a": np.array([np.nan])}, 1)
    assert (case.tolist(), holding.tolist()) == ([-1], [0])
