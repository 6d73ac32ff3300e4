"""Reading an item's document from anyone: no entities, nothing loaded, one parser for all."""

from __future__ import annotations

from lxml import etree

from qbank.formats.grammar import secure_parser
from qbank.scoring.faults import ScoringError

MAX_BYTES = 16 << 20
_PARSER = secure_parser()


def read_document(data: bytes, name: str = "the item", limit: int = MAX_BYTES) -> etree._Element:
    """The root of a document.

    A document type may be named, as QTI 1.2.1 does, but not carry declarations of its own.
    Raises ScoringError when the document is not well-formed, too large, or declares entities.
    """
    if len(data) > limit:
        raise ScoringError(f"{name} has more than {limit >> 20} MB")
    if b"<!ENTITY" in data or b"\0" in data[:64]:
        raise ScoringError(
            f"{name} declares entities or is not UTF-8",
            hint="item documents need no entities; they could grow without bound",
        )
    try:
        root = etree.fromstring(data, _PARSER)
    except etree.XMLSyntaxError as fault:
        raise ScoringError(f"{name} is not well-formed XML: {fault.msg}") from fault
    if b"<!DOCTYPE" in data:
        head = data[data.index(b"<!DOCTYPE") :].partition(b">")[0]
        if b"[" in head or next(root.iter(etree.Entity), None) is not None:
            raise ScoringError(f"{name} carries a document type of its own")
    return root
