"""What may have led to a suspicious key, where no family says how the right one comes about."""

from __future__ import annotations

import math
from collections.abc import Sequence

from qbank.audit.question import Group, OptionValue, Question
from qbank.audit.verdict import Cause
from qbank.expressions.units import Unit

LEAST_FIGURES = 2  # of a key that stands elsewhere too: shorter ones do so by accident


def likely_cause(stated: float, value: float, scatter: float) -> Cause | None:
    """The commonest slips of the hand that lead from about `value` to what is stated."""
    if not (math.isfinite(stated) and math.isfinite(value)) or stated == 0 or value == 0:
        return None
    near = max(0.005, 4 * scatter)
    ratio = stated / value
    if abs(ratio + 1) < near:
        return Cause("sign", "the sign is turned", -value)
    power = round(math.log10(abs(ratio)))
    if power and abs(ratio / 10.0**power - 1) < near:
        return Cause("power-of-ten", f"off by a factor 10^{power}", value * 10.0**power)
    for factor, says in ((2.0, "doubled"), (0.5, "halved")):
        if abs(ratio / factor - 1) < near:
            return Cause("factor-2", f"the value is {says}", value * factor)
    return None


def pasted(group: Group, row: int, mates: Sequence[Question]) -> Cause | None:
    """The key of another part of the item, or of the item before or after it, to the digit.

    `mates` are the questions of the same item.
    """
    question = group.questions[row]
    if sum(letter.isdigit() for letter in question.key_text.lstrip("-+0.,")) < LEAST_FIGURES:
        return None
    for mate in mates:
        if mate.part != question.part and mate.key == question.key:
            return Cause("other-part", f"it is the key of the part {mate.part}", question.key)
    same = [other for other in group.questions if other.key == question.key]
    for other in same:
        if len(same) == 2 and abs(other.number - question.number) == 1:
            side = "before" if other.number < question.number else "after"
            says = f"it is the key of the item {side} it"
            return Cause("neighbour-key", says, question.key)
    return None


def offered_there(
    question: Question, unit: Unit | None, value: float, limit: float
) -> OptionValue | None:
    """The one option whose number lies about a value, SI; None where there is none, or several."""
    found = []
    for option in question.options:
        if option.quantity is None:
            continue
        own = option.quantity.unit or unit
        stated = option.quantity.value
        si = float(stated) if own is None else own.si_value(stated)
        if abs(si - value) <= limit:
            found.append(option)
    return found[0] if len(found) == 1 and not found[0].keyed else None
