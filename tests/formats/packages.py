"""Packages written to a folder and changed by hand, for tests that break them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from qbank.formats.writing import write_bank
from tests.formats.samples import bank


def write_sample(folder: Path, format_name: str, count: int = 3) -> Path:
    """The sample bank, unpacked."""
    info, items = bank(count)
    target = folder / format_name
    write_bank(info, items, target, format_name, unpacked=True)
    return target


def change(package: Path, member: str, edit: Callable[[str], str]) -> None:
    """Edit one member; the edit must change something."""
    path = package / member
    before = path.read_text(encoding="utf-8")
    after = edit(before)
    assert after != before, f"the edit changes nothing in {member}"
    path.write_text(after, encoding="utf-8")


def swap(old: str, new: str) -> Callable[[str], str]:
    """An edit that replaces the first occurrence."""
    return lambda text: text.replace(old, new, 1)
