"""The copy as a file: order and names of members, refusals, and the proof that guards it."""

from __future__ import annotations

import zipfile
from dataclasses import replace

import pytest

from qbank.audit.correction.correcting import correct_bank
from qbank.errors import CheckFailed, OutputError, QbankError
from qbank.formats.readback import read_items
from qbank.place import Place
from tests.audit.correction.test_foreign_documents import EDITED, WRONG
from tests.audit.correction.test_written_banks import spoil_first_number
from tests.audit.correction.wrong import audit_of, write

RAMP = EDITED["odd spaces"][0]


def foreign_zip(path, members):
    """A zip file of odd habits: stored members, a folder entry, dates, a comment."""
    with zipfile.ZipFile(path, "w") as package:
        package.comment = b"spring term"
        for k, (name, data) in enumerate(members):
            entry = zipfile.ZipInfo(name, (2019, 5, 1 + k, 8, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED if k % 2 else zipfile.ZIP_STORED
            package.writestr(entry, data)
    return path


def test_a_zip_keeps_order_names_dates_and_packing(tmp_path):
    members = [
        ("z/notes.txt", b"12.5\r\n"), ("b/", b""), ("b/ramp.xml", RAMP.encode()),
        ("a.png", bytes(range(256)) * 9),
    ]  # fmt: skip
    bank = foreign_zip(tmp_path / "bank.zip", members)
    report = correct_bank(bank, audit_of(WRONG), tmp_path / "mended.zip")
    assert [change.member for change in report.changes] == ["b/ramp.xml"]
    with zipfile.ZipFile(bank) as old, zipfile.ZipFile(tmp_path / "mended.zip") as new:
        assert new.comment == old.comment
        assert new.testzip() is None
        for a, b in zip(old.infolist(), new.infolist(), strict=True):
            assert (a.filename, a.date_time, a.compress_type) == (
                b.filename, b.date_time, b.compress_type,
            )  # fmt: skip
            if a.filename != "b/ramp.xml":
                assert old.read(a.filename) == new.read(b.filename)


def test_two_items_of_one_name_are_told_apart_by_their_file(tmp_path):
    bank = foreign_zip(
        tmp_path / "bank.zip", [("one/ramp.xml", RAMP.encode()), ("two/ramp.xml", RAMP.encode())]
    )
    report = correct_bank(bank, audit_of(WRONG), tmp_path / "none.zip")
    assert "several items" in report.left[0].why
    named = replace(WRONG, place=Place("two/ramp.xml", 1, 1))
    report = correct_bank(bank, audit_of(named), tmp_path / "two.zip")
    assert [change.member for change in report.changes] == ["two/ramp.xml"]


def test_a_folder_is_copied_without_its_links(tmp_path):
    bank = tmp_path / "bank"
    (bank / "deep").mkdir(parents=True)
    (bank / "deep" / "ramp.xml").write_bytes(RAMP.encode())
    (tmp_path / "secret.txt").write_text("secret")
    (bank / "link.txt").symlink_to(tmp_path / "secret.txt")
    correct_bank(bank, audit_of(WRONG), tmp_path / "mended")
    assert sorted(p.name for p in (tmp_path / "mended").rglob("*")) == ["deep", "ramp.xml"]
    assert b"7.25" in (tmp_path / "mended" / "deep" / "ramp.xml").read_bytes()


def test_a_bank_is_never_written_over(tmp_path):
    bank = tmp_path / "ramp.xml"
    bank.write_bytes(RAMP.encode())
    folder = tmp_path / "folder"
    folder.mkdir()
    (tmp_path / "again.xml").symlink_to(bank)
    for given, target, said in (
        (bank, bank, "that is the bank itself"),
        (bank, tmp_path / "again.xml", "that is the bank itself"),
        (bank, tmp_path / "no" / "such" / "mended.xml", "there is no folder"),
        (bank, folder, "it is a folder"),
        (tmp_path, folder, "that is the bank itself"),
    ):
        with pytest.raises(OutputError, match=said):
            correct_bank(given, audit_of(WRONG), target)
    assert bank.read_bytes() == RAMP.encode()


def test_a_folder_that_exists_is_not_replaced(tmp_path):
    bank, target = tmp_path / "bank", tmp_path / "mended"
    bank.mkdir()
    target.mkdir()
    with pytest.raises(OutputError, match="something of that name exists"):
        correct_bank(bank, audit_of(WRONG), target)


def test_a_bank_that_is_not_there(tmp_path):
    with pytest.raises(QbankError, match="cannot read"):
        correct_bank(tmp_path / "none.xml", audit_of(WRONG), tmp_path / "mended.xml")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda items: items[:-1], "another number of items"),
        (lambda items: [items[0], items[0], *items[2:]], "changes more|lacks|should not"),
        (lambda items: [replace(items[0], title="x"), *items[1:]], "which it should not"),
        (lambda items: [items[0], replace(items[1], caution="x"), *items[2:]], "more of"),
        (
            lambda items: [
                items[0], replace(items[1], parts=(*items[1].parts[:-1],)), *items[2:],
            ],
            "more of",
        ),
        (
            lambda items: [
                items[0],
                replace(
                    items[1], parts=tuple(replace(p, points=p.points + 1) for p in items[1].parts)
                ),
                *items[2:],
            ],
            "reads otherwise",
        ),
    ],
)  # fmt: skip
def test_a_copy_that_differs_otherwise_is_not_written(tmp_path, spoil, said):
    """The reader plays the copy false; the proof must notice and leave nothing behind."""
    items, audit, _, _ = spoil_first_number("stepped-drum")
    bank = write(items, tmp_path, "qti-2.1")
    calls = []

    def read(path):
        calls.append(path)
        found = list(read_items(path))
        return spoil(found) if len(calls) == 2 else found

    with pytest.raises(CheckFailed, match=said):
        correct_bank(bank, audit, tmp_path / "mended.zip", read=read)
    assert sorted(p.name for p in tmp_path.iterdir()) == [bank.name]


def test_a_copy_that_keeps_the_old_key_is_not_written(tmp_path):
    items, audit, _, _ = spoil_first_number("stepped-drum")
    bank = write(items, tmp_path, "qti-2.1")
    with pytest.raises(CheckFailed, match="lacks the change"):
        correct_bank(bank, audit, tmp_path / "m.zip", read=lambda _path: iter(read_items(bank)))


def test_no_proof_makes_a_plain_copy(tmp_path):
    bank = tmp_path / "ramp.xml"
    bank.write_bytes(RAMP.encode())
    report = correct_bank(bank, audit_of(), tmp_path / "copy.xml")
    assert (report.changes, report.left) == ([], [])
    assert (tmp_path / "copy.xml").read_bytes() == RAMP.encode()


def test_two_verdicts_on_one_key_leave_it(tmp_path):
    bank = tmp_path / "ramp.xml"
    bank.write_bytes(RAMP.encode())
    other = replace(WRONG, expected="7.35 m/s", value=7.35)
    report = correct_bank(bank, audit_of(WRONG, other), tmp_path / "mended.xml")
    assert "two judgements" in report.left[0].why
    assert report.as_json()["left"][0]["item"] == "ramp"
