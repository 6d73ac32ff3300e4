"""Collecting what is lost while an item, or what describes the bank, is read."""

from __future__ import annotations

from lxml import etree

from qbank.formats.source import Loss
from qbank.place import Place

MOST = 200  # losses kept of one collector; a hostile document could make millions


def place_of(member: str, element: etree._Element | None = None) -> Place:
    """Where an element starts; the start of the member without one."""
    line = None if element is None else element.sourceline
    return Place(member, line if isinstance(line, int) else 1, 1)


class Losses:
    """The losses of one item, or of a bank where `item` is empty.

    Each kind of loss is told once for each sentence: twenty words in bold are one loss.
    """

    def __init__(self, member: str, item: str = "", base_line: int = 0) -> None:
        self.member = member
        self.item = item
        self.base_line = base_line  # where a document within the document starts
        self.found: list[Loss] = []
        self._told: set[tuple[str, str]] = set()

    def add(self, code: str, what: str, element: etree._Element | None = None) -> None:
        """Keep a loss, at the line of an element where one is given."""
        if (code, what) in self._told or len(self.found) >= MOST:
            return
        self._told.add((code, what))
        place = place_of(self.member, element)
        if self.base_line:
            place = Place(place.file, self.base_line, 1)
        self.found.append(Loss(code, place, self.item, what))

    def __bool__(self) -> bool:
        return bool(self.found)
