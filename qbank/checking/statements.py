"""Checks of what the family states: cases, expected signs, rules, confirmations, chosen roots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from qbank.checking.facts import Facts, Mask, Outcome
from qbank.expressions.tree import Node, names_in
from qbank.place import Place


def one_case(facts: Facts) -> Iterator[Outcome]:
    """Exactly one case holds, and the instance is in that one.

    `otherwise` holds where none before it does.
    """
    cases = facts.family.cases
    if len(cases) == 1 and cases[0].when is None:
        return
    holds: list[Mask] = []
    for i, case in enumerate(cases):
        if case.when is None:
            holds.append(~np.logical_or.reduce(holds) if holds else np.ones(facts.n, dtype=bool))
        else:
            holds.append(np.asarray(facts.statements["when", i], dtype=bool))
    holding = np.stack(holds)
    inside = np.take_along_axis(holding, facts.instances.case[None, :], axis=0)[0]
    passed = inside & (np.count_nonzero(holding, axis=0) == 1)

    def explain(row: int) -> tuple[str, dict[str, float]]:
        names = [case.name for case, held in zip(cases, holding[:, row], strict=True) if held]
        decided = cases[int(facts.instances.case[row])].name
        said = " and ".join(f"'{name}'" for name in names) or "none"
        return (
            f"decided as '{decided}', but the cases whose condition holds are: {said}",
            {"cases holding": float(len(names)), **data_at(facts, row)},
        )

    yield Outcome("cases", passed, facts.n, explain)


def expected_sign(facts: Facts) -> Iterator[Outcome]:
    """Each answer is as `expect` says, so that the case was decided rightly."""
    for i, unknown in enumerate(facts.family.find.values()):
        if unknown.expect is not None:
            yield _stated(facts, ("expect", i), unknown.name, "is not as expected", unknown.expect)


def chosen_root(facts: Facts) -> Iterator[Outcome]:
    """Each answer meets its `choose` and lies within its `between`."""
    for i, unknown in enumerate(facts.family.find.values()):
        if unknown.choose is not None:
            yield _stated(facts, ("choose", i), unknown.name, "is another root", unknown.choose)
        if unknown.between is not None:
            low, high = facts.statements["from", i], facts.statements["to", i]
            value = facts.env[unknown.name]
            slack = 1e-12 * np.maximum(np.abs(low), np.abs(high))
            passed = (value >= low - slack) & (value <= high + slack)

            def explain(
                row: int, name: str = unknown.name, i: int = i
            ) -> tuple[str, dict[str, float]]:
                numbers = {
                    name: float(facts.env[name][row]),
                    "from": float(facts.statements["from", i][row]),
                    "to": float(facts.statements["to", i][row]),
                }
                said = "{0:.10g} lies outside {1:.10g} .. {2:.10g} (SI units)"
                return said.format(*numbers.values()), numbers

            yield Outcome(unknown.name, passed, facts.n, explain)


def rules(facts: Facts) -> Iterator[Outcome]:
    """Every rule of the family is met. Hand-given data need not meet them."""
    if facts.hand_given:
        return
    for i, rule in enumerate(facts.family.rules):
        yield _stated(facts, ("rule", i), f"rule '{rule.text}'", "is not met", rule.need, rule.only)


def confirm(facts: Facts) -> Iterator[Outcome]:
    """Every common-sense statement about the solution holds. The author can mend a failure."""
    for i, said in enumerate(facts.family.confirm):
        subject = f"'{said.text}', because {said.because}"
        yield _stated(
            facts, ("confirm", i), subject, "does not hold", said.that, said.only, said.place
        )


def _stated(
    facts: Facts,
    label: tuple[str, int],
    subject: str,
    fault: str,
    node: Node,
    only: Sequence[str] = (),
    place: Place | None = None,
) -> Outcome:
    """The outcome of one condition, for the cases it applies to."""
    passed: Mask = np.asarray(facts.statements[label], dtype=bool)
    concerned = facts.n
    if only:
        applies = np.array([case.name in only for case in facts.family.cases])
        here = applies[facts.instances.case]
        passed = passed | ~here
        concerned = int(np.count_nonzero(here))

    def explain(row: int) -> tuple[str, dict[str, float]]:
        numbers = {
            name: float(np.asarray(facts.env[name])[row])
            for name in sorted(names_in(node))
            if name in facts.env and facts.env[name].ndim == 1
        }
        said = ", ".join(f"{name} = {value:.10g}" for name, value in numbers.items())
        return f"{fault}: {said} (SI units)", numbers

    return Outcome(subject, passed, concerned, explain, place)


def data_at(facts: Facts, row: int) -> dict[str, float]:
    """The givens of one row that are single numbers, SI."""
    return {
        name: float(facts.env[name][row])
        for name in facts.family.given
        if facts.env[name].ndim == 1
    }
