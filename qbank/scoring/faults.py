"""The fault of an item whose rules cannot be run, and of responses that cannot be put to it."""

from __future__ import annotations

from lxml import etree

from qbank.errors import QbankError


class ScoringError(QbankError):
    """Rules that cannot be run as they stand, or a response that an item cannot take."""


class KindError(Exception):
    """An operand whose kind an operator does not take; the result is NULL, with a warning."""


def at(element: etree._Element) -> str:
    """Where an element stands, for a message: ` (line 12)`, or nothing when unknown."""
    return at_line(element.sourceline)


def at_line(line: object) -> str:
    """The same from a line kept in place of the element, which would keep its whole document."""
    return f" (line {line})" if isinstance(line, int) else ""
