"""Newton's method on a whole system of laws, for all instances at once.

J. E. Dennis and R. B. Schnabel, Numerical Methods for Unconstrained Optimization and Nonlinear
Equations, 1983, chapter 5 (from memory); steps that leave the laws' domain are shortened.
"""

from __future__ import annotations

import numpy as np

from qbank.instances import Floats, Integers
from qbank.solving.law_system import Answers, Env, LawSystem, Mask, finite

START_OFFSET = 2.0**-7  # relative, of a start from the answer it judges
MOST_STEPS = 20
CONVERGED = 1e-8  # relative size of the last step; the error left is about its square
MOST_RETREATS = 5  # times that a step or an offset is shortened


def newton(system: LawSystem, env: Env, n: int, floors: Env, side: int) -> Answers:
    """The root (n,) of each unknown found from a start beside the answer in `env`.

    Starts on different `side`s, 1 and -1, lie opposite each other. `floors` is the size of each
    unknown (n,) below which a change does not matter; without it, 0. NaN where no root is found.
    """
    found = _start(system, env, n, floors, side)
    pending = np.arange(n)
    for _ in range(MOST_STEPS):
        m = len(pending)
        part = {name: _rows(array, pending, n) for name, array in env.items()}
        least = {name: _rows(array, pending, n) for name, array in floors.items()}
        here = {name: _rows(array, pending, n) for name, array in found.items()}
        moved, settled = _step(system, part | here, m, least)
        found = {name: _put(found[name], pending, moved[name]) for name in found}
        pending = pending[~settled]
        if not len(pending):
            return found
    lost = np.full(len(pending), np.nan)
    return {name: _put(array, pending, lost) for name, array in found.items()}


def _start(system: LawSystem, env: Env, n: int, floors: Env, side: int) -> Answers:
    """A start beside the answers, drawn nearer for instances where a law has no value."""
    offsets = {}
    for j, name in enumerate(system.unknowns):
        offset = side * (-1) ** j * START_OFFSET / (1 + 0.3 * j)
        size = np.maximum(np.abs(env[name]), floors.get(name, 0.0))
        offsets[name] = offset * np.where(size == 0, 1.0, size)
    for _ in range(MOST_RETREATS):
        start = {name: env[name] + offset for name, offset in offsets.items()}
        outside = ~finite(system.residuals({**env, **start}, n))
        if not outside.any():
            break
        offsets = {name: np.where(outside, offset / 4, offset) for name, offset in offsets.items()}
    return start


def _step(system: LawSystem, env: Env, n: int, floors: Env) -> tuple[Answers, Mask]:
    """One step from the unknowns in `env`, halved where it leaves the domain; where it was
    negligible."""
    change = system.step(system.jacobian(env, n), system.residuals(env, n), n)
    for _ in range(MOST_RETREATS):
        moved = {name: env[name] + delta for name, delta in change.items()}
        outside = ~finite(system.residuals({**env, **moved}, n))
        if not outside.any():
            break
        change = {name: np.where(outside, delta / 2, delta) for name, delta in change.items()}
    settled = np.ones(n, dtype=np.bool_)
    for name, delta in change.items():
        size = np.maximum(np.abs(moved[name]), floors.get(name, 0.0))
        settled &= np.abs(delta) <= CONVERGED * size
    return moved, settled


def _rows(array: Floats, rows: Integers, n: int) -> Floats:
    """The rows of an array, which may also be one number for all."""
    return array if np.ndim(array) == 0 or len(rows) == n else array[rows]


def _put(array: Floats, rows: Integers, values: Floats) -> Floats:
    """The array with other values in `rows`."""
    if len(rows) == len(array):
        return values
    result = array.copy()
    result[rows] = values
    return result
