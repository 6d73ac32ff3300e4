"""Units that the words of a question seem to ask for, but that belong to something else in it.

"What is the equilibrium constant with concentrations in moles per litre?" asks for a pure number.
Where a bank itself states no unit, and no reading of the question has an answer in the unit that
stands in the words, the answer may have none.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from qbank.audit.question import Group, Question
from qbank.audit.reading.questions import asked_unit


def without_text_unit(group: Group) -> Group | None:
    """The group as if no unit were stated; None where it has none, or the bank states it beside
    the words."""
    if group.key_unit is None or not all(map(_by_words, group.questions)):
        return None
    questions = tuple(replace(question, unit=None) for question in group.questions)
    keys = np.array([question.key for question in questions], dtype=np.float64)
    return replace(group, questions=questions, keys=keys, key_unit=None)


def _by_words(question: Question) -> bool:
    if question.unit is None or question.options:
        return question.unit is None
    return asked_unit([question.prompt, question.stem]) == question.unit
