"""What typical mistakes lead to: each slip edits the model, which is planned and solved again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from qbank.errors import FamilyError
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import Name, Node, names_in
from qbank.family.model import Case, Family, Slip
from qbank.solving.execution import Execution, Floats, compile_formulas
from qbank.solving.linear import Assignment
from qbank.solving.plan import Model, Plan, make_plan
from qbank.solving.rewriting import binary, number, substitute
from qbank.solving.solver import Solver, Values, full, taken
from qbank.solving.steps import PlanError
from qbank.solving.variants import (
    Variant,
    VariantGroup,
    family_error,
    group_variants,
    ordered_lets,
    sign_constants,
)


class SlipSolver:
    """All slips of a family, planned and compiled; `models` are the edited models.

    Raises FamilyError at the place of a slip whose laws no method here can solve, or that gives
    no unknown a value in any case.
    """

    def __init__(self, family: Family, solver: Solver) -> None:
        self._family = family
        self._unknowns = tuple(family.find)
        plans = {variants.model: plan for variants, plan in solver.plans}
        signs = sign_constants(family)
        by_cases: dict[tuple[int, ...], list[EditedModel]] = {}
        for slip in family.slips.values():
            edited = _edited_models(family, slip, signs, plans)
            if not any(model.plan.found for model in edited):
                raise FamilyError(
                    f"slip '{slip.name}' gives no unknown a value",
                    place=slip.place,
                    hint="It must edit a law or a quantity the laws use, and leave them solvable.",
                )
            for model in edited:
                by_cases.setdefault(model.cases, []).append(model)
        self.models = tuple(model for models in by_cases.values() for model in models)
        self._batches = [_Batch(family, cases, models) for cases, models in by_cases.items()]

    def solve(
        self, values: Values, case: NDArray[np.int64], n: int
    ) -> dict[str, dict[str, Floats]]:
        """slip -> unknown -> (n,), SI: the answer each slip leads to.

        `values` are the true givens and lets, SI, each (n,) or a single number; `case` (n,) as
        for `Solver.solve`. NaN where the slip does not apply or changes nothing, where the edited
        model has no root or several, and for unknowns that the edited model does not determine.
        """
        out: dict[str, dict[str, Floats]] = {slip: {} for slip in self._family.slips}
        for batch in self._batches:
            rows = batch.rows(case)
            if rows is None:
                found = batch.solve(values, case, n)
            elif len(rows):
                part = {name: taken(values[name], rows) for name in batch.needs}
                found = batch.solve(part, case[rows], len(rows))
            else:
                continue
            for slip, answers in found.items():
                for name, array in answers.items():
                    if rows is None:
                        out[slip][name] = array
                    else:
                        whole = out[slip].setdefault(name, np.full(n, np.nan))
                        whole[rows] = array
        outside = case < 0
        if outside.any():
            for answers in out.values():
                for array in answers.values():
                    array[outside] = np.nan
        return {
            slip: {
                name: answers[name] if name in answers else np.full(n, np.nan)
                for name in self._unknowns
            }
            for slip, answers in out.items()
        }


# ---------------------------------------------------------------------------- editing


@dataclass(frozen=True, slots=True)
class EditedModel:
    """A slip in some cases: the plan of the edited laws, what stands for its inputs (over true
    values), and the case whose constants are taken in each of `cases`."""

    slip: str
    cases: tuple[int, ...]
    plan: Plan
    stands_for: Mapping[str, Node]
    constants_of: Mapping[int, int]


def _edited_models(
    family: Family, slip: Slip, signs: frozenset[str], plans: dict[Model, Plan]
) -> list[EditedModel]:
    """The edited models of a slip, cases with the same laws together; plans are kept in `plans`."""
    inputs = _edited_inputs(family, slip)
    position = {case.name: i for i, case in enumerate(family.cases)}
    variants: list[Variant] = []
    taken_for: dict[int, int] = {}
    for i, case in enumerate(family.cases):
        if slip.only and case.name not in slip.only:
            continue
        target = family.cases[position[slip.cases.get(case.name, case.name)]]
        variant = _edited_variant(family, slip, target, i)
        if target is not case or _changes_something(family, case, variant, inputs):
            variants.append(variant)
            taken_for[i] = position[target.name]
    models = []
    for group in group_variants(family, variants, signs):
        plan = plans.get(group.model)
        if plan is None:
            plan = plans[group.model] = _plan(family, slip, group)
        cases = tuple(variant.case for variant in group.variants)
        models.append(
            EditedModel(
                slip.name,
                cases,
                plan,
                {name: inputs[name] for name in sorted(plan.inputs) if name in inputs},
                {case: taken_for[case] for case in cases},
            )
        )
    return models


def _edited_variant(family: Family, slip: Slip, target: Case, case: int) -> Variant:
    laws = tuple(
        (law.name, slip.laws.get(law.name, law.equation))
        for law in family.laws_in(target.name)
        if law.name not in slip.drop
    )
    return Variant(case, laws, target.constants)


def _changes_something(
    family: Family, case: Case, variant: Variant, inputs: Mapping[str, Node]
) -> bool:
    """Whether the edit touches the laws of a case or a quantity in them."""
    if variant.laws != tuple((law.name, law.equation) for law in family.laws_in(case.name)):
        return True
    return any(names_in(equation) & inputs.keys() for _, equation in variant.laws)


def _plan(family: Family, slip: Slip, group: VariantGroup) -> Plan:
    try:
        return make_plan(group.model, family.find, partial=True)
    except PlanError as error:
        named = family.cases[group.variants[0].case].name if len(family.cases) > 1 else None
        raise family_error(family, error, named, slip.name) from None


def _edited_inputs(family: Family, slip: Slip) -> dict[str, Node]:
    """What stands for each given and let that the slip touches, over the true values."""
    swapped = {a: b for pair in slip.swap for a, b in (pair, pair[::-1])}
    givens: dict[str, Node] = {}
    for name, given in family.given.items():
        if name in slip.change:
            givens[name] = slip.change[name]
        elif name in swapped:
            givens[name] = Name(swapped[name])
        elif name in slip.unconverted:
            factor = given.unit.exact or Fraction(repr(given.unit.factor))
            offset = Fraction(repr(float(given.unit.offset)))
            shifted = binary(Name(name), "-", number(offset))
            givens[name] = binary(shifted, "*", number(1 / factor))
    stands_for = _through_lets(family, slip, givens)
    lets_swapped = swapped.keys() & family.let.keys()
    if not lets_swapped:
        return stands_for
    exchanged = {
        name: stands_for.get(swapped[name], Name(swapped[name]))
        if swapped[name] in family.let
        else Name(swapped[name])
        for name in lets_swapped
    }
    return _through_lets(family, slip, {**givens, **exchanged})


def _through_lets(family: Family, slip: Slip, start: Mapping[str, Node]) -> dict[str, Node]:
    """`start`, and what then stands for the lets that are replaced or use something touched."""
    stands_for = dict(start)
    for name in ordered_lets(family, slip.lets):
        if name in start:
            continue
        own = family.let[name].expression
        if names_in(own) & stands_for.keys():
            stands_for[name] = substitute(own, stands_for)
        if name in slip.lets:  # in its new expression a let's own name means what it was
            before = {name: stands_for.get(name, Name(name))}
            stands_for[name] = substitute(slip.lets[name], {**stands_for, **before})
    return stands_for


# ---------------------------------------------------------------------------- solving


class _Batch:
    """The slips that apply to the same cases; their formulas are evaluated in one go."""

    def __init__(self, family: Family, cases: tuple[int, ...], models: list[EditedModel]) -> None:
        self._family = family
        self._all = set(cases) == set(range(len(family.cases)))
        self._member = np.isin(np.arange(len(family.cases) + 1), cases)
        self._tables: dict[str, Floats] = {}
        needs: set[str] = set()
        assignments: list[Assignment] = []
        self._quick: list[EditedModel] = []
        self._slow: list[tuple[EditedModel, Callable[..., dict[str, Floats]]]] = []
        for model in models:
            renamed = self._renamed(model)
            for name in model.plan.inputs:
                needs |= names_in(renamed.get(name, Name(name)))
            formulas = model.plan.formulas
            if formulas is None or any(model.plan.conditions):
                self._slow.append((model, _step_by_step(model.plan, renamed)))
                continue
            for name in model.plan.found:
                renamed[name] = Name(f"{name}@{model.slip}")
            assignments += [
                (f"{name}@{model.slip}", substitute(node, renamed)) for name, node in formulas
            ]
            self._quick.append(model)
        self._formulas = compile_formulas(assignments)
        self.needs = frozenset(needs - self._tables.keys() - {"pi"})

    def _renamed(self, model: EditedModel) -> dict[str, Node]:
        """What stands for each input of the plan; constants get a table over the cases."""
        renamed = dict(model.stands_for)
        names = {
            name
            for target in model.constants_of.values()
            for name in self._family.cases[target].constants
        }
        own = all(case == target for case, target in model.constants_of.items())
        for name in sorted(names & model.plan.inputs):
            label = name if own else f"{name}@{model.slip}"
            table = self._tables.setdefault(label, np.full(len(self._family.cases) + 1, np.nan))
            for case, target in model.constants_of.items():
                table[case] = self._family.cases[target].constants[name]
            renamed[name] = Name(label)
        return renamed

    def rows(self, case: NDArray[np.int64]) -> NDArray[np.intp] | None:
        """The draws of the batch's cases; None where those are all that have a case."""
        return None if self._all else np.flatnonzero(self._member[case])

    def solve(
        self, values: Values, case: NDArray[np.int64], n: int
    ) -> dict[str, dict[str, Floats]]:
        """slip -> unknown -> (n,), for draws that all belong to the batch or have no case."""
        env = {name: values[name] for name in self.needs}
        for label, table in self._tables.items():
            env[label] = table[case]
        found: dict[str, dict[str, Floats]] = {}
        made = self._formulas(env, n)
        for model in self._quick:
            answers = {name: made[f"{name}@{model.slip}"] for name in model.plan.found}
            found[model.slip] = _finite(answers, n)
        for model, run in self._slow:
            found[model.slip] = run(env, n)
        return found


def _step_by_step(plan: Plan, renamed: Mapping[str, Node]) -> Callable[..., dict[str, Floats]]:
    """A function from `(env, n)` to the unknowns of a plan with roots to pick."""
    execution = Execution(plan)
    names = sorted(plan.inputs)
    program = compile_nodes([renamed.get(name, Name(name)) for name in names])

    def run(env: Values, n: int) -> dict[str, Floats]:
        inputs = [full(array, n) for array in program(env, n)]
        return execution.run(dict(zip(names, inputs, strict=True)), n)[0]

    return run


def _finite(answers: dict[str, Floats], n: int) -> dict[str, Floats]:
    """The answers, with NaN in every row where one of them is not finite."""
    bad = np.zeros(n, dtype=bool)
    for array in answers.values():
        finite = np.isfinite(array)
        if not finite.all():
            bad |= ~finite
    if bad.any():
        for array in answers.values():
            array[bad] = np.nan
    return answers
