"""The way from the data to the answers in one case: its steps, and the values met on it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import numpy as np

from qbank.expressions.arrays import Program, compile_nodes
from qbank.expressions.functions import FUNCTIONS
from qbank.expressions.tree import Binary, Call, Equation, Name, Negate, Node, names_in
from qbank.family.model import Case, Family
from qbank.instances import Floats
from qbank.solving.structure import structure

DECIDING = 1  # step: which way it goes, where there is more than one
ROOT = 1  # step: which of several roots has a meaning
SEARCH = 3  # steps: a root found by trying, that is to start, to improve and to stop
_NOISE = 1e-9  # a sum of at most this share of its parts is zero


class Path:
    """The path in one case.

    steps  how many steps it has: one for each intermediate quantity the case needs, one for
           deciding the case if there are several, k(k+1)/2 for k laws that must be solved
           together (k to put the values in, and one for each pair to eliminate), and those for
           picking a root or searching for one.
    """

    def __init__(self, family: Family, case: Case) -> None:
        laws = family.laws_in(case.name)
        lets = _needed_lets(family, case)
        unknowns = tuple(family.find)
        mentions = {law.name: names_in(law.equation) & frozenset(unknowns) for law in laws}
        blocks = [len(block.laws) for block in structure(mentions, unknowns).blocks]
        self.steps = len(lets) + sum(k * (k + 1) // 2 for k in blocks)
        self.steps += DECIDING if len(family.cases) > 1 else 0
        for unknown in family.find.values():
            self.steps += ROOT if unknown.choose is not None else 0
            self.steps += SEARCH if unknown.between is not None else 0
        self._constants = case.constants
        nodes: list[Node] = [
            *(family.let[name].expression for name in family.let if name in lets),
            *(side for law in laws for side in (law.equation.left, law.equation.right)),
        ]
        terms = [term for node in nodes for term in _terms(node, case.constants)]
        self._terms = list(dict.fromkeys(terms))
        self._program = _compiled(self._terms)

    def negatives(self, values: Mapping[str, Floats], n: int) -> Floats:
        """How many different values met on the path are negative, (n,).

        Counted are data, intermediate quantities and answers that the lets and laws of the case
        mention, and each sum, difference, change of sign or function value in them. A product is
        counted only where it holds a constant set by the case, in place of its other factor: in
        `s*(T - m*g)` the sign s is chosen so that the whole comes out positive.
        """
        count = np.zeros(n)
        results = iter(self._program({**values, **self._constants}, n))
        for term in self._terms:
            negative = next(results) < 0
            if _sum_in(term) is not None:
                total, left, right = (np.abs(next(results)) for _ in range(3))
                negative &= total > _NOISE * (left + right)
            count += negative
        return count


def _compiled(terms: Collection[Node]) -> Program:
    """Each term, and after one that holds a sum the sum and its parts, which tell its size."""
    nodes: list[Node] = []
    for term in terms:
        inner = _sum_in(term)
        nodes += [term] if inner is None else [term, inner, inner.left, inner.right]
    return compile_nodes(nodes)


def _sum_in(term: Node) -> Binary | None:
    """The sum or difference whose sign the term has, if it is one or a multiple of one."""
    match term:
        case Binary(operator="+" | "-"):
            return term
        case Binary(left=Binary(operator="+" | "-") as inner):
            return inner
        case Binary(right=Binary(operator="+" | "-") as inner):
            return inner
        case _:
            return None


def _terms(node: Node, constants: Collection[str]) -> Iterator[Node]:
    """The parts of an expression whose sign a solver meets."""
    match node:
        case Name(id=name) if name not in constants and name != "pi":
            yield node
        case Negate(operand=operand):
            yield node
            yield from _terms(operand, constants)
        case Binary(operator="+" | "-", left=left, right=right):
            yield node
            yield from _terms(left, constants)
            yield from _terms(right, constants)
        case Binary(operator="*" | "/", left=left, right=right):
            factors = [f for f in (left, right) if not (isinstance(f, Name) and f.id in constants)]
            if len(factors) < 2:
                yield node
            for factor in factors:
                inner = _terms(factor, constants)
                yield from (part for part in inner if len(factors) == 2 or part != factor)
        case Binary(operator="^", left=base):
            yield from _terms(base, constants)
        case Call(function=function, arguments=arguments):
            if FUNCTIONS[function].kind == "scalar":  # a sum over a data list is the calculator's
                yield node
                for argument in arguments:
                    yield from _terms(argument, constants)


def _needed_lets(family: Family, case: Case) -> set[str]:
    """The intermediate quantities the laws and the decision hang on, through each other too."""
    parts: list[Node | Equation] = [law.equation for law in family.laws_in(case.name)]
    parts += [other.when for other in family.cases if other.when is not None]
    parts += [end for unknown in family.find.values() for end in unknown.between or ()]
    needed: set[str] = set()
    while parts:
        for name in names_in(parts.pop()) & family.let.keys() - needed:
            needed.add(name)
            parts.append(family.let[name].expression)
    return needed
