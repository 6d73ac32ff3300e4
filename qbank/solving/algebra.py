"""Between expression trees and SymPy.

SymPy never sees a whole family and is never asked to "solve": it collects coefficients of
equations whose known parts are set apart first (`Opaque`), so its work grows with the number
of unknowns alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import sympy

from qbank.expressions.arrays import compile_nodes
from qbank.expressions.symbolic import from_sympy, to_sympy
from qbank.expressions.tree import Node, names_in
from qbank.solving.rewriting import Opaque


class Workspace:
    """Between expression trees and SymPy, for equations in some unknowns.

    `signs` are constants that are +1 or -1 in every case, so that their square is 1.
    """

    def __init__(self, unknowns: Sequence[str], signs: frozenset[str] = frozenset()) -> None:
        self._opaque = Opaque(unknowns)
        self._symbols: dict[str, Any] = {}
        self._signs = frozenset(sympy.Symbol(name, real=True) for name in signs)

    def symbol(self, name: str) -> Any:
        """The real SymPy symbol of a name."""
        return self._symbols.setdefault(name, sympy.Symbol(name, real=True))

    def to_sympy(self, node: Node) -> Any:
        """The expression for SymPy, its parts free of unknowns set apart."""
        hidden = self._opaque.hide(node)
        for name in names_in(hidden):
            self.symbol(name)
        return self.reduced(to_sympy(hidden, self._symbols))

    def to_node(self, expression: Any) -> Node:
        """A SymPy expression as a tree, with what was set apart put back."""
        return self._opaque.show(from_sympy(self.reduced(expression)))

    def reduced(self, expression: Any) -> Any:
        """The expression with `s^2 = 1` used for each sign."""
        if not self._signs or not self._signs & expression.free_symbols:
            return expression
        return expression.replace(
            lambda part: part.is_Pow and part.base in self._signs and part.exp.is_Integer,
            lambda part: part.base if part.exp % 2 else sympy.Integer(1),
        )

    def is_sign(self, expression: Any) -> bool:
        """Whether the expression is one of the constants that are +1 or -1."""
        return expression in self._signs

    def vanishes(self, expression: Any) -> bool:
        """Whether an expression is zero whatever the data.

        SymPy's own cancelling settles most; a sum that is left is evaluated at eight points and
        counts as zero where rounding explains all that remains (Schwartz's identity test).
        """
        if expression == 0:
            return True
        if not expression.is_Add:
            return False
        terms = [self.to_node(term) for term in expression.args]
        names = sorted(set().union(*(names_in(term) for term in terms)) - {"pi"})
        points = np.random.Generator(np.random.Philox(7)).uniform(0.5, 1.5, (len(names), 8))
        values = np.stack(compile_nodes(terms)(dict(zip(names, points, strict=True)), 8))
        with np.errstate(all="ignore"):
            return bool((np.abs(values.sum(axis=0)) <= 1e-12 * np.abs(values).max(axis=0)).all())
