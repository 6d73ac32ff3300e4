"""Choices, orders, pairs, content and feedback of QTI 2.x and 3.0.

Sections b1, b2, b5, b6, c and d of the mapping note: forms measured in the official examples,
scoring from memory of the standard.
"""

from __future__ import annotations

import pytest

from qbank.item import Choice, Display, Image, Matching, Ordering, Paragraph, Table
from tests.formats.foreign.documents import (
    ENTRY,
    KEY,
    R,
    base,
    codes,
    gives,
    item,
    manifest,
    read_one,
    response,
    zipped,
)

VERSIONS = ("qti-2.1", "qti-2.2", "qti-3.0")
OPTIONS = "".join(
    f'<simpleChoice identifier="{n}">{t}</simpleChoice>'
    for n, t in (("C1", "is unchanged"), ("C2", "doubles"), ("C3", "halves"))
)
CHOICE = (
    '<choiceInteraction responseIdentifier="RESPONSE" shuffle="true" maxChoices="1">'
    f"<prompt>The speed doubles. The power …</prompt>{OPTIONS}</choiceInteraction>"
)


def keyed(part: Choice) -> list[str]:
    return [option.identifier for option in part.options if option.correct]


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(
    "rules",
    [
        "TEMPLATE match_correct",
        "TEMPLATE CC2_match",
        gives(f"<match>{R}{KEY}</match>"),
        gives(f"<match>{R}{base('C2', 'identifier')}</match>"),
        gives(f"<not><not><match>{R}{KEY}</match></not></not>"),  # not read, so tried
    ],
)
def test_one_of_several(tmp_path, version, rules):
    found = read_one(tmp_path, item(response("identifier", "C2"), CHOICE, rules, version))
    (part,) = found.item.parts
    assert isinstance(part, Choice)
    assert (keyed(part), part.points, part.multiple, part.shuffle) == (["C2"], 1.0, False, True)
    assert part.prompt == ("The speed doubles. The power …",)
    assert part.options[0].content == ("is unchanged",)


def test_without_a_declared_key_the_rules_say_it(tmp_path):
    rules = gives(f"<match>{R}{base('C3', 'identifier')}</match>", 3)
    part = read_one(tmp_path, item(response("identifier"), CHOICE, rules)).item.parts[0]
    assert (keyed(part), part.points) == (["C3"], 3.0)


def test_a_key_worth_less_than_another_option_is_told(tmp_path):
    rules = gives(f"<match>{R}{base('C3', 'identifier')}</match>", 3)
    found = read_one(tmp_path, item(response("identifier", "C1"), CHOICE, rules))
    assert keyed(found.item.parts[0]) == ["C1"]
    assert "key-scoring" in codes(found)


def test_mapped_options(tmp_path):
    entries = "".join(
        f'<mapEntry mapKey="{k}" mappedValue="{v}"/>' for k, v in (("C1", 1), ("C2", 2), ("C3", -1))
    )
    mapping = f'<mapping defaultValue="0" lowerBound="0">{entries}</mapping>'
    single = response("identifier", "", extra=mapping)
    found = read_one(tmp_path, item(single, CHOICE, "TEMPLATE map_response"))
    assert (keyed(found.item.parts[0]), found.item.parts[0].points) == (["C2"], 2.0)
    several = response("identifier", "C1|C2", "multiple", extra=mapping)
    found = read_one(tmp_path, item(several, CHOICE, "TEMPLATE map_response"))
    assert (keyed(found.item.parts[0]), found.item.parts[0].points) == (["C1", "C2"], 3.0)
    assert found.item.parts[0].multiple
    assert "partial-credit" in codes(found)


@pytest.mark.parametrize("version", VERSIONS)
def test_a_drop_down_in_a_sentence(tmp_path, version):
    body = (
        '<p>The drum turns <inlineChoiceInteraction responseIdentifier="RESPONSE" shuffle="false">'
        '<inlineChoice identifier="L">left</inlineChoice><inlineChoice identifier="Q">right'
        "</inlineChoice></inlineChoiceInteraction> as seen from the quay.</p>"
    )
    found = read_one(tmp_path, item(response("identifier", "Q"), body, "TEMPLATE match_correct",
                                    version))  # fmt: skip
    part = found.item.parts[0]
    assert part.inline
    assert keyed(part) == ["Q"]
    assert part.prompt == ("The drum turns ____ as seen from the quay.",)


def test_an_order(tmp_path):
    body = f'<orderInteraction responseIdentifier="RESPONSE">{OPTIONS}</orderInteraction>'
    declared = response("identifier", "C3|C1|C2", "ordered")
    part = read_one(tmp_path, item(declared, body, "TEMPLATE match_correct")).item.parts[0]
    assert isinstance(part, Ordering)
    assert [entry.identifier for entry in part.entries] == ["C3", "C1", "C2"]
    assert part.points == 1.0


def test_pairs(tmp_path):
    sides = "".join(
        "<simpleMatchSet>"
        + "".join(f'<simpleAssociableChoice identifier="{n}" matchMax="1">{n}'
                  "</simpleAssociableChoice>" for n in names)
        + "</simpleMatchSet>"
        for names in (("S1", "S2"), ("T1", "T2", "T3"))
    )  # fmt: skip
    body = f'<matchInteraction responseIdentifier="RESPONSE" maxAssociations="2">{sides}' \
           "</matchInteraction>"  # fmt: skip
    declared = response("directedPair", "S1 T3|S2 T1", "multiple")
    part = read_one(tmp_path, item(declared, body, "TEMPLATE match_correct")).item.parts[0]
    assert isinstance(part, Matching)
    assert part.pairs == (("S1", "T3"), ("S2", "T1"))
    inexact = response("directedPair", "S1 T3|S1 T1", "multiple")
    found = read_one(tmp_path, item(inexact, body, "TEMPLATE match_correct"))
    assert found.item.parts == ()
    assert "interaction" in codes(found)


@pytest.mark.parametrize(
    "name", ["extendedTextInteraction", "hotspotInteraction", "uploadInteraction",
             "customInteraction", "hottextInteraction", "fortuneInteraction"],
)  # fmt: skip
def test_any_other_interaction_is_told_with_its_line(tmp_path, name):
    body = f'<p>Explain.</p>\n\n<{name} responseIdentifier="RESPONSE"/>'
    found = read_one(tmp_path, item(response("string"), body))
    assert found.item.parts == ()
    assert found.item.stem == (Paragraph(("Explain.",)),)
    (loss,) = [loss for loss in found.losses if loss.code == "interaction"]
    assert loss.place.line == 3
    assert name in loss.what


def test_feedback_within_options_and_modal(tmp_path):
    body = CHOICE.replace("doubles<", 'doubles<feedbackInline outcomeIdentifier="FEEDBACK" '
                          'identifier="C2" showHide="show">Yes.</feedbackInline><')  # fmt: skip
    declared = response("identifier", "C2") + (
        '<outcomeDeclaration identifier="FEEDBACK" cardinality="single" baseType="identifier"/>'
    )
    rules = gives(f"<match>{R}{KEY}</match>") + (
        f'<setOutcomeValue identifier="FEEDBACK">{R}</setOutcomeValue>'
    )
    modal = ('<modalFeedback outcomeIdentifier="FEEDBACK" identifier="C3" showHide="show">No, '
             "more.</modalFeedback>")  # fmt: skip
    found = read_one(tmp_path, item(declared, body, rules, more=modal))
    options = found.item.parts[0].options
    assert [option.feedback for option in options] == [(), ("Yes.",), ("No, more.",)]
    assert options[1].content == ("doubles",)


def test_content_of_every_kind(tmp_path):
    formula = ('<m:math xmlns:m="http://www.w3.org/1998/Math/MathML" onclick="x"><m:mfrac>'
               "<m:mi>P</m:mi><m:mi>v</m:mi></m:mfrac></m:math>")  # fmt: skip
    body = (
        '<rubricBlock view="candidate"><p>Keep clear of the load.</p></rubricBlock>'
        '<rubricBlock view="scorer"><p>One point.</p></rubricBlock>'
        f"<div><p>A  crate\n of <b>40 kg</b>, 10<sup>3</sup> N, m<sub>1</sub>: {formula}.</p></div>"
        "<ul><li>first</li><li>second</li></ul>"
        "<table><caption>Times</caption><tr><th>run</th><th>s</th></tr><tr><td>1</td><td>4.2</td>"
        "</tr></table>"
        f"<p>P = {ENTRY} kN·m</p>"
    )
    found = read_one(tmp_path, item(response(key="3"), body, "TEMPLATE match_correct"))
    first, one, two, table = found.item.stem
    assert first.content[0] == "A crate of 40 kg, 10³ N, m_1: "
    assert first.content[1].plain == "P/v"
    assert first.content[1].mathml.startswith('<math xmlns="http://www.w3.org/1998/Math/MathML"><m')
    assert "onclick" not in first.content[1].mathml
    assert (one.content, two.content) == (("• first",), ("• second",))
    assert table == Table("Times", (("run",), ("s",)), ((("1",), ("4.2",)),))
    assert found.item.caution == "Keep clear of the load."
    assert found.item.parts[0].unit == "kN·m"
    assert {"rubric", "formatting", "list"} <= codes(found)


def test_pictures_come_from_the_package_alone(tmp_path):
    svg = b'<svg xmlns="http://www.w3.org/2000/svg"/>'
    body = (
        '<p><img src="../img/my%20drum.svg" alt="A drum" width="20" height="10"/></p>'
        '<p><img src="http://example.org/a.png" alt="Elsewhere"/></p>'
        '<p><img src="../img/photo.png" alt="Photo"/></p><p><img src="gone.svg" alt="Gone"/></p>'
        f"<p>{ENTRY}</p>"
    )
    path = zipped(tmp_path / "b.zip", {
        "imsmanifest.xml": manifest(("imsqti_item_xmlv2p1", "items/one.xml")),
        "items/one.xml": item(response(key="3"), body, "TEMPLATE match_correct"),
        "img/my drum.svg": svg, "img/photo.png": b"\xff\xd8\xff\xe0 a photo",
    })  # fmt: skip
    from qbank.formats.foreign.bank import open_bank

    with open_bank(path) as bank:
        (found,) = bank
    assert found.item.stem[0] == Image("my-drum.svg", "image/svg+xml", svg, "A drum", "", 20, 10)
    told = [loss.what for loss in found.losses if loss.code == "picture"]
    assert len(told) == 3
    assert any("nothing is fetched" in what for what in told)
    assert not any(isinstance(block, Display) for block in found.item.stem)


def test_gaps_in_a_text_and_pairs_of_equals(tmp_path):
    gap = (
        '<gapMatchInteraction responseIdentifier="RESPONSE"><gapText identifier="W" matchMax="1">'
        'rope</gapText><gapText identifier="S" matchMax="1">drum</gapText><p>The <gap '
        'identifier="G1"/> runs over the <gap identifier="G2"/>.</p></gapMatchInteraction>'
    )
    declared = response("directedPair", "W G1|S G2", "multiple")
    found = read_one(tmp_path, item(declared, gap, "TEMPLATE match_correct"))
    (part,) = found.item.parts
    assert part.pairs == (("W", "G1"), ("S", "G2"))
    assert part.prompt == ("The (gap 1) runs over the (gap 2).",)
    choices = "".join(
        f'<simpleAssociableChoice identifier="{n}" matchMax="1">{n}</simpleAssociableChoice>'
        for n in "ABCD"
    )
    body = f'<associateInteraction responseIdentifier="RESPONSE">{choices}</associateInteraction>'
    declared = response("pair", "A B|C D", "multiple")
    found = read_one(tmp_path, item(declared, body, "TEMPLATE match_correct"))
    assert found.item.parts[0].pairs == (("A", "B"), ("C", "D"))
    assert "pairs" in codes(found)
