"""One proof sheet of a family or of a bank."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

from qbank.errors import QbankError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Family
from qbank.formats.jsonl_readback import ENDING
from qbank.formats.validate import open_package
from qbank.proof.gather import MOST_SHOWN, from_bank, from_family
from qbank.proof.page import ProofReport, write_page


def write_proof(
    source: Family | str | Path,
    *,
    count: int = 40,
    seed: int = 0,
    out: str | Path | None = None,
    forms: int = 4,
    most: int = MOST_SHOWN,
    language: str | None = None,
    progress: Callable[[int], None] | None = None,
) -> ProofReport:
    """Write the proof sheet of a family or of a bank to the HTML file `out`.

    `source` is a family, the name of a shipped one, the path of a family file, or the path of a
    package (a zip file or the folder it was unpacked to). Of a family `count` instances of `seed`
    are drawn and checked; of a bank all items are read. The page shows the first `most` of them
    and `forms` forms (1 to 26) for paper. `language` is that of a family's text; a bank's is its
    own. Without `out` the file is named after the source, in the working folder.

    Raises FamilyError or QbankError for a source that cannot be used, DrawError where the rules
    cannot be met or fewer instances exist, CheckFailed when a check of the tool on its own work
    does not hold, OutputError when the page cannot be written.
    """
    if isinstance(source, Family) or not is_bank(source):
        family = (
            source
            if isinstance(source, Family)
            else load_family(find_family(str(source)), language)
        )
        proof = from_family(family, count, seed, most, progress)
        name = family.name
    else:
        path = Path(source)
        proof = from_bank(path, most, progress)
        name = path.resolve().stem
    stem = re.sub(r"[^\w.-]+", "-", name).strip("-.")[:100] or "bank"
    return write_page(proof, Path(out) if out is not None else Path(f"{stem}-proof.html"), forms)


def steps_ahead(source: str | Path, count: int, most: int) -> int:
    """About how often the progress of `write_proof` will be one further; for a progress bar."""
    if not is_bank(source):
        return min(count, most)
    with open_package(Path(source)) as package:
        items = len(package.names)
    return items + min(items, most)


def is_bank(source: str | Path) -> bool:
    """Whether `source` is a package rather than a family. Raises QbankError where a name can only
    be a package's and there is none."""
    path = Path(source)
    try:
        if path.is_dir() or (
            path.is_file() and (zipfile.is_zipfile(path) or path.suffix == ENDING)
        ):
            return True
    except (OSError, ValueError):  # a name too long, or with a null character
        return False
    if path.suffix.lower() in (".zip", ".imscc", ENDING):
        found = "it is no zip file" if path.exists() else "there is no such file"
        raise QbankError(
            f"cannot read the bank '{source}': {found}",
            hint="expected a package: a zip file or the folder it was unpacked to",
        )
    return False
