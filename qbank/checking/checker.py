"""All checks of a family, compiled once and applied to chunks of solved instances."""

from __future__ import annotations

from qbank.checking.report import CheckReport
from qbank.family.model import Family
from qbank.instances import Instances


class Checker:
    """The checks of one family; `check` adds what it finds on a chunk to a report."""

    def __init__(self, family: Family) -> None:
        self.family = family

    def check(self, instances: Instances, report: CheckReport) -> None:
        """Apply every check to `instances`, adding counts and failures to `report`."""
