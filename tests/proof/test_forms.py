"""Forms for paper, answer sheets and marking guides."""

from __future__ import annotations

from dataclasses import replace

import pytest

import qbank
from qbank.item import (
    Choice,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Tolerance,
)
from qbank.proof.asked import entries_mixed, letter, shuffled
from qbank.proof.forms import arrange
from qbank.proof.keyed import order_text, pairs_text
from qbank.proof.pools import pool_keys
from qbank.proof.sheets import answer_sheets, marking_guides, question_sheets
from tests.proof.reading import expected_inline, nesting_faults, text_of, tree


def options(*texts: str, right: int = 0) -> tuple[Option, ...]:
    return tuple(
        Option(f"C{k}", (text,), k - 1 == right, slip=None if k - 1 == right else f"slip-{k}")
        for k, text in enumerate(texts, 1)
    )


STEPS = options("open the sluice", "fill the lock", "open the gate", "leave the lock")
LOCKS = options("lock", "weir", "quay")
USES = options("lifts boats", "holds water back", "lands boats", "dries nets")


def lock_item(number: int = 1, volume: int = 300) -> Item:
    """One question about a canal lock, with every kind of part."""
    return Item(
        identifier=f"lock-{number}",
        title="A canal lock",
        language="en",
        stem=(Paragraph((f"A lock holds {volume} m³ of water.",)),),
        parts=(
            NumberEntry(
                "R1", ("Mass of the water?",), volume * 1e3, str(volume * 1000),
                f"{volume} 000 kg", "kg", Tolerance(volume * 990.0, volume * 1010.0, "1 %"), 2.0, 3,
            ),
            Choice("R2", ("Which way does it flow?",), options("down", "up", "not at all"), 1.0),
            Choice("R3", ("Mark all.",), options("wet", "dry"), 1.0, multiple=True, shuffle=False),
            Ordering("R4", ("Put in order.",), STEPS, 1.5, partial=True),
            Matching(
                "R5", ("What is it for?",), LOCKS, USES,
                (("C1", "C1"), ("C2", "C2"), ("C3", "C3")), 1.0,
            ),
        ),
    )  # fmt: skip


def test_siblings_are_told_by_wording_without_numbers():
    first, other = lock_item(1, 300), lock_item(2, 450)
    changed = replace(other, stem=(Paragraph(("A weir holds 450 m³ of water.",)),))
    keys = list(pool_keys([first, other, changed]))
    assert keys[0] == keys[1] != keys[2]


def test_each_form_takes_the_next_sibling():
    forms = arrange([lock_item(k, 300 + k) for k in range(3)], 3)
    assert [form.letter for form in forms] == ["A", "B", "C"]
    assert [form.questions[0].item.identifier for form in forms] == ["lock-0", "lock-1", "lock-2"]
    assert all(form.points == 6.5 for form in forms)


def test_without_siblings_the_options_are_in_another_order():
    forms = arrange([lock_item()], 6)
    orders = [tuple(o.identifier for o in f.questions[0].parts[1].options) for f in forms]
    assert orders[0] == ("C1", "C2", "C3")
    assert len(set(orders)) > 1
    assert all(sorted(order) == ["C1", "C2", "C3"] for order in orders)
    fixed = [tuple(o.identifier for o in f.questions[0].parts[2].options) for f in forms]
    assert set(fixed) == {("C1", "C2")}  # an author's fixed order is kept
    assert arrange([lock_item()], 6) == forms


def test_entries_are_never_shown_in_their_right_order():
    part = lock_item().parts[3]
    assert isinstance(part, Ordering)
    for salt in range(200):
        mixed = entries_mixed(part, str(salt))
        assert mixed != part.entries
        assert sorted(e.identifier for e in mixed) == sorted(e.identifier for e in part.entries)
        # the key, in the letters shown, leads back to the right order
        letters = {letter(k): entry for k, entry in enumerate(mixed)}
        assert tuple(letters[mark] for mark in order_text(part, mixed).split()) == part.entries


def test_pairs_are_keyed_in_the_letters_shown():
    part = lock_item().parts[4]
    assert isinstance(part, Matching)
    shown = shuffled(part.targets, "B")
    letters = {letter(k): target.identifier for k, target in enumerate(shown)}
    pairs = [pair.split("–") for pair in pairs_text(part, shown).split(", ")]
    told = {(part.sources[int(s) - 1].identifier, letters[t]) for s, t in pairs}
    assert told == set(part.pairs)


@pytest.mark.parametrize("count", [0, 27])
def test_a_form_has_a_letter(count):
    with pytest.raises(ValueError, match="from 1 to 26"):
        arrange([lock_item()], count)


# ---------------------------------------------------------------------------- sheets


def test_marking_guides_key_the_letters_of_their_question_sheet():
    forms = arrange([lock_item()], 5)
    questions = tree("".join(question_sheets("Locks", forms))).xpath("//section")
    guides = tree("".join(marking_guides("Locks", forms))).xpath("//section")
    assert len(questions) == len(guides) == 5
    keyed = set()
    for question, guide in zip(questions, guides, strict=True):
        assert question.get("class") == guide.get("class")
        listed = question.xpath('(.//li[@class="sheet-part"])[2]//li')
        shown = {text_of(line)[0]: text_of(line)[1:] for line in listed}
        (row,) = guide.xpath('.//tr[th="1.2"]')
        mark = row.xpath('.//span[@class="letter"]')[0].text_content()
        assert shown[mark] == "down"
        keyed.add(mark)
        slips = guide.xpath('.//tr[th="1.2"]/following-sibling::tr')[0].text_content()
        for other, text in shown.items():
            if other != mark:
                slip = {"up": "slip-2", "notatall": "slip-3"}[text]
                assert f"{other} ({slip})" in slips
    assert len(keyed) > 1


def test_marking_guides_state_bands_and_points():
    html = "".join(marking_guides("Locks", arrange([lock_item()], 1)))
    assert nesting_faults(html) == []
    (row,) = tree(html).xpath('//tr[th="1.1"]')
    cells = [cell.text_content() for cell in row]
    assert cells == ["1.1", "300 000 kg", "297000 to 303000 kg (1 %)", "2"]
    earned = tree(html).xpath('//tbody[@class="together"]/tr[1]/td[last()]/text()')
    assert sum(map(float, earned)) == 6.5
    assert tree(html).xpath("//tr[last()]/td/text()")[-1] == "6.5"


def test_one_answer_sheet_where_all_forms_are_answered_alike():
    forms = arrange([lock_item()], 3)
    html = "".join(answer_sheets("Locks", forms))
    (sheet,) = tree(html).xpath("//section")
    assert [b.text_content() for b in sheet.xpath('.//p[@class="which"]/span')] == ["A", "B", "C"]
    rows = sheet.xpath(".//tbody/tr")
    assert [row[0].text_content() for row in rows] == ["1.1", "1.2", "1.3", "1.4", "1.5"]
    assert text_of(rows[0][1]) == "kg"
    assert [b.text_content() for b in rows[1].xpath('.//span[@class="box"]')] == ["a", "b", "c"]
    assert len(rows[3].xpath('.//span[@class="box"]')) == len(STEPS)
    assert len(rows[4].xpath('.//span[@class="box"]')) == len(LOCKS)
    # the answers are nowhere on it
    assert "300" not in sheet.text_content()


def test_an_answer_sheet_each_where_they_differ():
    short = lock_item(2, 450)
    fewer = replace(short.parts[1], options=options("down", "up"))
    short = replace(short, parts=(short.parts[0], fewer, *short.parts[2:]))
    sheets = tree("".join(answer_sheets("Locks", arrange([lock_item(), short], 2))))
    assert [s.get("class") for s in sheets.xpath("//section")] == ["form form-A", "form form-B"]


def test_question_sheets_hold_all_that_is_asked_and_no_key():
    family = qbank.load_family(qbank.find_family("stepped-drum"))
    (instances,) = qbank.generate(family, count=2)
    items = list(qbank.Renderer(family).items(instances))
    sheets = tree("".join(question_sheets("Drum", arrange(items, 2)))).xpath("//section")
    for sheet, item in zip(sheets, items, strict=True):
        shown = text_of(sheet)
        for part in item.parts:
            assert expected_inline(part.prompt) in shown
            if isinstance(part, NumberEntry):
                assert part.key_shown.replace(" ", "") not in shown
            if isinstance(part, Choice):
                for option in part.options:
                    assert expected_inline(option.content) in shown
        assert item.caution.replace(" ", "") in shown
        assert not sheet.xpath(".//input|.//select|.//details[not(@class='seen')]")


def test_a_question_of_a_bank_is_numbered_by_its_pool():
    other = replace(lock_item(9), identifier="weir", title="A weir")
    forms = arrange([lock_item(1, 300), other, lock_item(2, 400)], 2)
    assert [[q.item.identifier for q in f.questions] for f in forms] == [
        ["lock-1", "weir"],
        ["lock-2", "weir"],
    ]
