"""What every item of every shipped family must be, whatever the family says."""

from __future__ import annotations

import itertools
import json
import re
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from lxml import etree

from qbank.errors import ExpressionError
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.item import Choice, Item, NumberEntry
from qbank.rendering.plain import item_as_json
from qbank.rendering.renderer import Renderer
from qbank.rendering.terminal import show_text
from tests.rendering.reading import evaluate, grammar, maths, prose, sides, strings

FAMILIES = {path.stem: path for path in shipped_families()}
# whose laws, with their numbers, hold no value with a unit that is read back here
NO_LAW_WITH_UNITS = {"mean-interval", "regression-line", "goodness-of-fit"}
COUNT = 24
SEED = 11
each_family = pytest.mark.parametrize("name", FAMILIES)


@cache
def made(name: str) -> tuple[Instances, list[Item]]:
    family = load_family(FAMILIES[name])
    (instances,) = Generator(family).generate(COUNT, seed=SEED)
    return instances, list(Renderer(family).items(instances))


@pytest.fixture(scope="module")
def mathml_schema(standards: Path) -> etree.XMLSchema:
    file = standards / "w3c" / "mathml3-xsd" / "mathml4.xsd"
    if not file.exists():
        pytest.skip(f"the W3C MathML 3 schema is not at {file}; set QBANK_STANDARDS")
    return etree.XMLSchema(etree.parse(file))


@each_family
def test_every_formula_is_valid_mathml_and_has_plain_text(
    name: str, mathml_schema: etree.XMLSchema
) -> None:
    formulas = {formula for item in made(name)[1] for formula in maths(item)}
    assert formulas
    for formula in formulas:
        document = etree.fromstring(formula.mathml)
        assert mathml_schema.validate(document), f"{mathml_schema.error_log}\n{formula.mathml}"
        for element in document.iter():
            if etree.QName(element).localname in {"math", "mrow", "mfrac", "msup", "msub"}:
                assert not (element.text or "").strip(), formula.mathml
        assert formula.plain.strip() == formula.plain
        assert formula.plain


@each_family
def test_mathml_and_plain_text_show_the_same_numbers(name: str) -> None:
    for item in made(name)[1][:8]:
        for formula in maths(item):
            document = etree.fromstring(formula.mathml)
            elements = [e.text for e in document.iter("{*}mn")]
            lowered = "".join(formula.plain).translate(str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789"))
            raised = lowered.translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789"))
            units = "".join(e.text or "" for e in document.iter("{*}mtext"))
            digits = re.sub(r"\D", "", raised)
            in_units = re.sub(r"\D", "", units.translate(str.maketrans("²³⁴⁻", "234-")))
            assert sorted(re.sub(r"\D", "", "".join(map(str, elements))) + in_units) == sorted(
                digits
            ), formula


@each_family
def test_nothing_is_left_unfilled_or_not_a_number(name: str) -> None:
    for item in made(name)[1]:
        for text in strings(item):
            assert not re.search(r"[{}]|\bnan\b|\binf\b|—$|None|\bFixed\b|= =|  ", text), text


@each_family
def test_numbers_in_the_stem_are_data_or_the_authors_own(name: str) -> None:
    instances, items = made(name)
    family = instances.family
    own = "".join(
        piece for paragraph in family.texts.stem for piece in paragraph if isinstance(piece, str)
    )
    words = " ".join(text for setting in family.settings for text in setting.words.values())
    for item in items:
        (data,) = [block for block in item.solution if getattr(block, "caption", "") == "Data"]
        known = " ".join(strings(data)) + own + words
        for text in strings(item.stem):
            for number in re.findall(r"−?\d+(?:\.\d+)?", text):
                assert number in known or int(number) <= 20, (number, text)  # rows are counted


@each_family
def test_keys_lie_in_their_bands_and_wrong_values_outside(name: str) -> None:
    for item in made(name)[1]:
        for part in item.parts:
            if not isinstance(part, NumberEntry):
                continue
            assert part.key == float(part.key_text)
            head = part.key_text.partition("e")[0].replace("-", "−")
            assert part.key_shown.startswith(head)
            assert part.key_shown.endswith(part.unit)
            bands = [(part.tolerance.low, part.tolerance.high)]
            assert bands[0][0] <= part.key <= bands[0][1]
            for wrong in part.wrong_values:
                assert wrong.low <= wrong.value <= wrong.high
                bands.append((wrong.low, wrong.high))
            for (_, high), (low, _) in itertools.pairwise(sorted(bands)):
                assert high < low


@each_family
def test_choices_have_one_key_unless_several_may_hold(name: str) -> None:
    instances, items = made(name)
    for row, item in enumerate(items):
        values = {
            quantity: float(array[row])
            for quantity, array in instances.values.items()
            if array.ndim == 1
        }
        values |= instances.family.cases[int(instances.case[row])].constants
        for part, ask in zip(item.parts, instances.family.ask, strict=True):
            if not isinstance(part, Choice):
                continue
            contents = ["".join(strings(option.content)) for option in part.options]
            assert len(set(contents)) == len(contents) >= 2
            if part.multiple:
                expected = [bool(evaluate(s.when, values)) for s in ask.statements]  # type: ignore[union-attr]
                assert [option.correct for option in part.options] == expected
            else:
                assert sum(option.correct for option in part.options) == 1


@each_family
def test_laws_with_numbers_hold_when_read_back(name: str) -> None:
    """Each equation printed with numbers, parsed again and evaluated at the exact answers."""
    instances, items = made(name)
    family = instances.family
    symbols = {
        grammar(quantity.symbol): key
        for key, quantity in {**family.given, **family.let, **family.find}.items()
    }
    read = 0
    for row, item in enumerate(items):
        values = {
            symbol: float(instances.values[key][row])
            for symbol, key in symbols.items()
            if instances.values[key].ndim == 1
        }
        values |= instances.family.cases[int(instances.case[row])].constants
        for formula in maths(item.solution):
            if (
                not re.search(r"\d [A-Za-zµΩ°%]|\d°", formula.plain)
                or formula.plain.count("=") != 1
            ):
                continue
            if any(sign in formula.plain for sign in "<>≤≥;∑("[:4]) or "°C" in formula.plain:
                continue
            try:
                left, right = sides(formula.plain, values)
            except (ExpressionError, AttributeError):  # lists and quantiles are read elsewhere
                continue
            scale = _terms(formula.plain, values)
            share = 2e-3  # what goes into a law has at least four figures
            answer = re.fullmatch(r"\S+ = −?([\d.]+)( ×.*)?( \S+)?", formula.plain)
            if answer:  # on its own it is off by up to half a unit in its last place
                shown = Decimal(answer[1])
                unit = Decimal(1).scaleb(int(shown.as_tuple().exponent))
                share = float(unit / shown) * 0.51 if shown else 1.0
            assert abs(left - right) <= share * scale, formula.plain
            read += 1
    assert read or name in NO_LAW_WITH_UNITS


def _terms(plain: str, values: dict[str, float]) -> float:
    """The size of the largest term on either side, which four figures are relative to."""
    from qbank.expressions.parser import parse_equation
    from qbank.expressions.tree import Binary, Negate

    equation = parse_equation(grammar(plain))
    largest = 0.0
    waiting = [equation.left, equation.right]
    while waiting:
        node = waiting.pop()
        if isinstance(node, Binary):
            if node.operator in "+-":
                waiting += [node.left, node.right]
            elif node.operator in "*/":
                waiting.append(node.left)
        elif isinstance(node, Negate):
            waiting.append(node.operand)
        largest = max(largest, abs(evaluate(node, values)))
        if isinstance(node, Binary) and node.operator in "*/":
            # a factor that is a difference is as uncertain as its terms
            for part in (node.left, node.right):
                if isinstance(part, Binary) and part.operator in "+-":
                    other = node.right if part is node.left else node.left
                    factor = abs(evaluate(other, values))
                    size = abs(evaluate(part.left, values)) + abs(evaluate(part.right, values))
                    with_factor = size * factor if node.operator == "*" else size / factor
                    largest = max(largest, with_factor)
    return largest


@each_family
def test_the_solution_tells_data_answers_and_what_rounding_explains(name: str) -> None:
    for item in made(name)[1]:
        captions = [getattr(block, "caption", "") for block in item.solution]
        assert captions[0] == "Data"
        assert "Answers" in captions
        assert "The rounded answers put back into the equations" in captions
        assert "no more than rounding explains" in prose(item.solution)
        for check in load_family(FAMILIES[name]).confirm:
            assert item.provenance is not None
            if not check.only or item.provenance.case in check.only:
                assert f"because {check.because}" in prose(item.solution)


@each_family
def test_terminal_text_fits_eighty_columns_and_says_it_all(name: str) -> None:
    for item in made(name)[1][:8]:
        text = show_text(item, 80)
        assert max(map(len, text.split("\n"))) <= 80
        flat = re.sub(r"\s+", " ", text)
        assert flat.startswith(item.title)
        for part in item.parts:
            if isinstance(part, NumberEntry):
                assert f"Answer: {part.key_shown}" in flat
                assert part.tolerance.stated in flat
        assert item.identifier in flat
        narrow = show_text(item, 40).split("\n")
        assert sum(len(line) > 40 for line in narrow) < len(narrow) / 10


@each_family
def test_json_of_an_item_can_be_written_and_names_its_parts(name: str) -> None:
    item = made(name)[1][0]
    plain = json.loads(json.dumps(item_as_json(item), allow_nan=False))
    assert plain["identifier"] == item.identifier
    assert len(plain["parts"]) == len(item.parts)
    kinds = {"number", "choice", "ordering", "matching"}
    assert {part["kind"] for part in plain["parts"]} <= kinds
    assert plain["provenance"]["seed"] == SEED


@each_family
def test_items_are_the_same_however_they_are_asked_for(name: str) -> None:
    instances, items = made(name)
    again = Renderer(load_family(FAMILIES[name]))
    assert again.item(instances, 5) == items[5]
    assert list(again.items(instances.take(slice(3, 9)))) == items[3:9]
