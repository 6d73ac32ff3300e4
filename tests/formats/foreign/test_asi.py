"""Items of QTI 1.2.1 and cartridges, from memory of the standard (mapping note, b, c, g5)."""

from __future__ import annotations

import math

import pytest

from qbank.formats.foreign.bank import open_bank
from qbank.item import Choice, Image, Ordering, Paragraph
from qbank.scoring.documents import read_document as scored_document
from qbank.scoring.item12 import ScoredItem12
from tests.formats.foreign.documents import (
    asi,
    codes,
    field,
    manifest,
    read_document,
    read_one,
    when,
    zipped,
)

NUMBER = (
    "<flow><material><mattext>P = </mattext></material>"
    '<response_num ident="N1" numtype="Decimal"><render_fib fibtype="Decimal"><response_label '
    'ident="A"/></render_fib></response_num><material><mattext>W</mattext></material></flow>'
)


def bound(low, high, low_test="vargte", high_test="varlte"):
    return (
        f'<{low_test} respident="N1">{low}</{low_test}>'
        f'<{high_test} respident="N1">{high}</{high_test}>'
    )


def options(response="R1", cardinality="Single", shuffle="Yes"):
    labels = "".join(
        f'<response_label ident="{n}"><material><mattext>{t}</mattext></material></response_label>'
        for n, t in (("A", "is unchanged"), ("B", "doubles"), ("C", "halves"))
    )
    return (
        '<material><mattext texttype="text/html">&lt;p&gt;The speed doubles.&lt;br&gt;The power'
        f'&amp;nbsp;…&lt;/p&gt;</mattext></material><response_lid ident="{response}" '
        f'rcardinality="{cardinality}"><render_choice shuffle="{shuffle}">{labels}'
        "</render_choice></response_lid>"
    )


def chosen(name, response="R1", more=""):
    return f'<varequal respident="{response}"{more}>{name}</varequal>'


@pytest.mark.parametrize(
    ("test", "low", "high"),
    [
        (bound(384.5, 400.25), 384.5, 400.25),
        (f"<and>{bound(1, 2)}</and>", 1, 2),
        (bound(1, 2, "vargt", "varlt"), math.nextafter(1, 2), math.nextafter(2, 1)),
        ('<varequal respident="N1">5</varequal>', 5, 5),
        (f'<or><varequal respident="N1">5</varequal><and>{bound(4, 6)}</and></or>', 4, 6),
        ('<vargte respident="N1">1</vargte><not><vargt respident="N1">3</vargt></not>', 1, 3),
    ],
)
def test_the_band_of_a_number(tmp_path, test, low, high):
    text = asi(NUMBER, when(test, "2"))
    found = read_one(tmp_path, text)
    (part,) = found.item.parts
    if "or" in test and "and" in test and "<or>" in test:
        assert "tried" in codes(found) or part.tolerance.low == low
    assert (part.tolerance.low, part.tolerance.high) == pytest.approx((low, high))
    assert (part.unit, part.prompt, part.points) == ("W", ("P =",), 2.0)
    scored = ScoredItem12(scored_document(text.encode())[0])
    for edge, outward in ((part.tolerance.low, -1), (part.tolerance.high, 1)):
        assert scored.score({"N1": repr(edge)}).score == 2.0
        assert scored.score({"N1": repr(edge + outward * 1e-6 * edge)}).score == 0.0


@pytest.mark.parametrize(
    ("low", "high", "key"), [(384.5, 400.25, 392), (4.9, 5.1, 5), (0.0182, 0.0186, 0.0184)]
)
def test_a_range_alone_is_keyed_by_its_middle(tmp_path, low, high, key):
    found = read_one(tmp_path, asi(NUMBER, when(bound(low, high), "2")))
    (part,) = found.item.parts
    assert (part.key, float(part.key_text)) == pytest.approx((key, key))
    assert "key-of-range" in codes(found)
    open_ended = '<vargte respident="N1">1</vargte>'
    (part,) = read_one(tmp_path, asi(NUMBER, when(open_ended, "2"))).item.parts
    assert math.isnan(part.key)


def test_one_of_several_with_feedback_by_option(tmp_path):
    rules = when(chosen("B"), "1", shown="right") + when(chosen("C"), shown="half")
    said = (("right", "Yes."), ("half", "No."), ("lone", "Nobody."))
    more = "".join(
        f'<itemfeedback ident="{n}"><flow_mat><material><mattext>{t}</mattext></material>'
        "</flow_mat></itemfeedback>"
        for n, t in said
    )
    found = read_one(tmp_path, asi(options(), rules, more))
    (part,) = found.item.parts
    assert isinstance(part, Choice)
    assert [option.correct for option in part.options] == [False, True, False]
    assert [option.feedback for option in part.options] == [(), ("Yes.",), ("No.",)]
    assert found.item.stem == (
        Paragraph(("The speed doubles.",)), Paragraph(("The power\xa0…",)))  # fmt: skip
    assert part.shuffle
    assert "feedback" in codes(found)  # the one that nothing shows


def test_several_all_or_nothing_and_added_up(tmp_path):
    every = f"<and>{chosen('A')}{chosen('B')}<not>{chosen('C')}</not></and>"
    found = read_one(tmp_path, asi(options(cardinality="Multiple"), when(every, "2")))
    (part,) = found.item.parts
    assert ([o.correct for o in part.options], part.points) == ([True, True, False], 2.0)
    added = "".join(when(chosen(n), "1", "Yes", "Add") for n in "AB")
    added += when(chosen("C"), "1", "Yes", "Subtract")
    found = read_one(tmp_path, asi(options(cardinality="Multiple"), added))
    (part,) = found.item.parts
    assert ([o.correct for o in part.options], part.points) == ([True, True, False], 2.0)
    assert "partial-credit" in codes(found)


def test_an_order_by_index(tmp_path):
    rules = "".join(chosen(n, more=f' index="{k}"') for k, n in enumerate("CAB", 1))
    found = read_one(tmp_path, asi(options(cardinality="Ordered"), when(rules, "1")))
    (part,) = found.item.parts
    assert isinstance(part, Ordering)
    assert [entry.identifier for entry in part.entries] == ["C", "A", "B"]


FILL_IN = '<material><mattext>Half of 7?</mattext></material><response_str ident="R1">' \
    '<render_fib><response_label ident="A"/></render_fib></response_str>'  # fmt: skip


def test_spellings_of_a_number_in_a_cartridge(tmp_path):
    spellings = "".join(chosen(text) for text in ("3.5", "3,5", "3.50"))
    fields = field("cc_profile", "cc.fib.v0p1") + field("cc_weighting", "4")
    text = asi(FILL_IN, when(f"<or>{spellings}</or>", "100"), fields=fields,
               variable='<decvar varname="SCORE" vartype="Decimal" maxvalue="100"/>')  # fmt: skip
    (part,) = read_one(tmp_path, text).item.parts
    assert (part.key_text, part.tolerance.low, part.tolerance.high) == ("3.5", 3.5, 3.5)
    assert part.points == 4.0


def test_words_and_essays_are_no_parts_but_told(tmp_path):
    found = read_one(tmp_path, asi(FILL_IN, when(chosen("winch"), "1")))
    assert (found.item.parts, "text-answer" in codes(found)) == ((), True)
    found = read_one(tmp_path, asi(FILL_IN))
    assert (found.item.parts, "text-answer" in codes(found)) == ((), True)


def test_sections_in_sections_and_banks(tmp_path):
    one = asi(NUMBER, when(bound(1, 2), "1")).split("<item", 1)[1].rsplit("</questest", 1)[0]
    two = one.replace("hoist-1", "hoist-2")
    text = (
        '<!DOCTYPE questestinterop SYSTEM "ims_qtiasiv1p2p1.dtd"><questestinterop>'
        f'<assessment ident="a" title="Hoists"><section ident="s"><section ident="t"><item{one}'
        f'</section></section></assessment><objectbank ident="o"><item{two}</objectbank>'
        "</questestinterop>"
    )
    found = read_document(tmp_path, text)
    assert [each.item.identifier for each in found] == ["hoist-1", "hoist-2"]


@pytest.mark.parametrize("version", ["1.0", "1.1", "1.2", "1.3"])
def test_a_cartridge_with_its_file_base(tmp_path, version):
    html = "&lt;p&gt;See &lt;b&gt;it&lt;/b&gt;&lt;/p&gt;&lt;p&gt;&lt;img " \
        "src='$IMS-CC-FILEBASE$/img/a.svg' alt='A drum'&gt;&lt;/p&gt;"  # fmt: skip
    text = asi(f'<material><mattext texttype="text/html">{html}</mattext></material>'
               + options().split("</material>", 1)[1], when(chosen("B"), "100"),
               fields=field("cc_profile", "cc.multiple_choice.v0p1"))  # fmt: skip
    kind = f"imsqti_xmlv1p2/imscc_xmlv{version.replace('.', 'p')}/assessment"
    path = zipped(tmp_path / "c.imscc", {
        "imsmanifest.xml": manifest((kind, "quiz/one.xml"), schema="IMS Common Cartridge",
                                    version=f"{version}.0"),
        "quiz/one.xml": text, "img/a.svg": '<svg xmlns="http://www.w3.org/2000/svg"/>',
    })  # fmt: skip
    with open_bank(path) as bank:
        (found,) = bank
        assert bank.format == f"cartridge-{version}"
    assert isinstance(found.item.stem[1], Image)
    assert found.item.parts[0].points == 1.0
