"""A family as frozen values: what a family file says, read and checked, without I/O.

Quantities are identified by their name in the file (`m_a`); everything is in coherent SI
inside, and `unit` says how it is shown. Every part keeps its `Place` for error messages.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from qbank.expressions.numbers import NumberFormat
from qbank.expressions.tree import Equation, Node
from qbank.expressions.units import Unit
from qbank.place import Place

# ---------------------------------------------------------------------------- quantities


@dataclass(frozen=True, slots=True)
class Grid:
    """Equally spaced displayable values: `(first + i*step) * 10**exponent`, i = 0 .. count-1.

    `first` and `step` are integers, so every value is the decimal number that is printed.
    """

    first: int
    step: int
    count: int
    exponent: int


@dataclass(frozen=True, slots=True)
class Listed:
    """Values the author lists: `mantissas[i] * 10**exponents[i]`; shown with those figures."""

    mantissas: tuple[int, ...]
    exponents: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Fixed:
    """One value, `mantissa * 10**exponent`."""

    mantissa: int
    exponent: int


@dataclass(frozen=True, slots=True)
class Sampled:
    """A data list: random values, rounded to `10**exponent` in the shown unit, then used as data.

    `parameters` are expressions in SI over givens that are not lists: (mean, sd) for "normal",
    (low, high) for "uniform". The number of values is drawn from `least .. most`, or is that of
    the list `like`.
    """

    distribution: Literal["normal", "uniform"]
    parameters: tuple[Node, Node]
    least: int
    most: int
    exponent: int
    like: str | None = None


Source = Grid | Listed | Fixed | Sampled


@dataclass(frozen=True, slots=True)
class Given:
    name: str
    meaning: str
    symbol: str
    unit: Unit
    source: Source
    scientific: bool  # written with a power of ten, because the author wrote it so
    place: Place
    hidden: bool = False  # drawn but never shown, such as the mean behind a sample
    accept: tuple[Fixed, ...] = ()  # other values of a fixed given that honest work may use


@dataclass(frozen=True, slots=True)
class Let:
    name: str
    meaning: str
    symbol: str
    unit: Unit
    expression: Node
    shown: NumberFormat
    place: Place


@dataclass(frozen=True, slots=True)
class ToleranceRule:
    """How wide the accepted band is: a share of the key, an amount in the shown unit, or both
    unset for the default, 1 % of the key or 1.5 units in its last displayed place, whichever
    is wider."""

    relative: float | None = None
    absolute: float | None = None


@dataclass(frozen=True, slots=True)
class Unknown:
    name: str
    meaning: str
    symbol: str
    unit: Unit
    shown: NumberFormat
    tolerance: ToleranceRule
    place: Place
    expect: Node | None = None  # what the solved sign must be; the case was decided rightly
    choose: Node | None = None  # which root has a meaning
    between: tuple[Node, Node] | None = None  # the bracket for a transcendental law


# ---------------------------------------------------------------------------- the model


@dataclass(frozen=True, slots=True)
class Case:
    """Which way it goes. `when` is None for `otherwise`, and for a family without cases."""

    name: str
    when: Node | None
    constants: Mapping[str, float]
    words: Mapping[str, str]
    place: Place
    called: str = ""

    @property
    def label(self) -> str:
        """What people call it."""
        return self.called or self.name


@dataclass(frozen=True, slots=True)
class Law:
    """A named equation; `case` is None where it holds in every case."""

    name: str
    equation: Equation
    case: str | None
    place: Place
    called: str = ""

    @property
    def label(self) -> str:
        """What people call it."""
        return self.called or self.name


@dataclass(frozen=True, slots=True)
class Rule:
    need: Node
    because: str
    text: str  # as the author wrote it, for reports
    only: tuple[str, ...]  # the cases it applies to; empty for all
    uses_solution: bool  # mentions an unknown, so it is judged after solving
    place: Place


@dataclass(frozen=True, slots=True)
class Confirmation:
    that: Node
    because: str
    text: str
    only: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Slip:
    """A typical mistake as an edit to the model, which is then solved again.

    `laws`: law name -> the law the student writes instead (in every case that has the law).
    `lets`: intermediate quantity -> its wrong expression.
    `change`: given -> what the student takes for it, over the true values.
    `swap`: pairs of givens or lets taken for each other.
    `unconverted`: givens whose number is used without converting its shown unit to SI.
    `cases`: case -> the case whose laws and constants are used instead.
    `drop`: law names left out; unknowns no remaining law determines get no value.
    """

    name: str
    says: str
    place: Place
    laws: Mapping[str, Equation] = field(default_factory=dict)
    lets: Mapping[str, Node] = field(default_factory=dict)
    change: Mapping[str, Node] = field(default_factory=dict)
    swap: tuple[tuple[str, str], ...] = ()
    unconverted: tuple[str, ...] = ()
    cases: Mapping[str, str] = field(default_factory=dict)
    drop: tuple[str, ...] = ()
    only: tuple[str, ...] = ()


# ---------------------------------------------------------------------------- text


@dataclass(frozen=True, slots=True)
class ValueField:
    """`{m_a}` value and unit; `.symbol`, `.name`, `.number`, `.unit`, `.equation` (m_a = 2 kg)."""

    name: str
    form: Literal["value", "symbol", "name", "number", "unit", "equation"] = "value"


@dataclass(frozen=True, slots=True)
class FormulaField:
    """`{law left}`, `{let I}`: the formula in symbols, or `with numbers` put in."""

    kind: Literal["law", "let"]
    name: str
    numbers: bool


@dataclass(frozen=True, slots=True)
class ComputedField:
    """`{= m_b*g*R in N m}`: any expression, evaluated and printed (3 figures unless said)."""

    expression: Node
    unit: Unit
    shown: NumberFormat


@dataclass(frozen=True, slots=True)
class WordField:
    """`{say falls}`: a word that depends on the case or on the setting."""

    word: str


@dataclass(frozen=True, slots=True)
class TableField:
    """`{table x y}`: data lists as a table of their own."""

    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FigureField:
    """`{figure}`: the figure; in the solution with the shapes that are added there."""

    solved: bool


Field = ValueField | FormulaField | ComputedField | WordField | TableField | FigureField
Sentence = tuple[str | Field, ...]  # literal text and fields in turn


@dataclass(frozen=True, slots=True)
class SolutionStep:
    text: tuple[Sentence, ...]  # paragraphs
    only: tuple[str, ...]  # the cases it applies to; empty for all


@dataclass(frozen=True, slots=True)
class Texts:
    """All prose of a family in one language."""

    language: str
    stem: tuple[Sentence, ...]  # paragraphs
    solution: tuple[SolutionStep, ...]
    hints: tuple[Sentence, ...]
    place: Place  # of the stem
    figure: Sentence = ()  # what the figure shows


@dataclass(frozen=True, slots=True)
class Setting:
    """A surface story: words that change while the physics stays."""

    name: str
    words: Mapping[str, str]


# ---------------------------------------------------------------------------- figures


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape of a figure, over givens and lets.

    `numbers` are in units of the drawing, points as two numbers each, angles in radians;
    `lists` hold as many numbers as a data list has values.
    """

    kind: str
    numbers: Mapping[str, tuple[Node, ...]]
    lists: Mapping[str, Node]
    words: Mapping[str, str]
    texts: Mapping[str, Sentence]
    only: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Figure:
    """What is drawn with the stem, and the shapes added to it in the solution."""

    shapes: tuple[Shape, ...]
    solved: tuple[Shape, ...]
    place: Place


# ---------------------------------------------------------------------------- what is asked


@dataclass(frozen=True, slots=True)
class Enter:
    """Type the value of an unknown."""

    quantity: str
    points: float
    prompt: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class ChooseValue:
    """Pick the value of an unknown among distractors made by slips."""

    quantity: str
    points: float
    options: int
    prompt: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class ChooseWord:
    """Pick which way it goes: the options are what the cases say for `word`."""

    word: str
    points: float
    prompt: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class ChooseLaw:
    """Pick the right equation among those the slips write instead."""

    law: str
    points: float
    prompt: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class Statement:
    text: Sentence
    when: Node  # over givens, lets, unknowns: where it holds the statement is right
    feedback: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class ChooseStatements:
    """Mark every statement that holds."""

    statements: tuple[Statement, ...]
    points: float
    prompt: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class PutInOrder:
    """Put the entries in order; they stand in the right one."""

    entries: tuple[Sentence, ...]
    points: float
    partial: bool  # each entry in its place earns its share
    prompt: Sentence | None
    place: Place


@dataclass(frozen=True, slots=True)
class Match:
    """Pair each source with its target.

    What the slips named by `spare` write instead of laws are further targets.
    """

    pairs: tuple[tuple[Sentence, Sentence], ...]  # source and target
    spare: tuple[str, ...]
    points: float
    partial: bool  # each right pair earns its share
    prompt: Sentence | None
    place: Place


Ask = Enter | ChooseValue | ChooseWord | ChooseLaw | ChooseStatements | PutInOrder | Match


# ---------------------------------------------------------------------------- the family


@dataclass(frozen=True, slots=True)
class Family:
    """Everything one family file says. Mappings keep the author's order."""

    name: str
    title: str
    subject: str
    level: str
    version: str
    licence: str
    authors: tuple[str, ...]
    objectives: tuple[str, ...]
    caution: str
    given: Mapping[str, Given]
    let: Mapping[str, Let]
    find: Mapping[str, Unknown]
    cases: tuple[Case, ...]  # one nameless case where the file has none
    laws: tuple[Law, ...]
    rules: tuple[Rule, ...]
    confirm: tuple[Confirmation, ...]
    slips: Mapping[str, Slip]
    ask: tuple[Ask, ...]
    texts: Texts  # all prose but names, words and feedback, which stand with what they are of
    settings: tuple[Setting, ...]  # one nameless setting where the file has none
    equal_shares: bool  # cases are drawn in equal shares
    digest: str  # SHA-256 of the content, comments and layout aside
    draw_key: str  # SHA-256 of the name and the given section alone: what random numbers hang on
    place: Place
    figure: Figure | None = None
    working: int | None = None  # figures honest work keeps on the way; None for one more
    reject_coinciding: bool = False  # instances in which slips meet are not drawn
    languages: tuple[str, ...] = ("en",)  # in which the file has its prose; its own first

    def laws_in(self, case: str) -> tuple[Law, ...]:
        """The laws that hold in a case, in the author's order."""
        return tuple(law for law in self.laws if law.case is None or law.case == case)
