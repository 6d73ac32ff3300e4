"""The solution of the laws in the operators of the standard, from the solver's own plan.

Where a law has several roots, every combination is followed as a world of its own, as the
solver does; in the end the one in which all conditions hold gives the answers. Two that hold
and differ give none: a draw for which the family knows no single solution is not used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

from qbank.expressions.tree import Node
from qbank.parametrised.expressions import (
    InexpressibleError,
    condition,
    every,
    op,
    real,
    same,
    some,
    value,
    variable,
)
from qbank.parametrised.template import Template
from qbank.solving.plan import Plan
from qbank.solving.steps import (
    BracketedRoots,
    Candidates,
    Linear,
    PolynomialRoots,
    Step,
    closed_form,
    listing,
)

MOST_WORLDS = 16
_SAME_ROOT = "1e-7"  # per cent: two ways to one root are not two roots
_TRUE = '<baseValue baseType="boolean">true</baseValue>'
_ROUNDING = 8.9e-16  # a discriminant this small, relative to b squared, is zero: 4 epsilon


@dataclass(slots=True)
class _World:
    """What is known, and what must hold, in one combination of roots."""

    env: dict[str, str]
    conditions: list[str]
    values: list[str]  # those that must not be NULL


class PlanRules:
    """Writes plans as rules at the point where a template stands."""

    def __init__(self, template: Template) -> None:
        self._template = template

    def write(self, plan: Plan, inputs: Mapping[str, str], prefix: str) -> dict[str, str]:
        """The rules that carry out a plan; unknown -> the markup of its SI value.

        `inputs` are the plan's. Raises InexpressibleError where a step has no closed form.
        """
        worlds = [_World(dict(inputs), [], [])]
        for step, conditions in zip(plan.steps, plan.conditions, strict=True):
            worlds = [further for world in worlds for further in self._step(world, step, prefix)]
            if len(worlds) > MOST_WORLDS:
                raise InexpressibleError(
                    f"its laws have {len(worlds)} combinations of roots to follow"
                )
            for world in worlds:
                world.conditions += [condition(node, world.env) for node in conditions]
        if len(worlds) == 1 and not worlds[0].conditions:
            return {name: worlds[0].env[name] for name in plan.found}
        return self._settled(worlds, plan.found, prefix)

    def _step(self, world: _World, step: Step, prefix: str) -> list[_World]:
        formulas = closed_form(step)
        if formulas is not None:
            for name, node in formulas:
                world.env[name] = self._value(prefix + name, node, world.env)
            return [world]
        match step:
            case Linear(system=system):
                raise InexpressibleError(
                    f"the laws for {listing(system.unknowns)} have no short formula for each"
                )
            case Candidates(unknown=unknown, branches=branches):
                worlds = []
                for branch in branches:
                    env = dict(world.env)
                    env[unknown] = self._value(prefix + unknown, branch.value, env)
                    held = [condition(node, env) for node in branch.conditions]
                    worlds.append(
                        _World(env, [*world.conditions, *held], [*world.values, env[unknown]])
                    )
                return worlds
            case PolynomialRoots(unknown=unknown, coefficients=coefficients):
                if len(coefficients) != 3:
                    raise InexpressibleError(
                        f"{unknown.removeprefix('@')} is a root of a polynomial of degree"
                        f" {len(coefficients) - 1}, and the standard finds no roots"
                    )
                return [
                    _World(
                        {**world.env, unknown: root}, list(world.conditions), [*world.values, root]
                    )
                    for root in self._quadratic(unknown, coefficients, world.env, prefix)
                ]
            case BracketedRoots(unknown=unknown):
                raise InexpressibleError(
                    f"{unknown.removeprefix('@')} is found by searching between two ends,"
                    " and the standard finds no roots"
                )
            case _:
                raise InexpressibleError("a step of its solution has no formula")

    def _value(self, name: str, node: Node, env: Mapping[str, str]) -> str:
        return variable(self._template.new(name, value(node, env)))

    def _quadratic(
        self, unknown: str, coefficients: tuple[Node, ...], env: Mapping[str, str], prefix: str
    ) -> list[str]:
        """Both roots of `a x^2 + b x + c = 0`, formed without cancellation as the solver does
        (`roots.quadratic_roots`); for a = 0 the second is that of the linear equation."""
        stem = prefix + unknown
        a, b, c = (
            self._value(f"{stem}_{letter}", node, env)
            for letter, node in zip("abc", coefficients, strict=True)
        )
        square = op("product", b, b)
        plain = op("subtract", square, op("product", real(4.0), a, c))
        under = self._template.new(f"{stem}_disc", plain)
        small = op("lte", _size(variable(under)), op("product", real(_ROUNDING), square))
        with self._template.when(small):
            self._template.set(under, real(0.0))
        root = op("power", variable(under), real(0.5))
        q = self._template.declare(f"{stem}_q")
        half = real(0.5)
        self._template.choose(
            [
                (
                    op("gte", b, real(0.0)),
                    {q: op("product", real(-0.5), op("sum", b, root))},
                ),
                (
                    op("lt", b, real(0.0)),
                    {q: op("product", half, op("subtract", root, b))},
                ),
            ]
        )
        first = self._template.new(f"{stem}_1", op("divide", variable(q), a))
        second = self._template.new(f"{stem}_2", op("divide", c, variable(q)))
        return [variable(first), variable(second)]

    def _settled(self, worlds: list[_World], found: tuple[str, ...], prefix: str) -> dict[str, str]:
        """One value for each unknown: that of the world that holds, NULL where none does."""
        template = self._template
        names = {name: template.declare(f"{prefix}{name}") for name in found}
        holds = []
        for n, world in enumerate(worlds, 1):
            there = [op("not", op("isNull", part)) for part in world.values]
            held = template.declare(f"{prefix}ROOT_{n}", "boolean")
            template.choose([(every([*there, *world.conditions]), {held: _TRUE})])
            holds.append(variable(held))
        template.choose(
            [
                (held, {names[name]: world.env[name] for name in found})
                for held, world in zip(holds, worlds, strict=True)
            ]
        )
        for (k, one), (m, other) in combinations(enumerate(worlds), 2):
            differ = [
                op("not", same(one.env[name], other.env[name], _SAME_ROOT))
                for name in found
                if one.env[name] != other.env[name]
            ]
            if differ:
                both = op("and", holds[k], holds[m], some(differ))
                template.choose([(both, {names[name]: "<null/>" for name in found})])
        return {name: variable(names[name]) for name in found}


def _size(markup: str) -> str:
    return f'<mathOperator name="abs">{markup}</mathOperator>'
