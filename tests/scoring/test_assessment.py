"""Tests: selection and order by a seed, outcome processing over the items (note, f and g2)."""

from __future__ import annotations

from collections import Counter
from contextlib import nullcontext
from pathlib import Path
from typing import ClassVar

import pytest
from lxml import etree

from qbank.errors import QbankError
from qbank.scoring.assessment import ScoredTest
from qbank.scoring.compiled import compile_item
from qbank.scoring.documents import read_document
from qbank.scoring.faults import ScoringError
from qbank.scoring.grading import score_test
from qbank.scoring.item import ScoredItem
from tests.scoring.items import DIALECTS, QTI_21, base, declare, document, f, put

ITEM = document(
    declare("response", "RESPONSE", "identifier", "A")
    + declare("outcome", "SCORE", "float", "0").replace(
        "<outcomeDeclaration ", '<outcomeDeclaration normalMaximum="2" normalMinimum="-1" ', 1
    )
    + declare("template", "T", "integer", "1"),
    "<responseCondition><responseIf>"
    '<match><variable identifier="RESPONSE"/><correct identifier="RESPONSE"/></match>'
    + put("SCORE", f(2))
    + "</responseIf></responseCondition>",
)
# An item whose response has no key and whose score has no bounds.
BARE = document(
    declare("response", "RESPONSE", "float") + declare("outcome", "SCORE", "integer"), ""
)


class Shelf:
    """What the tests here refer to; `sections` by their href, and which were asked for."""

    items: ClassVar = {"item.xml": compile_item(ITEM), "bare.xml": compile_item(BARE)}

    def __init__(self, **sections: str) -> None:
        self.sections = {f"{name}.xml": text for name, text in sections.items()}

    def opened(self) -> nullcontext:
        return nullcontext()

    def item(self, href: str) -> ScoredItem:
        return self.items[href]

    def section(self, href: str) -> etree._Element:
        return read_document(self.sections[href].encode())


def ref(name: str, more: str = "", inner: str = "", href: str = "item.xml") -> str:
    return (
        f'<assessmentItemRef identifier="{name}" href="{href}" {more}>{inner}</assessmentItemRef>'
    )


def section(name: str, inner: str, more: str = "") -> str:
    opening = f'<assessmentSection identifier="{name}" title="{name}" visible="false" {more}>'
    return f"{opening}{inner}</assessmentSection>"


def make_test(
    sections: str, processing: str = "", declarations: str = "", dialect=QTI_21, after=""
):
    total = declare("outcome", "SCORE", "float", "0")
    text = dialect.markup(
        f'<assessmentTest xmlns="{dialect.namespace}" identifier="T" title="T">{total}'
        f'{declarations}<testPart identifier="P" navigationMode="nonlinear" '
        f'submissionMode="individual">{sections}'
        f"</testPart><outcomeProcessing>{processing}</outcomeProcessing>{after}</assessmentTest>"
    )
    return ScoredTest(read_document(text.encode()), Shelf())


def order(test: ScoredTest, seed: int = 0) -> list[str]:
    return [item.identifier for item in test.select(seed)]


POOL = "".join(ref(f"I{n}") for n in range(6))
RIGHT, WRONG = {"RESPONSE": "A"}, {"RESPONSE": "B"}


# ---------------------------------------------------------------------------- selection


def test_selection_takes_direct_children_in_their_order():
    test = make_test(section("S", '<selection select="3"/>' + POOL))
    for seed in range(50):
        chosen = order(test, seed)
        assert len(set(chosen)) == 3
        assert chosen == sorted(chosen)
        assert chosen == order(test, seed)


def test_selection_is_even():
    """Chi-square of 1 of 6 over 600 seeds, below the 99.9 % point of 5 degrees, 20.52."""
    test = make_test(section("S", '<selection select="1"/>' + POOL))
    counts = Counter(order(test, seed)[0] for seed in range(600))
    assert len(counts) == 6
    assert sum((n - 100) ** 2 / 100 for n in counts.values()) < 20.52


def test_required_children_always_come_in():
    test = make_test(
        section("S", '<selection select="2"/>' + POOL + ref("MUST", 'required="true"'))
    )
    assert all("MUST" in order(test, seed) and len(order(test, seed)) == 2 for seed in range(30))


def test_with_replacement_an_item_may_come_again_under_a_name_of_its_own():
    test = make_test(section("S", '<selection select="4" withReplacement="true"/>' + ref("I")))
    assert order(test) == ["I", "I.2", "I.3", "I.4"]
    assert test.score({"I.3": RIGHT}).items["I.3"].score == 2


def test_too_many_selected_is_said():
    test = make_test(section("S", '<selection select="9"/>' + POOL))
    assert len(order(test)) == 6
    assert any("9 of 6" in warning for warning in test.score({}).warnings)


def test_shuffling_leaves_fixed_children_where_they_stand():
    inner = '<ordering shuffle="true"/>' + ref("FIRST", 'fixed="true"') + POOL
    test = make_test(section("S", inner))
    orders = {tuple(order(test, seed)) for seed in range(60)}
    assert all(found[0] == "FIRST" for found in orders)
    assert len(orders) > 40
    assert all(sorted(found) == sorted(["FIRST", *(f"I{n}" for n in range(6))]) for found in orders)


def test_a_section_moves_as_one_unless_it_mixes():
    def mixed(keep: str) -> bool:
        inner = section("POOL", ref("A") + ref("B") + ref("C"), f'keepTogether="{keep}"')
        test = make_test(section("S", '<ordering shuffle="true"/>' + inner + ref("X") + ref("Y")))
        together = set()
        for seed in range(60):
            found = "".join(order(test, seed))
            together.add("ABC" in found)
        return together == {True, False} or together == {False}

    assert not mixed("true")
    assert mixed("false")


# ---------------------------------------------------------------------------- outcome processing


def value_of(
    expression: str,
    sections: str,
    responses=None,
    kind="float",
    cardinality="single",
    dialect=QTI_21,
):
    declarations = declare("outcome", "OUT", kind, cardinality=cardinality)
    test = make_test(sections, put("OUT", expression), declarations, dialect)
    return test.score(responses or {}).outcomes["OUT"]


WEIGHT = '<weight identifier="W" value="3"/>'
TWO = section("S1", ref("A", 'category="hard x"', WEIGHT)) + section(
    "S2", ref("B", 'category="easy"')
)


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
def test_the_sum_of_the_items(dialect):
    test = make_test(
        TWO, put("SCORE", '<sum><testVariables variableIdentifier="SCORE"/></sum>'), dialect=dialect
    )
    score = test.score({"A": RIGHT, "B": WRONG})
    assert score.score == 2
    assert [score.items[name].score for name in ("A", "B")] == [2, 0]
    assert test.score({}).score == 0
    assert test.score({}).items == {"A": None, "B": None}


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ("", [2, 2]),
        ('sectionIdentifier="S1"', [2]),
        ('sectionIdentifier="P"', [2, 2]),  # a test part counts as one
        ('includeCategory="easy"', [2]),
        ('includeCategory="easy hard"', [2, 2]),
        ('excludeCategory="x"', [2]),
        ('weightIdentifier="W"', [6, 2]),  # 1 where the item has no such weight
        ('baseType="integer"', None),
        ('includeCategory="none"', None),
    ],
)
def test_test_variables(attributes, expected):
    expression = f'<testVariables variableIdentifier="SCORE" {attributes}/>'
    found = value_of(expression, TWO, {"A": RIGHT, "B": RIGHT}, cardinality="multiple")
    assert found == expected


def test_integers_beside_floats_are_floats():
    expression = '<testVariables variableIdentifier="SCORE"/>'
    both = section("S", ref("A") + ref("B", href="bare.xml"))
    assert value_of(expression, both, {"A": RIGHT}, cardinality="multiple") == [2.0, 0.0]


def test_an_items_variable_by_its_name():
    responses = {"A": RIGHT}
    assert value_of('<variable identifier="A.SCORE"/>', TWO, responses) == 2
    assert value_of('<variable identifier="A.SCORE" weightIdentifier="W"/>', TWO, responses) == 6
    assert value_of('<variable identifier="Z.SCORE"/>', TWO, responses) is None


@pytest.mark.parametrize(
    ("name", "responses", "expected"),
    [
        ("numberSelected", {}, 2),
        ("numberPresented", {"A": WRONG}, 1),
        ("numberResponded", {"A": WRONG, "B": {}}, 1),
        ("numberCorrect", {"A": RIGHT, "B": WRONG}, 1),
        ("numberIncorrect", {"A": RIGHT, "B": WRONG}, 1),
        ("numberIncorrect", {"A": {}}, 1),
        ("numberIncorrect", {}, 0),
    ],
)
def test_counting(name, responses, expected):
    """numberCorrect compares by match (note f)."""
    assert value_of(f"<{name}/>", TWO, responses, kind="integer") == expected


def test_items_whose_response_has_no_key_are_neither_right_nor_wrong():
    sections = section("S", ref("A", href="bare.xml"))
    for name in ("numberCorrect", "numberIncorrect"):
        assert value_of(f"<{name}/>", sections, {"A": {"RESPONSE": "1"}}, kind="integer") == 0


def test_bounds_of_outcomes():
    """outcomeMaximum is NULL when an item has none (note f); outcomeMinimum skips it [M]."""
    highest = '<outcomeMaximum outcomeIdentifier="SCORE"/>'
    lowest = '<outcomeMinimum outcomeIdentifier="SCORE"/>'
    assert value_of(highest, TWO, cardinality="multiple") == [2, 2]
    assert value_of(
        highest.replace("/>", ' weightIdentifier="W"/>'), TWO, cardinality="multiple"
    ) == [6, 2]
    mixed = section("S", ref("A") + ref("B", href="bare.xml"))
    assert value_of(highest, mixed, cardinality="multiple") is None
    assert value_of(lowest, mixed, cardinality="multiple") == [-1]


def test_template_defaults_and_mapped_names():
    inner = f'<templateDefault templateIdentifier="T">{base("integer", "7")}</templateDefault>'
    inner += '<variableMapping sourceIdentifier="SCORE" targetIdentifier="POINTS"/>'
    sections = section("S", ref("A", inner=inner))
    assert value_of('<variable identifier="A.T"/>', sections, kind="integer") == 7
    assert value_of('<variable identifier="A.POINTS"/>', sections, {"A": RIGHT}) == 2


def test_feedback_of_a_test():
    declarations = declare("outcome", "PASS", "identifier")
    after = (
        '<testFeedback access="atEnd" outcomeIdentifier="PASS" identifier="yes" showHide="show">'
        "<p>Passed.</p></testFeedback>"
    )
    test = make_test(TWO, put("PASS", base("identifier", "yes")), declarations, after=after)
    assert [f.text for f in test.score({}).feedback] == ["Passed."]


def test_an_item_that_is_not_met_is_told():
    with pytest.raises(ScoringError, match="does not meet an item 'AA'") as fault:
        make_test(TWO).score({"AA": RIGHT})
    assert "did you mean 'A'" in str(fault.value)


def test_a_test_from_a_package_and_one_without(tmp_path: Path):
    (tmp_path / "items").mkdir()
    (tmp_path / "items" / "a.xml").write_bytes(ITEM)
    refs = ref("A", href="items/a.xml") + ref("B", href="../x.xml")
    (tmp_path / "test.xml").write_text(
        f'<assessmentTest xmlns="{QTI_21.namespace}" identifier="T" title="T">'
        + declare("outcome", "SCORE", "float", "0")
        + f'<testPart identifier="P">{section("S", refs)}'
        "</testPart><outcomeProcessing>"
        + put("SCORE", '<sum><testVariables variableIdentifier="SCORE"/></sum>')
        + "</outcomeProcessing></assessmentTest>"
    )
    with pytest.raises(QbankError, match=r"refers to '../x.xml', which the package does not hold"):
        score_test(tmp_path, {"A": RIGHT})
    text = (tmp_path / "test.xml").read_text().replace(ref("B", href="../x.xml"), "")
    (tmp_path / "test.xml").write_text(text)
    assert score_test(tmp_path, {"A": RIGHT}).score == 2
    (tmp_path / "test.xml").unlink()
    with pytest.raises(QbankError, match="holds no test"):
        score_test(tmp_path, {})
