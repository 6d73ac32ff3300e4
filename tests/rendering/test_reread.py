"""Every number a worked solution shows, read again from the page and held against the others.

The data are taken from the table of data, intermediate quantities are computed from them, and the
unknowns are read from the table of answers. Then each displayed formula, sentence and table must
agree with them within half a unit of the last place of what it shows, both as plain text and
as MathML. The reading shares nothing with the printing (`printed.py`, `intervals.py`).
"""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
from collections.abc import Iterator
from functools import cache

import pytest

from qbank.errors import QbankError
from qbank.expressions.symbols import symbol
from qbank.expressions.tree import Equation, Measure, walk
from qbank.expressions.tree import Number as NumberNode
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Case, ComputedField, Family, Sampled, Sentence, ValueField
from qbank.generation import Generator, instance
from qbank.item import Display, Image, Item, Math, NumberEntry, Paragraph, Table
from qbank.rendering.case_formulas import LatexMath
from qbank.rendering.renderer import Renderer
from tests.rendering.intervals import Quantity, Unlike, Values, evaluated, point
from tests.rendering.printed import Reader, Unreadable, linear, plain_symbol
from tests.rendering.printed_latex import linear_latex
from tests.rendering.reading import maths, strings

COUNT = 60
OF_EACH_CASE = 3
SEED = 5
PATHS = {path.stem: path for path in shipped_families()}
WORDS = {"en": (" and ", " or "), "de": (" und ", " oder ")}
RELATIONS = re.compile(" ([=<>≤≥≠]) ")
# sentences of messages.py: a condition that does not hold; a condition, then its sides in numbers
REFUSED = re.compile("The case “.*” would need|Der Fall „.*“ verlangt")
PAIRED = re.compile(
    "The data decide.* here |Check: .* Here |The case “.* here |"
    "Die Daten entscheiden.* hier |Probe: .* Hier |Der Fall „.* hier "
)
ZERO = point(0.0)
HOLDS = {
    "<": lambda a, b: a.low < b.high,
    "≤": lambda a, b: a.low <= b.high,
    ">": lambda a, b: a.high > b.low,
    "≥": lambda a, b: a.high >= b.low,
}


def versions() -> Iterator[tuple[str, str]]:
    for name, path in PATHS.items():
        try:
            languages = load_family(path).languages
        except QbankError:
            languages = ("en",)  # the test of this family tells why
        for language in languages:
            yield name, language


@cache
def family_of(name: str, language: str) -> Family:
    return load_family(PATHS[name], language)


@cache
def pages(name: str, language: str) -> list[tuple[Item, Case]]:
    """A few items of each case."""
    family = family_of(name, language)
    (instances,) = Generator(family).generate(COUNT, seed=SEED)
    rows: dict[int, list[int]] = {}
    for row, case in enumerate(instances.case.tolist()):
        rows.setdefault(case, []).append(row)
    assert len(rows) == len(family.cases), "raise COUNT: a case was not drawn"
    renderer = Renderer(family)
    return [
        (renderer.item(instances, row), family.cases[case])
        for case, found in rows.items()
        for row in found[:OF_EACH_CASE]
    ]


class Page:
    """One worked solution: what its tables say, and a reader that knows it."""

    def __init__(self, item: Item, case: Case, family: Family) -> None:
        self.item, self.case, self.family = item, case, family
        language = item.language.partition("-")[0]
        self.mark = "." if language == "en" else ","
        self.between = ", " if self.mark == "." else "; "
        self.both, self.either = WORDS[language]
        self.faults: list[str] = []
        self.read = 0  # how many printed values were held against another
        tables = [block for block in item.solution if isinstance(block, Table)]
        self.data = tables[0]
        self.answers = next(table for table in tables if len(table.header) == 4)
        self.put_back = next(table for table in tables if len(table.header) == 5)
        self.exact = set(self.literals())
        self.values: dict[str, Values] = {}  # by the name in the family
        self.signs: dict[str, Values] = {}  # by the printed symbol
        self.load()
        self.reader = Reader(self.signs, self.exact, self.mark)

    def literals(self) -> Iterator[tuple[float, str]]:
        """Numbers the author wrote into equations, which nothing has rounded."""
        family = self.family
        nodes = [side for law in family.laws_in(self.case.name)
                 for side in (law.equation.left, law.equation.right)]  # fmt: skip
        nodes += [let.expression for let in family.let.values()]
        nodes += [check.that for check in family.confirm]
        nodes += [case.when for case in family.cases if case.when is not None]
        for node in nodes:
            for part in walk(node):
                if isinstance(part, Measure):
                    yield float(part.value), part.unit.text
                elif isinstance(part, NumberNode):
                    yield float(part.value), ""
        yield from ((value, "") for value in self.case.constants.values())

    def put(self, name: str, sign: str, value: Values) -> None:
        self.values[name] = self.signs[sign] = value

    def load(self) -> None:
        """The data as printed, the intermediate quantities from them, the unrounded answers."""
        family = self.family
        shown = {name: given for name, given in family.given.items() if not given.hidden}
        bare = Reader({}, set(), self.mark)
        for (name, given), row in zip(shown.items(), self.data.rows, strict=True):
            _, sign, text = ("".join(strings(cell)) for cell in row)
            if isinstance(given.source, Sampled):
                values: Values = tuple(
                    point(value.middle, value.dimension)
                    for value in bare.list_of(text, self.between)
                )
            else:
                value = bare.value(text)
                values = point(value.middle, value.dimension)
                self.exact.add((abs(float(given.unit.from_si(value.middle))), given.unit.text))
                if given.unit.offset:
                    self.exact.add((round(value.middle, 9), "K"))
            self.put(name, sign, values)
        for name, constant in self.case.constants.items():
            self.put(name, plain_symbol(name), point(float(constant)))
        for name, let in family.let.items():
            value = evaluated(let.expression, self.values)
            self.values[name] = value
            if not isinstance(value, Quantity) or let.unit.text:
                continue
            if math.isclose(value.middle, round(value.middle), abs_tol=1e-12):  # a count
                self.exact.add((abs(float(round(value.middle))), ""))
        for name, row in zip(family.find, self.answers.rows, strict=True):
            _, sign, text, rounded = ("".join(strings(cell)) for cell in row)
            self.put(name, sign, bare.value(text))
            self.same(bare.value(text), bare.value(rounded), f"{sign}: {text} and {rounded}")
        for name, let in family.let.items():  # no table shows their symbols
            self.signs[symbol(let.symbol).plain] = self.values[name]

    # ------------------------------------------------------------------------ what must hold

    def same(self, one: Values, other: Values, what: str) -> None:
        self.read += 1
        try:
            pairs = (
                zip(one, other, strict=True)
                if isinstance(one, tuple) and isinstance(other, tuple)
                else [(one, other)]
            )
            # a plain zero needs no unit
            pairs = [(a, b) for a, b in pairs if ZERO not in (a, b) or a.dimension == b.dimension]
            if not all(a.meets(b) for a, b in pairs):
                self.faults.append(f"{what}: {one} is not {other}")
        except Unlike as unlike:
            self.faults.append(f"{what}: dimensions {unlike}")

    def sides(self, text: str) -> tuple[list[Values], list[str]]:
        """The values of the sides of one printed relation, and the signs between them."""
        parts = RELATIONS.split(text)
        return [self.reader.side(part) for part in parts[::2]], parts[1::2]

    def formula(self, math_: Math, holds: bool) -> list[list[Values]]:
        """Holds a formula's sides against each other; gives the sides, comparison by comparison."""
        read: list[list[Values]] = []
        for text in (math_.plain, linear(math_.mathml)):
            alternatives = text.split(self.either)
            truths = []
            for alternative in alternatives:
                truth = True
                for relation in alternative.split(self.both):
                    try:
                        values, signs = self.sides(relation)
                    except (Unreadable, Unlike) as fault:
                        self.faults.append(f"{text}: {fault}")
                        continue
                    if text is math_.plain:
                        read.append(values)
                    pairs = list(itertools.pairwise(values))
                    for sign, (left, right) in zip(signs, pairs, strict=True):
                        if sign == "=" and holds:
                            self.same(left, right, text)
                        elif sign in HOLDS and holds:
                            self.read += 1
                            truth &= HOLDS[sign](left, right)
                truths.append(truth)
            if not any(truths):
                self.faults.append(f"{text}: does not hold")
        plain, other = math_.plain, linear(math_.mathml)
        self.alike(plain, other)
        return read

    def alike(self, plain: str, other: str) -> None:
        """Two ways of writing one formula say the same."""
        split = re.compile("|".join((self.both, self.either, " [=<>≤≥≠] ")))
        for one, two in zip(split.split(plain), split.split(other), strict=True):
            try:
                left, right = self.reader.side(one), self.reader.side(two)
            except (Unreadable, Unlike) as fault:
                self.faults.append(f"'{one}', '{two}': {fault}")
                continue
            if left != right and not (
                isinstance(left, Quantity)
                and isinstance(right, Quantity)
                and left.dimension == right.dimension
                and math.isclose(left.low, right.low, rel_tol=1e-9)
                and math.isclose(left.high, right.high, rel_tol=1e-9)
            ):
                self.faults.append(f"'{one}' is {left}, but '{two}' is {right}")

    # ------------------------------------------------------------------------ the parts of it

    def check(self) -> list[str]:
        for block in self.item.solution:
            if isinstance(block, Display):
                self.formula(block.math, holds=True)
            elif isinstance(block, Paragraph):
                text = "".join(strings(block))
                maths = [part for part in block.content if isinstance(part, Math)]
                compared = [m for m in maths if re.search("[<>≤≥≠=]", m.plain)]
                refused = REFUSED.match(text)
                read = [
                    self.formula(m, holds=not (refused and m is not compared[-1])) for m in maths
                ]
                if PAIRED.match(text):
                    self.pairs(read, text)
            elif isinstance(block, Image):
                self.labels(block)
        self.sentences()
        self.rounded_back()
        self.keys()
        return self.faults

    def pairs(self, read: list[list[list[Values]]], text: str) -> None:
        if len(read) < 2:
            return
        for symbolic, numbers in zip(read[-2], read[-1], strict=True):
            for one, other in zip(symbolic, numbers, strict=True):
                self.same(one, other, text)

    def labels(self, image: Image) -> None:
        """`t_w = 100 s` on the solved figure."""
        for label in re.findall(r"(?:: |; )([^:;]+? = [^:;]+?)(?=[;.]?$|; )", image.description):
            sign, _, shown = label.partition(" = ")
            if plain_symbol(sign) in self.reader.values:
                self.same(self.reader.values[plain_symbol(sign)], self.reader.value(shown), label)

    def sentences(self) -> None:
        """Every field of the author's sentences, found on the page by the words around it."""
        paragraphs = [
            "".join(strings(block)) for block in self.item.solution if isinstance(block, Paragraph)
        ]
        for step in self.family.texts.solution:
            if step.only and self.case.name not in step.only:
                continue
            for sentence in step.text:
                self.sentence(sentence, paragraphs)

    def sentence(self, sentence: Sentence, paragraphs: list[str]) -> None:
        fields = [piece for piece in sentence if not isinstance(piece, str)]
        if not any(isinstance(field, ValueField | ComputedField) for field in fields):
            return
        pattern = "".join(
            re.escape(piece) if isinstance(piece, str) else f"({self.looks(piece)})"
            for piece in sentence
        )
        found = next((m for m in (re.fullmatch(pattern, p) for p in paragraphs) if m), None)
        if found is None:
            self.faults.append(f"not on the page: {pattern}")
            return
        for field, shown in zip(fields, found.groups(), strict=True):
            if isinstance(field, ComputedField):
                value = evaluated(field.expression, self.values)
                text = shown
            elif isinstance(field, ValueField) and field.form in {"value", "number"}:
                value = self.values[field.name]
                text = shown
                if field.form == "number":
                    text = self.with_unit(field.name, shown)
            else:
                continue
            if isinstance(value, tuple):
                self.same(value, self.reader.list_of(text, self.between), found[0])
            else:
                self.same(value, self.reader.value(text), f"{shown} in: {found[0]}")

    def looks(self, field: object) -> str:
        """A pattern of what a field prints."""
        number = r"−?\d[\d.,]*(?: × 10[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)?"
        if isinstance(field, ComputedField):
            unit = field.unit.text
        elif isinstance(field, ValueField) and field.form in {"value", "number"}:
            if isinstance(self.values[field.name], tuple):
                return ".+?"
            unit = self.unit(field.name) if field.form == "value" else ""
        else:
            return ".+?"
        return number + ("" if unit in ("", "°") else " ") + re.escape(unit)

    def unit(self, name: str) -> str:
        family = self.family
        return {**family.given, **family.let, **family.find}[name].unit.text

    def with_unit(self, name: str, number: str) -> str:
        unit = self.unit(name)
        return number + ("" if unit in ("", "°") else " ") + unit

    def rounded_back(self) -> None:
        """The rounded answers put back: both sides, their difference, and what explains it."""
        bare = Reader({}, set(), self.mark)
        rounded = {}
        half = {}
        for (name, unknown), row in zip(self.family.find.items(), self.answers.rows, strict=True):
            shown = bare.value("".join(strings(row[3])))
            rounded[name] = point(shown.middle, shown.dimension)
            half[name] = (shown.high - shown.low) / 2
            assert unknown.name == name
        values = {**self.values, **rounded}
        laws = self.family.laws_in(self.case.name)
        for law, row in zip(laws, self.put_back.rows, strict=True):
            _, *cells = ("".join(strings(cell)) for cell in row)
            left, right, gap, explained = (bare.value(cell) for cell in cells)
            equation = law.equation
            sides = [evaluated(side, values) for side in (equation.left, equation.right)]
            residual = self.residual(equation, values)
            where = f"{law.name}: {' | '.join(cells)}"
            for side, printed in zip(sides, (left, right), strict=True):
                self.same(side, printed, where)
            self.same(point(abs(residual), gap.dimension), gap, where)
            most = 0.0
            for name, width in half.items():
                moved = []
                for way in (width, -width):
                    value = rounded[name]
                    other = {**values, name: point(value.middle + way, value.dimension)}
                    moved.append(abs(self.residual(equation, other) - residual))
                most += max(moved)
            self.same(point(most, explained.dimension), explained, where)
            if not gap.low <= explained.high * 1.05 + 1e-12 * max(abs(left.high), abs(right.high)):
                self.faults.append(f"{where}: more than rounding explains")

    @staticmethod
    def residual(equation: Equation, values: dict[str, Values]) -> float:
        left, right = (evaluated(side, values) for side in (equation.left, equation.right))
        assert isinstance(left, Quantity)
        assert isinstance(right, Quantity)
        gap = left.middle - right.middle
        return 0.0 if abs(gap) <= 1e-12 * max(abs(left.middle), abs(right.middle)) else gap

    def keys(self) -> None:
        """The key of each part is an answer of the table, figure by figure."""
        told = {"".join(strings(row[3])) for row in self.answers.rows}
        for part in self.item.parts:
            if isinstance(part, NumberEntry):
                self.read += 1
                if part.key_shown not in told:
                    self.faults.append(f"{part.key_shown} is not among the answers")


def faults_of(item: Item, case: Case, family: Family) -> tuple[list[str], int]:
    page = Page(item, case, family)
    return page.check(), page.read


@pytest.mark.parametrize(("name", "language"), list(versions()))
def test_all_numbers_of_a_solution_agree(name: str, language: str) -> None:
    family = family_of(name, language)
    for item, case in pages(name, language):
        faults, read = faults_of(item, case, family)
        assert not faults, item.identifier + "\n" + "\n".join(faults)
        assert read > 20


@pytest.mark.parametrize(("name", "language"), list(versions()))
def test_latex_says_what_the_text_says(name: str, language: str) -> None:
    """Every formula of an item of each case, read from LaTeX, has the values of its plain text."""
    family = family_of(name, language)
    (instances,) = Generator(family).generate(COUNT, seed=SEED)
    renderer = Renderer(family, latex=True)
    first = {case: row for row, case in reversed(list(enumerate(instances.case.tolist())))}
    for case, row in first.items():
        item = renderer.item(instances, row)
        page = Page(item, family.cases[case], family)
        formulas = {formula for formula in maths(item) if isinstance(formula, LatexMath)}
        assert formulas == set(maths(item))
        for formula in maths(item.solution):
            assert isinstance(formula, LatexMath)
            page.alike(formula.plain, linear_latex(formula.latex))
        for formula in maths(item.solution):
            page.formula(formula, holds=False)
        assert not page.faults, "\n".join(page.faults)


# ---------------------------------------------------------------------------- it can fail


def _changed(part: object, old: str, new: str) -> object:
    """The part with the first `old` of its texts replaced, and whether one was found."""
    if isinstance(part, str):
        return part.replace(old, new, 1)
    if isinstance(part, tuple):
        return tuple(_changed(inner, old, new) for inner in part)
    if dataclasses.is_dataclass(part) and not isinstance(part, type):
        texts = {
            field.name: _changed(getattr(part, field.name), old, new)
            for field in dataclasses.fields(part)
            if not isinstance(getattr(part, field.name), bytes)
        }
        return dataclasses.replace(part, **texts)
    return part


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        # a value put in, a result, a unit, a sign, an answer, a difference, and parentheses
        ("(23.0 mL)", "(32.0 mL)", "c = c_a·V_a/V"),
        ("= 0.03036 mol/L", "= 0.03063 mol/L", "c = c_a·V_a/V"),
        ("= 0.03036 mol/L", "= 0.03036 mol", "dimensions"),
        ("(0.03036 mol/L − h)", "(0.03036 mol/L + h)", "h² ="),
        ("16.2713 %", "16.2413 %", "β = h/c"),
        ("4.94 × 10⁻³ mol/L", "4.96 × 10⁻³ mol/L", "4.93996 × 10⁻³"),
        ("0.029 %", "0.039 %", "ionised share"),
        ("9.3 %", "9.4 %", "too high by"),
        ("0.005399 mol/L", "0.004399 mol/L", "Check: h <"),
        ("(9.60 × 10⁻⁴ mol/L)·", "9.60 × 10⁻⁴ mol/L·", "needs parentheses"),
        ("0.03036", "0.03041", "0.03041"),
    ],
)
def test_a_wrong_number_is_found(old: str, new: str, told: str) -> None:
    """One digit, unit, sign or pair of parentheses of a good page changed."""
    family = family_of("weak-acid", "en")
    item = Renderer(family).item(instance(family, 0, 0), 0)
    case = family.cases[0]
    assert not faults_of(item, case, family)[0]
    blocks = _changed(item.solution, old, new)
    assert blocks != item.solution
    wrong = dataclasses.replace(item, solution=blocks)
    faults, _ = faults_of(wrong, case, family)
    assert any(told in fault for fault in faults), faults


def test_mathml_that_differs_from_the_text_is_found() -> None:
    family = family_of("stepped-drum", "en")
    item = Renderer(family).item(instance(family, 0, 0), 0)
    case = next(case for case in family.cases if case.name == item.provenance.case)  # type: ignore[union-attr]
    wrong = dataclasses.replace(
        item, solution=_changed(item.solution, "<mn>18.0</mn>", "<mn>18.9</mn>")
    )
    faults, _ = faults_of(wrong, case, family)
    assert any("but '" in fault for fault in faults)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # by hand
        ("2 + 3·4", 14.0),
        ("−2²", -4.0),
        ("2^(−3)", 0.125),
        ("(1.2 m)·(50 cm)", 0.6),
        ("−5 °C", 268.15),
        ("20 °C − (−5 °C)", 25.0),
        ("sin²(30°)", 0.25),
        ("6.02 × 10²³ 1/mol", 6.02e23),
        ("|3 − 5|", 2.0),
        ("√(16 m²)", 4.0),
        ("12 − 3 − 4", 5.0),
        ("24/2/3", 4.0),
        ("log₁₀(0.001)", -3.0),
    ],
)
def test_the_reader_reads_as_people_do(text: str, value: float) -> None:
    units = ("", "m", "cm", "°", "°C", "m²")
    exact = {(number, unit) for unit in units for number in (*range(1, 60), 1.2, 0.001)}
    read = Reader({}, exact, ".").value(text)
    assert read.low <= value <= read.high or math.isclose(read.middle, value, rel_tol=1e-12)
    assert math.isclose(read.middle, value, rel_tol=1e-2)


@pytest.mark.parametrize(
    "text",
    ["−5 kg·(2 m)", "3 m/(2 s)", "3 m²²", "2 m·x", "x", "(2 m", "2 m)"],
)
def test_the_reader_refuses_to_guess(text: str) -> None:
    with pytest.raises((Unreadable, Unlike)):
        Reader({}, set(), ".").side(text)


@pytest.mark.parametrize(
    ("mathml", "plain"),
    [
        ("<mfrac><mi>a</mi><mn>2</mn></mfrac>", "((a)/(2))"),
        ("<msup><mi>v</mi><mn>2</mn></msup>", "v^(2)"),
        ("<msub><mi>m</mi><mn>1</mn></msub>", "m_1"),
        ("<mrow><mn>3.0</mn><mtext>\u00a0kg</mtext></mrow><mo>⋅</mo><mi>g</mi>", "3.0 kg·g"),
        (
            "<mn>2</mn><mo>×</mo><msup><mn>10</mn><mrow><mo>−</mo><mn>4</mn></mrow></msup>",
            "2 × 10⁻⁴",
        ),
    ],
)
def test_mathml_is_read_by_its_structure(mathml: str, plain: str) -> None:
    assert linear(f'<math xmlns="http://www.w3.org/1998/Math/MathML">{mathml}</math>') == plain
