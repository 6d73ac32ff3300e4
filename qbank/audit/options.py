"""Which option of a choice is right, once the asked quantity has been computed again.

An option is right when the recomputed value, rounded to the figures the option is written with, is
the option; where none is, the one nearest the value within the slack of honest rounding is.
Options are compared in SI, so that "0.12 m" and "12 cm" are one value. Zeros at the end of a whole
number count as figures as far as the other options have figures. A distractor that a slip leads to
is as it should be and no finding.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from qbank.audit.question import Floats, OptionValue, Quantity, Question
from qbank.audit.verdict import Cause, Judgement, Level, Verdict
from qbank.expressions.numbers import NumberFormat, format_number
from qbank.expressions.units import Unit
from qbank.finding import Severity

_TIE = 1e-6  # of half a place: halfway may have been rounded either way
_FIGURES = (3, 12)  # told of a value: at least, at most
_LEAST_FIGURES = 2  # of an option such as "460": its zero may only hold the place
SHIFTED = 3  # wrong keys of one shift that make a pattern
SHIFTED_CHANCE = 0.12  # that as many of the wrong keys have one shift by accident
ONE_MISTAKE = 0.75  # of the keys of one shift: so many with one mistake are no shift
_ONE_SHIFT = 1 / 3  # of the wrong keys of a choice of four, by accident


@dataclass(frozen=True, slots=True)
class _Measured:
    """The options that state a number of the asked kind: SI values and half their last place."""

    options: tuple[OptionValue, ...]
    values: Floats
    half: Floats


def judge_options(
    question: Question,
    right: float,
    right_unit: Unit | None,
    slack: float = 0.0,
    *,
    level: Level = Level.MATCHED,
    confidence: float = 1.0,
) -> Judgement:
    """The verdict on the keyed option of a choice.

    right   the recomputed value in coherent SI; NaN where there is none
    right_unit  its unit, in which options without a unit are read
    slack   how far off honest rounding can land, SI
    """
    keyed = tuple(option for option in question.options if option.keyed)
    blank = Judgement(
        item=question.item,
        part=question.part,
        place=question.place,
        number=question.number,
        verdict=Verdict.UNCHECKED,
        level=level,
        states=", ".join(option.text for option in keyed),
        value=_shown_value(right, question, right_unit),
        confidence=confidence,
    )
    if not math.isfinite(right):
        return _but(blank, "no-answer", "There is no recomputed value to compare with.", level=None)
    if not keyed:
        return _but(blank, "no-key", "No option is keyed.", level=None)
    measured = _measured(question.options, right_unit)
    if not measured.options:
        how = "No option states a number of the asked kind."
        return _but(blank, "options-no-number", how, level=None)
    found = _right_ones(measured, right, slack, keyed)
    said = _said(right, question, right_unit)
    if not found:
        return _none_right(blank, question, measured, right, said, keyed)
    return _some_right(blank, found, keyed, said)


def judge_option_group(
    questions: Sequence[Question],
    right: Floats,
    right_unit: Unit | None,
    slack: Floats | float = 0.0,
    *,
    level: Level = Level.MATCHED,
    confidence: float = 1.0,
) -> list[Judgement]:
    """The verdicts on siblings, `right` and `slack` (n,) in SI.

    Where wrong keys lie a constant number of places from the right option, that is their cause.
    """
    slacks = np.broadcast_to(np.asarray(slack, dtype=np.float64), (len(questions),))
    judged = [
        judge_options(q, float(r), right_unit, float(s), level=level, confidence=confidence)
        for q, r, s in zip(questions, right, slacks, strict=True)
    ]
    shifts = [_shift(q, j) for q, j in zip(questions, judged, strict=True)]
    counted = Counter(shift for shift in shifts if shift)
    if not counted:
        return judged
    common, times = counted.most_common(1)[0]
    if times < SHIFTED or _accident(times, sum(s is not None for s in shifts)) > SHIFTED_CHANCE:
        return judged
    places = f"{abs(common)} place{'s' if abs(common) > 1 else ''}"
    which = f"{places} {'after' if common > 0 else 'before'} the right one"
    return [
        replace(judgement, cause=_shifted(q, which, times)) if shift == common else judgement
        for q, judgement, shift in zip(questions, judged, shifts, strict=True)
    ]


def judge_choices(
    questions: Sequence[Question],
    right: Floats,
    right_unit: Unit | None,
    numbers: Sequence[Judgement],
    *,
    level: Level,
) -> list[Judgement]:
    """The verdicts on siblings, with what is known of the numbers their keyed options state.

    `right` (n,) in SI; `numbers` are the verdicts on the keyed values as numbers to enter. Where
    one mistake leads to most keys that stand a constant number of places off, it is the cause.
    """
    options = judge_option_group(questions, right, right_unit, level=level)
    shifted = [k for k, option in enumerate(options) if _is_shifted(option)]
    known = Counter(cause.code for k in shifted if (cause := numbers[k].cause) is not None)
    common, times = known.most_common(1)[0] if known else ("", 0)
    if times >= ONE_MISTAKE * len(shifted) > 0:
        for k in shifted:
            cause = numbers[k].cause
            if cause is not None and cause.code == common:
                options[k] = replace(options[k], cause=None)
    return [with_number(*pair) for pair in zip(options, numbers, strict=True)]


def _is_shifted(option: Judgement) -> bool:
    return option.cause is not None and option.cause.code == "options-shifted"


def with_number(option: Judgement, number: Judgement) -> Judgement:
    """The verdict on which option is keyed, with what is known of the number it states.

    `number` is the verdict on the value of the keyed option as a number to enter. Where no option
    is the recomputed value and the keyed one is right in another way, by rounding or with another
    constant, so is the key. Where another option is the value, and the keyed one is it with
    another constant, both are right: the item is defective, and its key not proved wrong.
    """
    if option.code == "no-option-right" and number.verdict.right:
        return number
    if option.code == "wrong-option" and number.verdict is Verdict.OTHER_CONSTANT:
        said = "" if number.cause is None else f" The keyed one is right {number.cause.says}."
        option = replace(
            option, verdict=Verdict.DEFECT, code="two-options-right", how=f"{option.how}{said}"
        )
    return replace(
        option,
        cause=option.cause or number.cause if option.accuses else None,
        others=number.others if option.accuses else (),
        how=" ".join(filter(None, (option.how, number.how))),
        confidence=number.confidence,
        family=number.family,
        case=number.case,
        unknown=number.unknown,
    )


def _accident(times: int, wrong: int) -> float:
    """A bound on the chance that some shift is shared by so many of the wrong keys."""
    tail = sum(
        math.comb(wrong, k) * _ONE_SHIFT**k * (1 - _ONE_SHIFT) ** (wrong - k)
        for k in range(times, wrong + 1)
    )
    return tail / _ONE_SHIFT


def _shifted(question: Question, which: str, times: int) -> Cause:
    says = f"The keyed option stands {which}, as in {times - 1} of its siblings."
    return Cause("options-shifted", says, question.key)


def _shift(question: Question, judgement: Judgement) -> int | None:
    """Places from the right option to the keyed one; None where the key is not wrong."""
    if judgement.code != "wrong-option" or len(judgement.correct) != 1:
        return None
    names = [option.identifier for option in question.options]
    keyed = [i for i, option in enumerate(question.options) if option.keyed]
    return keyed[0] - names.index(judgement.correct[0]) if len(keyed) == 1 else None


def _measured(options: Sequence[OptionValue], unit: Unit | None) -> _Measured:
    kept, values, half = [], [], []
    for option in options:
        quantity = option.quantity
        if quantity is None:
            continue
        own = quantity.unit or unit
        if unit is not None and own is not None and own.dimension != unit.dimension:
            continue
        factor = 1.0 if own is None else own.factor
        kept.append(option)
        values.append(float(quantity.value) if own is None else own.si_value(quantity.value))
        half.append(
            0.5 * 10.0 ** max(-300, min(300, counted_place(quantity, options))) * abs(factor)
        )
    return _Measured(tuple(kept), np.array(values), np.array(half))


def _surely(quantity: Quantity) -> tuple[int, int]:
    """Figures without the zeros at the end of a whole number, and how many such zeros there are."""
    if quantity.place != 0 or quantity.value == 0 or quantity.value.denominator != 1:
        return quantity.figures, 0
    digits = str(abs(quantity.value.numerator))
    zeros = len(digits) - len(digits.rstrip("0"))
    return quantity.figures - zeros, zeros


def counted_place(quantity: Quantity, options: Sequence[OptionValue]) -> int:
    """Exponent of ten of the last digit of an option that counts.

    "460" between "45" and "230" is written to the ten, between "455" and "230" to the one.
    """
    sure, zeros = _surely(quantity)
    if not zeros or not sure:
        return quantity.place
    figures = max(_surely(o.quantity)[0] for o in options if o.quantity is not None)
    return quantity.place + max(0, min(zeros, quantity.figures - max(figures, _LEAST_FIGURES)))


def _right_ones(
    measured: _Measured, right: float, slack: float, keyed: tuple[OptionValue, ...]
) -> tuple[OptionValue, ...]:
    """The options that are right; with the slack only one, the keyed one if it is among them."""
    off = np.abs(measured.values - right)
    fits = off <= measured.half * (1.0 + _TIE) + 1e-12 * abs(right)
    # "0" and "10" written to the ten are no roundings of 3 that anybody would pick
    fits &= (measured.half <= 0.1 * abs(right)) | (off <= 0.1 * abs(right))
    if fits.any():
        return tuple(o for o, fit in zip(measured.options, fits, strict=True) if fit)
    near = np.flatnonzero(off <= slack) if slack > 0 else np.zeros(0, dtype=np.int64)
    if not len(near):
        return ()
    among = [measured.options[i] for i in near]
    own = [option for option in among if option in keyed]
    nearest = measured.options[int(near[np.argmin(off[near])])]
    return (own[0],) if own else (nearest,)


def _none_right(
    blank: Judgement,
    question: Question,
    measured: _Measured,
    right: float,
    said: str,
    keyed: tuple[OptionValue, ...],
) -> Judgement:
    nearest = measured.options[int(np.argmin(np.abs(measured.values - right)))]
    how = f"The value is {said}; no option is, the nearest is '{nearest.text}'."
    if len(measured.options) < len(question.options):
        # an option in words may say "none of these", and then rightly
        if any(option not in measured.options for option in keyed):
            return _but(blank, "option-in-words", how, level=None)
        how += " The options in words were not judged."
    return replace(
        blank,
        verdict=Verdict.WRONG,
        code="no-option-right",
        severity=Severity.ERROR,
        expected=said,
        how=how,
    )


def _some_right(
    blank: Judgement, found: tuple[OptionValue, ...], keyed: tuple[OptionValue, ...], said: str
) -> Judgement:
    names = {option.identifier for option in found}
    keys = {option.identifier for option in keyed}
    texts = " and ".join(f"'{option.text}'" for option in found)
    told = replace(
        blank,
        expected=" or ".join(option.text for option in found),
        correct=tuple(option.identifier for option in found),
    )
    if keys == names:
        return replace(told, verdict=Verdict.RIGHT, code="right")
    if not keys & names:
        how = f"The value is {said}, which is {texts}."
        code, verdict = "wrong-option", Verdict.WRONG
    elif keys < names:
        how = f"The value is {said}; {texts} are all right, and not all are keyed."
        code, verdict = "two-options-right", Verdict.DEFECT
    else:
        how = f"The value is {said}, which is {texts} alone, and more is keyed."
        code, verdict = "wrong-option-too", Verdict.WRONG
    return replace(told, verdict=verdict, code=code, severity=Severity.ERROR, how=how)


def _but(blank: Judgement, code: str, how: str, *, level: Level | None) -> Judgement:
    return replace(blank, code=code, how=how, level=level, severity=Severity.NOTE)


def _unit_for(question: Question, right_unit: Unit | None) -> Unit | None:
    """The unit options are written in, so that the value reads as they do."""
    units = [o.quantity.unit for o in question.options if o.quantity and o.quantity.unit]
    fitting = [u for u in units if right_unit is None or u.dimension == right_unit.dimension]
    return fitting[0] if fitting else question.unit or right_unit


def _shown_value(right: float, question: Question, right_unit: Unit | None) -> float:
    unit = question.unit or right_unit
    if unit is None or (right_unit is not None and unit.dimension != right_unit.dimension):
        return right
    return float(unit.from_si(right)) if math.isfinite(right) else math.nan


def _said(right: float, question: Question, right_unit: Unit | None) -> str:
    unit = _unit_for(question, right_unit)
    figures = [o.quantity.figures for o in question.options if o.quantity is not None]
    shown = NumberFormat(figures=max(_FIGURES[0], min(_FIGURES[1], max(figures, default=3) + 1)))
    if unit is None:
        return format_number(right, shown)
    space = "" if unit.glued or not unit.text else " "
    return f"{format_number(float(unit.from_si(right)), shown)}{space}{unit.text}"
