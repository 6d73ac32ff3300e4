"""Writing a package: the same bytes each time, whole or not at all."""

from __future__ import annotations

import errno
import resource
import tracemalloc
import zipfile
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pytest
from lxml import etree

from qbank.errors import CheckFailed, OutputError, QbankError
from qbank.formats.archive import ZipArchive
from qbank.formats.dialects import DIALECTS
from qbank.formats.registry import FORMATS, find_format
from qbank.formats.validate import validate_package
from qbank.formats.writing import write_bank
from qbank.item import BankInfo, Pool
from tests.formats.samples import bank, simple, winch

EVERY = list(FORMATS)
ZIPPED = [name for name in EVERY if not FORMATS[name].capabilities.single_file]


def contents(path: Path) -> dict[str, bytes]:
    if path.is_dir():
        return {
            p.relative_to(path).as_posix(): p.read_bytes() for p in path.rglob("*") if p.is_file()
        }
    if not zipfile.is_zipfile(path):
        return {"items.jsonl": path.read_bytes()}
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


@pytest.mark.parametrize("name", EVERY)
def test_the_same_items_give_the_same_bytes(tmp_path, name):
    info, items = bank()
    for target in ("one.zip", "two.zip"):
        write_bank(info, items, tmp_path / target, name)
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    report = write_bank(info, items, tmp_path / "three", name, unpacked=True)
    assert contents(tmp_path / "three") == contents(tmp_path / "one.zip")
    assert report.members == len(contents(tmp_path / "three"))
    assert (report.path, report.format, report.items) == (tmp_path / "three", name, len(items))


@pytest.mark.parametrize("name", ZIPPED)
def test_a_zip_is_sound_and_carries_no_clock(tmp_path, name):
    info, items = bank()
    write_bank(info, items, tmp_path / "bank.zip", name)
    with zipfile.ZipFile(tmp_path / "bank.zip") as package:
        assert package.testzip() is None
        assert {e.date_time for e in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert len(set(package.namelist())) == len(package.namelist())
    assert validate_package(tmp_path / "bank.zip") == []


@pytest.mark.parametrize("name", list(DIALECTS))
def test_every_member_is_well_formed(tmp_path, name):
    info, items = bank()
    write_bank(info, items, tmp_path / "bank.zip", name)
    for member, data in contents(tmp_path / "bank.zip").items():
        assert member.endswith(".xml")
        assert data.startswith(b'<?xml version="1.0" encoding="UTF-8"?>')
        etree.fromstring(data)


class Stop(BaseException):
    """Like Ctrl-C: not an Exception."""


def broken(items, fault):
    yield from islice(items, 2)
    raise fault


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("unpacked", [False, True])
@pytest.mark.parametrize("fault", [KeyboardInterrupt(), RuntimeError("x"), Stop(), MemoryError()])
def test_an_interrupted_run_leaves_the_old_package_whole(tmp_path, name, unpacked, fault):
    info, items = bank()
    target = tmp_path / "bank"
    write_bank(info, items, target, name, unpacked=unpacked)
    before = contents(target)
    with pytest.raises(type(fault)):
        write_bank(info, broken(items, fault), target, name, unpacked=unpacked)
    assert contents(target) == before
    assert [p.name for p in tmp_path.iterdir()] == ["bank"]


@pytest.mark.parametrize("unpacked", [False, True])
def test_a_new_package_replaces_the_old_one(tmp_path, unpacked):
    target = tmp_path / "bank"
    for count in (3, 1):
        info, items = bank(count)
        write_bank(info, items, target, "qti-3.0", unpacked=unpacked)
    assert sum(name.startswith("items/quay-winch/") for name in contents(target)) == 1
    assert [p.name for p in tmp_path.iterdir()] == ["bank"]


def test_a_folder_that_holds_something_else_is_not_replaced(tmp_path):
    info, items = bank()
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(OutputError, match=r"holds files that are not a package"):
        write_bank(info, items, tmp_path / "mine", "csv", unpacked=True)
    with pytest.raises(OutputError, match="a folder of that name exists"):
        write_bank(info, items, tmp_path / "mine", "csv")
    (tmp_path / "file").write_text("dear", encoding="utf-8")
    with pytest.raises(OutputError, match="a file of that name exists"):
        write_bank(info, items, tmp_path / "file", "csv", unpacked=True)
    assert (tmp_path / "mine" / "notes.txt").read_text(encoding="utf-8") == "dear"


@pytest.mark.parametrize("unpacked", [False, True])
def test_a_folder_that_is_not_there_or_is_a_file_is_an_output_error(tmp_path, unpacked):
    info, items = bank()
    (tmp_path / "file").write_text("", encoding="utf-8")
    for parent, said in (("gone", "No such file"), ("file", "Not a directory")):
        with pytest.raises(OutputError, match=said) as caught:
            write_bank(info, items, tmp_path / parent / "bank", "qti-2.1", unpacked=unpacked)
        assert caught.value.hint
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("unpacked", [False, True])
def test_a_disk_that_takes_no_more_is_an_output_error(tmp_path, name, unpacked):
    """The kernel itself refuses to let a file grow, as a full disk does."""
    info = BankInfo("w", "W", "en", (Pool("w", "W", 2000, 5),))
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (6000, limits[1]))
    try:
        with pytest.raises(OutputError, match=r"cannot write") as caught:
            write_bank(info, map(winch, range(2000)), tmp_path / "bank", name, unpacked=unpacked)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert caught.value.hint
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_and_a_forbidden_folder_come_with_the_mend(tmp_path, monkeypatch):
    info, items = bank()
    for code, said, mend in (
        (errno.ENOSPC, "No space left", "free some space"),
        (errno.EACCES, "Permission denied", "choose a folder you may write to"),
    ):

        def refuse(*_args, code=code, said=said, **_kwargs):
            raise OSError(code, said)

        monkeypatch.setattr(zipfile.ZipFile, "writestr", refuse)
        with pytest.raises(OutputError, match=said) as caught:
            write_bank(info, items, tmp_path / "bank.zip", "qti-2.1")
        assert mend in str(caught.value)
        assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", EVERY)
def test_too_few_or_too_many_items_for_the_pools_is_a_failed_check(tmp_path, name):
    info, items = bank()
    with pytest.raises(CheckFailed, match=r"missing|promised"):
        write_bank(info, items[:-1], tmp_path / "bank.zip", name)
    with pytest.raises(CheckFailed, match="after the last pool is full"):
        write_bank(info, [*items, simple(9)], tmp_path / "bank.zip", name)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("unpacked", [False, True])
def test_an_identifier_that_comes_twice_is_refused(tmp_path, name, unpacked):
    info = BankInfo("x", "X", "en", (Pool("a", "A", 1, 1), Pool("b", "B", 1, 1)))
    with pytest.raises((CheckFailed, OutputError), match=r"twice|called"):
        write_bank(info, [simple(1), simple(1)], tmp_path / "bank", name, unpacked=unpacked)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", EVERY)
def test_an_empty_bank_and_empty_pools_are_sound(tmp_path, name):
    pools = (Pool("a", "A", 0, 3), Pool("b", "B", 2, 1), Pool("c", "C", 0, 1))
    for info, items in (
        (BankInfo("none", "None", "en", ()), []),
        (BankInfo("some", "Some", "en", pools), [simple(0), simple(1)]),
    ):
        write_bank(info, items, tmp_path / "bank.zip", name)
        assert validate_package(tmp_path / "bank.zip") == []


def test_progress_adds_up_and_an_unknown_format_names_the_nearest(tmp_path):
    seen = []
    info = BankInfo("w", "W", "en", (Pool("w", "W", 150, 5),))
    write_bank(info, map(winch, range(150)), tmp_path / "b.zip", "csv", progress=seen.append)
    assert sum(seen) == 150
    assert len(seen) > 1
    with pytest.raises(QbankError, match=r"no format 'qti-2\.11'") as caught:
        find_format("qti-2.11")
    assert "did you mean 'qti-2.1'?" in str(caught.value)


def test_names_of_banks_and_pools_become_names_of_files_and_identifiers(tmp_path):
    info = BankInfo("3 % & more", 'A "title" <&> 50 %', "en", (Pool("¡olé!", "P & Q", 1, 1),))
    write_bank(info, [simple(0)], tmp_path / "bank.zip", "qti-2.1")
    assert validate_package(tmp_path / "bank.zip") == []
    assert FORMATS["csv"].file_name("../a b", unpacked=False) == "a-b-csv.zip"
    assert FORMATS["csv"].file_name("../..", unpacked=True) == "bank-csv"


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"title": "bell \x07"}, "U\\+0007"),
        ({"caution": "half \ud800"}, "U\\+D800"),
        ({"identifier": "../up"}, "identifier"),
        ({"identifier": "i" * 33}, "identifier"),
        ({"language": "no language"}, "names no language"),
        ({"title": ""}, "title"),
    ],
)
def test_an_item_that_would_break_the_package_is_refused(tmp_path, name, change, said):
    info = BankInfo("w", "W", "en", (Pool("w", "W", 1, 5),))
    if name == "jsonl" and "0007" in said:
        change = {"title": "bell and half \x07\ud800"}  # JSON holds the bell, no file the half
        said = "U\\+"
    with pytest.raises(CheckFailed, match=said):
        write_bank(info, [replace(winch(), **change)], tmp_path / "bank.zip", name)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", EVERY)
def test_wrong_numbers_are_refused(tmp_path, name):
    info = BankInfo("w", "W", "en", (Pool("w", "W", 1, 5),))
    first, *others = winch().parts
    wrong = first.wrong_values[0]
    band = first.tolerance
    for part in (
        replace(first, tolerance=replace(band, low=float("nan"))),
        replace(first, tolerance=replace(band, high=float("inf"))),
        replace(first, key_text="1,5"),
        replace(first, key_text="12"),
        replace(first, points=float("inf")),
        replace(first, wrong_values=(replace(wrong, low=band.low, high=band.high),)),
        replace(first, wrong_values=(replace(wrong, low=3.0, high=2.0),)),
    ):
        item = replace(winch(), parts=(part, *others))
        with pytest.raises(CheckFailed):
            write_bank(info, [item], tmp_path / "bank.zip", name)


def test_memory_does_not_grow_with_the_count(tmp_path):
    """Items are dropped as they are written; what stays is a few dozen bytes of names each."""

    def peak(count):
        info = BankInfo("w", "W", "en", (Pool("w", "W", count, 5),))
        tracemalloc.reset_peak()
        write_bank(info, map(winch, range(count)), tmp_path / "bank.zip", "qti-3.0")
        return tracemalloc.get_traced_memory()[1]

    tracemalloc.start()
    try:
        peak(300)  # fills the caches
        few, many = peak(500), peak(1500)
    finally:
        tracemalloc.stop()
    assert (many - few) / 1000 < 700  # an item is 10 kB as text and more as objects


def test_a_large_zip_directory_is_read_by_others(tmp_path):
    """More members than the classic directory can count: the zip64 records are needed."""
    with ZipArchive(tmp_path / "many.zip") as archive:
        for k in range(66_000):
            archive.add(f"ä/{k}", b"x" * (k % 7))
        archive.commit()
    with zipfile.ZipFile(tmp_path / "many.zip") as package:
        assert len(package.namelist()) == 66_000
        assert package.read("ä/65999") == b"x" * (65999 % 7)
        assert package.read("ä/0") == b""
