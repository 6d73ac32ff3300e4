"""Checks of the answers against the laws."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.checking.facts import NUDGE, Facts, Mask, Outcome
from qbank.instances import Floats
from qbank.solving.elimination import solve_carefully
from qbank.solving.law_system import dense

CLOSE = 1e-9  # relative error that rounding of the last bits may come to
AMPLIFIED = 1e6  # times a relative change of the data that the answers may change


def law_residual(facts: Facts) -> Iterator[Outcome]:
    """Every law holds: its sides differ by at most 1e-9 of the size of its terms."""
    residuals, sides = facts.residuals_and_sides
    for i, law in enumerate(facts.system.laws):
        residual = residuals[i]
        # One side is a lower estimate of the size; the full sum is worked out where that fails.
        passed = np.abs(residual) <= CLOSE * np.abs(sides[i])
        doubtful = np.flatnonzero(~passed)
        if len(doubtful):
            size = facts.system.sizes(facts.rows(doubtful), len(doubtful))[i]
            passed[doubtful] = np.abs(residual[doubtful]) <= CLOSE * size

        def explain(row: int, residual: Floats = residual) -> tuple[str, dict[str, float]]:
            off = float(residual[row])
            return (
                f"its sides differ by {off:.6g} in SI units, more than {CLOSE:g} of its terms",
                {"difference": off, **answers_at(facts, row)},
            )

        yield Outcome(f"law {law.name}", passed, facts.n, explain)


def second_route(facts: Facts) -> Iterator[Outcome]:
    """The answers agree with the second route's to 1e-9, from every start."""
    found = facts.second.answers
    doubtful = np.flatnonzero(~_all_agree(facts, found))
    if len(doubtful) and facts.system.linear:
        # The order of pivots was chosen for the whole chunk; look again one by one.
        careful = facts.system.solve_linear_carefully(facts.rows(doubtful), len(doubtful))
        for name, values in careful.items():
            found[0][name] = np.array(found[0][name])
            found[0][name][doubtful] = values
    for name in facts.system.unknowns:
        passed = np.logical_and.reduce([_agree(facts, name, answers[name]) for answers in found])

        def explain(row: int, name: str = name) -> tuple[str, dict[str, float]]:
            first = float(facts.env[name][row])
            others = [float(answers[name][row]) for answers in found]
            said = " and ".join(f"{value:.12g}" for value in others)
            return (
                f"the solver finds {first:.12g}, the second route {said} (SI units)",
                {"solver": first, **{f"second route {i + 1}": v for i, v in enumerate(others)}},
            )

        yield Outcome(name, passed, facts.n, explain)


def _agree(facts: Facts, name: str, other: Floats) -> Mask:
    return np.abs(other - facts.env[name]) <= CLOSE * facts.scale[name]


def _all_agree(facts: Facts, found: list[dict[str, Floats]]) -> Mask:
    agree: Mask = np.logical_and.reduce(
        [_agree(facts, name, array) for answers in found for name, array in answers.items()]
    )
    return agree


def conditioning(facts: Facts) -> Iterator[Outcome]:
    """No answer moves a million times as far as the data do.

    All drawn data are changed by about 2**-30 of themselves, by uneven amounts of either sign;
    the answers move by the laws linearised there. The author can mend a failure with a rule.
    """
    matrix, moves = facts.second.jacobian, facts.second.moves
    most = AMPLIFIED * NUDGE
    doubtful = np.flatnonzero(
        ~np.logical_and.reduce(
            [np.abs(moves[name]) <= most * facts.scale[name] for name in facts.system.unknowns]
        )
    )
    if len(doubtful):
        entries = [[e[doubtful] if isinstance(e, np.ndarray) else e for e in row] for row in matrix]
        sides = np.stack([side[doubtful] for side in facts.nudged_residuals], axis=1)
        careful = solve_carefully(dense(entries, len(doubtful)), -sides[:, :, None])[:, :, 0]
    for j, name in enumerate(facts.system.unknowns):
        move = moves[name]
        if len(doubtful):
            move = np.array(move)
            move[doubtful] = careful[:, j]
        passed = np.abs(move) <= most * facts.scale[name]

        def explain(
            row: int, name: str = name, move: Floats = move
        ) -> tuple[str, dict[str, float]]:
            factor = float(abs(move[row]) / NUDGE / facts.scale[name][row])
            return (
                f"it changes {factor:.3g} times as much as the data it is computed from; add a rule"
                " that keeps away from where its terms cancel",
                {"amplification": factor, name: float(facts.env[name][row])},
            )

        yield Outcome(name, passed, facts.n, explain, facts.family.find[name].place)


def rounded_back(facts: Facts) -> Iterator[Outcome]:
    """The answers as displayed, put back into each law, close within what rounding explains."""
    _, sides = facts.residuals_and_sides
    for i, law in enumerate(facts.system.laws):
        off, allowed = facts.closing[i]
        passed = off <= allowed * (1 + CLOSE) + CLOSE * np.abs(sides[i])
        doubtful = np.flatnonzero(~passed)
        if len(doubtful):
            size = facts.system.sizes(facts.rows(doubtful), len(doubtful))[i]
            passed[doubtful] = off[doubtful] <= allowed[doubtful] + CLOSE * size
        passed &= np.isfinite(allowed)

        def explain(
            row: int, off: Floats = off, allowed: Floats = allowed
        ) -> tuple[str, dict[str, float]]:
            numbers = {"difference": float(off[row]), "explained": float(allowed[row])}
            return (
                f"with the rounded answers its sides differ by {numbers['difference']:.6g} in SI"
                f" units; rounding explains {numbers['explained']:.6g}",
                numbers | rounded_at(facts, row),
            )

        yield Outcome(f"law {law.name}", passed, facts.n, explain)


def answers_at(facts: Facts, row: int) -> dict[str, float]:
    """The answers of one row, SI."""
    return {name: float(facts.env[name][row]) for name in facts.family.find}


def rounded_at(facts: Facts, row: int) -> dict[str, float]:
    """The displayed answers of one row, in their shown units."""
    return {name: float(array[row]) for name, array in facts.instances.rounded.items()}
