"""How the laws of one case are solved: once per family, in symbols, before any number is seen.

The laws are ordered into blocks (`structure`). A linear block becomes formulas, or a batch for
LAPACK where its closed form grows too long. Of a nonlinear block all unknowns but one are
eliminated; what is left is undone step by step, solved as a polynomial, or searched for between
the ends the author gives.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from qbank.expressions.tree import Compare, Equation, Name, Node, names_in
from qbank.family.model import Unknown
from qbank.solving.algebra import (
    Assignment,
    LinearSystem,
    SingularError,
    linear_in,
    linear_system,
    polynomial_in,
)
from qbank.solving.inversion import Branch, Inversion, invert
from qbank.solving.rewriting import (
    binary,
    negate,
    occurrences,
    size,
    substitute_equation,
)
from qbank.solving.structure import Block, Structure, structure

_MAX_EQUATION = 400  # nodes an equation may grow to while others are put into it

# ---------------------------------------------------------------------------- the model


@dataclass(frozen=True, slots=True)
class Model:
    """The laws that hold together, and what is to be found from them.

    Constants of the case are put in already, except `signs`: names that are +1 or -1.
    """

    laws: tuple[tuple[str, Equation], ...]
    unknowns: tuple[str, ...]
    signs: frozenset[str] = frozenset()


# ---------------------------------------------------------------------------- the steps


@dataclass(frozen=True, slots=True)
class Formulas:
    """One value for each unknown, in order; a later one may use an earlier one."""

    assignments: tuple[Assignment, ...]


@dataclass(frozen=True, slots=True)
class Linear:
    """A linear system, solved by its closed form or, where it has none, row by row."""

    system: LinearSystem


@dataclass(frozen=True, slots=True)
class Candidates:
    """Several values for one unknown, each under conditions."""

    unknown: str
    branches: tuple[Branch, ...]


@dataclass(frozen=True, slots=True)
class PolynomialRoots:
    """The real roots of a polynomial, coefficients from the highest power down."""

    unknown: str
    coefficients: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class BracketedRoots:
    """The roots of `residual` between `low` and `high`."""

    unknown: str
    residual: Node
    low: Node
    high: Node


Step = Formulas | Linear | Candidates | PolynomialRoots | BracketedRoots


@dataclass(frozen=True, slots=True)
class Plan:
    """Steps in order, and the conditions that pick among roots, each after the step that makes
    it decidable. `found` are the unknowns that get a value; `inputs` what must be given."""

    steps: tuple[Step, ...]
    conditions: tuple[tuple[Node, ...], ...]
    found: tuple[str, ...]
    inputs: frozenset[str]

    @property
    def formulas(self) -> tuple[Assignment, ...] | None:
        """The whole plan as formulas, or None if it has roots to pick or systems to solve."""
        parts = [closed_form(step) for step in self.steps]
        if any(part is None for part in parts):
            return None
        return tuple(assignment for part in parts for assignment in part or ())


def closed_form(step: Step) -> tuple[Assignment, ...] | None:
    """The formulas a step consists of, or None if it does more."""
    match step:
        case Formulas(assignments=assignments):
            return assignments
        case Linear(system=system):
            return system.closed
        case _:
            return None


class PlanError(Exception):
    """Laws that cannot be solved; the caller knows the place and says it to the user.

    `law` and `unknown` name what the message is about; `mend` says what to do.
    """

    def __init__(
        self, message: str, *, law: str | None = None, unknown: str | None = None, mend: str
    ) -> None:
        super().__init__(message)
        self.message = message
        self.law = law
        self.unknown = unknown
        self.mend = mend


def make_plan(model: Model, find: Mapping[str, Unknown], *, partial: bool = False) -> Plan:
    """The plan for a model; `find` gives what picks a root (`choose`, `between`).

    With `partial`, unknowns the laws do not determine, or determine in more ways than one, are
    left out; otherwise they raise PlanError, as do laws no method here can solve.
    """
    equations = dict(model.laws)
    mentions = {law: names_in(equation) & frozenset(model.unknowns) for law, equation in model.laws}
    order = structure(mentions, model.unknowns)
    if not partial:
        _ensure_square(order, mentions)
    steps: list[Step] = []
    lost: set[str] = set()
    for block in order.blocks:
        needs = {u for law in block.laws for u in mentions[law]}
        if needs & lost:
            lost |= set(block.unknowns)
            continue
        try:
            steps.extend(_plan_block(block, equations, model, find))
        except SingularError as error:
            if not partial:
                raise _singular(block, error) from None
            lost |= set(block.unknowns)
    return _finish(steps, model, find)


def _finish(steps: Sequence[Step], model: Model, find: Mapping[str, Unknown]) -> Plan:
    """Places each condition after the step that makes it decidable."""
    made = [_makes(step) for step in steps]
    found = set().union(*made) & set(model.unknowns) if made else set()
    waiting = [c for u in model.unknowns if u in found for c in _picks(find[u])]
    waiting = [c for c in waiting if names_in(c) & set(model.unknowns) <= found]
    conditions: list[tuple[Node, ...]] = []
    known: set[str] = set()
    for names in made:
        known |= names
        ready = [c for c in waiting if names_in(c) & set(model.unknowns) <= known]
        waiting = [c for c in waiting if c not in ready]
        conditions.append(tuple(ready))
    used = set().union(
        *(names_in(node) for step in steps for node in _nodes(step)),
        *(names_in(node) for group in conditions for node in group),
    )
    inputs = frozenset(used - set().union(*made) - {"pi"}) if made else frozenset()
    return Plan(
        tuple(steps), tuple(conditions), tuple(u for u in model.unknowns if u in found), inputs
    )


def _picks(unknown: Unknown) -> Iterator[Node]:
    if unknown.choose is not None:
        yield unknown.choose
    if unknown.between is not None:
        low, high = unknown.between
        yield Compare((low, Name(unknown.name), high), ("<=", "<="))


def _makes(step: Step) -> set[str]:
    match step:
        case Formulas(assignments=assignments):
            return {name for name, _ in assignments}
        case Linear(system=system):
            return set(system.unknowns)
        case _:
            return {step.unknown}


def _nodes(step: Step) -> Iterator[Node]:
    match step:
        case Formulas(assignments=assignments):
            yield from (node for _, node in assignments)
        case Linear(system=system):
            yield from (node for row in system.matrix for node in row)
            yield from system.right
        case Candidates(branches=branches):
            for branch in branches:
                yield branch.value
                yield from branch.conditions
        case PolynomialRoots(coefficients=coefficients):
            yield from coefficients
        case BracketedRoots():
            yield from (step.residual, step.low, step.high)


# ---------------------------------------------------------------------------- one block


def _plan_block(
    block: Block, equations: Mapping[str, Equation], model: Model, find: Mapping[str, Unknown]
) -> list[Step]:
    laws = {law: equations[law] for law in block.laws}
    system = linear_system([e.residual for e in laws.values()], block.unknowns, model.signs)
    if system is not None:
        return [Linear(system)]
    if len(laws) == 1:
        ((law, equation),) = laws.items()
        return _Single(equation, find[block.unknowns[0]], model.signs).best(law).steps
    return _eliminate(laws, block.unknowns, model, find)


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to solve one equation, and its rank: the lower the better."""

    rank: int
    steps: list[Step]


@dataclass(slots=True)
class _Single:
    """One equation in one unknown, and the ways to solve it."""

    equation: Equation
    unknown: Unknown
    signs: frozenset[str]
    periodic: bool = field(default=False, init=False)

    def best(self, law: str) -> _Way:
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

    def way(self) -> _Way | None:
        """The best way, or None."""
        name = self.unknown.name
        residual = self.equation.residual
        if occurrences(residual, name) == 1:
            inversion = invert(self.equation, name)
            if inversion is not None and self._usable(inversion):
                return _Way(
                    1 if len(inversion.branches) == 1 else 2,
                    [Candidates(name, inversion.branches)],
                )
        polynomial = polynomial_in(residual, name, signs=self.signs)
        if polynomial is not None and polynomial.kernel == Name(name):
            if polynomial.degree == 1:
                first, last = polynomial.coefficients
                return _Way(0, [Formulas(((name, binary(negate(last), "/", first)),))])
            return _Way(1 + polynomial.degree, [PolynomialRoots(name, polynomial.coefficients)])
        if polynomial is not None:
            root = "@root"  # the value of the kernel, from which the unknown follows
            inversion = invert(Equation(polynomial.kernel, Name(root)), name)
            if inversion is not None and self._usable(inversion):
                return _Way(
                    2 + polynomial.degree,
                    [
                        PolynomialRoots(root, polynomial.coefficients),
                        Candidates(name, inversion.branches),
                    ],
                )
        if self.unknown.between is not None:
            low, high = self.unknown.between
            return _Way(20, [BracketedRoots(name, residual, low, high)])
        return None

    def _usable(self, inversion: Inversion) -> bool:
        """Of endlessly many roots one must be chosen, or the ends given be searched."""
        if not inversion.periodic:
            return True
        self.periodic = self.unknown.choose is None
        return self.unknown.between is None and not self.periodic


def _eliminate(
    laws: Mapping[str, Equation],
    unknowns: Sequence[str],
    model: Model,
    find: Mapping[str, Unknown],
) -> list[Step]:
    """Keeps one unknown, the best that can be; the others follow from it."""
    best: tuple[int, list[Step]] | None = None
    stuck: PlanError | None = None
    helped = sorted(unknowns, key=lambda u: find[u].choose is None and find[u].between is None)
    for keep in helped:
        reduced = _reduce(laws, [u for u in unknowns if u != keep], keep, model.signs)
        if reduced is None:
            continue
        law, equation, followers = reduced
        if keep not in names_in(equation):
            continue  # it cancelled: the block is degenerate seen from here
        single = _Single(equation, find[keep], model.signs)
        try:
            way = single.best(law)
        except PlanError as error:
            stuck = stuck or error
            continue
        if best is None or way.rank < best[0]:
            best = (way.rank, [*way.steps, *followers])
        if way.rank <= 1:
            break
    if best is not None:
        return best[1]
    if stuck is not None:
        raise stuck
    names = _listing(unknowns)
    raise PlanError(
        f"laws {_listing(laws)} cannot be reduced to one equation in one of {names}",
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
        law, unknown, branch = choice
        del remaining[law]
        todo.remove(unknown)
        followers.append(
            Candidates(unknown, (branch,))
            if branch.conditions
            else Formulas(((unknown, branch.value),))
        )
        remaining = {
            name: substitute_equation(equation, {unknown: branch.value})
            for name, equation in remaining.items()
        }
        if any(size(e.left) + size(e.right) > _MAX_EQUATION for e in remaining.values()):
            return None
    ((law, equation),) = remaining.items()
    return law, equation, followers[::-1]


def _next_elimination(
    laws: Mapping[str, Equation], todo: Sequence[str], keep: str, signs: frozenset[str]
) -> tuple[str, str, Branch] | None:
    """The law and unknown that are easiest to solve for, and the unknown's value."""
    best: tuple[tuple[int, int], str, str, Branch] | None = None
    for law, equation in laws.items():
        for unknown in todo:
            others = [u for u in [*todo, keep] if u != unknown]
            solved = _solved_for(equation, unknown, others, signs)
            if solved is None:
                continue
            rank, branch = solved
            key = (rank, size(branch.value))
            if best is None or key < best[0]:
                best = (key, law, unknown, branch)
    return best[1:] if best else None


def _solved_for(
    equation: Equation, unknown: str, others: Sequence[str], signs: frozenset[str]
) -> tuple[int, Branch] | None:
    """The one value of an unknown in a law with others, and its rank; None if not one."""
    count = occurrences(equation.residual, unknown)
    if count == 0:
        return None
    linear = linear_in(equation.residual, unknown, others, signs)
    if linear is not None:
        coefficient, rest = linear
        rank = 1 if names_in(coefficient) & set(others) else 0
        inverted = invert(equation, unknown) if count == 1 else None
        if inverted is not None and len(inverted.branches) == 1:
            return rank, inverted.branches[0]  # the author's own grouping
        return rank, Branch(binary(rest, "/", coefficient))
    if count == 1:
        inverted = invert(equation, unknown)
        if inverted is not None and len(inverted.branches) == 1 and not inverted.periodic:
            return 2, inverted.branches[0]
    return None


# ---------------------------------------------------------------------------- sentences


def _listing(names: Sequence[str] | Mapping[str, object]) -> str:
    quoted = [f"'{name}'" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"


def _ensure_square(order: Structure, mentions: Mapping[str, frozenset[str]]) -> None:
    if order.excess:
        laws = _listing(order.excess)
        contested = [u for u in order.contested if any(u in mentions[law] for law in order.excess)]
        if not contested:
            raise PlanError(
                f"law {laws} holds no unknown",
                law=order.excess[0],
                mend="mention an unknown in it, or make it a rule or a confirmation",
            )
        raise PlanError(
            f"laws {laws} are more than their unknowns, {_listing(contested)}",
            law=order.excess[-1],
            mend="drop a law, or add the unknown that is missing",
        )
    if order.loose:
        unknowns = _listing(order.loose)
        if not order.loose_laws:
            raise PlanError(
                f"no law holds {unknowns}",
                unknown=order.loose[0],
                mend="add a law for it",
            )
        raise PlanError(
            f"the laws do not determine {unknowns}: only {_listing(order.loose_laws)} hold them",
            unknown=order.loose[0],
            law=order.loose_laws[0],
            mend="add a law",
        )


def _singular(block: Block, error: SingularError) -> PlanError:
    laws, unknowns = _listing(block.laws), _listing(block.unknowns)
    if error.contradictory:
        return PlanError(
            f"laws {laws} contradict each other whatever the data",
            law=block.laws[-1],
            mend="compare their signs and factors",
        )
    return PlanError(
        f"laws {laws} do not determine {unknowns}: one of the laws follows from the others",
        law=block.laws[-1],
        mend="replace it by a law that says something new",
    )
