"""How one block of laws is solved: as a linear system, or by the easiest of its unknowns.

Of a nonlinear block all unknowns but one are eliminated; what is left is undone step by step,
solved as a polynomial, or searched for between the ends the author gives.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from qbank.errors import ExpressionError
from qbank.expressions.tree import Binary, Call, Compare, Equation, Name, Node, names_in, walk
from qbank.family.model import Unknown
from qbank.solving.algebra import Workspace
from qbank.solving.inversion import Branch, Inversion, invert, literal_value
from qbank.solving.linear import linear_system
from qbank.solving.polynomial import Polynomial, linear_in, polynomial_in
from qbank.solving.rewriting import (
    ZERO,
    binary,
    negate,
    occurrences,
    size,
    substitute,
    substitute_equation,
)
from qbank.solving.steps import (
    BracketedRoots,
    Candidates,
    Formulas,
    Linear,
    PlanError,
    PolynomialRoots,
    Step,
    listing,
)

_MAX_EQUATION = 400  # nodes an equation may grow to while others are put into it


@dataclass(frozen=True, slots=True)
class Way:
    """A way to solve a block: its steps, what must hold besides for a solution to be one, and a
    rank, the lower the better."""

    rank: int
    steps: tuple[Step, ...]
    conditions: tuple[Node, ...] = ()


def plan_block(
    laws: Mapping[str, Equation],
    unknowns: Sequence[str],
    find: Mapping[str, Unknown],
    signs: frozenset[str],
) -> Way:
    """The way to solve `laws` together for as many `unknowns`.

    Raises PlanError where no method here can, SingularError where no data determine the unknowns.
    """
    system = linear_system([e.residual for e in laws.values()], unknowns, signs)
    if system is not None:
        way = Way(0, (Linear(system),))
    elif len(laws) > 1:
        way = _eliminate(laws, unknowns, find, signs)
    else:
        ((law, equation),) = laws.items()
        way = _Single(equation, find[unknowns[0]], signs).best(law)
        if isinstance(way.steps[0], Candidates | BracketedRoots):
            return way  # the law itself was undone or evaluated, so its domain was kept
    return replace(way, conditions=(*way.conditions, *_domains(laws.values(), unknowns)))


_RESTRICTED = frozenset({"sqrt", "ln", "log10", "asin", "acos"})


def _domains(laws: Iterable[Equation], unknowns: Sequence[str]) -> Iterator[Node]:
    """Conditions that laws have a value at all: algebra takes sqrt(x)^2 for x, even below zero."""
    for law in laws:
        for part in walk(law.residual):
            if names_in(part).isdisjoint(unknowns):
                continue
            match part:
                case Call(function=function) if function in _RESTRICTED:
                    pass
                case Binary(operator="^", right=power) if not _is_whole(power):
                    pass
                case _:
                    continue
            yield Compare((part, part), ("==",))  # NaN equals nothing


def _is_whole(power: Node) -> bool:
    value = literal_value(power)
    return value is not None and value.denominator == 1


@dataclass(slots=True)
class _Single:
    """One equation in one unknown, and the ways to solve it."""

    equation: Equation
    unknown: Unknown
    signs: frozenset[str]
    periodic: bool = field(default=False, init=False)

    def best(self, law: str) -> Way:
        """The best way; PlanError if there is none."""
        way = self.way()
        if way is not None:
            return way
        name = self.unknown.name
        if self.periodic:
            raise PlanError(
                f"law '{law}' has endlessly many roots for '{name}', a turn apart",
                law=law,
                unknown=name,
                mend=f"say which one is meant, as in choose: 0 <= {name} <= 90 deg",
            )
        raise PlanError(
            f"law '{law}' cannot be solved for '{name}' in closed form",
            law=law,
            unknown=name,
            mend=f"give '{name}' ends to search between, as in between: LOW .. HIGH",
        )

    def way(self) -> Way | None:
        """The best way, or None."""
        name = self.unknown.name
        residual = self.equation.residual
        if occurrences(residual, name) == 1:
            inversion = invert(self.equation, name)
            if inversion is not None and self._usable(inversion):
                rank = 1 if len(inversion.branches) == 1 else 2
                return Way(rank, (Candidates(name, inversion.branches),))
        polynomial = polynomial_in(residual, name, signs=self.signs)
        steps = self._roots_of(polynomial) if polynomial is not None else None
        if polynomial is not None and steps is not None:
            below = polynomial.denominator
            conditions = () if below is None else (Compare((below, ZERO), ("!=",)),)
            return Way(polynomial.degree - 1 + len(steps), steps, conditions)
        if self.unknown.between is not None:
            low, high = self.unknown.between
            return Way(20, (BracketedRoots(name, residual, low, high),))
        return None

    def _roots_of(self, polynomial: Polynomial) -> tuple[Step, ...] | None:
        """The steps from a polynomial in the unknown, or in a function that can be undone."""
        name, kernel = self.unknown.name, polynomial.kernel
        if kernel == Name(name):
            if polynomial.degree == 1:
                first, last = polynomial.coefficients
                return (Formulas(((name, binary(negate(last), "/", first)),)),)
            return (PolynomialRoots(name, polynomial.coefficients),)
        if occurrences(kernel, name) != 1:
            return None
        root = f"@{name}"  # the value of the kernel, from which the unknown follows
        inversion = invert(Equation(kernel, Name(root)), name)
        if inversion is None or not self._usable(inversion):
            return None
        return (
            PolynomialRoots(root, polynomial.coefficients),
            Candidates(name, inversion.branches),
        )

    def _usable(self, inversion: Inversion) -> bool:
        """Of endlessly many roots one must be chosen, or the ends given be searched."""
        if not inversion.periodic:
            return True
        self.periodic = self.unknown.choose is None
        return self.unknown.between is None and not self.periodic


def _eliminate(
    laws: Mapping[str, Equation],
    unknowns: Sequence[str],
    find: Mapping[str, Unknown],
    signs: frozenset[str],
) -> Way:
    """Keeps one unknown, the best that can be; the others follow from it."""
    best: Way | None = None
    stuck: PlanError | None = None
    helped = sorted(unknowns, key=lambda u: find[u].choose is None and find[u].between is None)
    for keep in helped:
        reduced = _reduce(laws, [u for u in unknowns if u != keep], keep, signs)
        if reduced is None:
            continue
        law, equation, followers = reduced
        if keep not in names_in(equation):
            continue  # it cancelled: the block is degenerate seen from here
        try:
            way = _Single(equation, find[keep], signs).best(law)
        except PlanError as error:
            stuck = stuck or error
            continue
        if best is None or way.rank < best.rank:
            best = Way(way.rank, (*way.steps, *followers), way.conditions)
        if way.rank <= 1:
            break
    if best is not None:
        return best
    if stuck is not None:
        raise stuck
    names = listing(unknowns)
    raise PlanError(
        f"laws {listing(laws)} cannot be reduced to one equation in one of {names}",
        law=next(iter(laws)),
        mend="write one of them solved for an unknown, or add an unknown and a law that splits it",
    )


def _reduce(
    laws: Mapping[str, Equation], others: Sequence[str], keep: str, signs: frozenset[str]
) -> tuple[str, Equation, list[Step]] | None:
    """Eliminates the others one by one: the law left, its equation, and how the others follow."""
    remaining = dict(laws)
    todo = list(others)
    followers: list[Step] = []
    while todo:
        choice = _next_elimination(remaining, todo, keep, signs)
        if choice is None:
            return None
        law, unknown, branches = choice
        del remaining[law]
        todo.remove(unknown)
        plain = len(branches) == 1 and not branches[0].conditions
        followers.append(
            Formulas(((unknown, branches[0].value),)) if plain else Candidates(unknown, branches)
        )
        remaining = {
            name: substitute_equation(equation, {unknown: branches[0].value})
            for name, equation in remaining.items()
        }
        if any(size(e.left) + size(e.right) > _MAX_EQUATION for e in remaining.values()):
            return None
    ((law, equation),) = remaining.items()
    return law, equation, followers[::-1]


def _next_elimination(
    laws: Mapping[str, Equation], todo: Sequence[str], keep: str, signs: frozenset[str]
) -> tuple[str, str, tuple[Branch, ...]] | None:
    """The law and unknown that are easiest to solve for, and the unknown's values."""
    best: tuple[tuple[int, int], str, str, tuple[Branch, ...]] | None = None
    for law, equation in laws.items():
        for unknown in todo:
            others = [u for u in [*todo, keep] if u != unknown]
            solved = _solved_for(equation, unknown, others, signs)
            if solved is None:
                continue
            rank, branches = solved
            key = (rank, size(branches[0].value))
            if best is not None and key >= best[0]:
                continue
            rest = [e for name, e in laws.items() if name != law and unknown in names_in(e)]
            if len(branches) == 1 or all(_alike(e, unknown, branches, others) for e in rest):
                best = (key, law, unknown, branches)
    return best[1:] if best else None


def _solved_for(
    equation: Equation, unknown: str, others: Sequence[str], signs: frozenset[str]
) -> tuple[int, tuple[Branch, ...]] | None:
    """The values of an unknown in a law with others, and the rank of that; None if unknown."""
    count = occurrences(equation.residual, unknown)
    if count == 0:
        return None
    inverted = invert(equation, unknown) if count == 1 else None
    linear = linear_in(equation.residual, unknown, others, signs)
    if linear is not None:
        coefficient, rest = linear
        rank = 1 if names_in(coefficient) & set(others) else 0
        if inverted is not None and len(inverted.branches) == 1:
            return rank, inverted.branches  # the author's own grouping
        return rank, (Branch(binary(rest, "/", coefficient)),)
    if inverted is None or inverted.periodic or not inverted.branches:
        return None
    return 2 if len(inverted.branches) == 1 else 3, inverted.branches


def _alike(
    equation: Equation, unknown: str, branches: Sequence[Branch], others: Sequence[str]
) -> bool:
    """Whether a law says the same for all values of an unknown, as it does of x^2 for +-x."""
    work = Workspace([unknown, *others])
    try:
        first, *rest = [
            work.to_sympy(substitute(equation.residual, {unknown: branch.value}))
            for branch in branches
        ]
    except ExpressionError:
        return False
    return all(expression == first for expression in rest)
