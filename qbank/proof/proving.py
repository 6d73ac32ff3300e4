"""One proof sheet of a family or of a bank."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

from qbank.errors import OutputError, QbankError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.formats.validate import open_package
from qbank.proof.gather import MOST_SHOWN, from_bank, from_family
from qbank.proof.page import ProofReport, write_page

_FAMILY_ENDINGS = (".yaml", ".yml")
_BANK_ENDINGS = (".zip", ".imscc", ".jsonl", ".csv", ".tsv", ".tab", ".txt", ".xml")


def write_proof(
    source: Family | str | Path,
    *,
    count: int = 40,
    seed: int = 0,
    out: str | Path | None = None,
    forms: int = 4,
    most: int = MOST_SHOWN,
    language: str | None = None,
    columns: Mapping[str, str] | None = None,
    progress: Callable[[int], None] | None = None,
) -> ProofReport:
    """Write the proof sheet of a family or of a bank to the HTML file `out`.

    `source` is a family, the name of a shipped one, the path of a family file, or the path of a
    bank of anyone's making: a package, the folder it was unpacked to, a table, JSON Lines or a
    single item. Of a family `count` instances of `seed` are drawn and checked; of a bank all items
    are read, `columns` says for a table which column holds what. The page shows the first `most`
    of them and `forms` forms (1 to 26) for paper. `language` is that of a family's text; a bank's
    is its own. Without `out` the file is named after the source, in the working folder. What the
    page is made from is never overwritten.

    Raises FamilyError or QbankError for a source that cannot be used, DrawError where the rules
    cannot be met or fewer instances exist, CheckFailed when a check of the tool on its own work
    does not hold, OutputError when the page cannot be written.
    """
    if not isinstance(source, Family) and not is_bank(source):
        source = load_family(find_family(source), language)
    target = None if out is None else Path(out)
    if target is not None:
        file = source.place.file if isinstance(source, Family) else source
        _ensure_apart(Path(file), target)
    if isinstance(source, Family):
        proof, name = from_family(source, count, seed, most, progress), source.name
    else:
        path = Path(source)
        proof, name = from_bank(path, most, progress, columns), path.resolve().stem
    stem = re.sub(r"[^\w.-]+", "-", name).strip("-.")[:100] or "bank"
    return write_page(proof, target or Path(f"{stem}-proof.html"), forms)


def _ensure_apart(source: Path, target: Path) -> None:
    """Refuse to write the page over what it is made from."""
    if source.exists() and target.exists() and target.samefile(source):
        raise OutputError(
            f"'{target}' is what the page is made from",
            hint="name another file with --out, such as proof.html",
        )


def steps_ahead(source: str | Path, count: int, most: int) -> int:
    """About how often the progress of `write_proof` will be one further; for a progress bar."""
    if not is_bank(source):
        return min(count, most)
    try:
        with open_package(Path(source)) as package:
            items = len(package.names)
    except QbankError:  # a table, or a single document
        items = most
    return items + min(items, most)


def is_bank(source: str | Path) -> bool:
    """Whether `source` is a bank rather than a family: any file or folder that is there and does
    not end as family files do. Raises QbankError where a name can only be a bank's and there is
    none."""
    text = str(source)
    if text.endswith(_FAMILY_ENDINGS):
        return False
    try:
        if Path(text).exists():
            return True
    except (OSError, ValueError):  # a name too long, or with a null character
        return False
    if text.lower().endswith(_BANK_ENDINGS):
        raise QbankError(f"there is no file or folder '{text}'", hint="check the path")
    return False
