"""Which names a family's expressions may use, and reading expressions against them.

Every expression is parsed, its names are resolved and its dimensions checked at the moment it is
read, so that a fault is reported at its own character in the file.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeVar

from qbank.errors import ExpressionError
from qbank.expressions.dimensions import check_condition, check_equation, dimension_of, shape_of
from qbank.expressions.functions import RESERVED
from qbank.expressions.parser import parse_condition, parse_equation, parse_value
from qbank.expressions.tree import Equation, Name, Node, Span, walk
from qbank.expressions.units import DIMENSIONLESS, Dimension
from qbank.family.keys import nearest
from qbank.family.nodes import Scalar

Tree = TypeVar("Tree", Node, Equation)
Result = TypeVar("Result")


class Kind(Enum):
    """What a name stands for; the value is how messages call it."""

    GIVEN = "a given"
    DATA = "a data list"
    LET = "an intermediate quantity"
    UNKNOWN = "an unknown"
    CONSTANT = "a constant set by the cases"


GIVENS = frozenset({Kind.GIVEN, Kind.DATA})
KNOWN = GIVENS | {Kind.LET}  # what is known before anything is solved
SOLUTION = KNOWN | {Kind.UNKNOWN}
MODEL = SOLUTION - {Kind.DATA} | {Kind.CONSTANT}  # laws are between single values

_RESERVED = RESERVED | {"otherwise"}


@dataclass(slots=True)
class Scope:
    """The names of a family with their kinds and dimensions, and which of them get used."""

    kinds: dict[str, Kind] = field(default_factory=dict)
    dimensions: dict[str, Dimension] = field(default_factory=dict)
    keys: dict[str, Scalar] = field(default_factory=dict)  # where each name is declared
    used: set[str] = field(default_factory=set)

    def declare(self, key: Scalar, kind: Kind, dimension: Dimension = DIMENSIONLESS) -> None:
        """Adds a name; FamilyError when it is reserved, taken or no name."""
        name = key.text
        if not _is_name(name):
            raise key.fault(
                f"'{name[:60]}' is not a name for a quantity",
                hint="start with a letter; then letters, digits, and _ between them, such as m_a",
            )
        if name in _RESERVED:
            raise key.fault(
                f"'{name}' has a meaning of its own in expressions",
                hint=f"choose another name, such as {name}_1",
            )
        if name in self.kinds:
            line = self.keys[name].place.line
            raise key.fault(
                f"the name '{name}' is taken by {self.kinds[name].value} in line {line}",
                hint="rename one of the two",
            )
        self.kinds[name] = kind
        self.dimensions[name] = dimension
        self.keys[name] = key

    @property
    def lists(self) -> frozenset[str]:
        """The names of data lists."""
        return frozenset(name for name, kind in self.kinds.items() if kind is Kind.DATA)

    def of_kind(self, kinds: Collection[Kind]) -> list[str]:
        """The names of these kinds, in the author's order."""
        return [name for name, kind in self.kinds.items() if kind in kinds]

    def know(
        self, name: str, at: Scalar, span: Span, what: str, allowed: Collection[Kind] = SOLUTION
    ) -> Kind:
        """The kind of a name mentioned at `span`; FamilyError when it is unknown or not allowed."""
        kind = self.kinds.get(name)
        if kind is None:
            raise at.fault(
                f"{what}: '{name[:60]}' names nothing in this family",
                span,
                nearest(name, self.of_kind(allowed)),
            )
        if kind not in allowed:
            raise at.fault(
                f"{what}: '{name}' is {kind.value}; only {_listed(allowed)} may stand here",
                span,
                _mend(kind, allowed),
            )
        return kind


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a scalar that holds an expression: its text, and where in the scalar it begins."""

    scalar: Scalar
    text: str
    offset: int = 0

    @classmethod
    def whole(cls, scalar: Scalar) -> Piece:
        """All of a scalar."""
        return cls(scalar, scalar.text)


@dataclass(frozen=True, slots=True)
class Formulas:
    """Reads expressions of a family. `what` names the thing in messages, such as "law 'left'".

    What it reads counts as a use of the names in it, unless `counts` is off.
    """

    scope: Scope
    counts: bool = True

    def equation(self, at: Piece, what: str, allowed: Collection[Kind] = MODEL) -> Equation:
        """An equation between single values of one dimension."""
        equation = self._read(at, what, allowed, parse_equation)
        env = self.scope.dimensions
        self._check(at, what, lambda: check_equation(equation, env, self.scope.lists))
        self._use(equation.left, equation.right)
        return equation

    def condition(self, at: Piece, what: str, allowed: Collection[Kind]) -> Node:
        """A condition: one truth value an instance."""
        node = self._read(at, what, allowed, parse_condition)
        env = self.scope.dimensions
        self._check(at, what, lambda: check_condition(node, env, self.scope.lists))
        self._use(node)
        return node

    def value(
        self, at: Piece, what: str, allowed: Collection[Kind], dimension: Dimension, of: str
    ) -> Node:
        """A single value of the dimension of `of`, which messages call so."""
        node, found = self.any_value(at, what, allowed)
        env = self.scope.dimensions
        if found != dimension and not _is_zero(node, dimension, env):
            raise at.scalar.fault(
                f"{what}: expected {dimension.describe()} like {of}, found {found.describe()}",
                (at.offset, at.offset + len(at.text)),
                "correct the expression or the unit",
            )
        self._use(node)
        return node

    def any_value(
        self, at: Piece, what: str, allowed: Collection[Kind], *, listed: bool = False
    ) -> tuple[Node, Dimension]:
        """A single value of whatever dimension, or a list of values where `listed` is set.

        Reading it does not count as a use.
        """
        node = self._read(at, what, allowed, parse_value)
        env, lists = self.scope.dimensions, self.scope.lists
        is_list = self._check(at, what, lambda: shape_of(node, lists)) == "list"
        if is_list != listed:
            raise at.scalar.fault(
                f"{what}: expected {'a list' if listed else 'one number'}, found "
                f"{'a list' if is_list else 'one number'}",
                (at.offset, at.offset + len(at.text)),
                "name a data list"
                if listed
                else "take one number of the list with sum, mean, sd, count, least or the like",
            )
        return node, self._check(at, what, lambda: dimension_of(node, env, lists))

    def _read(
        self, at: Piece, what: str, allowed: Collection[Kind], parse: Callable[[str], Tree]
    ) -> Tree:
        tree = self._check(at, what, lambda: parse(at.text))
        sides = (tree.left, tree.right) if isinstance(tree, Equation) else (tree,)
        for side in sides:
            for node in walk(side):
                if isinstance(node, Name) and node.id != "pi":
                    span = (node.span[0] + at.offset, node.span[1] + at.offset)
                    self.scope.know(node.id, at.scalar, span, what, allowed)
        return tree

    def _use(self, *nodes: Node) -> None:
        for node in nodes if self.counts else ():
            self.scope.used.update(part.id for part in walk(node) if isinstance(part, Name))

    def _check(self, at: Piece, what: str, work: Callable[[], Result]) -> Result:
        try:
            return work()
        except ExpressionError as error:
            raise at.scalar.located(error, what, at.offset) from None


def _is_zero(node: Node, dimension: Dimension, env: Mapping[str, Dimension]) -> bool:
    """Whether a value is 0 by its writing, such as `0*v`, which fits any dimension."""
    other = Name("a quantity of this dimension")  # no name the author can have chosen
    try:
        check_equation(Equation(node, other), {**env, other.id: dimension})
    except ExpressionError:
        return False
    return True


def _is_name(text: str) -> bool:
    parts = text.split("_")
    return (
        len(text) <= 40
        and text.isascii()
        and all(part.isalnum() for part in parts)
        and text[0].isalpha()
    )


def _listed(kinds: Iterable[Kind]) -> str:
    """ "givens and intermediate quantities": plural names of the kinds, data lists unnamed."""
    plural = {
        Kind.GIVEN: "givens",
        Kind.LET: "intermediate quantities",
        Kind.UNKNOWN: "unknowns",
        Kind.CONSTANT: "constants of the cases",
    }
    names = [word for kind, word in plural.items() if kind in kinds]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _mend(kind: Kind, allowed: Collection[Kind]) -> str:
    match kind:
        case Kind.UNKNOWN:
            return "say it with what is known before the problem is solved"
        case Kind.CONSTANT:
            return "constants of the cases belong in laws; here, use quantities or `only:`"
        case Kind.DATA:
            return "make a `let` of the list, such as its mean, and use that"
        case Kind.LET if Kind.GIVEN in allowed:
            return "write out the expression over givens"
        case _:
            return f"use {_listed(allowed)}"
