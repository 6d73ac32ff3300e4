"""Laws nobody wrote: whatever is said to be solved meets every law, and planning never hangs."""

from __future__ import annotations

import random
import time

import numpy as np
import pytest

from qbank.errors import FamilyError
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.parser import parse_equation
from qbank.solving.solver import NOT_FINITE, SOLVED, Solver
from tests.solving.models import make_family

FUNCTIONS = ["sin", "cos", "exp", "ln", "sqrt", "tan", "abs", "tanh", "cbrt"]
N = 64


def expression(depth, names, rng):
    if depth == 0 or rng.random() < 0.1:
        return rng.choice(names)
    operator = rng.choice(["+", "-", "*", "/", "*", "+", "^", "f"])
    inner = expression(depth - 1, names, rng)
    if operator == "^":
        return f"({inner})^{rng.choice(['2', '3', '-1', '0.5', '5'])}"
    if operator == "f":
        return f"{rng.choice(FUNCTIONS)}({inner})"
    return f"({inner}){operator}({expression(depth - 1, names, rng)})"


def model(seed):
    rng = random.Random(seed)
    unknowns = [f"x{i}" for i in range(rng.choice([1, 1, 2, 3]))]
    names = [*unknowns, "a", "b", "c", "d"]
    laws = {
        f"l{i}": f"{expression(rng.choice([1, 2, 3, 3]), names, rng)} = "
        f"{expression(rng.choice([1, 2]), names, rng)}"
        for i in range(len(unknowns))
    }
    picks = [{"between": "0.01 .. 3"}, {}, {"between": "0.01 .. 3"}]
    find = {u: rng.choice([*picks, {"choose": f"{u} > 0"}]) for u in unknowns}
    return {"given": "a b c d", "find": find, "laws": laws}


@pytest.mark.parametrize("batch", range(4))
def test_solutions_meet_their_laws(batch):
    solved = planned = 0
    for seed in range(100 * batch, 100 * (batch + 1)):
        family = model(seed)
        start = time.perf_counter()
        try:
            solver = Solver(make_family(**family))
        except FamilyError:
            continue
        finally:
            assert time.perf_counter() - start < 20, family
        planned += 1
        data = np.random.default_rng(seed)
        values = {name: data.uniform(0.5, 2, N) for name in "abcd"}
        result = solver.solve(values, np.zeros(N, dtype=np.int64), N)
        rows = result.status == SOLVED
        solved += rows.sum()
        assert (result.status[~rows] <= NOT_FINITE).all()
        for name in family["find"]:
            assert np.isnan(result.values[name][~rows]).all()
        env = {**values, **result.values}
        for text in family["laws"].values():
            law = parse_equation(text)
            left, right = compile_nodes([law.left, law.right])(env, N)
            size = np.abs(left) + np.abs(right) + 1e-3
            assert (np.abs(left - right) <= 1e-7 * size)[rows].all(), family
    assert planned > 30
    assert solved > 800
