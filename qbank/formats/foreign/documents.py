"""Parsing documents of anyone's making: any common encoding, no entities, nothing loaded.

A document type may be named, as QTI 1.2.1 asks (mapping note, a1), but not declare anything.
"""

from __future__ import annotations

import codecs
import html.entities
import re

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.foreign.losses import Losses
from qbank.formats.grammar import secure_parser

_PARSER = secure_parser()
_DECLARATION = re.compile(rb"<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([A-Za-z0-9._-]{1,40})[\"']")
_DECLARATION_TEXT = re.compile(r"^\ufeff?\s*<\?xml[^>]{0,300}\?>")
_NAMED = re.compile(r"&([A-Za-z][A-Za-z0-9]{1,31});")
_OF_XML = frozenset(["lt", "gt", "amp", "quot", "apos"])
_WIDE = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
# Encodings in which the letters of a document type look as in ASCII, so that none can hide.
_PLAIN = re.compile(
    r"utf-?8|us-ascii|ascii|iso-?8859-?\d{1,2}|latin-?1|windows-125\d|cp125\d|"
    r"gbk|gb2312|gb18030|big5|euc-(jp|kr)|shift_jis|koi8-[ru]",
    re.IGNORECASE,
)
MAX_SUBSET = "declares entities or a document type of its own"


def parse_document(data: bytes, member: str, losses: Losses) -> etree._Element:
    """The root of a document from anyone.

    Raises QbankError when it is not well-formed, nested too deep, in an encoding not known here,
    or declares entities.
    """
    if data[:2] in _WIDE or b"\0" in data[:64]:
        data = _as_utf8(data, member)
    declared = _DECLARATION.match(data[:300].lstrip(codecs.BOM_UTF8))
    if declared is not None and not _PLAIN.fullmatch(declared[1].decode()):
        raise QbankError(
            f"'{member}' says it is in the encoding '{declared[1].decode()}'",
            hint="expected UTF-8, UTF-16 or a common 8-bit encoding; store it as UTF-8",
        )
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        _ensure_plain_type(data, member)
    try:
        return etree.fromstring(data, _PARSER)
    except (etree.XMLSyntaxError, ValueError) as fault:
        mended = _mended(data, member, losses)
        if mended is None:
            raise _not_well_formed(member, fault) from fault
    try:
        return etree.fromstring(mended, _PARSER)
    except (etree.XMLSyntaxError, ValueError) as fault:
        raise _not_well_formed(member, fault) from fault


def _not_well_formed(member: str, fault: Exception) -> QbankError:
    said = fault.msg if isinstance(fault, etree.XMLSyntaxError) else str(fault)
    return QbankError(f"'{member}' is not well-formed XML: {said}")


def _as_utf8(data: bytes, member: str) -> bytes:
    """A document of two-byte characters as UTF-8, so that one way of looking serves all."""
    name = "utf-16"
    if data[:2] not in _WIDE:
        name = "utf-16-be" if data[:1] == b"\0" else "utf-16-le"
    try:
        text = data.decode(name)
    except UnicodeDecodeError as fault:
        raise QbankError(f"'{member}' is in no encoding that is known here") from fault
    return _DECLARATION_TEXT.sub("", text).lstrip("\ufeff").encode("utf-8", "replace")


def _ensure_plain_type(data: bytes, member: str) -> None:
    start = data.find(b"<!DOCTYPE")
    subset = b"[" in data[start:].partition(b">")[0] if start >= 0 else False
    if subset or b"<!ENTITY" in data:
        raise QbankError(
            f"'{member}' {MAX_SUBSET}",
            hint="item documents need none; entities in it could grow without bound",
        )


def _mended(data: bytes, member: str, losses: Losses) -> bytes | None:
    """The document with what people often get wrong put right; None where that is nothing."""
    try:
        text = data.decode("utf-8-sig")
        as_utf8 = True
    except UnicodeDecodeError:
        if _DECLARATION.match(data[:300]) and b"utf-8" not in data[:300].lower():
            return None  # the encoding it declares was tried
        text = data.decode("cp1252", "replace")
        as_utf8 = False
    if not as_utf8:
        losses.add("encoding", f"'{member}' is not the UTF-8 it should be: read as windows-1252")
    names: set[str] = set()

    def character(found: re.Match[str]) -> str:
        if found[1] in _OF_XML:
            return found[0]
        said = html.entities.html5.get(f"{found[1]};")
        if said is None or said in "<&":
            return found[0]
        names.add(found[1])
        return said

    text = _NAMED.sub(character, text)
    if names:
        listed = ", ".join(sorted(names)[:5])
        losses.add("entity", f"names of characters that XML does not know are read: {listed}")
    if as_utf8 and not names and not data.startswith(b"\n") and text[:1].strip():
        return None
    return _DECLARATION_TEXT.sub("", text.lstrip()).encode("utf-8", "replace")
