"""What a bank of anyone's making says, read as questions with numbers and units."""

from __future__ import annotations

from qbank.audit.reading.numerals import judge_decimal
from qbank.audit.reading.quantities import read_number, read_quantities
from qbank.audit.reading.questions import questions_of
from qbank.audit.reading.text import inline_text, plain_text
from qbank.audit.reading.unit_text import read_unit

__all__ = [
    "inline_text",
    "judge_decimal",
    "plain_text",
    "questions_of",
    "read_number",
    "read_quantities",
    "read_unit",
]
