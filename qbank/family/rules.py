"""The sections `rules` and `confirm`: what must hold of a draw and of its solution."""

from __future__ import annotations

from collections.abc import Sequence

from qbank.expressions.tree import names_in
from qbank.family import schema
from qbank.family.cases import read_only
from qbank.family.keys import Keys
from qbank.family.model import Case, Confirmation, Rule
from qbank.family.scope import SOLUTION, Formulas, Piece


def read_rules(
    top: Keys, formulas: Formulas, cases: Sequence[Case], unknowns: Sequence[str]
) -> tuple[Rule, ...]:
    """The section `rules`."""
    rules: list[Rule] = []
    for number, node in enumerate(top.items("rules"), 1):
        keys = Keys(node, schema.RULE, f"rule {number}")
        scalar = keys.need("need")
        need = formulas.condition(Piece.whole(scalar), keys.what, SOLUTION)
        only = read_only(keys, cases)
        if any(rule.need == need and rule.only == only for rule in rules):
            raise scalar.fault(
                f"{keys.what}: the same rule stands above", hint="delete one of them"
            )
        rules.append(
            Rule(
                need=need,
                because=keys.words("because"),
                text=" ".join(scalar.text.split()),
                only=only,
                uses_solution=not names_in(need).isdisjoint(unknowns),
                place=scalar.place,
            )
        )
    return tuple(rules)


def read_confirm(top: Keys, formulas: Formulas, cases: Sequence[Case]) -> tuple[Confirmation, ...]:
    """The section `confirm`."""
    found = []
    for number, node in enumerate(top.items("confirm"), 1):
        keys = Keys(node, schema.CONFIRM, f"confirm {number}")
        scalar = keys.need("that")
        found.append(
            Confirmation(
                that=formulas.condition(Piece.whole(scalar), keys.what, SOLUTION),
                because=keys.words("because"),
                text=" ".join(scalar.text.split()),
                only=read_only(keys, cases),
                place=scalar.place,
            )
        )
    return tuple(found)
