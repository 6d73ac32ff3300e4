"""Asking to put steps in order and to match texts: what families say of it, and what items get."""

from __future__ import annotations

import pytest

import qbank
from qbank.errors import FamilyError
from qbank.family.loader import read_family
from qbank.family.model import Family, FormulaField, Match, PutInOrder
from qbank.item import Matching, Ordering
from qbank.rendering.arranged import permutation
from qbank.rendering.renderer import Renderer

OWN = """\
family: sled
title: A sled is pulled
subject: mechanics
level: school
version: 1.0.0
licence: CC-BY-4.0
language: en
objectives: [use the law of motion]
given:
  m: {name: mass, draw: 1 .. 40 by 1 kg}
  F: {name: force, draw: 1 .. 400 by 1 N}
find:
  a: {name: acceleration, unit: m/s^2, figures: 3}
  W: {name: work over 2 m, unit: J, figures: 3}
laws:
  motion: m*a = F
  work: W = F*(2 m)
slips:
  doubled: {replace: {motion: m*a = 2*F}, says: Count the force once.}
  again: {replace: {motion: 2*F = m*a}, says: Count the force once only.}
  right: {replace: {work: W = F*(2 m)/2}, says: Nothing is shared.}
  other: {change: {m: 2*m}, says: There is one sled.}
ask:
  - {enter: a}
  - order: ["Draw the force {F}.", "Write {law motion}.", Solve for a.]
    points: 3
    partial: yes
  - match: {the sled: "{law motion}", the work of the rope: "{law work}"}
    spare: [doubled, again]
text:
  stem: "A sled of {m} is pulled with {F}."
"""
GERMAN = """\
languages:
  de:
    title: Ein Schlitten
    objectives: [die Bewegungsgleichung anwenden]
    names: {m: Masse, F: Kraft, a: Beschleunigung, W: Arbeit auf 2 m}
    slips: {doubled: Nur einmal., again: Wirklich nur einmal., right: Nein., other: Ein Schlitten.}
    ask:
      - {}
      - order: ["Zeichne die Kraft {F}.", "Schreibe {law motion}.", Löse nach a auf.]
      - match: {der Schlitten: "{law motion}", die Arbeit des Seils: "{law work}"}
    text:
      stem: "Ein Schlitten von {m} wird mit {F} gezogen."
"""


def items(family: Family, count: int = 40):
    renderer = Renderer(family)
    return [
        item
        for chunk in qbank.generate(family, count=count, seed=3)
        for item in renderer.items(chunk)
    ]


def test_what_the_file_says_is_read() -> None:
    _, order, match = read_family(OWN, "sled.yaml").ask
    assert isinstance(order, PutInOrder)
    assert (len(order.entries), order.points, order.partial) == (3, 3.0, True)
    assert order.entries[2] == ("Solve for a.",)
    assert isinstance(match, Match)
    assert match.pairs[0] == (("the sled",), (FormulaField("law", "motion", False),))
    assert (match.spare, match.points, match.partial) == (("doubled", "again"), 1.0, False)


def plain(content) -> str:
    return "".join(piece if isinstance(piece, str) else piece.plain for piece in content)


def test_items_have_the_order_and_show_another() -> None:
    shown = set()
    for item in items(read_family(OWN, "sled.yaml")):
        part = item.parts[1]
        assert isinstance(part, Ordering)
        assert part.partial
        assert part.points == 3
        said = [plain(entry.content) for entry in part.entries]
        assert said[0].startswith("Draw the force ")
        assert said[1:] == ["Write m·a = F.", "Solve for a."]
        names = [entry.identifier for entry in part.entries]
        assert sorted(names) == ["E1", "E2", "E3"]
        assert names != sorted(names)  # by their names they would stand in the right order
        shown.add(tuple(names))
    assert len(shown) == 5  # every order but the right one comes up


def test_items_match_texts_and_offer_what_slips_write() -> None:
    places = set()
    for item in items(read_family(OWN, "sled.yaml")):
        part = item.parts[2]
        assert isinstance(part, Matching)
        assert [plain(s.content) for s in part.sources] == ["the sled", "the work of the rope"]
        text = {target.identifier: plain(target.content) for target in part.targets}
        assert [text[target] for _, target in part.pairs] == ["m·a = F", "W = F·(2 m)"]
        spare = [target for target in part.targets if target.slip]
        assert {(target.slip, plain(target.feedback)) for target in spare} == {
            ("doubled", "Count the force once."),
            ("again", "Count the force once only."),
        }
        assert list(text) == ["T1", "T2", "T3", "T4"]
        places.add(tuple(target for _, target in part.pairs))
    assert len(places) > 6  # where the right ones stand hangs on the item


def test_the_same_item_is_mixed_the_same_each_time() -> None:
    family = read_family(OWN, "sled.yaml")
    assert items(family) == items(family)


def test_targets_that_read_the_same_are_one() -> None:
    text = OWN.replace("2*F = m*a", "m*a = 2*F")
    part = items(read_family(text, "sled.yaml"), 1)[0].parts[2]
    assert isinstance(part, Matching)
    assert len(part.targets) == 3
    assert [target.slip for target in part.targets if target.slip] == ["doubled"]
    text = OWN.replace("the work of the rope:", 'the rope: "{law motion}", the work of the rope:')
    part = items(read_family(text, "sled.yaml"), 1)[0].parts[2]
    assert isinstance(part, Matching)
    pairs = dict(part.pairs)
    assert len(part.sources) == 3
    assert pairs["S1"] == pairs["S2"] != pairs["S3"]


def test_both_are_said_in_another_language() -> None:
    own = items(read_family(OWN + GERMAN, "sled.yaml"), 5)
    told = items(read_family(OWN + GERMAN, "sled.yaml", "de"), 5)
    for one, other in zip(own, told, strict=True):
        assert plain(other.parts[1].prompt).startswith("Bringen Sie")
        assert plain(other.parts[2].prompt).startswith("Ordnen Sie")
        assert plain(other.parts[1].entries[2].content) == "Löse nach a auf."
        assert plain(other.parts[2].sources[0].content) == "der Schlitten"
        assert [e.identifier for e in one.parts[1].entries] == [
            e.identifier for e in other.parts[1].entries
        ]
        assert one.parts[2].pairs == other.parts[2].pairs


@pytest.mark.parametrize("count", range(1, 7))
def test_permutations_come_once_each_and_in_place_at_first(count) -> None:
    size = 1
    for n in range(1, count + 1):
        size *= n
    found = [tuple(permutation(count, place)) for place in range(size)]
    assert len(set(found)) == size
    assert found[0] == tuple(range(count))
    assert found == sorted(found)


BAD = [
    ('["Draw the force {F}.", "Write {law motion}.", Solve for a.]', "[Solve for a.]", "two at"),
    ("Solve for a.]", '"Draw  the force {F}."]', "stands twice, so the order cannot be told"),
    ("Solve for a.]", '"Solve for {a}."]', "step 3"),
    ("Solve for a.]", "[a]]", "holds text or a list of texts, found a list of 1"),
    ("Solve for a.]", '"{table m}"]', ""),
    ("spare: [doubled, again]", "spare: double", "there is no slip 'double'"),
    ("spare: [doubled, again]", "spare: other", "replaces no law"),
    ("{enter: a}", "{enter: a, partial: yes}", "only beside 'order' or 'match'"),
    ("{enter: a}", "{enter: a, spare: doubled}", "has a meaning only beside 'match'"),
    ("partial: yes", "partial: some", "expected yes or no"),
    ('the work of the rope: "{law work}"', 'rope: "{law motion}"', "two different targets"),
    ('"{law work}"}', '"{W}"}', "target 2"),
    ('"{law work}"}', "[W]}", "expected text, found a list of 1"),
    ('"{law work}"}', '"{law walk}"}', "walk"),
]


@pytest.mark.parametrize(("old", "new", "said"), BAD)
def test_what_cannot_be_asked_is_refused_with_place_and_mend(old, new, said) -> None:
    assert old in OWN
    with pytest.raises(FamilyError) as caught:
        read_family(OWN.replace(old, new, 1), "sled.yaml")
    assert said in str(caught.value)
    assert str(caught.value).startswith("sled.yaml:")
    assert caught.value.hint


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (", Löse nach a auf.]", "]", "expected 3 entries of 'order', found 2"),
        ('      - order: ["Z', "      - {}\n#", "the key 'order' is missing"),
        (', die Arbeit des Seils: "{law work}"}', "}", "expected 2 entries of 'match', found 1"),
        ("      - {}\n", "      - {order: [a, b]}\n", "the family has no 'order' here"),
        ("Löse nach a auf.", '"Zeichne die Kraft {F}."', "stands twice"),
    ],
)
def test_a_translation_of_them_that_does_not_fit_is_refused(old, new, said) -> None:
    assert old in GERMAN
    with pytest.raises(FamilyError) as caught:
        read_family(OWN + GERMAN.replace(old, new, 1), "sled.yaml", "de")
    assert said in str(caught.value)
