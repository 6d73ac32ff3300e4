"""Orders and matchings in every format: written, judged, read back, graded, refused when broken.

What credit they earn is what the item says: all of the points for the key, with partial credit a
share for each entry in its place and each right pair, nothing for pairing all with all.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.converting import convert
from qbank.errors import CheckFailed
from qbank.formats.arranging import shown_entries
from qbank.formats.foreign.bank import open_bank
from qbank.formats.readback import read_items
from qbank.formats.registry import FORMATS
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Choice, Matching, Option, Ordering, Pool
from qbank.scoring.bank import find_item
from tests.formats.arranged import MATCH, ORDER, alone, arranged_bank
from tests.formats.packages import change, swap

EVERY = [name for name in FORMATS if name != "cartridge-1.3"]
QTI = ["qti-2.1", "qti-2.2", "qti-3.0"]
ONE = BankInfo("b", "b", "en", (Pool("p", "p", 1, 1),))
PAIRS = [f"{s.identifier} {t.identifier}" for s, t in product(MATCH.sources, MATCH.targets)]


@pytest.mark.parametrize("name", EVERY)
def test_orders_and_matchings_come_back(tmp_path, name):
    info, items = arranged_bank()
    write_bank(info, items, tmp_path / "b", name, unpacked=True)
    assert validate_package(tmp_path / "b") == []
    back = list(read_items(tmp_path / "b"))
    for item, read in zip(items, back, strict=True):
        assert read.parts[: 2 if item.identifier != "match" else 1] == item.parts[:2]


# ---------------------------------------------------------------------------- grading


@pytest.fixture(params=[*QTI, "qti-1.2"])
def graded(request, tmp_path):
    def score_of(part):
        item = alone(part)
        write_bank(ONE, [item], tmp_path / "b.zip", request.param)
        form = find_item(tmp_path / "b.zip", item.identifier)

        def score(answer):
            given = as_responses(form, part, answer)
            found = form.score(given)
            assert found.warnings == ()
            assert found.maximum == part.points
            return found.score, sorted(f.text for f in found.feedback)

        return score

    return score_of


def as_responses(form, part, answer):
    """Pairs as one response, or as one for each source where the form has it so."""
    (first, *others) = form.responses
    if isinstance(part, Ordering) or not others:
        return {first: answer or ""}
    given = dict.fromkeys(form.responses, "")
    for pair in answer:
        source, target = pair.split()
        given[f"RESPONSE_{part.identifier}.{source}"] = target
    return given


@pytest.mark.parametrize("partial", [False, True])
def test_every_order_earns_its_places(graded, partial):
    part = replace(ORDER, partial=partial)
    score = graded(part)
    right = [entry.identifier for entry in part.entries]
    for order in permutations(right):
        places = sum(a == b for a, b in zip(order, right, strict=True))
        expected = part.points * places / 4 if partial else part.points * (places == 4)
        assert score(list(order))[0] == pytest.approx(expected, abs=1e-12), order
    assert score(right)[0] == part.points
    assert score([])[0] == 0
    # who stops after two entries has put two in their places
    assert score(right[:2])[0] == (part.points / 2 if partial else 0)


@pytest.mark.parametrize("partial", [False, True])
def test_every_matching_earns_its_pairs(graded, partial):
    part = replace(MATCH, partial=partial)
    score = graded(part)
    right = dict(part.pairs)
    targets = [target.identifier for target in part.targets]
    for chosen in product(targets, repeat=3):
        answer = dict(zip(right, chosen, strict=True))
        hits = sum(answer[source] == right[source] for source in right)
        expected = part.points * hits / 3 if partial else part.points * (hits == 3)
        got = score([f"{s} {t}" for s, t in answer.items()])[0]
        assert got == pytest.approx(expected, abs=1e-12), answer
    assert score([f"{s} {t}" for s, t in right.items()])[0] == part.points
    assert score([])[0] == 0
    assert score(["S1 T2"])[0] == pytest.approx(part.points / 3 if partial else 0)


@pytest.mark.parametrize("name", QTI)
@pytest.mark.parametrize("partial", [False, True])
def test_pairing_all_with_all_earns_nothing(tmp_path, name, partial):
    item = alone(replace(MATCH, partial=partial))
    write_bank(ONE, [item], tmp_path / "b.zip", name)
    form = find_item(tmp_path / "b.zip", item.identifier)
    assert form.score({"RESPONSE_m": PAIRS}).score == 0


def test_feedback_is_for_who_went_wrong(graded):
    score = graded(ORDER)
    assert score(["E3", "E1", "E4", "E2"])[1] == []
    assert score(["E1", "E3", "E4", "E2"])[1] == ["First of all."]
    assert score(["E2", "E1", "E4", "E3"])[1] == ["First of all.", "That ends it."]
    assert score([])[1] == []
    score = graded(MATCH)
    assert score(["S1 T2", "S2 T1", "S3 T1"])[1] == []
    assert score(["S1 T1", "S2 T1", "S3 T1"])[1] == ["P is not that.", "That gives the speed."]
    assert score(["S1 T2", "S2 T3", "S3 T3"])[1] == ["The weight is missing."]
    assert score([])[1] == []


# ---------------------------------------------------------------------------- what is shown

names = st.lists(st.from_regex(r"[A-Z][0-9]{1,3}", fullmatch=True), min_size=2, max_size=9,
                 unique=True)  # fmt: skip


@given(names)
def test_entries_are_never_shown_in_the_right_order(identifiers):
    entries = tuple(Option(name, (name,), False) for name in identifiers)
    part = replace(ORDER, entries=entries)
    shown = shown_entries(part)
    assert shown != entries
    assert sorted(shown, key=identifiers_of) == sorted(entries, key=identifiers_of)
    # what is shown hangs on the names alone: turning the right order round moves little
    again = shown_entries(replace(part, entries=entries[::-1]))
    assert sorted(shown, key=identifiers_of) == sorted(again, key=identifiers_of)


def identifiers_of(option):
    return option.identifier


# ---------------------------------------------------------------------------- the cartridge


def test_a_cartridge_asks_choices_instead_and_counts_them(tmp_path):
    info, items = arranged_bank()
    report = write_bank(info, items, tmp_path / "b", "cartridge-1.3", unpacked=True)
    assert validate_package(tmp_path / "b") == []
    assert "7 matchings became 21 multiple choices" in " ".join(report.notes)
    assert "5 orders became multiple choice among whole orders" in " ".join(report.notes)
    back = {item.identifier: item for item in read_items(tmp_path / "b")}
    part = back["match_2"].parts[0]
    assert isinstance(part, Choice)
    assert [o.identifier for o in part.options if o.correct] == ["T1"]
    assert part.options[2].feedback == ("The weight is missing.",)
    assert part.options[0].feedback == ()  # it is right here
    assert form_score(tmp_path / "b", "match_2", "T1") == 100


def form_score(path, item, answer):
    return find_item(path, item).score({"RESPONSE": answer}).score


def test_the_choice_among_orders_holds_the_right_one(tmp_path):
    write_bank(ONE, [alone(ORDER)], tmp_path / "b", "cartridge-1.3", unpacked=True)
    (item,) = read_items(tmp_path / "b")
    (part,) = item.parts
    said = "".join(p if isinstance(p, str) else p.plain for p in part.prompt)
    letter_of = {}
    for entry in ORDER.entries:
        text = "".join(p if isinstance(p, str) else p.plain for p in entry.content)
        letter_of[entry.identifier] = said[said.index(text) - 3]
    right = " – ".join(letter_of[entry.identifier] for entry in ORDER.entries)
    assert [o.content for o in part.options if o.correct] == [(right,)]
    assert len({o.content for o in part.options}) == len(part.options) == 4
    two = replace(ORDER, entries=ORDER.entries[:2])
    write_bank(ONE, [alone(two)], tmp_path / "c", "cartridge-1.3", unpacked=True)
    (item,) = read_items(tmp_path / "c")
    assert len(item.parts[0].options) == 2


# ---------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (replace(ORDER, entries=ORDER.entries[:1]), "1 entries"),
        (replace(ORDER, entries=ORDER.entries[:1] * 2), "with 1 names"),
        (replace(MATCH, targets=MATCH.targets[:1]), "1 targets"),
        (replace(MATCH, pairs=MATCH.pairs[:2]), "each source one target"),
        (replace(MATCH, pairs=(*MATCH.pairs, ("S1", "T1"))), "each source one target"),
        (replace(MATCH, pairs=(*MATCH.pairs[:2], ("S3", "T9"))), "each source one target"),
    ],
)
@pytest.mark.parametrize("name", FORMATS)
def test_what_cannot_be_answered_is_refused(tmp_path, part, said, name):
    with pytest.raises(CheckFailed, match=said):
        write_bank(ONE, [alone(part)], tmp_path / "b.zip", name)


BROKEN = [
    ("order", "<value>E4</value>", "<value>E9</value>", "key.option"),
    ("order", 'cardinality="ordered"', 'cardinality="multiple"', "choice.cardinality"),
    ("order", 'identifier="E1">', 'identifier="E2">', "option.unique"),
    ("order", ">0.5</", ">0.25</", "score.shares"),
    ("match", "<value>S1 T2</value>", "<value>T2 S1</value>", "key.option"),
    ("match", "<value>S3 T1</value>", "<value>S2 T1</value>", "key.unique"),
    ("match", 'identifier="T4"', 'identifier="S1"', "option.unique"),
    ("match", ' matchMax="0"', "", "qti-2.1:simpleAssociableChoice"),
    ("match", "<value>S1 T2</value>", "<value>S1</value>", "qti-2.1:responseDeclaration"),
]


@pytest.mark.parametrize(("kind", "old", "new", "rule"), BROKEN)
def test_a_broken_package_is_caught_by_the_rule(tmp_path, kind, old, new, rule):
    part = replace(ORDER if kind == "order" else MATCH, partial=True)
    write_bank(ONE, [alone(part)], tmp_path / "b", "qti-2.1", unpacked=True)
    change(tmp_path / "b", "items/p/alone.xml", swap(old, new))
    assert rule in {finding.rule for finding in validate_package(tmp_path / "b")}


def test_entries_in_the_right_order_are_caught(tmp_path):
    write_bank(ONE, [alone(ORDER)], tmp_path / "b", "qti-2.1", unpacked=True)
    path = tmp_path / "b" / "items" / "p" / "alone.xml"
    text = path.read_text(encoding="utf-8")
    choices = re.findall(r"<simpleChoice .*?</simpleChoice>\n", text)
    place = {entry.identifier: n for n, entry in enumerate(ORDER.entries)}
    choices.sort(key=lambda c: place[re.search('identifier="(E.)"', c)[1]])
    start, end = text.index("<simpleChoice"), text.index("</orderInteraction>")
    path.write_text(text[:start] + "".join(choices) + text[end:], encoding="utf-8")
    assert {f.rule for f in validate_package(tmp_path / "b")} == {"order.told"}


# ---------------------------------------------------------------------------- conversion


@pytest.mark.parametrize("name", EVERY)
def test_conversion_loses_nothing_of_them(tmp_path, name):
    info, items = arranged_bank()
    write_bank(info, items, tmp_path / "b", name, unpacked=True)
    report = convert(tmp_path / "b", "jsonl", tmp_path / "out", unpacked=True)
    assert report.unsaid == report.left_out == report.unreadable == report.package.notes == ()
    assert {loss.code for loss in report.losses} <= {"test", "reference"}
    back = read_items(report.package.path)
    for item, read in zip(items, back, strict=True):
        assert [p for p in read.parts if isinstance(p, Ordering | Matching)] == [
            p for p in item.parts if isinstance(p, Ordering | Matching)
        ]


def test_conversion_to_a_cartridge_says_what_became_of_them(tmp_path):
    info, items = arranged_bank()
    write_bank(info, items, tmp_path / "b", "qti-2.1", unpacked=True)
    report = convert(tmp_path / "b", "cartridge-1.3", tmp_path / "out")
    unsaid = {one.kind: len(one.items) for one in report.unsaid}
    assert unsaid["arranging"] == len(items)
    assert any("7 matchings became 21 multiple choices" in note for note in report.package.notes)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('<varequal respident="RESPONSE_m.S1" case="Yes">T2</varequal>', "<other/>"),
        ("<fieldentry>whole</fieldentry>", "<fieldentry>who</fieldentry>"),
        (">1</setvar>", ">one</setvar>"),
        ('linkrefid="FEEDBACK_m.S1"', 'linkrefid="FEEDBACK_m.S9"'),
    ],
)
def test_a_matching_of_ours_that_was_edited_is_read_or_told(tmp_path, old, new):
    write_bank(ONE, [alone(MATCH)], tmp_path / "b", "qti-1.2", unpacked=True)
    (member,) = (tmp_path / "b").glob("*alone*.xml")
    change(tmp_path / "b", member.name, swap(old, new))
    with open_bank(tmp_path / "b") as reading:
        (read,) = reading
    found = [part for part in read.item.parts if isinstance(part, Matching)]
    assert found or "interaction" in {loss.code for loss in read.losses}
