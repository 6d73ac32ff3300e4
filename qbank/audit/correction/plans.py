"""Gathering the places of one item that state one key, and what is to stand there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from qbank.audit.correction.changes import Edit, LeftAlone
from qbank.audit.correction.newkeys import NewKey, bound_text, states
from qbank.audit.correction.numerals import find_numeral
from qbank.audit.correction.spans import (
    Element,
    NotEditable,
    as_markup,
    span_of_attribute,
    span_of_text,
)
from qbank.audit.verdict import Judgement

KEY, BAND, SHOWN = "the key", "its band", "the key as people read it"


@dataclass(slots=True)
class Plan:
    """The edits for one key of a document, and what they change in words."""

    data: bytes
    judgement: Judgement
    edits: list[Edit] = field(default_factory=list)
    old: str = ""
    new: str = ""
    band: tuple[str, str] | None = None
    response: str = ""  # the identifier of the response that the part is

    def key(self, element: Element, key: NewKey) -> bool:
        """Replace the text of an element where it is the old key; whether it is."""
        numeral = states(element.text, key.old)
        if numeral is None:
            return False
        self._note(element.text.strip(), key.text(numeral))
        self.text(element, key.text(numeral), KEY)
        return True

    def key_attribute(self, element: Element, name: str, key: NewKey) -> bool:
        """Replace the value of an attribute where it is the old key; whether it is."""
        said = element.attributes.get(name, "")
        numeral = states(said, key.old)
        if numeral is None:
            return False
        self._note(said, key.text(numeral))
        self.attribute(element, name, key.text(numeral), KEY)
        return True

    def option(self, element: Element, old: str, new: str) -> None:
        """Replace one identifier by another as the text of an element."""
        self._note(old, new)
        self.text(element, new, KEY)

    def bounds(self, low: Element, high: Element, key: NewKey) -> None:
        """Replace the bounds of the band around the key."""
        read = [states_number(bound.text) for bound in (low, high)]
        least, most = key.band(*read)
        texts = bound_text(least, low.text), bound_text(most, high.text)
        self.text(low, texts[0], BAND)
        self.text(high, texts[1], BAND)
        if self.band is None:
            self.band = texts

    def shown(self, element: Element, key: NewKey) -> None:
        """Replace the key in a text for people, where it stands there as the bank writes it."""
        self._shown(element.text, key, lambda new: self.text(element, new, SHOWN))

    def shown_attribute(self, element: Element, name: str, key: NewKey) -> None:
        """The same in an attribute."""
        self._shown(
            element.attributes.get(name, ""),
            key,
            lambda new: self.attribute(element, name, new, SHOWN),
        )

    def text(self, element: Element, new: str, what: str) -> None:
        """Replace the text of an element."""
        try:
            start, end = span_of_text(element, self.data)
        except NotEditable as fault:
            raise LeftAlone(f"{what} cannot be rewritten byte by byte: {fault}") from fault
        self.edits.append(Edit(start, end, as_markup(new), what))

    def attribute(self, element: Element, name: str, new: str, what: str) -> None:
        """Replace the value of an attribute."""
        try:
            start, end = span_of_attribute(element, name, self.data)
        except NotEditable as fault:
            raise LeftAlone(f"{what} cannot be rewritten byte by byte: {fault}") from fault
        self.edits.append(Edit(start, end, as_markup(new), what))

    def _note(self, old: str, new: str) -> None:
        if not self.old:
            self.old, self.new = old, new

    def _shown(self, said: str, key: NewKey, write: Callable[[str], None]) -> None:
        new = shown_anew(said, key)
        if new is not None:
            write(new)


def shown_anew(said: str, key: NewKey) -> str | None:
    """A key with its unit, the number replaced; None where the text starts with another one."""
    numeral = find_numeral(said)
    if numeral is None or numeral.value != key.old:
        return None
    return said.strip().replace(said[numeral.start : numeral.end], key.text(numeral), 1)


def states_number(text: str) -> Decimal:
    """The number of a bound. Raises LeftAlone where it is none."""
    found = find_numeral(text)
    if found is None or text[found.end :].strip():
        raise LeftAlone("a bound of its band is no number")
    return found.value


def option_pairs(old: Iterable[str], correct: Iterable[str]) -> tuple[str, str]:
    """The one option to be keyed no more and the one to be keyed instead.

    Raises LeftAlone where it takes more than one exchange, which would move markup about.
    """
    now, then = set(old), set(correct)
    gone, come = sorted(now - then), sorted(then - now)
    if len(gone) != 1 or len(come) != 1:
        raise LeftAlone("more than one option would have to be keyed anew")
    return gone[0], come[0]
