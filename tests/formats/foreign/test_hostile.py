"""Packages from strangers: refused with a clear message, or read; never a crash, never a hang."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qbank.errors import QbankError
from qbank.formats import package as package_module
from qbank.formats.foreign.bank import open_bank
from qbank.formats.source import ReadItem
from tests.formats.foreign.documents import (
    ENTRY,
    R,
    asi,
    base,
    gives,
    item,
    manifest,
    response,
    when,
    zipped,
)

ONE = item(response(key="3"), f"<p>P = {ENTRY} W</p>",
           gives(f"<and><gte>{R}{base(2)}</gte><lte>{R}{base(4)}</lte></and>"))  # fmt: skip
BOMB = '<!DOCTYPE a [<!ENTITY x "xx"><!ENTITY y "&x;&x;">]>'
LISTED = manifest(("imsqti_item_xmlv2p1", "one.xml"))


def read(path):
    with open_bank(path) as bank:
        return list(bank), bank


@pytest.mark.parametrize("name", ["../evil.xml", "/etc/evil.xml", "a/../../b.xml", "C:/evil.xml"])
def test_paths_that_leave(tmp_path, name):
    with pytest.raises(QbankError, match="leaves the package"):
        read(zipped(tmp_path / "a.zip", {name: ONE}))


def test_links_in_a_zip_and_in_a_folder(tmp_path):
    link = zipfile.ZipInfo("one.xml")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as package:
        package.writestr(link, "/etc/passwd")
    with pytest.raises(QbankError, match=r"symbolic link, 'one\.xml'"):
        read(tmp_path / "a.zip")
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "one.xml").symlink_to("/etc/passwd")
    with pytest.raises(QbankError, match="symbolic link"):
        read(folder)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_in_an_item_and_in_a_manifest(tmp_path, encoding):
    hostile = (BOMB + ONE.replace("P =", "&y;")).encode(encoding)
    found, bank = read(zipped(tmp_path / "a.zip", {"imsmanifest.xml": LISTED, "one.xml": hostile}))
    assert found == []
    assert "declares entities" in bank.unreadable[0].what
    with pytest.raises(QbankError, match="declares entities"):
        read(zipped(tmp_path / "b.zip", {"imsmanifest.xml": BOMB + LISTED, "one.xml": ONE}))
    path = tmp_path / "one.xml"
    path.write_bytes(hostile)
    with pytest.raises(QbankError, match="declares entities"):
        read(path)


def test_a_document_type_is_not_fetched(tmp_path):
    secret = tmp_path / "secret.dtd"
    secret.write_text('<!ENTITY s "hidden words">', encoding="utf-8")
    text = f'<!DOCTYPE a SYSTEM "{secret.as_uri()}">' + ONE.replace("P =", "&s;")
    path = tmp_path / "one.xml"
    path.write_text(text, encoding="utf-8")
    try:
        found, _ = read(path)
    except QbankError:
        return
    assert "hidden" not in repr(found)


def test_an_encoding_that_could_hide_entities(tmp_path):
    path = tmp_path / "one.xml"
    path.write_bytes(b'<?xml version="1.0" encoding="UTF-7"?>' + ONE.encode())
    with pytest.raises(QbankError, match="encoding 'UTF-7'"):
        read(path)


def test_zip_bombs(tmp_path, monkeypatch):
    path = zipped(tmp_path / "a.zip", {"one.xml": b" " * (80 << 20)})
    with pytest.raises(QbankError, match="says it unpacks to"):
        read(path)
    monkeypatch.setattr(package_module, "MAX_MEMBERS", 3)
    with pytest.raises(QbankError, match="more than 3 members"):
        read(zipped(tmp_path / "b.zip", {f"{n}.xml": ONE for n in range(5)}))


@pytest.mark.parametrize("tag", ["div", "b", "ul", "q"])
def test_nesting_in_a_document(tmp_path, tag):
    deep = item(response(key="3"), f"<{tag}>" * 100_000 + ENTRY, "TEMPLATE match_correct")
    found, bank = read(zipped(tmp_path / "a.zip", {"one.xml": deep, "two.xml": ONE}))
    assert [each.item.identifier for each in found] == ["crane-1"]
    assert len(bank.unreadable) == 1
    within = f"<{tag}>" * 240 + ENTRY + f"</{tag}>" * 240
    found, _ = read(zipped(tmp_path / "b.zip", {
        "one.xml": item(response(key="3"), within, "TEMPLATE match_correct")}))  # fmt: skip
    assert len(found) == 1
    assert found[0].losses


def test_nesting_in_escaped_html_and_in_rules(tmp_path):
    html = "&lt;div&gt;" * 5000
    text = asi(f'<material><mattext texttype="text/html">{html}x</mattext></material>',
               when("<not>" * 200 + "<other/>" + "</not>" * 200, "1"))  # fmt: skip
    path = tmp_path / "one.xml"
    path.write_text(text, encoding="utf-8")
    found, bank = read(path)
    assert len(found) + len(bank.unreadable) == 1
    rules = "<not>" * 200 + f"<isNull>{R}</isNull>" + "</not>" * 200
    path.write_text(item(response(key="3"), f"<p>{ENTRY}</p>", gives(rules)), encoding="utf-8")
    found, bank = read(path)
    assert len(found) + len(bank.unreadable) == 1


def test_what_is_no_bank(tmp_path):
    with pytest.raises(QbankError, match="no file or folder"):
        open_bank(tmp_path / "none.zip")
    (tmp_path / "a.xml").write_text("<html/>", encoding="utf-8")
    with pytest.raises(QbankError, match="its root is <html>"):
        open_bank(tmp_path / "a.xml")
    with pytest.raises(QbankError, match="no document of items"):
        open_bank(zipped(tmp_path / "a.zip", {"a.png": b"x"}))


# ---------------------------------------------------------------------------- mutation

SEEDS = (
    ONE.encode(),
    item(response(key="3"), f"<p>P = {ENTRY} W</p>", "TEMPLATE match_correct", "qti-3.0").encode(),
    asi('<material><mattext texttype="text/html">&lt;p&gt;x&lt;/p&gt;</mattext></material>'
        '<response_num ident="N"><render_fib/></response_num>',
        when('<vargte respident="N">1</vargte><varlte respident="N">2</varlte>', "1")).encode(),
)  # fmt: skip


def outcome(path: Path) -> None:
    """Items, losses or a QbankError: all else fails the test."""
    try:
        found, _ = read(path)
    except QbankError:
        return
    assert all(isinstance(each, ReadItem) for each in found)


@settings(max_examples=150)
@given(
    seed=st.sampled_from(SEEDS),
    cuts=st.lists(
        st.tuples(st.integers(0, 2000), st.integers(0, 30), st.binary(max_size=6)), max_size=4
    ),
)
def test_changed_bytes_of_a_document(tmp_path_factory, seed, cuts):
    data = bytearray(seed)
    for start, length, replacement in cuts:
        first = start % (len(data) + 1)
        data[first : first + length] = replacement
    path = tmp_path_factory.mktemp("fuzz") / "one.xml"
    path.write_bytes(bytes(data))
    outcome(path)


WHOLE = io.BytesIO()
with zipfile.ZipFile(WHOLE, "w", zipfile.ZIP_DEFLATED) as _package:
    _package.writestr("imsmanifest.xml", LISTED)
    _package.writestr("one.xml", ONE)


@settings(max_examples=100)
@given(changes=st.lists(st.tuples(st.integers(0, 5000), st.integers(0, 255)), min_size=1))
def test_changed_bytes_of_a_zip(tmp_path_factory, changes):
    data = bytearray(WHOLE.getvalue())
    for at, value in changes:
        data[at % len(data)] = value
    path = tmp_path_factory.mktemp("fuzz") / "one.zip"
    path.write_bytes(bytes(data))
    outcome(path)


WORDS = (
    "and", "equal", "match", "gte", "-5", "1e999", "NaN", "single", "ordered", "RESPONSE",
    "integer", "string", "record", "", "variable", "correct", "sum", "mapResponse",
)  # fmt: skip


@settings(max_examples=150)
@given(seed=st.sampled_from(SEEDS), data=st.data())
def test_changed_words_of_a_document(tmp_path_factory, seed, data):
    import re

    text = seed.decode()
    spots = [m.span() for m in re.finditer(r"[A-Za-z0-9_.-]{3,}", text)]
    for _ in range(data.draw(st.integers(1, 3))):
        start, end = data.draw(st.sampled_from(spots))
        word = data.draw(st.sampled_from(WORDS))
        if len(word) <= end - start:
            text = text[:start] + word.ljust(end - start) + text[end:]
    path = tmp_path_factory.mktemp("fuzz") / "one.xml"
    path.write_text(text, encoding="utf-8")
    outcome(path)
