"""What the description of the family format is made of: sections and their keys."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Form(Enum):
    """What kind of YAML node a key holds."""

    TEXT = "text"
    LIST = "a list"
    TEXTS = "text or a list of texts"
    MAPPING = "a mapping"


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a section.

    `needs` names the key it is only allowed beside; `most` bounds how many entries it holds.
    """

    name: str
    form: Form
    doc: str
    required: bool = False
    default: str = ""
    needs: str = ""
    most: int = 0


@dataclass(frozen=True, slots=True)
class Section:
    """A mapping with a fixed set of keys; of `one_of`, exactly one must be there."""

    title: str
    doc: str
    keys: tuple[Key, ...]
    one_of: tuple[str, ...] = ()
    example: str = ""

    def key(self, name: str) -> Key | None:
        """The key of that name, if the section has it."""
        return next((key for key in self.keys if key.name == name), None)
