"""Cartridges: what becomes of each part, graded as a platform would; broken ones are caught."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from decimal import Decimal

import pytest

import qbank
from qbank.formats.cartridge_arranged import choices_of
from qbank.formats.cartridge_numbers import (
    LONGEST,
    distractors,
    key_spellings,
    rounded,
    slip_spellings,
)
from qbank.formats.readback import read_items
from qbank.formats.registry import FORMATS
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import (
    BankInfo,
    Choice,
    Image,
    Matching,
    Math,
    NumberEntry,
    Ordering,
    Pool,
    Tolerance,
)
from qbank.rendering.renderer import Renderer
from qbank.scoring.bank import find_item
from tests.formats.packages import change, swap, write_sample
from tests.formats.samples import bank, simple, winch

NAME = "cartridge-1.3"
FAMILIES = [path.stem for path in qbank.shipped_families()]
PROFILES = {
    "cc.multiple_choice.v0p1",
    "cc.multiple_response.v0p1",
    "cc.fib.v0p1",
    "cc.essay.v0p1",
}  # mapping note, b8, from memory; those this project needs


def length(key_text, low, high, **more):
    key = float(key_text)
    return NumberEntry(
        "h", ("h =",), key, key_text, f"{key_text} m", "m", Tolerance(low, high, "x"), 1.0, **more
    )


def plain(content):
    return "".join(p.plain if isinstance(p, Math) else p for p in content)


# ---------------------------------------------------------------------------- spellings


def test_every_number_in_the_band_at_the_precision_of_the_key_is_spelled():
    part = length("2.0", 1.85, 2.15, decimals=1)
    assert key_spellings(part, "en") == ["2.0", "2", "1.9", "2.1"]
    assert key_spellings(part, "de") == ["2.0", "2,0", "2", "1.9", "1,9", "2.1", "2,1"]
    assert key_spellings(length("392", 392.0, 392.0), "en") == ["392"]
    assert key_spellings(length("0.0", -0.15, 0.15, decimals=1), "en") == [
        "0.0",
        "0",
        "-0.1",
        "0.1",
    ]
    small = key_spellings(length("1.12e-13", 1.115e-13, 1.125e-13, figures=3), "en")
    assert small == ["1.12e-13"]
    assert [float(s) for s in small] == [1.12e-13]


def test_more_than_twenty_spellings_are_none():
    assert len(key_spellings(length("100", 91.0, 110.0), "en")) == 20
    assert key_spellings(length("100", 90.0, 110.0), "en") is None
    assert key_spellings(length("1.0", 0.91, 1.91), "en") is not None
    assert key_spellings(length("5.00", 4.0, 6.0), "en") is None


def test_spellings_lie_in_the_band_and_none_at_that_precision_is_left_out():
    for part in (length("3.18", 3.1482, 3.2118), length("73.2", 72.468, 73.932)):
        values = {Decimal(text) for text in key_spellings(part, "en")}
        band = part.tolerance
        assert all(band.low <= float(v) <= band.high for v in values)
        step = Decimal("1").scaleb(Decimal(part.key_text).as_tuple().exponent)
        assert min(values) - step < Decimal(repr(band.low))
        assert max(values) + step > Decimal(repr(band.high))
        assert len(values) == (max(values) - min(values)) / step + 1


def test_wrong_values_are_rounded_as_the_key_is():
    part = winch().parts[0]  # four figures
    assert rounded(20.0, part) == Decimal("20.00")
    assert str(rounded(392.4449, part)) == "392.4"
    assert str(rounded(2.25, length("2.0", 1.9, 2.1, decimals=1))) == "2.3"
    assert slip_spellings(part, "en")[0] == ["20.00", "20"]  # its range holds too many


def test_distractors_stand_by_size_and_apart():
    choice = distractors(winch().parts[0], "en")
    assert [plain(o.content) for o in choice.options] == ["20.00 W", "196.2 W", "392.4 W"]
    assert [o.correct for o in choice.options] == [False, True, False]
    assert choice.options[0].slip == "weight-as-mass"
    part = winch().parts[0]
    assert distractors(replace(part, wrong_values=part.wrong_values[:1]), "en") is None
    same = replace(part.wrong_values[0], slip="other", value=20.001)
    assert distractors(replace(part, wrong_values=(part.wrong_values[0], same)), "en") is None


# ---------------------------------------------------------------------------- families


@pytest.fixture(scope="module", params=FAMILIES)
def family(request, tmp_path_factory):
    """The items of a family, those read back by name, and the cartridge."""
    loaded = qbank.load_family(qbank.find_family(request.param))
    renderer = Renderer(loaded)
    items = [i for c in qbank.generate(loaded, count=2, seed=3) for i in renderer.items(c)]
    path = tmp_path_factory.mktemp("cartridge") / FORMATS[NAME].file_name(request.param, False)
    info = BankInfo("f", loaded.title, "en", (Pool("f", loaded.title, 2, 9),))
    report = write_bank(info, items, path, NAME)
    assert path.suffix == ".imscc"
    return items, {item.identifier: item for item in read_items(path)}, path, report


def told_shortly(blocks):
    """The start of a picture's words alone: what is too long for `alt` moves to the text below."""
    return [
        replace(b, alt=b.alt[:200], description="") if isinstance(b, Image) else b for b in blocks
    ]


def split(items):
    """Each item with what is asked of it one by one, and the name of the item that became."""
    for item in items:
        asked = [one for part in item.parts for one in asked_of(part)]
        for n, part in enumerate(asked, start=1):
            yield item, part, f"{item.identifier}_{n}" if len(asked) > 1 else item.identifier


def asked_of(part):
    """A part, or the choices that stand for an order or a matching (see test_arranged)."""
    return choices_of(part) if isinstance(part, Ordering | Matching) else [part]


def test_a_family_is_sound_and_its_parts_come_back(family):
    items, back, path, report = family
    assert validate_package(path) == []
    parts = list(split(items))
    assert list(back) == [name for _, _, name in parts]
    last_of = {item.identifier: name for item, _, name in parts}
    spelled = 0
    for item, part, name in parts:
        read = back[name]
        assert told_shortly(read.stem)[: len(item.stem)] == told_shortly(item.stem)
        assert read.caution == item.caution
        assert read.hints == item.hints
        last = name == last_of[item.identifier]
        if isinstance(part, Choice):
            (own,) = read.parts
            assert plain(own.prompt) == plain(part.prompt)
            assert (own.points, own.multiple, own.shuffle) == (
                part.points if part.points.is_integer() else 1.0,  # shares are no weights
                part.multiple,
                part.shuffle,
            )
            told = {o.identifier: replace(o, slip=o.slip if o.feedback else None)
                    for o in part.options}  # fmt: skip
            assert {o.identifier: o for o in own.options} == told
            solution = item.solution if last else ()
            assert told_shortly(read.solution) == told_shortly(solution)
        elif read.parts and isinstance(read.parts[0], NumberEntry):
            (own,) = read.parts
            spelled += 1
            assert (own.key, own.key_text, own.unit) == (part.key, part.key_text, part.unit)
            assert part.tolerance.low <= own.tolerance.low <= own.tolerance.high
            assert own.tolerance.high <= part.tolerance.high
    numbers = sum(isinstance(part, NumberEntry) for _, part, _ in parts)
    counts = [int(n) for note in report.notes for n in re.findall(r"^(\d+) of", note)]
    assert sum(counts) == numbers
    said = " ".join(report.notes)
    assert (f"{spelled} of {numbers} numbers became fill-in" in said) == (spelled > 0)
    assert f"{len(parts)} items are written" in said


def shown(score):
    return [" ".join(f.text.split()) for f in score.feedback if f.outcome == "Response"]


def squeezed(content):
    return " ".join(plain(content).split())


def typed(number: Decimal) -> str:
    """A number as a person types it: in full, or as a power of ten where that is long."""
    full = f"{number:f}"
    return full if len(full) <= LONGEST else str(number).replace("E+", "e").replace("E", "e")


def test_a_family_is_graded(family):
    items, back, path, _ = family
    for _, part, name in split(items):
        form = find_item(path, name)
        assert form.warnings == ()

        def put(answer, form=form):
            return form.score({"RESPONSE": answer})

        own = back[name].parts[0] if back[name].parts else None
        if own is None:
            assert put("anything").score == 0
            continue
        if isinstance(own, Choice):
            right = [o.identifier for o in own.options if o.correct]
            assert put(right if own.multiple else right[0]).score == 100
            if right:
                assert put("").score == 0
            for option in own.options:
                if not option.correct:
                    wrong = [*right, option.identifier] if own.multiple else option.identifier
                    assert put(wrong).score == 0
                    if option.feedback:
                        assert squeezed(option.feedback) in shown(put(wrong))
            continue
        low, high = part.tolerance.low, part.tolerance.high
        step = Decimal(1).scaleb(Decimal(part.key_text).as_tuple().exponent)
        assert put("").score == put("none").score == 0
        inside = math.ceil(Decimal(repr(low)) / step) * step
        outside = inside - step
        assert low <= float(inside) <= high
        assert put(part.key_text).score == put(typed(inside)).score == 100
        beyond = math.floor(Decimal(repr(high)) / step) * step + step
        assert put(typed(outside)).score == put(typed(beyond)).score == 0
        for wrong in part.wrong_values:
            text = typed(rounded(wrong.value, part))
            if low <= float(text) <= high:
                continue
            score = put(text)
            assert score.score == 0
            if (
                wrong.feedback
                and own.wrong_values
                and text in slip_spellings(part, "en")[part.wrong_values.index(wrong)]
            ):
                assert shown(score)


# ---------------------------------------------------------------------------- packages


def test_the_notes_count_what_fell_back(tmp_path):
    info, items = bank(4)
    report = write_bank(info, items, tmp_path / "b.imscc", NAME)
    assert report.notes == (
        "4 items with several parts were split; 22 items are written",
        "6 of 10 numbers became fill-in items that accept the listed spellings alone",
        "4 of 10 numbers became multiple choice between the key and wrong values",
    )
    data = (tmp_path / "b.imscc").read_bytes()
    write_bank(info, items, tmp_path / "c.imscc", NAME)
    assert (tmp_path / "c.imscc").read_bytes() == data


def test_what_no_text_can_key_becomes_an_essay_that_says_so(tmp_path):
    item = replace(simple(), parts=(length("5.00", 4.0, 6.0, decimals=2),))
    info = BankInfo("b", "b", "de", (Pool("p", "p", 1, 1),))
    report = write_bank(info, [item], tmp_path / "b", NAME, unpacked=True)
    assert report.notes == ("1 of 1 numbers became essays, which no machine scores",)
    text = (tmp_path / "b" / "bank.xml").read_text(encoding="utf-8")
    assert "<fieldlabel>qmd_computerscored</fieldlabel><fieldentry>No<" in text
    assert "cc.essay.v0p1" in text
    (back,) = read_items(tmp_path / "b")
    assert back.parts == ()
    assert plain(back.stem[-1].content) == "h ="
    assert plain(back.solution[0].content) == "5.00 m (x)"
    assert back.language == "de"
    score = find_item(tmp_path / "b", item.identifier).score({"RESPONSE": "5"})
    assert score.score == 0
    assert "5.00 m (x)" in [f.text for f in score.feedback]


def test_profiles_are_those_of_the_standard_and_the_bank_is_one(tmp_path):
    package = write_sample(tmp_path, NAME)
    text = (package / "bank.xml").read_text(encoding="utf-8")
    found = re.findall(r"cc_profile</fieldlabel><fieldentry>([^<]*)", text)
    assert len(found) == text.count("<item ") == 17
    assert set(found) <= PROFILES
    assert "response_num" not in text
    assert text.count("<objectbank ") == 1


@pytest.mark.parametrize(
    ("member", "old", "new", "rule"),
    [
        ("bank.xml", "cc.multiple_choice.v0p1", "cc.multiple_response.v0p1", "profile.fits"),
        ("bank.xml", "cc.fib.v0p1", "cc.essay.v0p1", "profile.fits"),
        ("bank.xml", "<fieldlabel>cc_profile<", "<fieldlabel>profile<", "profile.stated"),
        ("bank.xml", "response_str", "response_num", "xml.well-formed"),
        ("bank.xml", ' rcardinality="Single"', "", "cartridge-1.3:response_lid"),
        ("bank.xml", 'maxvalue="100"', 'maxvalue="10"', "score.maximum"),
        ("bank.xml", ">100</setvar>", ">50</setvar>", "score.maximum"),
        ("bank.xml", 'case="Yes">C2<', 'case="Yes">C8<', "rule.option"),
        ("bank.xml", 'linkrefid="SOLUTION"', 'linkrefid="X"', "feedback.declared"),
        ("bank.xml", 'ident="j1"', 'ident="j0"', "item.unique"),
        ("bank.xml", "&lt;p&gt;A winch", "&lt;p&gt;&lt;b&gt;A winch", "html.well-formed"),
        ("bank.xml", "</objectbank>", "<section/></objectbank>", "cartridge-1.3:objectbank"),
        ("imsmanifest.xml", "question-bank", "assessment", "bank.one"),
        ("imsmanifest.xml", '<file href="bank.xml"/>', '<file href="a.xml"/>', "manifest.href"),
        ("imsmanifest.xml", '<item identifier="ROOT"/>', "", "manifest-cartridge-1.3:manifest"),
    ],
)
def test_a_broken_cartridge_is_caught_by_the_rule(tmp_path, member, old, new, rule):
    package = write_sample(tmp_path, NAME)
    assert validate_package(package) == []
    change(package, member, swap(old, new))
    assert rule in {finding.rule for finding in validate_package(package)}
