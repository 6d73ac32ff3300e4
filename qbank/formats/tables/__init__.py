"""Tables of anyone's making as banks: what each column holds is read off headers and cells."""

from __future__ import annotations

from qbank.formats.tables.reading import TableReading, read_table
from qbank.formats.tables.roles import ROLES
from qbank.formats.tables.sheet import Dialect

__all__ = ["ROLES", "Dialect", "TableReading", "read_table"]
