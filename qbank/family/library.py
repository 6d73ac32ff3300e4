"""Finds family files: the shipped ones by name, others by path."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path

from qbank.errors import FamilyError
from qbank.place import Place

_PACKAGE = Path(__file__).resolve().parent.parent
# In a wheel the shipped families lie inside the package, in a checkout beside it.
_FOLDERS = (_PACKAGE / "shipped", _PACKAGE.parent / "families")


def shipped_families() -> list[Path]:
    """The paths of the families that come with qbank, sorted by name."""
    for folder in _FOLDERS:
        if folder.is_dir():
            return sorted(folder.rglob("*.yaml"), key=lambda path: path.stem)
    return []


def find_family(name_or_path: str | Path) -> Path:
    """The file of a shipped family, given its name, or of any family, given its path.

    Text with a slash or with the ending .yaml or .yml is a path, anything else a name.
    Raises FamilyError when there is none, and offers the nearest name.
    """
    text = str(name_or_path)
    if isinstance(name_or_path, Path) or "/" in text or "\\" in text or _is_yaml(text):
        path = Path(text)
        if _exists(path):
            return path
        raise FamilyError(
            "there is no such file",
            place=Place(text, 1, 1),
            hint="check the path, or name a shipped family; `qbank list` shows them",
        )
    names = {path.stem: path for path in shipped_families()}
    if text in names:
        return names[text]
    near = get_close_matches(text, names, n=1)
    raise FamilyError(
        f"no family is named '{text[:80]}'",
        hint=f"Did you mean {near[0]}?"
        if near
        else "`qbank list` shows the shipped families; a path must end in .yaml",
    )


def _is_yaml(text: str) -> bool:
    return text.endswith((".yaml", ".yml"))


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # a name too long, or with a null character
        return False
