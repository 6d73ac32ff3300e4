"""What reading a bank of anyone's making yields: items with their place, and what was lost."""

from __future__ import annotations

from dataclasses import dataclass

from qbank.item import Item
from qbank.place import Place


@dataclass(frozen=True, slots=True)
class Loss:
    """Something a file says that the neutral item has no place for, or that was not understood.

    code   stable name of the kind of loss, such as "interaction"
    place  member and line where it stands
    item   identifier of the item; empty for something of the bank as a whole
    what   a sentence on what it is and what became of it
    """

    code: str
    place: Place
    item: str
    what: str

    def __str__(self) -> str:
        return f"{self.place}: {self.what} [{self.code}]"


@dataclass(frozen=True, slots=True)
class ReadItem:
    """An item with the place it was read from and what was lost in reading it.

    A numeric part without a key has `key` NaN and an empty `key_text`; one without a stated
    band has `low` and `high` NaN. `document` holds the bytes of a document of QTI 2.x or 3.0 that
    others made, for who runs its rules; else it is empty.
    """

    item: Item
    place: Place
    losses: tuple[Loss, ...] = ()
    document: bytes = b""
