"""Laws written wrongly: each is edited in one place, as a slip nobody has described."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

import numpy as np

from qbank.audit.causes.work import Alternative, Work, told
from qbank.audit.resolving import Resolver
from qbank.errors import QbankError
from qbank.expressions.dimensions import shape_of
from qbank.expressions.spelling import spell
from qbank.expressions.tree import Binary, Call, Equation, Negate, Node, Number, children
from qbank.family.model import Sampled, Slip
from qbank.solving.rewriting import number, rebuilt
from qbank.solving.slips import SlipSolver

MOST_EDITS = 120  # of a family
_FUNCTIONS = {
    "sin": ("cos", "tan"), "cos": ("sin", "tan"), "tan": ("sin", "cos"),
    "asin": ("acos", "atan"), "acos": ("asin", "atan"), "atan": ("asin", "acos"),
    "log": ("log10",), "ln": ("log10",), "log10": ("ln",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Edit:
    """A law or an intermediate quantity written otherwise."""

    code: str
    says: str
    prior: float
    solver: SlipSolver
    name: str


def edited_laws(work: Work) -> Iterator[Alternative]:
    """A term dropped or its sign turned, another function, a power or factor left out."""
    old = work.resolved
    for edit in edits_of(work.resolver):
        found = edit.solver.solve(old.values, old.case, len(work))[edit.name][work.unknown]
        with np.errstate(invalid="ignore"):
            same = np.abs(found - old.answers[work.unknown]) <= 1e-9 * np.abs(found)
        values = work.shown(np.where(same, np.nan, found))
        yield Alternative(edit.code, values, edit.prior, told(edit.says), 3)


_compiled: WeakKeyDictionary[Resolver, list[Edit]] = WeakKeyDictionary()


def edits_of(resolver: Resolver) -> list[Edit]:
    """The edits of a family, planned when they are first asked for."""
    if resolver not in _compiled:
        _compiled[resolver] = list(_edits(resolver))
    return _compiled[resolver]


def _edits(resolver: Resolver) -> Iterator[Edit]:
    family = resolver.family
    slips: list[tuple[str, str, float, Slip]] = []
    seen: set[tuple[str, Equation]] = set()
    for law in family.laws:
        for equation, code, says, prior in _of_equation(law.equation):
            if (law.name, equation) in seen:
                continue
            seen.add((law.name, equation))
            slip = Slip("edit", "", law.place, laws={law.name: equation})
            slips.append((code, f"{says} in the law '{law.name}': {spell(equation)}", prior, slip))
    lists = {name for name, given in family.given.items() if isinstance(given.source, Sampled)}
    for name, let in family.let.items():
        for node, code, says, prior in _of_node(let.expression):
            if not _is_one_number(node, lists):  # a list where one is needed, or the reverse
                continue
            slip = Slip("edit", "", let.place, lets={name: node})
            slips.append((code, f"{says} in {name}: {name} = {spell(node)}", prior, slip))
    slips.sort(key=lambda entry: -entry[2])
    for code, says, prior, slip in slips[:MOST_EDITS]:
        try:
            solver = SlipSolver(replace(family, slips={"edit": slip}), resolver.solver)
        except QbankError:
            continue
        yield Edit(code, says, prior, solver, "edit")


def _is_one_number(node: Node, lists: set[str]) -> bool:
    try:
        return shape_of(node, lists) == "scalar"
    except QbankError:
        return False


def _of_equation(law: Equation) -> Iterator[tuple[Equation, str, str, float]]:
    for node, code, says, prior in _of_node(law.left):
        yield Equation(node, law.right), code, says, prior
    for node, code, says, prior in _of_node(law.right):
        yield Equation(law.left, node), code, says, prior


def _of_node(node: Node) -> Iterator[tuple[Node, str, str, float]]:
    """The node edited in one place, at any depth."""
    yield from _here(node)
    parts = children(node)
    for i, part in enumerate(parts):
        for new, code, says, prior in _of_node(part):
            yield rebuilt(node, (*parts[:i], new, *parts[i + 1 :])), code, says, prior


def _here(node: Node) -> Iterator[tuple[Node, str, str, float]]:
    match node:
        case Binary(operator="+", left=left, right=right):
            yield Binary("-", left, right), "term-sign", "a sign is turned", 45.0
            yield left, "term-dropped", f"the term {spell(right)} is left out", 45.0
            yield right, "term-dropped", f"the term {spell(left)} is left out", 44.0
        case Binary(operator="-", left=left, right=right):
            yield Binary("+", left, right), "term-sign", "a sign is turned", 45.0
            yield left, "term-dropped", f"the term {spell(right)} is left out", 45.0
            yield Negate(right), "term-dropped", f"the term {spell(left)} is left out", 44.0
        case Binary(operator="*", left=left, right=right):
            yield right, "factor-dropped", f"the factor {spell(left)} is left out", 40.0
            yield left, "factor-dropped", f"the factor {spell(right)} is left out", 40.0
        case Binary(operator="/", left=left, right=right):
            yield left, "factor-dropped", f"the divisor {spell(right)} is left out", 40.0
            yield Binary("*", left, right), "factor-inverted", "multiplied, not divided", 38.0
        case Binary(operator="^", left=left, right=right):
            yield left, "power-dropped", f"the power {spell(right)} is left out", 42.0
            if isinstance(right, Number) and right.value == 2:
                yield Binary("*", number(2), left), "power-dropped", "doubled, not squared", 37.0
        case Call(function=function, arguments=(argument,)):
            for other in _FUNCTIONS.get(function, ()):
                said = f"{other} is written for {function}"
                yield Call(other, (argument,)), "function", said, 54.0
            if function == "sqrt":
                yield argument, "root-dropped", "the root is left out", 42.0
        case _:
            return
