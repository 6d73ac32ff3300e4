"""Packages as others put them together (mapping note, section a), and our own read both ways."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from qbank.formats.foreign.bank import open_bank
from qbank.formats.readback import read_items
from tests.formats.foreign.documents import (
    ENTRY,
    asi,
    codes,
    item,
    manifest,
    response,
    when,
    zipped,
)
from tests.formats.packages import change, swap, write_sample

ITEM = "imsqti_item_xmlv2p1"
ONE = item(response(key="3"), f"<p>P = {ENTRY} W</p>", "TEMPLATE match_correct")
TWO = ONE.replace("crane-1", "crane-2")


def read(path):
    with open_bank(path) as bank:
        items = list(bank)
        return bank, items, {loss.code for loss in bank.losses}


@pytest.mark.parametrize("name", ["qti-2.1", "qti-2.2", "qti-3.0", "qti-1.2", "cartridge-1.3"])
def test_our_own_packages_read_alike_both_ways(tmp_path, name):
    folder = write_sample(tmp_path, name)
    wanted = list(read_items(folder))
    for tolerant in (False, True):
        with open_bank(folder, tolerant=tolerant) as bank:
            found = list(bank)
            assert bank.format == name
            assert bank.title == "Quay & winch"
            assert bank.unreadable == []
        assert [each.item for each in found] == wanted
        assert {loss.code for each in found for loss in each.losses} <= {"adaptive", "interaction"}


@pytest.mark.parametrize("name", ["csv", "jsonl"])
def test_tables_and_lines_of_ours_go_to_their_own_reader(tmp_path, name):
    folder = write_sample(tmp_path, name)
    with open_bank(folder) as bank:
        assert [each.item for each in bank] == list(read_items(folder))
        assert bank.format == name


def test_an_item_of_ours_that_was_changed_by_hand_is_still_read(tmp_path):
    folder = write_sample(tmp_path, "qti-2.1")
    change(folder, "items/half/j0.xml", swap('<baseValue baseType="float">0.75</baseValue>',
                                             '<null/>'))  # fmt: skip
    bank, found, _ = read(folder)
    assert len(found) == 5
    assert bank.unreadable == []


def test_a_top_folder_and_no_manifest(tmp_path):
    path = zipped(tmp_path / "a.zip", {
        "Bank/imsmanifest.xml": manifest((ITEM, "i/one.xml")), "Bank/i/one.xml": ONE})  # fmt: skip
    bank, found, told = read(path)
    assert (len(found), bank.format) == (1, "qti-2.1")
    assert "manifest" in told
    path = zipped(tmp_path / "b.zip", {"x/one.xml": ONE, "x/two.xml": TWO, "notes.xml": "<n/>"})
    bank, found, told = read(path)
    assert [each.item.identifier for each in found] == ["crane-1", "crane-2"]
    assert {"manifest", "resource"} <= told


def test_manifest_order_then_what_nothing_lists(tmp_path):
    path = zipped(tmp_path / "a.zip", {
        "imsmanifest.xml": manifest((ITEM, "z.xml"), (ITEM, "m.xml"), (ITEM, "gone.xml")),
        "a.xml": ONE.replace("crane-1", "a"), "m.xml": ONE.replace("crane-1", "m"),
        "z.xml": ONE.replace("crane-1", "z")})  # fmt: skip
    bank, found, told = read(path)
    assert [each.item.identifier for each in found] == ["z", "m", "a"]
    assert [loss.code for loss in bank.unreadable] == ["missing"]
    assert "unlisted" in told


def test_addresses_encoded_or_wrongly_cased_and_wrong_types(tmp_path):
    path = zipped(tmp_path / "a.zip", {
        "imsmanifest.xml": manifest(("imsqti_test_xmlv2p1", "my%20items/One.xml"),
                                    ("webcontent", "MY ITEMS/two.XML")),
        "my items/One.xml": ONE, "my items/two.xml": TWO})  # fmt: skip
    _, found, told = read(path)
    assert [each.item.identifier for each in found] == ["crane-1", "crane-2"]
    assert "href" in told
    assert all("resource-type" in codes(each) for each in found)


def test_the_same_identifier_twice(tmp_path):
    path = zipped(tmp_path / "a.zip", {"a.xml": ONE, "b.xml": ONE})
    _, found, _ = read(path)
    assert [each.item.identifier for each in found] == ["crane-1", "crane-1-2"]
    assert "duplicate-identifier" in codes(found[1])


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbf" + ONE.encode(),
        ('<?xml version="1.0" encoding="UTF-16"?>' + ONE).encode("utf-16"),
        f'<?xml version="1.0" encoding="iso-8859-1"?>{ONE.replace("P =", "é =")}'.encode("latin-1"),
        ONE.replace("P =", "é =").encode("cp1252"),
        ONE.replace("P =", "P&nbsp;=").encode(),
        ONE.replace('xmlns="http://www.imsglobal.org/xsd/imsqti_v2p1"', "").encode(),
        ONE.replace("<assessmentItem", "<!DOCTYPE assessmentItem><assessmentItem").encode(),
        b"\n" + ONE.encode(),
    ],
)  # fmt: skip
def test_encodings_and_namespaces(tmp_path, data):
    path = tmp_path / "one.xml"
    path.write_bytes(data)
    bank, (found,), _ = read(path)
    assert bank.unreadable == []
    assert found.item.parts[0].key == 3.0
    assert "?" not in found.item.parts[0].prompt[0]


def test_prefixes_are_as_good_as_a_default_namespace(tmp_path):
    text = ONE.replace("</", "</q:").replace("<", "<q:").replace("<q:/q:", "</q:")
    path = tmp_path / "one.xml"
    path.write_text(text.replace("xmlns=", "xmlns:q="), encoding="utf-8")
    _, (found,), _ = read(path)
    assert (found.item.parts[0].key, found.item.parts[0].unit) == (3.0, "W")


def test_a_test_beside_its_items(tmp_path):
    (tmp_path / "items").mkdir()
    (tmp_path / "items" / "one.xml").write_text(ONE, encoding="utf-8")
    test = tmp_path / "test.xml"
    test.write_text(
        '<assessmentTest title="Cranes" identifier="t"><testPart><assessmentSection>'
        '<assessmentItemRef identifier="a" href="items/one.xml"/>'
        '<assessmentItemRef identifier="b" href="../secret.xml"/></assessmentSection></testPart>'
        "</assessmentTest>", encoding="utf-8")  # fmt: skip
    bank, found, told = read(test)
    assert ([each.item.identifier for each in found], bank.title) == (["crane-1"], "Cranes")
    assert [loss.code for loss in bank.unreadable] == ["missing"]
    assert "test" in told


def test_one_item_that_cannot_be_read_leaves_the_others(tmp_path):
    path = zipped(tmp_path / "a.zip", {"a.xml": "<assessmentItem", "b.xml": ONE,
                                       "c.xml": asi("", when("<other/>", "1"))})  # fmt: skip
    bank, found, _ = read(path)
    assert len(found) == 2
    assert [loss.place.file for loss in bank.unreadable] == ["a.xml"]


def test_a_table_goes_to_the_reader_of_tables(tmp_path):
    path = tmp_path / "bank.csv"
    path.write_text("question,answer\nHalf of 6 m?,3 m\nHalf of 8 m?,4 m\n", encoding="utf-8")
    bank, found, _ = read(path)
    assert bank.format == "csv"
    assert len(bank.columns) == 2
    assert [each.item.parts[0].key for each in found] == [3.0, 4.0]


def test_a_bad_row_of_our_own_table_leaves_the_others(tmp_path):
    folder = write_sample(tmp_path, "csv")
    change(folder, "items.csv", swap(",6.0,", ",six,"))
    bank, found, _ = read(folder)
    assert len(bank.unreadable) == 1
    assert len(found) >= 4


def test_a_table_in_a_zip(tmp_path):
    path = zipped(tmp_path / "t.zip", {"bank.csv": "question,answer\nHalf of 6 m?,3 m\n"})
    _, found, _ = read(path)
    assert [each.item.parts[0].key for each in found] == [3.0]


def test_the_official_examples_are_all_read():
    folder = os.environ.get("QBANK_EXAMPLES", "")
    if not folder or not Path(folder).is_dir():
        pytest.skip("name the folder with the standards body's example items in QBANK_EXAMPLES")
    count = 0
    for path in sorted(Path(folder).rglob("*.zip")) or [Path(folder)]:
        with open_bank(path) as bank:
            count += sum(1 for _ in bank)
            not_well_formed = [loss for loss in bank.unreadable if loss.code != "missing"]
            assert len(not_well_formed) <= 1, not_well_formed  # one test file is no XML
    assert count
