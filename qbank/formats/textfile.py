"""Writing one text file whole: what was there stays until the new one is complete."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterable
from pathlib import Path

from qbank.formats.archive import disk_faults


def write_text(path: Path, pieces: Iterable[str]) -> None:
    """Write pieces of text to `path` in UTF-8, line ends as they are.

    Raises OutputError when the file cannot be written; then nothing is left behind.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}-{secrets.token_hex(4)}.part")
    with disk_faults(path):
        try:
            with part.open("x", encoding="utf-8", errors="replace", newline="") as file:
                file.writelines(pieces)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
