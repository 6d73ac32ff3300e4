"""A family's formulas for one case: symbols, known values put in, sides of conditions computed."""

from __future__ import annotations

from dataclasses import dataclass

from qbank.expressions.formula_writer import Slot
from qbank.expressions.formulas import (
    CLOSE_MATH,
    OPEN_MATH,
    Formula,
    chain,
    of_slot,
    of_symbol,
    specialise,
    specialise_equation,
    typeset,
)
from qbank.expressions.latex_formulas import symbol_latex, value_latex
from qbank.expressions.numbers import NumberFormat
from qbank.expressions.symbols import symbol, value_mathml, value_plain
from qbank.expressions.tree import (
    Binary,
    Compare,
    Equation,
    Logic,
    Measure,
    Name,
    Negate,
    Node,
    Not,
    Number,
    children,
    names_in,
)
from qbank.expressions.units import Unit, parse_unit
from qbank.family.model import Case, Family
from qbank.item import Math
from qbank.rendering.batch import KELVIN, Computed, Ledger, ValueWriter, unit_of
from qbank.rendering.columns import Column, Fixed, apply, text
from qbank.rendering.messages import Messages
from qbank.rendering.shown_units import ShownUnits, list_names, quantities
from qbank.solving.rewriting import rebuilt

SIDES = NumberFormat(figures=4)
_NEGATED = {"<": ">=", "<=": ">", ">": "<=", ">=": "<", "==": "!=", "!=": "=="}
_NAMED_UNITS = ("N", "Pa", "W", "V", "Ω", "C", "F", "H", "T", "Wb")
_MECHANICAL_WORK, _HEAT = parse_unit("N m"), parse_unit("J")


@dataclass(frozen=True, slots=True)
class LatexMath(Math):
    """A formula with its LaTeX for math mode."""

    latex: str = ""


class CaseFormulas:
    """Formulas of `family` in `case`; computed values are entered in `ledger`.

    With `latex` each formula is a `LatexMath`, which takes longer to make.
    """

    def __init__(
        self,
        family: Family,
        case: Case,
        ledger: Ledger,
        messages: Messages,
        latex: bool = False,
    ) -> None:
        self.latex = latex
        self.family = family
        self.case = case
        self.ledger = ledger
        self.messages = messages
        self.symbols = {
            name: symbol(quantity.symbol) for name, quantity in quantities(family).items()
        }
        self.lists = list_names(family)
        self.units = ShownUnits(family, case, self.lists)
        shown = {name for name, given in family.given.items() if not given.hidden}
        self.known = frozenset(shown | set(family.let)) - self.lists

    # ------------------------------------------------------------------------ formulas

    def law(self, name: str) -> Equation:
        """The law of that name in this case. Raises KeyError where the case has none."""
        for law in self.family.laws_in(self.case.name):
            if law.name == name:
                return law.equation
        raise KeyError(name)

    def symbolic(self, node: Node | Equation) -> Formula:
        """As the author wrote it, in symbols."""
        return typeset(node, self.symbols, (), self.messages.words, self.latex)

    def numeric(self, node: Node | Equation) -> Formula:
        """With the values of data, intermediate quantities and the case's constants put in.

        Unknowns stay symbols. Temperatures are put in as kelvin, save where one is taken
        from or set equal to another.
        """
        constants = self.case.constants
        if isinstance(node, Equation):
            sides = specialise_equation(node, constants)
            compared = all(
                isinstance(side, Name) and self.units.is_temperature(side.id)
                for side in (sides.left, sides.right)
            )
            return chain(
                self._filled(sides.left, kelvin=not compared),
                self._filled(sides.right, kelvin=not compared),
            )
        return self._filled(specialise(node, constants))

    def _filled(self, node: Node, kelvin: bool = True) -> Formula:
        shown = self._in_kelvin(node) if kelvin else node
        slots = {name for name in names_in(shown) if name.removeprefix(KELVIN) in self.known}
        return typeset(shown, self.symbols, slots, self.messages.words, self.latex)

    def let_chain(self, name: str, numbers: bool) -> Formula:
        """`I = M*r^2/2`, and with `numbers` the values put in and the result."""
        expression = self.family.let[name].expression
        steps = [of_symbol(self.symbols[name]), self.symbolic(expression)]
        if numbers:
            filled = self.numeric(expression)
            if any(isinstance(piece, Slot) for piece in filled.plain):
                steps.append(filled)
            if not isinstance(expression, Number | Measure):
                steps.append(of_slot(name))
        return chain(*steps)

    def equals(self, name: str) -> Formula:
        """`m_a = 2.0 kg`."""
        return chain(of_symbol(self.symbols[name]), of_slot(name))

    def math(self, formula: Formula) -> Column[Math]:
        """The formula as part of an item."""
        plain = [_column(piece, value_plain) for piece in formula.plain]
        mathml = [_column(piece, value_mathml) for piece in formula.mathml]
        columns = [text([OPEN_MATH, *mathml, CLOSE_MATH]), text(plain)]
        if not self.latex:
            return apply(Math, *columns)
        return apply(LatexMath, *columns, text([_column(p, value_latex) for p in formula.latex]))

    def symbol_math(self, name: str) -> Fixed[Math]:
        """The symbol of a quantity, or of a constant of the cases."""
        sign = self.symbols.get(name) or symbol(name)
        mathml = OPEN_MATH + sign.mathml + CLOSE_MATH
        if self.latex:
            return Fixed(LatexMath(mathml, sign.plain, symbol_latex(sign)))
        return Fixed(Math(mathml, sign.plain))

    def _in_kelvin(self, node: Node) -> Node:
        """Names of temperatures that are not merely compared or subtracted, marked as kelvin."""
        match node:
            case Name(id=name):
                marked = name in self.known and unit_of(self.family, name).offset
                return Name(KELVIN + name, node.span) if marked else node
            case Binary(operator="-", left=Name(id=left), right=Name(id=right)) if all(
                self.units.is_temperature(name) for name in (left, right)
            ):
                return node
            case _:
                return rebuilt(node, tuple(self._in_kelvin(part) for part in children(node)))

    # ------------------------------------------------------------------------ computed sides

    def condition_numbers(self, node: Node, negated: bool = False) -> Formula | None:
        """A condition with the value of each side in place of the side.

        With `negated`, what holds instead of a comparison of two sides; None for other
        conditions. None too where every side is a bare number or nothing is compared.
        """
        if negated:
            if not (isinstance(node, Compare) and len(node.operands) == 2):
                return None
            node = Compare(node.operands, (_NEGATED[node.operators[0]],), node.span)  # type: ignore[arg-type]  # the table holds comparison operators only
        evaluated = self._evaluated(node)
        slots = [name for name in names_in(evaluated) if name[0] == "="]
        if not slots:
            return None
        return typeset(evaluated, self.symbols, slots, self.messages.words, self.latex)

    def _evaluated(self, node: Node) -> Node:
        match node:
            case Compare(operands=operands):
                unit = self.units.common(*operands)
                group = self.ledger.new_group()
                sides = tuple(self._side(side, unit, group) for side in operands)
                return Compare(sides, node.operators, node.span)
            case Logic() | Not():
                return rebuilt(node, tuple(self._evaluated(part) for part in children(node)))
            case _:
                return node

    def _side(self, node: Node, unit: Unit, group: int) -> Node:
        if isinstance(node, Number | Measure) or _is_negative_literal(node):
            return node
        return Name(self.ledger.add(Computed(node, unit, SIDES, group)))


def _column(piece: str | Slot, write: ValueWriter) -> str | Column[str]:
    if isinstance(piece, str):
        return piece
    return lambda batch: batch.slots(piece.name, piece.standing, write)


def _is_negative_literal(node: Node) -> bool:
    return isinstance(node, Negate) and isinstance(node.operand, Number | Measure)
