"""What the slips lead to, each with its edited laws solved by its own plan in the template."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from qbank.expressions.tree import names_in
from qbank.family.model import Family
from qbank.parametrised.expressions import real, some, value, variable
from qbank.parametrised.plans import PlanRules
from qbank.parametrised.template import Template, matches
from qbank.solving.slips import EditedModel


class SlipRules:
    """Writes what the slips lead to, each with its edited laws solved by its own plan."""

    def __init__(self, template: Template, family: Family, case: str | None) -> None:
        self._template = template
        self._family = family
        self._case = case  # the variable that names the case

    def write(
        self, models: Sequence[EditedModel], env: Mapping[str, str], wanted: set[str]
    ) -> dict[str, dict[str, str]]:
        """slip -> unknown -> markup of its SI value; for slips in `wanted` alone."""
        found: dict[str, dict[str, str]] = {}
        number = {slip: n for n, slip in enumerate(self._family.slips, 1)}
        for model in models:
            if model.slip not in wanted:
                continue
            prefix = f"S{number[model.slip]}_"
            everywhere = self._case is None or len(model.cases) == len(self._family.cases)
            merged = found.setdefault(model.slip, {})
            with self._template.when(None if everywhere else self._in(model.cases)):
                inputs = self._inputs(model, env, prefix)
                answers = PlanRules(self._template).write(model.plan, inputs, prefix)
                if everywhere:
                    merged.update(answers)
                    continue
                for name, markup in answers.items():
                    if name not in merged:
                        merged[name] = variable(self._template.declare(f"{prefix}{name}"))
                    self._template.set(merged[name].split('"')[1], markup)
        return found

    def _in(self, cases: Sequence[int]) -> str:
        assert self._case is not None  # noqa: S101 - asked for only where there are cases
        return some([matches(self._case, f"K{case + 1}") for case in cases])

    def _inputs(self, model: EditedModel, env: Mapping[str, str], prefix: str) -> dict[str, str]:
        inputs = {}
        constants = {
            name
            for target in model.constants_of.values()
            for name in self._family.cases[target].constants
        }
        for name in sorted(model.plan.inputs):
            node = model.stands_for.get(name)
            if name in constants:
                inputs[name] = self._constant(model, name, env, prefix)
            elif node is None:
                inputs[name] = env[name]
            else:
                markup = value(node, env)
                hoisted = bool(names_in(node)) and not markup.startswith("<variable")
                if hoisted:
                    markup = variable(self._template.new(prefix + name, markup))
                inputs[name] = markup
        return inputs

    def _constant(self, model: EditedModel, name: str, env: Mapping[str, str], prefix: str) -> str:
        """A constant of the cases, of the one taken for the other where the slip does so."""
        if all(case == target for case, target in model.constants_of.items()):
            return env[name]
        values = {
            case: self._family.cases[target].constants[name]
            for case, target in model.constants_of.items()
        }
        if len(set(values.values())) == 1:
            return real(next(iter(values.values())))
        taken = self._template.declare(prefix + name)
        self._template.choose(
            [(self._in([case]), {taken: real(number)}) for case, number in values.items()]
        )
        return variable(taken)
