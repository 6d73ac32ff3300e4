"""The models of a family: the laws and constants of each case, cases alike taken together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from qbank.errors import FamilyError
from qbank.expressions.tree import Equation, Node, names_in
from qbank.family.model import Family
from qbank.solving.plan import Model
from qbank.solving.rewriting import number, put_constants
from qbank.solving.steps import PlanError


@dataclass(frozen=True, slots=True)
class Variant:
    """The laws and constants that hold for the draws of one case."""

    case: int
    laws: tuple[tuple[str, Equation], ...]
    constants: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class VariantGroup:
    """Cases solved by one model; their constants differ at most in sign."""

    model: Model
    variants: tuple[Variant, ...]


def sign_constants(family: Family) -> frozenset[str]:
    """The constants that are +1 or -1 in every case, and both in some."""
    values: dict[str, set[float]] = {}
    for case in family.cases:
        for name, value in case.constants.items():
            values.setdefault(name, set()).add(value)
    return frozenset(name for name, found in values.items() if found == {1.0, -1.0})


def group_variants(
    family: Family, variants: Sequence[Variant], signs: frozenset[str]
) -> list[VariantGroup]:
    """Cases whose laws are the same once their constants, save the signs, are put in."""
    groups: dict[tuple[tuple[str, Equation], ...], list[Variant]] = {}
    for variant in variants:
        constants = {
            name: number(value) for name, value in variant.constants.items() if name not in signs
        }
        laws = tuple((name, put_constants(law, constants)) for name, law in variant.laws)
        groups.setdefault(laws, []).append(variant)
    result = []
    for laws, members in groups.items():
        kept = signs
        if len(members) == 1:  # nothing to share: the signs can be put in as well
            fixed = {name: number(value) for name, value in members[0].constants.items()}
            laws = tuple((name, put_constants(law, fixed)) for name, law in laws)  # noqa: PLW2901
            kept = frozenset()
        result.append(VariantGroup(Model(laws, tuple(family.find), kept), tuple(members)))
    return result


def ordered_lets(family: Family, replaced: Mapping[str, Node] | None = None) -> list[str]:
    """The intermediate quantities, each after those it uses, also in what a slip writes instead.

    The loader has refused cycles; where a slip makes one, the true value is used.
    """
    expressions = {
        name: [let.expression, *([replaced[name]] if replaced and name in replaced else [])]
        for name, let in family.let.items()
    }
    order: list[str] = []
    seen: set[str] = set()

    def visit(name: str) -> None:
        if name in seen:
            return
        seen.add(name)
        for needed in sorted(frozenset().union(*map(names_in, expressions[name]))):
            if needed in expressions:
                visit(needed)
        order.append(name)

    for name in family.let:
        visit(name)
    return order


def family_error(family: Family, error: PlanError, case: str | None, slip: str = "") -> FamilyError:
    """A PlanError with its place in the family file."""
    place = family.place
    if error.unknown is not None:
        place = family.find[error.unknown].place
    if error.law is not None:
        for law in family.laws:
            if law.name == error.law and (law.case is None or case is None or law.case == case):
                place = law.place
    if slip:
        place = family.slips[slip].place
    where = (f"slip '{slip}', " if slip else "") + (f"case '{case}', " if case else "")
    return FamilyError(where + error.message, place=place, hint=f"{error.mend}.")
