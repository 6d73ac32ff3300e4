"""The section `laws`: the equations, in every case as many as there are unknowns."""

from __future__ import annotations

from collections.abc import Sequence

from qbank.expressions.tree import Equation, names_in
from qbank.family.cases import check_name
from qbank.family.keys import Keys, nearest, text_of
from qbank.family.model import Case, Law
from qbank.family.nodes import Entry, Mapping
from qbank.family.scope import Formulas, Piece


def read_laws(
    top: Keys, formulas: Formulas, cases: Sequence[Case], unknowns: Sequence[str]
) -> tuple[Law, ...]:
    """The laws, flat or by case."""
    names = [case.name for case in cases if case.name]
    laws: list[Law] = []

    def add(entry: Entry, case: str | None) -> None:
        name = entry.key.text
        check_name(entry.key, "law")
        what = f"law '{name}'" + (f" of case '{case}'" if case else "")
        scalar = text_of(entry, what)
        equation = formulas.equation(Piece.whole(scalar), what)
        for other in laws:
            shared = case is None or other.case is None or other.case == case
            if shared and other.name == name:
                raise entry.key.fault(
                    f"{what}: a law of that name stands in line {other.place.line}",
                    hint="rename one of the two",
                )
            if shared and _same(other.equation, equation):
                raise scalar.fault(
                    f"{what}: it says the same as law '{other.name}'",
                    hint="each law must say something new; correct or delete one of the two",
                )
        if names_in(equation).isdisjoint(unknowns):
            raise scalar.fault(
                f"{what}: it mentions no unknown, so it cannot help to find one",
                hint="make it a rule or a `let`, or declare its unknown under `find:`",
            )
        laws.append(Law(name, equation, case, entry.key.place))

    for entry in top.mapping("laws"):
        if not isinstance(entry.value, Mapping):
            add(entry, None)
            continue
        case = entry.key.text
        if case not in names:
            raise entry.key.fault(
                f"laws: there is no case '{case[:60]}'",
                hint=nearest(case, names) if names else "declare it under `cases:`",
            )
        for inner in entry.value:
            add(inner, case)
    return tuple(laws)


def holding(laws: Sequence[Law], cases: Sequence[str]) -> dict[str, frozenset[str]]:
    """Law name -> the cases in which there is a law of that name."""
    found: dict[str, frozenset[str]] = {}
    for law in laws:
        here = cases if law.case is None else [law.case]
        found[law.name] = found.get(law.name, frozenset()).union(here)
    return found


def _same(one: Equation, other: Equation) -> bool:
    return (one.left, one.right) in ((other.left, other.right), (other.right, other.left))


def check_laws(
    laws: Sequence[Law],
    cases: Sequence[Case],
    unknowns: Sequence[str],
    top: Keys,
) -> None:
    """FamilyError unless every case has as many laws as unknowns, and all unknowns in them."""
    key = top.key("laws")
    for case in cases:
        here = [law for law in laws if law.case in (None, case.name)]
        where = f" in case '{case.name}'" if case.name else ""
        if len(here) != len(unknowns):
            more = len(here) > len(unknowns)
            raise key.fault(
                f"laws: {_count(len(here), 'law')}{where} for {_count(len(unknowns), 'unknown')} "
                f"({', '.join(unknowns)})",
                hint="delete a law, or declare what else is unknown under `find:`"
                if more
                else "add the missing law, or make an unknown a `let`",
            )
        mentioned = frozenset().union(*(names_in(law.equation) for law in here))
        for name in unknowns:
            if name not in mentioned:
                raise key.fault(
                    f"laws: no law{where} mentions the unknown {name}",
                    hint="add it to a law, or delete it from `find:`",
                )


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
