"""Identifiers of anyone's making as the neutral item wants them."""

from __future__ import annotations

from hashlib import sha256

from qbank.formats.base import as_ncname
from qbank.formats.foreign.losses import Losses
from qbank.formats.xmltext import IDENTIFIER

LENGTH = 32


def item_identifier(text: str, member: str, losses: Losses) -> str:
    """An identifier as it stands, or an NCName of at most 32 characters made of it."""
    if IDENTIFIER.fullmatch(text):
        return text
    given = text.strip() or member.rpartition("/")[2].removesuffix(".xml")
    name = as_ncname(given)
    if len(name) > LENGTH:
        name = f"{name[: LENGTH - 9]}-{sha256(given.encode()).hexdigest()[:8]}"
    if name != text:
        losses.item = name
        losses.add("identifier", f"the identifier '{text[:80]}' was changed to '{name}'")
    return name


class Unique:
    """Keeps the identifiers of a bank apart."""

    def __init__(self) -> None:
        self._seen: set[str] = set()

    def name(self, identifier: str, losses: Losses) -> str:
        """The identifier, or the next free one where another item has it."""
        if identifier not in self._seen:
            self._seen.add(identifier)
            return identifier
        n = 2
        while (name := f"{identifier[: LENGTH - len(str(n)) - 1]}-{n}") in self._seen:
            n += 1
        self._seen.add(name)
        losses.item = name
        losses.add(
            "duplicate-identifier",
            f"the identifier '{identifier}' was given to an item before; this one is '{name}'",
        )
        return name
