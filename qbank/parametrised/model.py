"""A family's model as template rules: data, intermediate quantities, cases, rules, solution."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from qbank.expressions.tree import Node, names_in
from qbank.family.model import Family, Rule, Sampled
from qbank.parametrised.draws import Drawn, draw
from qbank.parametrised.expressions import (
    InexpressibleError,
    condition,
    name_of,
    op,
    real,
    some,
    value,
    variable,
    whole,
)
from qbank.parametrised.parts import CASE
from qbank.parametrised.plans import PlanRules
from qbank.parametrised.template import Template, matches
from qbank.parametrised.texts import SETTING
from qbank.solving.solver import Solver
from qbank.solving.variants import ordered_lets

LOTS = 1000  # equally likely numbers, by one of which a draw is kept or thrown away


class ModelRules:
    """Writes the rules of a family into a template; `env` then gives every quantity in SI, and
    `drawn` says where the data stand."""

    def __init__(self, template: Template, family: Family, solver: Solver) -> None:
        self.env: dict[str, str] = {}
        self.drawn: dict[str, Drawn] = {}
        self._template = template
        self._family = family
        self._solver = solver
        self._rules = [rule for rule in family.rules if not rule.uses_solution]

    @property
    def case(self) -> str | None:
        """The variable that names the case; None where there is one case only."""
        return CASE if len(self._family.cases) > 1 else None

    def write(self, kept: Sequence[float]) -> None:
        """All rules. `kept` is the share of each case's draws that is not thrown away to have the
        cases in the shares wanted. Raises InexpressibleError for what the standard cannot say."""
        ensure_drawable(self._family)
        self._setting()
        lets = [(name, self._family.let[name].expression) for name in ordered_lets(self._family)]
        for name, given in self._family.given.items():
            self.drawn[name] = draw(self._template, given)
            self.env[name] = self.drawn[name].si
            lets = self._lets(lets)
            self._judge(ready=True)
        self._cases(kept)
        self._judge(ready=False)
        self._solve()
        for unknown in self._family.find.values():
            self._template.need(op("not", op("isNull", self.env[unknown.name])))
            if unknown.expect is not None:
                self._template.need(condition(unknown.expect, self.env))
        for rule in self._family.rules:
            if rule.uses_solution:
                self._need(rule)

    def _setting(self) -> None:
        if len(self._family.settings) < 2:
            return
        name = self._template.declare(SETTING, "identifier")
        words = [name_of(f"W{n}") for n in range(1, len(self._family.settings) + 1)]
        self._template.set(name, op("random", op("multiple", *words)))

    def _lets(self, waiting: list[tuple[str, Node]]) -> list[tuple[str, Node]]:
        """Intermediate quantities whose inputs are there; those that still wait."""
        left = []
        for name, expression in waiting:
            if names_in(expression) - {"pi"} <= self.env.keys():
                made = self._template.new(f"LET_{name}", value(expression, self.env))
                self.env[name] = variable(made)
            else:
                left.append((name, expression))
        return left

    def _judge(self, *, ready: bool) -> None:
        """Rules on the data, each as soon as its inputs are there; those on cases come later."""
        left = []
        for rule in self._rules:
            if (ready and rule.only) or not names_in(rule.need) - {"pi"} <= self.env.keys():
                left.append(rule)
            else:
                self._need(rule)
        self._rules = left

    def _need(self, rule: Rule) -> None:
        needed = condition(rule.need, self.env)
        if rule.only:
            needed = op("or", op("not", self._in(rule.only)), needed)
        self._template.need(needed)

    def _in(self, cases: tuple[str, ...]) -> str:
        return some(
            [
                matches(CASE, f"K{n}")
                for n, case in enumerate(self._family.cases, 1)
                if case.name in cases
            ]
        )

    # ------------------------------------------------------------------------ cases

    def _cases(self, kept: Sequence[float]) -> None:
        """The case that the data decide, exactly one, and its constants."""
        cases, template = self._family.cases, self._template
        if len(cases) > 1:
            template.declare(CASE, "identifier")
            held = {
                f"K{n}": condition(case.when, self.env)
                for n, case in enumerate(cases, 1)
                if case.when is not None
            }
            otherwise = next((f"K{n}" for n, case in enumerate(cases, 1) if case.when is None), "")
            template.set(CASE, name_of(otherwise) if otherwise else "<null/>")
            template.choose(
                [(holds, {CASE: name_of(identifier)}) for identifier, holds in held.items()]
            )
            least = 0 if otherwise else 1
            template.need(f'<anyN min="{least}" max="1">{"".join(held.values())}</anyN>')
            if min(kept) < 1.0:
                limit = template.declare("LIMIT", "integer")
                template.choose(
                    [
                        (matches(CASE, f"K{n}"), {limit: whole(max(1, round(LOTS * share)))})
                        for n, share in enumerate(kept, 1)
                    ]
                )
                lot = template.new("LOT", f'<randomInteger min="1" max="{LOTS}"/>', "integer")
                template.need(op("lte", variable(lot), variable(limit)))
        for name, by_case in self._constants():
            if len(set(by_case.values())) == 1 and len(by_case) == len(cases):
                self.env[name] = real(next(iter(by_case.values())))
                continue
            constant = template.declare(f"CONST_{name}")
            template.choose(
                [
                    (matches(CASE, f"K{n}"), {constant: real(number)})
                    for n, number in by_case.items()
                ]
            )
            self.env[name] = variable(constant)

    def _constants(self) -> Iterator[tuple[str, Mapping[int, float]]]:
        names = dict.fromkeys(name for case in self._family.cases for name in case.constants)
        for name in names:
            yield (
                name,
                {
                    n: case.constants[name]
                    for n, case in enumerate(self._family.cases, 1)
                    if name in case.constants
                },
            )

    # ------------------------------------------------------------------------ solution

    def _solve(self) -> None:
        writer = PlanRules(self._template)
        plans = self._solver.plans
        if len(plans) == 1:
            ((_, plan),) = plans
            inputs = {name: self.env[name] for name in plan.inputs}
            self.env |= writer.write(plan, inputs, "ANS_")
            return
        answers = {name: self._template.declare(f"ANS_{name}") for name in self._family.find}
        for number, (group, plan) in enumerate(plans, 1):
            cases = tuple(self._family.cases[variant.case].name for variant in group.variants)
            with self._template.when(self._in(cases)):
                inputs = {name: self.env[name] for name in plan.inputs}
                found = writer.write(plan, inputs, f"A{number}_")
                for name, markup in found.items():
                    self._template.set(answers[name], markup)
        self.env |= {name: variable(made) for name, made in answers.items()}


def ensure_drawable(family: Family) -> None:
    """Raise InexpressibleError where a family draws data lists."""
    lists = [name for name, given in family.given.items() if isinstance(given.source, Sampled)]
    if lists:
        raise InexpressibleError(
            f"{lists[0]} is a data list, and the standard draws no list of values"
        )
