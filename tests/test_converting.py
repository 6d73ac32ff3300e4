"""Every format to every other: what arrives, and what is said to be lost, to the item."""

from __future__ import annotations

import json
import math
import tracemalloc
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import qbank
from qbank.converting import convert
from qbank.errors import OutputError, QbankError
from qbank.formats import archive
from qbank.formats.comparing import differing_fields
from qbank.formats.dialects import DIALECTS
from qbank.formats.jsonl_readback import read_info
from qbank.formats.readback import read_items
from qbank.formats.registry import FORMATS
from qbank.formats.trial import Trial
from qbank.formats.validate import open_package, validate_package
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Image, Item, NumberEntry, Pool, Tolerance
from qbank.rendering.renderer import Renderer
from tests.formats.samples import bank, simple, winch

# Formats in which a wrong value is its band, so that it is read back as the middle of it.
BANDS_ONLY = [*DIALECTS, "qti-1.2"]
EXACT = ["csv", "jsonl"]
WHOLE = [*BANDS_ONLY, *EXACT]
# Two of its four sample families' kinds of answer: numbers with slips, choices, tables, cases.
FAMILIES = ("stepped-drum", "thin-lens", "mean-interval")


def write(folder: Path, name: str, info: BankInfo, items: list[Item]) -> Path:
    chosen = FORMATS[name]
    as_folder = not chosen.capabilities.zipped
    path = folder / chosen.file_name("quay", as_folder)
    write_bank(info, items, path, name, unpacked=as_folder)
    return path


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("samples")
    return cache(lambda name: write(folder, name, *bank(3)))


def unsaid(report) -> dict[str, int]:
    return {one.kind: len(one.items) for one in report.unsaid}


@pytest.mark.parametrize("to", WHOLE)
@pytest.mark.parametrize("source", WHOLE)
def test_what_is_lost_between_two_formats_of_whole_items(sample, tmp_path, source, to):
    """Only a table or JSON Lines know a wrong value that is not the middle of its band."""
    report = convert(sample(source), to, tmp_path)
    before, after = list(read_items(sample(source))), list(read_items(report.package.path))
    lost = {}
    if source in EXACT and to in BANDS_ONLY:
        middle = [
            item.identifier
            for item in before
            for part in item.parts
            if isinstance(part, NumberEntry)
            and any(w.value != (w.low + w.high) / 2 for w in part.wrong_values)
        ]
        assert middle
        lost["parts.wrong_values.value"] = len(set(middle))
    if to == "csv":
        lost["pools"] = 0
    assert unsaid(report) == lost
    # Items of no family say nothing of their pool, which an assessment of QTI 1.2.1 has.
    pooled = {"test", "reference"} if source == "qti-1.2" else set()
    assert {loss.code for loss in report.losses} == pooled
    assert report.lossless == (not lost and not pooled)
    assert (report.read, report.package.items, report.left_out) == (5, 5, ())
    assert report.source_format == source
    assert validate_package(report.package.path) == []
    for one, other in zip(before, after, strict=True):
        assert differing_fields(one, other) <= set(lost)


def test_pools_are_those_of_the_families(sample, tmp_path):
    direct = convert(sample("jsonl"), "jsonl", tmp_path / "a")
    assert direct.package.path.read_bytes() == sample("jsonl").read_bytes()
    report = convert(sample("qti-3.0"), "jsonl", tmp_path / "b")
    with open_package(report.package.path) as package:
        pools = read_info(package).pools
    winches, *singles = pools
    assert (winches.identifier, winches.count, winches.parts) == ("quay-winch", 3, 5)
    assert [pool.count for pool in singles] == [1, 1]  # no family: a test shows them all


@pytest.mark.parametrize("source", WHOLE)
def test_a_cartridge_says_what_it_cannot(sample, tmp_path, source):
    report = convert(sample(source), "cartridge-1.3", tmp_path)
    assert unsaid(report) == {"tolerance": 5, "several_parts": 3, "pools": 0}
    assert report.cautions == FORMATS["cartridge-1.3"].capabilities.losses
    assert len(report.package.notes) == 3
    assert not report.lossless
    assert validate_package(report.package.path) == []


@pytest.mark.parametrize("to", WHOLE)
def test_the_items_of_a_cartridge_go_anywhere(sample, tmp_path, to):
    report = convert(sample("cartridge-1.3"), to, tmp_path)
    assert (report.read, report.package.items, unsaid(report)) == (17, 17, {})
    assert report.lossless


@pytest.mark.parametrize("family", FAMILIES)
def test_a_shipped_family_there_and_back(tmp_path, family):
    """JSON Lines -> QTI 3.0 -> QTI 1.2 -> QTI 2.2 -> JSON Lines loses the wrong values alone."""
    loaded = qbank.load_family(qbank.find_family(family))
    renderer = Renderer(loaded)
    items = [i for chunk in qbank.generate(loaded, count=2, seed=3) for i in renderer.items(chunk)]
    pool = Pool(family, loaded.title, 2, max(len(item.parts) for item in items))
    path = write(tmp_path, "jsonl", BankInfo(family, family, "en", (pool,)), items)
    for step, to in enumerate(("qti-3.0", "qti-1.2", "qti-2.2", "jsonl")):
        report = convert(path, to, tmp_path / str(step))
        assert report.package.items == 2
        if step:
            assert report.lossless, report.unsaid
        path = report.package.path
    known = {
        "parts.wrong_values.value", "parts.tolerance.slack", "parts.tolerance.slip_distance",
        "parts.inline", "parts.options.content",
    }  # fmt: skip
    first = convert(tmp_path / "quay.jsonl", "qti-3.0", tmp_path / "again")
    assert set(unsaid(first)) <= known
    for one, other in zip(items, read_items(path), strict=True):
        assert differing_fields(one, other) <= set(unsaid(first))


def bare(**changes: object) -> Item:
    """An item whose key nobody stated."""
    band = Tolerance(math.nan, math.nan, "")
    entry = NumberEntry("a", ("How far?",), math.nan, "", "", "m", band, 1.0)
    return replace(simple(), parts=(entry,), **changes)


def lines(folder: Path, items: list[Item], name: str = "mixed.jsonl") -> Path:
    pool = Pool("all", "All", len(items), max(len(item.parts) for item in items))
    info = BankInfo("m", "Mixed", "en", (pool,))
    return write_bank(info, items, folder / name, "jsonl").path


@pytest.mark.parametrize("to", [name for name in FORMATS if name != "jsonl"])
def test_what_the_target_cannot_take_is_left_out_and_listed(tmp_path, to):
    bell = simple(2, "bell")
    items = [simple(0), bare(identifier="bare"), replace(bell, title="ring \x07"), winch()]
    report = convert(lines(tmp_path, items), to, tmp_path / "out")
    assert [left.item for left in report.left_out] == ["bare", "bell"]
    assert "part 'a' has no key" in report.left_out[0].why
    assert "U+0007" in report.left_out[1].why
    assert (report.read, report.package.items, report.lossless) == (4, 2, False)
    assert validate_package(report.package.path) == []


def test_items_without_key_stay_in_json_lines(tmp_path):
    report = convert(lines(tmp_path, [bare(), winch()]), "jsonl", tmp_path / "out")
    assert report.lossless
    assert math.isnan(next(read_items(report.package.path)).parts[0].key)


def test_nothing_to_write_is_an_error_and_writes_nothing(tmp_path):
    with pytest.raises(QbankError, match="none of the 1 items"):
        convert(lines(tmp_path, [bare()]), "csv", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_bank_is_not_written_over_itself(tmp_path):
    path = lines(tmp_path, [simple()])
    before = path.read_bytes()
    with pytest.raises(OutputError, match="is the bank that is read"):
        convert(path, "jsonl", tmp_path)
    assert path.read_bytes() == before
    assert convert(path, "jsonl", tmp_path, name="other").lossless


def test_an_identifier_nobody_else_can_hold_is_replaced_and_said(tmp_path):
    """JSON Lines from another hand; the name is no XML name."""
    path = lines(tmp_path, [simple()])
    path.write_text(path.read_text("utf-8").replace('"j0"', '"1st item"'), "utf-8")
    report = convert(path, "qti-2.1", tmp_path / "out")
    assert list(unsaid(report)) == ["identifier"]
    (item,) = read_items(report.package.path)
    assert item.identifier.startswith("_1st-item-")
    assert not report.lossless


def test_a_broken_source_and_an_unknown_format(tmp_path):
    path = lines(tmp_path, [simple()])
    with pytest.raises(QbankError, match="there is no format"):
        convert(path, "qti-9", tmp_path / "out")
    path.write_bytes(path.read_bytes()[:-40])
    with pytest.raises(QbankError, match="no JSON"):
        convert(path, "qti-2.1", tmp_path / "out")
    with pytest.raises(QbankError):
        convert(tmp_path / "absent.zip", "qti-2.1", tmp_path / "out")
    assert not (tmp_path / "out").exists()


CHOICE = """\
<assessmentItem xmlns="http://www.imsglobal.org/xsd/imsqti_v2p2" identifier="way" title="Way"
 adaptive="false" timeDependent="false" xml:lang="en">
<responseDeclaration identifier="RESPONSE" cardinality="single" baseType="identifier">
<correctResponse><value>B</value></correctResponse></responseDeclaration>
<outcomeDeclaration identifier="SCORE" cardinality="single" baseType="float"/>
<itemBody><p>Which <b>way</b> does the drum turn?</p>
<choiceInteraction responseIdentifier="RESPONSE" shuffle="false" maxChoices="1">
<simpleChoice identifier="A">left</simpleChoice><simpleChoice identifier="B">right</simpleChoice>
</choiceInteraction></itemBody>
<responseProcessing template="http://www.imsglobal.org/question/qti_v2p2/rptemplates/match_correct"/>
</assessmentItem>"""
NO_KEY = """\
<assessmentItem xmlns="http://www.imsglobal.org/xsd/imsqti_v2p2" identifier="far" title="Far"
 adaptive="false" timeDependent="false">
<responseDeclaration identifier="RESPONSE" cardinality="single" baseType="float"/>
<itemBody><p>How far? <textEntryInteraction responseIdentifier="RESPONSE"/> m</p></itemBody>
</assessmentItem>"""


@pytest.mark.parametrize(("to", "left_out"), [("jsonl", []), ("qti-3.0", ["far"])])
def test_a_bank_of_another_hand(tmp_path, to, left_out):
    folder = tmp_path / "harbour"
    folder.mkdir()
    (folder / "a.xml").write_text(CHOICE, "utf-8")
    (folder / "b.xml").write_text(NO_KEY, "utf-8")
    report = convert(folder, to, tmp_path / "out")
    assert (report.source_format, report.read) == ("qti-2.2", 2)
    assert [left.item for left in report.left_out] == left_out
    assert ("formatting", "way") in {(loss.code, loss.item) for loss in report.losses}
    assert ("key", "far") in {(loss.code, loss.item) for loss in report.losses}
    assert not report.lossless
    assert validate_package(report.package.path) == []
    items = list(read_items(report.package.path))
    assert [item.identifier for item in items] == ["way", "far"][: 2 - len(left_out)]
    assert [option.correct for option in items[0].parts[0].options] == [False, True]
    (folder / "a.xml").write_text("<assessmentItem", "utf-8")
    (folder / "b.xml").unlink()
    with pytest.raises(QbankError, match="nothing of"):
        convert(folder, to, tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_a_trial_says_why_and_goes_on():
    trial = Trial(FORMATS["csv"])
    assert trial.refusal(simple(0)) is None
    assert trial.refusal(winch()) is None  # more parts than before
    assert "too" in (trial.refusal(simple(0)) or "")
    assert "has no title" in (trial.refusal(replace(simple(1), title="")) or "")
    assert trial.refusal(simple(3)) is None


def test_differences_are_named_by_field():
    item = winch()
    part = replace(item.parts[0], key=1.0, prompt=("Enter the ", "power ", item.parts[0].prompt[1]))
    changed = replace(item, title="x", parts=(part, *item.parts[1:]), stem=item.stem[:-1])
    assert differing_fields(item, changed) == {"title", "parts.key", "parts.prompt", "stem"}
    split = replace(item, hints=(("a", "", "b"),))
    assert differing_fields(replace(item, hints=(("ab",),)), split) == frozenset()
    assert differing_fields(bare(), bare()) == frozenset()


def test_the_report_is_json(sample, tmp_path):
    report = convert(sample("csv"), "cartridge-1.3", tmp_path)
    told = json.loads(json.dumps(report.as_json(), allow_nan=False))
    assert told["source"]["items"] == 5
    assert told["lossless"] is False
    assert {u["kind"]: u["count"] for u in told["unsaid"]}["several_parts"] == 3


def test_memory_does_not_grow_with_the_count(tmp_path, monkeypatch):
    """Each pass drops an item when it is through; what stays is a hash of each name. An item is
    4 kB as JSON and more as objects."""

    monkeypatch.setattr(archive, "CHUNK", 1 << 12)  # the file is copied in pieces of a megabyte

    def peak(count: int) -> int:
        info = BankInfo("w", "W", "en", (Pool("quay-winch", "W", count, 5),))
        path = tmp_path / f"{count}.jsonl"
        write_bank(info, map(winch, range(count)), path, "jsonl")
        tracemalloc.reset_peak()
        convert(path, "jsonl", tmp_path / "out")
        return tracemalloc.get_traced_memory()[1]

    tracemalloc.start()
    try:
        peak(40)  # fills the caches
        few, many = peak(40), peak(100)
    finally:
        tracemalloc.stop()
    assert (many - few) / 60 < 700


def test_a_table_without_tolerances_becomes_items_that_score(tmp_path: Path) -> None:
    table = tmp_path / "lenses.csv"
    table.write_text(
        "Nr;Frage;Lösung\n1;Wie weit? Bei 20,0 cm;60,02 cm\n2;Wie weit? Bei 25,0 cm;37,50 cm\n",
        encoding="utf-8",
    )
    report = convert(table, "qti-3.0", tmp_path / "out")
    kinds = {unsaid.kind: unsaid.items for unsaid in report.unsaid}
    assert len(kinds["key"]) == len(kinds["band"]) == 2
    first = next(read_items(report.package.path))
    scored = qbank.score(report.package.path, {"RESPONSE_1": "60.1"}, item=first.identifier)
    assert scored.score == scored.maximum == 1
    assert qbank.score(report.package.path, {"RESPONSE_1": "62"}, item=first.identifier).score == 0


def test_a_picture_that_is_not_there_is_left_out_and_said(tmp_path: Path) -> None:
    """Of the file of a table alone, the items are converted without their pictures."""
    made = qbank.make(["stepped-drum"], count=2, formats=["csv"], out=tmp_path).packages[0].path
    report = convert(made / "items.csv", "jsonl", tmp_path / "out")
    assert unsaid(report)["picture"] == 2
    assert report.package.items == 2
    assert not report.left_out
    for before, after in zip(read_items(made), read_items(report.package.path), strict=True):
        assert before.parts == after.parts
        assert any(isinstance(block, Image) for block in before.stem)
        assert not any(isinstance(block, Image) for block in (*after.stem, *after.solution))


def test_columns_of_what_is_no_table_are_refused(sample, tmp_path: Path) -> None:
    with pytest.raises(QbankError, match="is no table, so it has no columns to name"):
        convert(sample("qti-3.0"), "jsonl", tmp_path, columns={"key": "Answer"})
    assert list(tmp_path.iterdir()) == []
