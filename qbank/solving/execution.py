"""Carrying out a plan on arrays: every root is followed, and one must be left in the end."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Node, names_in
from qbank.solving.linear import Assignment, LinearSystem
from qbank.solving.plan import Plan
from qbank.solving.rewriting import size, substitute
from qbank.solving.roots import bracketed_roots, polynomial_roots
from qbank.solving.steps import (
    BracketedRoots,
    Candidates,
    Formulas,
    Linear,
    PolynomialRoots,
    Step,
    closed_form,
)

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Env = Mapping[str, Floats]

SOLVED, NO_ROOT, SEVERAL_ROOTS, NOT_FINITE, NO_CASE = range(5)

_SAME_ROOT = 1e-9  # relative: two routes to one root are not two roots
_MAX_INLINED = 2000  # nodes of the formulas compiled together


def compile_formulas(assignments: Sequence[Assignment]) -> Callable[[Env, int], dict[str, Floats]]:
    """A function from `(env, n)` to the values assigned, each (n,).

    Formulas that use earlier ones are compiled together, so that what they share is evaluated
    once; a long list is cut into stages.
    """
    stages = []
    names: list[str] = []
    nodes: list[Node] = []
    inlined: dict[str, Node] = {}
    total = 0
    for name, node in assignments:
        whole = substitute(node, inlined)
        length = size(whole)
        if nodes and total + length > _MAX_INLINED:
            stages.append((names, compile_nodes(nodes)))
            names, nodes, inlined, total = [], [], {}, 0
            whole = node
            length = size(whole)
        names.append(name)
        nodes.append(whole)
        inlined[name] = whole
        total += length
    if nodes:
        stages.append((names, compile_nodes(nodes)))

    def run(env: Env, n: int) -> dict[str, Floats]:
        found: dict[str, Floats] = {}
        known = dict(env) if len(stages) > 1 else env
        for stage_names, program in stages:
            made = dict(zip(stage_names, program(known, n), strict=True))
            found.update(made)
            if isinstance(known, dict):
                known.update(made)
        return found

    return run


@dataclass(frozen=True, slots=True)
class _World:
    """One combination of roots: what is known so far, and the rows in which it is possible."""

    env: dict[str, Floats]
    alive: Mask | None  # None for all rows

    def with_values(self, values: Mapping[str, Floats], holds: Mask | None = None) -> _World:
        alive = self.alive
        if holds is not None:
            alive = holds if alive is None else alive & holds
        return _World({**self.env, **values}, alive)


_Run = Callable[[_World, int], list[_World]]


class Execution:
    """A compiled plan."""

    def __init__(self, plan: Plan, *, closed: bool = True) -> None:
        self.plan = plan
        self._runs: list[tuple[_Run, Callable[[Env, int], list[Mask]] | None]] = []
        pending: list[Assignment] = []
        for step, conditions in zip(plan.steps, plan.conditions, strict=True):
            formulas = closed_form(step) if closed or _lone(step) else None
            if formulas is not None:
                pending.extend(formulas)
                if not conditions:
                    continue
            if pending:
                self._runs.append((_run_formulas(pending), None))
                pending = []
            if formulas is None:
                self._runs.append((_compile(step), None))
            if conditions:
                run, _ = self._runs.pop()
                self._runs.append((run, _compile_conditions(conditions)))
        if pending:
            self._runs.append((_run_formulas(pending), None))
        self._has_fallback = closed and any(
            closed_form(step) is not None and not _lone(step) for step in plan.steps
        )

    @cached_property
    def _fallback(self) -> Execution:
        return Execution(self.plan, closed=False)

    def run(self, env: Env, n: int) -> tuple[dict[str, Floats], NDArray[np.int8]]:
        """Values of the unknowns the plan finds and the status, each (n,).

        `env` holds the plan's inputs, (n,). Where the status is not SOLVED the values are NaN.
        """
        found, status = self._run_once(env, n)
        if self._has_fallback:
            # a pivot may be zero for some data although the system has its one solution
            bad = np.flatnonzero(status == NOT_FINITE)
            if len(bad):
                part = {name: env[name][bad] for name in self.plan.inputs}
                again, again_status = self._fallback.run(part, len(bad))
                status[bad] = again_status
                for name, values in again.items():
                    found[name][bad] = values
        return found, status

    def _run_once(self, env: Env, n: int) -> tuple[dict[str, Floats], NDArray[np.int8]]:
        worlds = [_World(dict(env), None)]
        for run, condition in self._runs:
            grown = [further for world in worlds for further in run(world, n)]
            if condition is not None:
                grown = [
                    world.with_values({}, np.logical_and.reduce(condition(world.env, n)))
                    for world in grown
                ]
            worlds = _settled(grown, n)
        status = np.zeros(n, dtype=np.int8)
        names = self.plan.found
        if len(worlds) == 1 and worlds[0].alive is None:
            found = {name: worlds[0].env[name] for name in names}
        else:
            count = _count(worlds, n)
            found = {name: _selected(worlds, name) for name in names}
            status[count == 0] = NO_ROOT
            status[count > 1] = SEVERAL_ROOTS
            if (count == 0).any():
                status[(count == 0) & ~self._finite_inputs(env, n)] = NOT_FINITE
        for values in found.values():
            finite = np.isfinite(values)
            if not finite.all():
                status[~finite & (status == SOLVED)] = NOT_FINITE
        if status.any():
            bad = status != SOLVED
            for name, values in found.items():
                found[name] = np.where(bad, np.nan, values)
        return found, status

    def _finite_inputs(self, env: Env, n: int) -> Mask:
        finite = np.ones(n, dtype=bool)
        for name in self.plan.inputs:
            finite &= np.isfinite(env[name])
        return finite


def _lone(step: Step) -> bool:
    """Whether a step's formulas have no other way: one unknown needs no elimination."""
    return isinstance(step, Formulas) or (
        isinstance(step, Linear) and len(step.system.unknowns) == 1
    )


# ---------------------------------------------------------------------------- worlds


def _count(worlds: Sequence[_World], n: int) -> NDArray[np.int64]:
    count = np.zeros(n, dtype=np.int64)
    for world in worlds:
        count += 1 if world.alive is None else world.alive
    return count


def _selected(worlds: Sequence[_World], name: str) -> Floats:
    """The values of the world that is possible, row by row."""
    chosen = worlds[-1].env[name]
    for world in reversed(worlds[:-1]):
        values = world.env[name]
        if values is not chosen:
            chosen = values if world.alive is None else np.where(world.alive, values, chosen)
    return chosen


def _settled(worlds: list[_World], n: int) -> list[_World]:
    """Fewer worlds where it can be: repeated roots joined, and one world if each row has one."""
    if len(worlds) == 1:
        return worlds
    worlds = [world for world in worlds if world.alive is None or world.alive.any()] or worlds[:1]
    if len(worlds) > 1 and _count(worlds, n).max(initial=0) > 1:
        worlds = _distinct(worlds, n)
    if len(worlds) == 1:
        return worlds
    count = _count(worlds, n)
    if count.max(initial=0) <= 1:
        names = worlds[0].env.keys()
        return [_World({name: _selected(worlds, name) for name in names}, count == 1)]
    return worlds


def _distinct(worlds: Sequence[_World], n: int) -> list[_World]:
    """Takes a solution out of a world in the rows where an earlier world has the same."""
    kept: list[_World] = []
    for world in worlds:
        alive = np.ones(n, dtype=bool) if world.alive is None else world.alive
        for other in kept:
            same = np.ones(n, dtype=bool) if other.alive is None else other.alive
            for name, values in world.env.items():
                theirs = other.env[name]
                if theirs is not values:
                    size_ = np.maximum(np.abs(values), np.abs(theirs))
                    same = same & (np.abs(values - theirs) <= _SAME_ROOT * size_)
            alive = alive & ~same
        if alive.any():
            kept.append(_World(world.env, alive))
    return kept or list(worlds[:1])


# ---------------------------------------------------------------------------- steps


def _compile_conditions(conditions: Sequence[Node]) -> Callable[[Env, int], list[Mask]]:
    program = compile_nodes(conditions)
    return lambda env, n: [np.asarray(result, dtype=bool) for result in program(env, n)]


def _compile(step: Step) -> _Run:
    match step:
        case Formulas(assignments=assignments):
            return _run_formulas(assignments)
        case Linear(system=system):
            return _run_batch(system)
        case Candidates():
            return _run_candidates(step)
        case PolynomialRoots():
            return _run_polynomial(step)
        case BracketedRoots():
            return _run_bracketed(step)


def _run_formulas(assignments: Sequence[Assignment]) -> _Run:
    evaluate = compile_formulas(tuple(assignments))
    return lambda world, n: [world.with_values(evaluate(world.env, n))]


def _run_batch(system: LinearSystem) -> _Run:
    k = len(system.unknowns)
    program = compile_nodes([*(node for row in system.matrix for node in row), *system.right])

    def run(world: _World, n: int) -> list[_World]:
        entries = np.stack(program(world.env, n), axis=-1)
        solution = solve_rows(entries[:, : k * k].reshape(n, k, k), entries[:, k * k :])
        return [world.with_values({u: solution[:, i] for i, u in enumerate(system.unknowns)})]

    return run


def solve_rows(matrix: Floats, right: Floats) -> Floats:
    """`matrix[i] x = right[i]` for every i, (n, k, k) and (n, k); NaN where singular."""
    k = right.shape[1]
    with np.errstate(all="ignore"):
        scale = np.abs(matrix).max(axis=2, initial=0.0)
        matrix = matrix / scale[:, :, None]
        right = right / scale
        fit: Mask = np.isfinite(np.concatenate([matrix, right[:, :, None]], axis=2)).all(
            axis=(1, 2)
        )
        matrix = np.where(fit[:, None, None], matrix, np.eye(k))
        fit &= np.linalg.det(matrix) != 0.0
        matrix = np.where(fit[:, None, None], matrix, np.eye(k))
        solution = np.linalg.solve(matrix, np.where(fit[:, None], right, 0.0)[:, :, None])
    out: Floats = np.where(fit[:, None], solution[:, :, 0], np.nan)
    return out


def _run_candidates(step: Candidates) -> _Run:
    values = compile_nodes([branch.value for branch in step.branches])
    conditions = [
        _compile_conditions(branch.conditions) if branch.conditions else None
        for branch in step.branches
    ]

    def run(world: _World, n: int) -> list[_World]:
        worlds = []
        for value, condition in zip(values(world.env, n), conditions, strict=True):
            holds = np.isfinite(value)
            if condition is not None:
                holds &= np.logical_and.reduce(condition(world.env, n))
            worlds.append(world.with_values({step.unknown: value}, holds))
        return worlds

    return run


def _run_polynomial(step: PolynomialRoots) -> _Run:
    program = compile_nodes(step.coefficients)
    return lambda world, n: _each_root(world, step.unknown, polynomial_roots(program(world.env, n)))


def _run_bracketed(step: BracketedRoots) -> _Run:
    ends = compile_nodes([step.low, step.high])
    program = compile_nodes([step.residual])
    names = names_in(step.residual) - {step.unknown, "pi"}

    def run(world: _World, n: int) -> list[_World]:
        env = world.env

        def residual(x: Floats, rows: NDArray[np.intp] | None) -> Floats:
            known = env if rows is None else {name: array[rows] for name, array in needed.items()}
            return program({**known, step.unknown: x}, len(x))[0]

        needed = {name: env[name] for name in names}
        low, high = ends(env, n)
        return _each_root(world, step.unknown, bracketed_roots(residual, low, high))

    return run


def _each_root(world: _World, unknown: str, roots: Floats) -> list[_World]:
    return [world.with_values({unknown: root}, np.isfinite(root)) for root in roots]
