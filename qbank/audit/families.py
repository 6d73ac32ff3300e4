"""The shipped families, read once in a process for as long as their files stay the same."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Family


def shipped() -> list[Family]:
    """All of them, sorted by name. Raises FamilyError for a file that is at fault."""
    return [loaded(path) for path in shipped_families()]


def loaded(path: Path, language: str | None = None) -> Family:
    """A family by its file, in its own language or in another that it has. Raises FamilyError."""
    try:
        state = path.stat()
    except OSError:
        return load_family(path, language)  # which says what is wrong
    return _loaded(path, language, state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=256)
def _loaded(path: Path, language: str | None, _changed: int, _size: int) -> Family:
    return load_family(path, language)
