"""Items judged by structure get the verdict that judging each in full would give."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from qbank.errors import CheckFailed
from qbank.formats.dialects import DIALECTS, QTI_21
from qbank.formats.formulas import formula
from qbank.formats.grammar import grammar, parse
from qbank.formats.item_judge import IN_FULL_ANYWAY, ItemJudge, item_findings
from qbank.formats.metadata import metadata_structure
from qbank.formats.qti_item import ItemText
from qbank.formats.qti_written import ManifestEntries
from tests.formats.samples import winch
from tests.formats.test_reading import items

MATHML = 'xmlns="http://www.w3.org/1998/Math/MathML"'


@pytest.mark.parametrize("name", list(DIALECTS))
@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(drawn=st.lists(items(), min_size=1, max_size=4))
def test_what_the_judge_lets_through_is_sound_in_full(name, drawn):
    dialect = DIALECTS[name]
    writer, judge = ItemText(dialect), ItemJudge(dialect)
    for item in drawn:
        document = writer.document(item)
        judge.ensure("item", document.text.encode(), document.structures)
        assert item_findings(dialect, "item", document.text.encode(), ()) == []


def test_siblings_are_judged_once_and_a_new_structure_again():
    writer, judge = ItemText(QTI_21), ItemJudge(QTI_21)

    def judged(item):
        document = writer.document(item)
        before = judge.judged_in_full
        judge.ensure("item", document.text.encode(), document.structures)
        return judge.judged_in_full > before

    assert judged(winch(0))
    assert not any(judged(winch(k)) for k in range(1, 50))
    assert judged(winch(50, hints=True))
    assert judged(replace(winch(51), language="de"))
    first, *others = winch(52).parts
    assert judged(replace(winch(52), parts=(replace(first, points=3.0), *others)))
    assert judged(
        replace(winch(53), stem=(*winch(53).stem, replace(winch(53).stem[-1], caption="")))
    )
    assert not judged(winch(54))


def test_one_in_so_many_is_judged_in_full_whatever_its_structure():
    writer, judge = ItemText(QTI_21), ItemJudge(QTI_21)
    for k in range(IN_FULL_ANYWAY + 1):
        document = writer.document(winch(k))
        judge.ensure("item", document.text.encode(), document.structures)
    assert judge.judged_in_full == 2


def test_an_item_that_is_wrong_is_refused_with_the_rule():
    document = ItemText(QTI_21).document(winch())
    broken = document.text.replace(' shuffle="true"', "", 1).encode()
    with pytest.raises(CheckFailed, match="breaks 1 of the rules") as caught:
        ItemJudge(QTI_21).ensure("items/x.xml", broken, document.structures)
    assert "qti-2.1:choiceInteraction" in str(caught.value)


@pytest.mark.parametrize(
    ("mathml", "said"),
    [
        ("<p>x</p>", "does not start with a math element"),
        (f"<math {MATHML}><mfrac><mi>x</mi></mfrac></math>", "formula:1: qti-2.1:mfrac"),
        (f"<math {MATHML}><mi>x</math>", "not well-formed"),
        (f"<math {MATHML}><script>x</script></math>", "qti-2.1:math"),
        (f"<math {MATHML}><mi>&nbsp;</mi></math>", "is no MathML|not well-formed"),
        (f"<math {MATHML}><mi>x</mi></math><p/>", "not well-formed"),
        (f'<math {MATHML} onclick="x"><mi>x</mi></math>', "qti-2.1:math"),
        ('<math xmlns="urn:other"><mi>x</mi></math>', "no MathML"),
        (f"<math {MATHML}><mi>\x01</mi></math>", "not well-formed"),
    ],
)
def test_a_formula_that_is_no_mathml_is_refused(mathml, said):
    with pytest.raises(CheckFailed, match=said):
        formula(mathml, "x")


def test_a_refused_formula_stays_refused_beside_a_good_one_of_its_kind():
    good = f"<math {MATHML}><mfrac><mi>x</mi><mn>1</mn></mfrac></math>"
    for k in range(3):
        formula(good.replace(">1<", f">{k}<"), "x")
        with pytest.raises(CheckFailed):
            formula(good.replace("<mn>1</mn>", f"<mn>{k}</mn><mn/>"), "x")


@pytest.mark.parametrize(
    ("given_attributes", "display", "expected"),
    [
        ("", False, f'<math {MATHML} alttext="a &lt; b">'),
        (f" {MATHML}", True, f'<math {MATHML} display="block" alttext="a &lt; b">'),
        (
            f' {MATHML} display="inline" alttext="old > text"',
            False,
            f'<math {MATHML} alttext="a &lt; b">',
        ),
        (f' class="big" {MATHML}', False, f'<math class="big" {MATHML} alttext="a &lt; b">'),
    ],
)
def test_a_formula_gets_its_namespace_and_its_alternative_text(given_attributes, display, expected):
    text = formula(f"<math{given_attributes}><mi>a</mi></math>", "a < b", display)
    assert text == f"{expected}<mi>a</mi></math>"
    assert grammar("qti-2.1").accepts(parse(text.encode(), "m"), "math")


def test_entries_of_the_manifest_are_put_together_as_if_each_were_written_alone():
    entries = ManifestEntries(QTI_21)
    for k in (0, 1, 2, 61):
        item = replace(winch(k), title="100 % of <that>")
        text = entries.text(item, f"items/w/{item.identifier}.xml")
        alone = ManifestEntries(QTI_21).text(item, f"items/w/{item.identifier}.xml")
        assert text == alone
        assert f"<entry>{k}</entry>" in text
        assert "100 % of &lt;that&gt;" in text
    assert metadata_structure(winch(0)) == metadata_structure(winch(1))
    assert metadata_structure(winch(0)) != metadata_structure(winch(0, hints=True))
