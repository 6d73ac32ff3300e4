"""Packages from strangers: bounded, and an error rather than an effect."""

from __future__ import annotations

import zipfile
from html import escape

import pytest

from qbank.errors import QbankError
from qbank.formats import package as package_module
from qbank.formats.foreign.bank import open_bank
from qbank.formats.pictures import images_of
from qbank.formats.readback import read_items
from qbank.formats.validate import validate_package
from tests.formats.packages import change, swap, write_sample

BOMB = (
    '<!DOCTYPE a [<!ENTITY x "xxxxxxxxxx">'
    + "".join(f'<!ENTITY x{k} "{f"&x{k - 1};" * 10 if k else "&x;" * 10}">' for k in range(12))
    + "]>"
)
WINCH = "items/quay-winch/i0123456789-0.xml"


def zipped(tmp_path, members):
    target = tmp_path / "package.zip"
    with zipfile.ZipFile(target, "w") as package:
        for name, text in members:
            package.writestr(name, text)
    return target


@pytest.mark.parametrize("name", ["../evil.xml", "/etc/evil", "a/../../b", "C:/evil", "a\\..\\b"])
def test_a_path_that_leaves_the_package_is_refused(tmp_path, name):
    with pytest.raises(QbankError, match="leaves the package"):
        validate_package(zipped(tmp_path, [("imsmanifest.xml", "<a/>"), (name, "x")]))


@pytest.mark.parametrize("member", ["imsmanifest.xml", "test.xml", WINCH])
def test_entities_are_refused_not_expanded(tmp_path, member):
    folder = write_sample(tmp_path, "qti-2.1")
    change(folder, member, swap('<?xml version="1.0" encoding="UTF-8"?>\n', BOMB))
    if member == WINCH:  # one item of many: a finding; the others end it all
        (finding,) = validate_package(folder)
        assert finding.rule == "xml.well-formed"
        assert "declares a document type" in finding.message
    else:
        with pytest.raises(QbankError, match="declares a document type"):
            validate_package(folder)


def test_an_external_entity_is_not_loaded(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("hidden words", encoding="utf-8")
    folder = write_sample(tmp_path, "qti-2.1")
    declared = f'<!DOCTYPE a [<!ENTITY s SYSTEM "{secret.as_uri()}">]>'
    change(folder, WINCH, swap('<?xml version="1.0" encoding="UTF-8"?>\n', declared))
    change(folder, WINCH, swap("Which equation", "&s; Which equation"))
    with pytest.raises(QbankError, match="declares a document type"):
        list(read_items(folder))


def test_a_document_in_another_encoding_cannot_hide_entities(tmp_path):
    folder = write_sample(tmp_path, "qti-2.1")
    path = folder / WINCH
    text = path.read_text(encoding="utf-8").split("\n", 1)[1]
    path.write_bytes((BOMB + text).encode("utf-16"))
    assert [f.rule for f in validate_package(folder)] == ["xml.well-formed"]


def test_a_member_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch):
    folder = write_sample(tmp_path, "qti-2.1")
    change(folder, WINCH, swap("Which equation", "x" * (17 << 20)))
    with pytest.raises(QbankError, match="more than 16 MB"):
        validate_package(folder)
    monkeypatch.setattr(package_module, "MAX_MEMBER_BYTES", 1000)
    with pytest.raises(QbankError, match="more than 2 GB"):
        validate_package(folder)
    monkeypatch.setattr(package_module, "MAX_MEMBERS", 3)
    with pytest.raises(QbankError, match="more than 3 members"):
        validate_package(folder)


def test_what_is_no_package_says_so(tmp_path):
    (tmp_path / "text.zip").write_text("no zip", encoding="utf-8")
    for path, said in (
        (tmp_path / "text.zip", "cannot read the package"),
        (tmp_path / "gone.zip", "cannot read the package"),
        (zipped(tmp_path, [("a.txt", "x")]), "cannot tell the format"),
        (tmp_path, "cannot tell the format"),
    ):
        with pytest.raises(QbankError, match=said) as caught:
            validate_package(path)
        assert caught.value.hint


def test_a_damaged_zip_is_an_error(tmp_path):
    folder = write_sample(tmp_path, "qti-2.1")
    target = tmp_path / "bank.zip"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as package:
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            package.write(path, path.relative_to(folder).as_posix())
    assert validate_package(target) == []
    data = bytearray(target.read_bytes())
    at = data.index(b"quay-winch/i0123456789-0.xml") + 60
    data[at : at + 40] = b"\x55" * 40
    target.write_bytes(bytes(data))
    with pytest.raises(QbankError, match=r"damaged|cannot read"):
        validate_package(target)


def test_two_members_of_one_path_are_a_finding(tmp_path):
    folder = write_sample(tmp_path, "qti-3.0")
    target = tmp_path / "bank.zip"
    with zipfile.ZipFile(target, "w") as package:
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            package.write(path, path.relative_to(folder).as_posix())
        with pytest.warns(UserWarning, match="Duplicate name"):
            package.writestr("test.xml", (folder / "test.xml").read_bytes())
    assert "package.unique" in {f.rule for f in validate_package(target)}


def test_a_link_out_of_a_folder_is_not_followed(tmp_path):
    folder = write_sample(tmp_path, "qti-2.1")
    secret = tmp_path / "secret.xml"
    (folder / WINCH).rename(secret)
    (folder / WINCH).symlink_to(secret)
    assert "manifest.href" in {f.rule for f in validate_package(folder)}


@pytest.mark.parametrize("format_name", ["qti-2.1", "qti-3.0", "qti-1.2", "csv"])
def test_a_picture_outside_an_unpacked_package_is_not_read(tmp_path, format_name):
    """An item names a file beside the folder: its bytes must get into no item."""
    folder = write_sample(tmp_path, format_name)
    (tmp_path / "secret.svg").write_text("<svg>hidden words</svg>", encoding="utf-8")
    member = {"csv": "items.csv", "qti-1.2": "item-i0123456789-0.xml"}.get(format_name, WINCH)
    up = "../" * (member.count("/") + 1)
    picture = f'<p><img src="{up}secret.svg" alt="x"/></p>'
    if format_name == "qti-1.2":
        change(folder, member, swap("&lt;p&gt;A winch", f"{escape(picture)}&lt;p&gt;A winch"))
    elif format_name == "csv":
        quoted = picture.replace('"', '""')
        change(folder, member, swap('"<p>A winch', f'"{quoted}<p>A winch'))
    else:
        change(folder, member, swap("<p>A winch", f"{picture}<p>A winch"))
    with pytest.raises(QbankError, match="there is no such member"):
        list(read_items(folder))
    for whole in (True, False):
        with open_bank(folder, whole=whole) as bank:
            items = [read.item for read in bank]
        assert items
        assert not any(image.data for item in items for image in images_of(item))
