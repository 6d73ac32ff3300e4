"""Items that name their instance: keys, options, stems, and what is left for other levels."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest

from qbank.audit import same_family
from qbank.audit.question import Question
from qbank.audit.reading.quantities import read_quantities
from qbank.audit.reading.questions import questions_of
from qbank.audit.reading.text import inline_text
from qbank.audit.same_family import judge_same_family
from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.expressions.units import parse_unit
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family, read_family
from qbank.finding import Severity
from qbank.formats.source import ReadItem
from qbank.generation import Generator
from qbank.item import Item, Matching
from qbank.place import Place
from qbank.rendering.renderer import Renderer

N = 30


@cache
def items(name: str, n: int = N, seed: int = 4, start: int = 0) -> tuple[Item, ...]:
    family = load_family(find_family(name))
    renderer = Renderer(family)
    made = Generator(family).generate(n, seed, start)
    return tuple(item for instances in made for item in renderer.items(instances))


def bank(*banks: tuple[Item, ...]) -> list[Question]:
    """The items of all banks as questions, as if they had been read."""
    whole = [item for one in banks for item in one]
    return list(questions_of(ReadItem(item, Place("b", k, 1)) for k, item in enumerate(whole, 1)))


def verdicts(questions: list[Question]) -> list[Judgement]:
    judged, left = judge_same_family(questions)
    assert not left
    assert [(j.item, j.part) for j in judged] == [(q.item, q.part) for q in questions]
    return judged


def changed(
    questions: list[Question], at: int, change: Callable[[Question], Question]
) -> list[Question]:
    return [*questions[:at], change(questions[at]), *questions[at + 1 :]]


def numeric(questions: list[Question], skip: int = 0) -> int:
    """The position of a question for a number."""
    return [i for i, q in enumerate(questions) if not q.options][skip]


@pytest.mark.parametrize("path", shipped_families(), ids=lambda path: path.stem)
def test_untouched_items_are_right(path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """By their keys and bands alone, and by solving again."""
    name = str(path).rpartition("/")[2].removesuffix(".yaml")
    questions = bank(items(name))
    judged = verdicts(questions)
    assert {(j.verdict, j.level, j.severity) for j in judged} == {
        (Verdict.RIGHT, Level.SAME_FAMILY, None)
    }
    monkeypatch.setattr(same_family._Batch, "_untouched", lambda *_: [])
    for one, other in zip(judged, verdicts(questions), strict=True):
        assert one.value == pytest.approx(other.value, rel=1e-12, nan_ok=True)
        assert replace(one, value=0.0, low=0.0, high=0.0) == replace(
            other, value=0.0, low=0.0, high=0.0
        )


def test_a_mixed_bank_in_any_order() -> None:
    questions = bank(
        items("thin-lens", 5, 7, 1000), items("stepped-drum", 8), items("thin-lens", 5, 7)
    )
    mixed = [questions[i] for i in np.random.default_rng(1).permutation(len(questions))]
    told: list[int] = []
    judged, left = judge_same_family(mixed, progress=told.append)
    assert not left
    assert sum(told) == len(mixed) == len(judged)
    assert {j.verdict for j in judged} == {Verdict.RIGHT}


def test_changed_keys_are_found_with_cause_and_correction() -> None:
    questions = bank(items("stepped-drum"))
    at = numeric(questions, 4)
    old = questions[at]
    wrong = changed(questions, at, lambda q: replace(q, key=-q.key, key_text=f"-{q.key_text}"))
    judged = verdicts(wrong)
    (found,) = [j for j in judged if j.verdict is not Verdict.RIGHT]
    assert (found.item, found.part) == (old.item, old.part)
    assert (found.verdict, found.code, found.severity) == (Verdict.WRONG, "sign", Severity.ERROR)
    assert found.proved
    assert (found.low, found.high) == (old.low, old.high)
    assert found.value == pytest.approx(old.key, rel=0.005)
    assert "m_a = " in found.how


def test_a_key_a_little_off_is_said_to_be_changed() -> None:
    questions = bank(items("stepped-drum"))
    at = numeric(questions, 2)

    def nudge(q: Question) -> Question:
        place = 10.0 ** -len(q.key_text.partition(".")[2])
        text = f"{q.key + 2 * place:.{len(q.key_text.partition('.')[2])}f}"
        key = float(text)
        return replace(q, key=key, key_text=text, low=min(q.low, key), high=max(q.high, key))

    found = verdicts(changed(questions, at, nudge))[at]
    assert found.verdict in (Verdict.ROUNDED, Verdict.OTHER_CONSTANT)
    assert found.severity is Severity.WARNING
    assert "changed after the item was made" in found.how


def test_parts_in_each_others_place() -> None:
    questions = bank(items("stepped-drum"))
    one = next(i for i, q in enumerate(questions) if q.part == "R2")
    other = one + 1
    a, b = questions[one], questions[other]
    assert b.part == "R3"
    keys = ("key", "key_text", "low", "high")
    swapped = list(questions)
    swapped[one] = replace(a, **{k: getattr(b, k) for k in keys})
    swapped[other] = replace(b, **{k: getattr(a, k) for k in keys})
    judged = [j for j in verdicts(swapped) if j.verdict is Verdict.WRONG]
    assert [j.code for j in judged] == ["parts-swapped"] * 2


@pytest.mark.parametrize("part", ["R1", "R5", "R6"])
def test_another_option_keyed(part: str) -> None:
    """A word, a law and statements: which options should be keyed is said."""
    questions = bank(items("stepped-drum"))
    at = next(i for i, q in enumerate(questions) if q.part == part)
    right = tuple(option.identifier for option in questions[at].options if option.keyed)
    moved = next(option.identifier for option in questions[at].options if not option.keyed)

    def key(q: Question) -> Question:
        options = tuple(replace(o, keyed=o.identifier == moved) for o in q.options)
        return replace(q, options=options, key_text="?")

    found = verdicts(changed(questions, at, key))[at]
    assert (found.verdict, found.correct) == (Verdict.WRONG, right)
    assert found.expected
    if part == "R5":
        assert found.code.startswith("slip:")


def edited(questions: list[Question], symbol: str, value: str) -> list[Question]:
    """All questions of the first item with another number in the stem, as a reader finds it."""
    first = questions[0].item
    out = []
    for q in questions:
        if q.item != first:
            out.append(q)
            continue
        quantities = []
        for quantity in q.quantities:
            if quantity.symbol == symbol:
                number = Fraction(value)
                quantities.append(replace(quantity, text=value, value=number))
            else:
                quantities.append(quantity)
        stem = re.sub(rf"({symbol} = )[\d.]+", rf"\g<1>{value}", q.stem)
        out.append(replace(q, stem=stem, quantities=tuple(quantities)))
    return out


def test_an_edited_stem_is_judged_by_the_numbers_that_stand_there() -> None:
    questions = bank(items("stepped-drum", 4))
    symbols = {quantity.symbol for quantity in questions[0].quantities}
    assert "m_a" in symbols
    other = edited(questions, "m_a", "1.3")
    judged, left = judge_same_family(other)
    first = [j for j in judged if j.item == questions[0].item]
    assert first
    assert all(j.level is Level.BOUND for j in first)
    assert all("edited after" in j.how for j in first)
    assert any(j.verdict is Verdict.WRONG for j in first)
    rest = [j for j in judged if j.item != questions[0].item]
    assert {j.verdict for j in rest} == {Verdict.RIGHT}
    assert all(q.options for q in left)  # choices without numbers are for other levels


def test_a_stem_that_lost_a_number_is_left() -> None:
    questions = bank(items("stepped-drum", 3))
    first = questions[0].item
    bare = [
        replace(
            q,
            stem=re.sub(r"\br = [\d.]+", "r as shown", q.stem),
            quantities=tuple(x for x in q.quantities if x.symbol != "r"),
        )
        if q.item == first
        else q
        for q in questions
    ]
    judged, left = judge_same_family(bare)
    assert {q.item for q in left} == {first}
    assert first not in {j.item for j in judged}


def test_numbers_in_another_unit_are_the_same_numbers() -> None:
    questions = bank(items("stepped-drum", 3))
    metres = parse_unit("m")

    def convert(q: Question) -> Question:
        quantities = tuple(
            replace(x, value=x.value / 100, unit=metres)
            if x.unit is not None and x.unit.text == "cm"
            else x
            for x in q.quantities
        )
        return replace(q, quantities=quantities)

    assert {j.verdict for j in verdicts([convert(q) for q in questions])} == {Verdict.RIGHT}


def test_what_is_not_of_a_family_at_hand_is_left() -> None:
    questions = bank(items("stepped-drum", 2))
    claim = questions[0].provenance
    assert claim is not None
    strange = [
        replace(questions[0], provenance=None),
        replace(questions[1], provenance=replace(claim, digest="0" * 64)),
        replace(questions[2], provenance=replace(claim, index=-1)),
        replace(questions[3], provenance=replace(claim, index=2**80)),
        replace(questions[4], provenance=replace(claim, digest="1" * 64, family="../../etc/x")),
        replace(questions[5], provenance=replace(claim, index=2**55)),
    ]
    judged, left = judge_same_family(strange)
    assert judged == []
    assert left == strange


def test_a_family_of_the_user_is_found_by_its_digest() -> None:
    text = find_family("stepped-drum").read_text("utf-8")
    own = read_family(text.replace("family: stepped-drum", "family: my-drum"), "my-drum.yaml")
    renderer = Renderer(own)
    made = tuple(item for part in Generator(own).generate(3, 1) for item in renderer.items(part))
    questions = bank(made)
    assert judge_same_family(questions)[1] == questions
    judged, left = judge_same_family(questions, {own.digest: own})
    assert not left
    assert {(j.family, j.verdict) for j in judged} == {("my-drum", Verdict.RIGHT)}


def test_a_thousand_items_take_a_moment() -> None:
    """At least 2,000 items a second are aimed at; a busy machine is given five times as long."""
    questions = bank(items("stepped-drum", 1000))
    judge_same_family(questions[:6])
    start = time.perf_counter()
    judged = verdicts(questions)
    assert time.perf_counter() - start < 2.5
    assert {j.verdict for j in judged} == {Verdict.RIGHT}


def test_options_whose_texts_moved_under_their_letters() -> None:
    questions = bank(items("drop-on-spring", 3))
    at = next(
        i for i, q in enumerate(questions) if q.options and sum(o.keyed for o in q.options) == 1
    )
    own = questions[at].options
    texts = [option.text for option in (*own[1:], own[0])]
    moved = tuple(replace(o, text=text) for o, text in zip(own, texts, strict=True))
    found = verdicts(changed(questions, at, lambda q: replace(q, options=moved)))[at]
    right = next(option.text for option in own if option.keyed)
    assert (found.verdict, found.expected) == (Verdict.WRONG, right)
    assert found.correct == (next(option.identifier for option in moved if option.text == right),)


def test_a_key_beyond_the_band_of_its_instance_is_wrong_however_it_came_about() -> None:
    """As a number of two figures it may be right; the instance says that it was changed."""
    questions = bank(items("lift-work", 20))
    for at in [i for i, q in enumerate(questions) if not q.options]:
        key = questions[at].key
        coarse = float(f"{key:.1e}")
        if coarse < 10 or coarse % 10 or abs(coarse - key) < 0.015 * key:
            continue
        wrong = replace(questions[at], key=coarse, key_text=f"{coarse:.0f}",
                        low=0.999 * coarse, high=1.001 * coarse)  # fmt: skip
        found = verdicts(changed(questions, at, lambda _, w=wrong: w))[at]
        assert (found.verdict, found.severity) == (Verdict.WRONG, Severity.ERROR)
        return
    raise AssertionError("no key of the bank serves")


# ---------------------------------------------------------------------------- order and pairs


@pytest.mark.parametrize("name", ["melting-ice", "three-branches"])
def test_what_is_put_in_order_or_matched_is_held_against_the_instance(name: str) -> None:
    questions = bank(items(name, 4))
    at = next(i for i, q in enumerate(questions) if q.arranged)
    right = questions[at].arranged

    def judged(arranged: tuple[tuple[str, ...], ...]) -> list[Judgement]:
        own = changed(questions, at, lambda q: replace(q, arranged=arranged, key_text="other"))
        found = judge_same_family(own)[0]
        return [j for j in found if (j.number, j.part) == (own[at].number, own[at].part)]

    if len(right[0]) == 1:
        wrong = (right[1], right[0], *right[2:])
    else:  # the first two sources with each other's target
        wrong = ((right[0][0], right[1][1]), (right[1][0], right[0][1]), *right[2:])
    (found,) = judged(wrong)
    assert (found.verdict, found.code, found.severity) == (
        Verdict.WRONG, "wrong-order", Severity.ERROR,
    )  # fmt: skip
    assert found.states == "other"
    assert all(text.rstrip(".") in found.expected for entry in right for text in entry)
    assert found.family == name
    assert judged(right)[0].verdict is Verdict.RIGHT
    assert judged((("something else",) * len(right[0]), *right[1:])) == []


@pytest.mark.parametrize("target", ["twice", "spare"])
def test_a_pair_may_be_wrong_by_any_target_that_is_offered(target: str) -> None:
    made = items("three-branches", 2)
    questions = bank(made)
    at = next(i for i, q in enumerate(questions) if q.arranged)
    right = questions[at].arranged
    part = next(p for p in made[0].parts if p.identifier == questions[at].part)
    assert isinstance(part, Matching)
    targets = {inline_text(option.content) for option in part.targets}
    spare = sorted(targets - {pair[1] for pair in right})
    assert spare
    other = right[1][1] if target == "twice" else spare[0]
    wrong = ((right[0][0], other), *right[1:])
    judged, _ = judge_same_family(changed(questions, at, lambda q: replace(q, arranged=wrong)))
    found = next(j for j in judged if (j.number, j.part) == (0, part.identifier))
    assert (found.verdict, found.code) == (Verdict.WRONG, "wrong-order")


def test_an_order_under_an_edited_stem_is_not_judged() -> None:
    questions = bank(items("melting-ice", 2))
    first = questions[0]
    quantity = next(q for q in first.quantities if q.unit is not None)
    stem = first.stem.replace(quantity.text, f"7.77 {quantity.unit.text}" if quantity.unit else "")
    assert stem != first.stem
    own = [
        replace(q, stem=stem, quantities=read_quantities(stem)) if q.number == 0 else q
        for q in questions
    ]
    judged, left = judge_same_family(own)
    assert all(not j.part or j.number or j.level is not Level.SAME_FAMILY for j in judged)
    assert [q.number for q in left if q.arranged] == [0]


@pytest.mark.parametrize("name", ["thin-lens", "carnot-engine", "string-wave"])
def test_items_in_another_language_of_their_family_are_right(name: str) -> None:
    family = load_family(find_family(name), "de")
    made = Generator(family).generate(6, 2)
    own = tuple(item for instances in made for item in Renderer(family).items(instances))
    questions = bank(own, items(name, 2))
    assert any(q.options for q in questions)
    assert {(j.verdict, j.level, j.severity) for j in verdicts(questions)} == {
        (Verdict.RIGHT, Level.SAME_FAMILY, None)
    }
