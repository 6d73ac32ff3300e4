"""Where something stands in a file a person wrote."""

from __future__ import annotations

from typing import NamedTuple


class Place(NamedTuple):
    """A position in a text file; `line` and `column` count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"
