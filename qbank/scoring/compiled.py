"""From the bytes of a document to an item that can be scored, of whichever standard."""

from __future__ import annotations

from lxml import etree

from qbank.scoring.documents import read_document
from qbank.scoring.faults import ScoringError
from qbank.scoring.item import ScoredItem
from qbank.scoring.names import name_of_tag


def compile_item(data: bytes, name: str = "the item") -> ScoredItem:
    """The item in a document of QTI 2.1, 2.2 or 3.0, its rules ready to run.

    Raises ScoringError when the document cannot be read, is no item, or has rules that cannot
    be run as they stand.
    """
    return item_of(read_document(data, name), name, data)


def item_of(root: etree._Element, name: str = "the item", data: bytes | None = None) -> ScoredItem:
    """The same of a document that is read already.

    `data`, the bytes it was read from, may be given: they are searched much faster than a tree.
    """
    if name_of_tag(root.tag) != "assessmentItem":
        raise ScoringError(
            f"{name} is no item: it is <{etree.QName(root).localname}>",
            hint="expected an assessmentItem of QTI 2.x or 3.0",
        )
    return ScoredItem(root, data)
