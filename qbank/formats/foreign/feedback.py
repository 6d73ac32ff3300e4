"""Feedback of QTI 2.x and 3.0: by outcome and identifier, taken by what it belongs to."""

from __future__ import annotations

from lxml import etree

from qbank.formats.foreign.content import ContentReader
from qbank.formats.foreign.losses import Losses
from qbank.formats.qti_markup import SLIP
from qbank.formats.qti_tree import attribute, child, descendants
from qbank.formats.xmltext import text_of_name_part
from qbank.item import Block, Inline


class Feedbacks:
    """The feedback elements of an item; what nobody takes is told at the end."""

    def __init__(self, modal: list[etree._Element], content: ContentReader) -> None:
        self._content = content
        self._by_name: dict[tuple[str, str], etree._Element] = {}
        self._taken: set[tuple[str, str]] = set()
        self._always: list[etree._Element] = []
        for element in modal:
            self.add(element)

    def add(self, element: etree._Element) -> None:
        """Another feedback element."""
        key = (attribute(element, "outcomeIdentifier"), attribute(element, "identifier"))
        if attribute(element, "showHide") == "hide":
            self._always.append(element)
        else:
            self._by_name.setdefault(key, element)

    def take(self, outcome: str, label: str) -> tuple[Inline, ...]:
        """The feedback shown for an outcome's value, as one line."""
        element = self._by_name.get((outcome, label))
        if element is None:
            return ()
        self._taken.add((outcome, label))
        return self._content.inline(_inner(element))

    def inline_in(self, choice: etree._Element) -> tuple[Inline, ...]:
        """The feedback that stands within an option."""
        found = [self._content.inline(e) for e in descendants(choice, "feedbackInline")]
        return next((said for said in found if said), ())

    def solution(self) -> tuple[Block, ...]:
        """The worked solution: by our own name for it, or what says it is one."""
        for key, element in self._by_name.items():
            said = f"{' '.join(key)} {element.get('title') or ''}".lower()
            if key not in self._taken and "solution" in said:
                self._taken.add(key)
                return self._content.blocks(_inner(element))
        return ()

    def hints(self) -> tuple[tuple[Inline, ...], ...]:
        """The hints in turn."""
        found = []
        for key, element in self._by_name.items():
            if key not in self._taken and "hint" in " ".join(key).lower():
                self._taken.add(key)
                found.append(self._content.inline(_inner(element)))
        return tuple(found)

    def tell(self, losses: Losses) -> None:
        """Tell of the feedback that has no place."""
        for key, element in self._by_name.items():
            if key not in self._taken:
                losses.add("feedback", f"feedback '{key[1]}' for all of '{key[0]}' is left out",
                           element)  # fmt: skip
        for element in self._always:
            losses.add("feedback", "feedback that always shows is left out", element)

    @staticmethod
    def slip(label: str) -> str | None:
        """The slip that our own labels name."""
        if not label.startswith(SLIP):
            return None
        return text_of_name_part(label.removeprefix(SLIP).rstrip("."))


def _inner(element: etree._Element) -> etree._Element:
    """The content of a feedback, inside the wrapper that only 3.0 has."""
    wrapper = child(element, "contentBody")
    return element if wrapper is None else wrapper
