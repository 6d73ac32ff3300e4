"""The formats by name. A new format is a module and a line here."""

from __future__ import annotations

from difflib import get_close_matches

from qbank.errors import QbankError
from qbank.formats.base import Format
from qbank.formats.cartridge import CartridgeFormat
from qbank.formats.csvtable import CsvFormat
from qbank.formats.dialects import DIALECTS
from qbank.formats.qti import QtiFormat
from qbank.formats.qti12 import Qti12Format

FORMATS: dict[str, Format] = {
    **{name: QtiFormat(dialect) for name, dialect in DIALECTS.items()},
    "qti-1.2": Qti12Format(),
    "cartridge-1.3": CartridgeFormat(),
    "csv": CsvFormat(),
}


def find_format(name: str) -> Format:
    """The format of that name. Raises QbankError, naming the nearest, when there is none."""
    if name in FORMATS:
        return FORMATS[name]
    near = get_close_matches(name, FORMATS, n=1, cutoff=0.3)
    meant = f"did you mean '{near[0]}'? " if near else ""
    raise QbankError(
        f"there is no format '{name}'", hint=f"{meant}The formats are {', '.join(FORMATS)}."
    )
