"""Checks of what the candidate sees: the printed data, the keys, their bands, the options."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np

from qbank.checking.facts import Facts, Mask, Outcome
from qbank.checking.tolerance import authored
from qbank.checking.window import asked_for, covers
from qbank.expressions.units import Unit
from qbank.family.model import ChooseValue, Fixed, Given, Grid, Listed, Sampled
from qbank.instances import Floats, Instances, Integers
from qbank.sampling.options import distractors, shown_answers

SAME = 2.0**-50  # relative: four units in the last bit
SAME_TYPED = 1e-11  # hand-given data in another unit are printed to 12 figures
EXACT_POWER = 22  # 10**22 is the last power of ten that a double holds exactly


def finite(instances: Instances) -> Iterator[tuple[str, Mask]]:
    """Every given, intermediate quantity and answer is a finite number, and so is every key.

    Data lists are looked at up to their size. Unlike the other checks this one runs on all
    instances; those that fail are left out of the others.
    """
    family = instances.family
    for name in [*family.given, *family.let, *family.find]:
        array = instances.values[name]
        if array.ndim == 1:
            yield name, np.isfinite(array)
        elif name in instances.sizes:
            unused = np.arange(array.shape[1]) >= instances.sizes[name][:, None]
            yield name, _in_rows(np.isfinite(array) | unused)
    for name in family.find:
        low, high = instances.tolerance[name]
        rounded = instances.rounded[name]
        yield f"the key of {name}", np.isfinite(rounded) & np.isfinite(low) & np.isfinite(high)


def printed_data(facts: Facts) -> Iterator[Outcome]:
    """What is computed with is what is printed: givens from their decimals, lets from givens."""
    instances = facts.instances
    for name, given in facts.family.given.items():
        if name in instances.typed:
            numbers = [Fraction(part.strip()) for part in instances.typed[name].split(",")]
            typed = np.array([given.unit.si_value(number) for number in numbers])
            shape = facts.env[name].shape
            yield _same(facts, name, f"given {name}", typed.reshape(shape), SAME_TYPED)
        else:
            yield _same(facts, name, f"given {name}", _printed(given, instances))
    for name, again in facts.compiled.lets(facts.env, facts.n).items():
        yield _same(facts, name, f"let {name}", again)


def _printed(given: Given, instances: Instances) -> Floats:
    """SI values of the decimals that are printed."""
    mantissas = instances.mantissas[given.name]
    match given.source:
        case Grid(exponent=exponent) | Fixed(exponent=exponent):
            return _si(mantissas, exponent, given.unit)
        case Listed(mantissas=listed, exponents=exponents):
            table = [
                float(_si(np.array([m]), e, given.unit)[0])
                for m, e in zip(listed, exponents, strict=True)
            ]
            return np.array(table)[mantissas]
        case Sampled(exponent=exponent):
            values = _si(mantissas, exponent, given.unit)
            used = np.arange(mantissas.shape[1]) < instances.sizes[given.name][:, None]
            return np.where(used, values, np.nan)


def _si(mantissas: Integers, exponent: int, unit: Unit) -> Floats:
    if abs(exponent) > EXACT_POWER:
        shape = mantissas.shape
        decimal = np.array([float(f"{m}e{exponent}") for m in mantissas.ravel().tolist()])
        return unit.to_si(decimal.reshape(shape))
    power = 10.0 ** abs(exponent)
    decimal = mantissas.astype(np.float64)
    return unit.to_si(decimal / power if exponent < 0 else decimal * power)


def _same(facts: Facts, name: str, subject: str, printed: Floats, share: float = SAME) -> Outcome:
    used = facts.env[name]
    passed: Mask = used == printed
    if not passed.all():
        with np.errstate(invalid="ignore"):
            passed = passed | (np.abs(used - printed) <= share * np.abs(printed))
        passed |= np.isnan(used) & np.isnan(printed)  # beyond the size of a list

    def explain(row: int) -> tuple[str, dict[str, float]]:
        pair = np.atleast_1d(used[row]), np.atleast_1d(printed[row])
        at = int(np.argmax(~((pair[0] == pair[1]) | (np.isnan(pair[0]) & np.isnan(pair[1])))))
        numbers = {"computed with": float(pair[0][at]), "printed": float(pair[1][at])}
        return (
            f"{numbers['computed with']:.17g} is computed with, but the printed data give"
            f" {numbers['printed']:.17g} (SI units)",
            numbers,
        )

    return Outcome(subject, _in_rows(passed), facts.n, explain)


def _in_rows(passed: Mask) -> Mask:
    """One truth a row, where a data list has one a value."""
    return np.asarray(passed.all(axis=1)) if passed.ndim == 2 else passed


def rounded_key(facts: Facts) -> Iterator[Outcome]:
    """Each key is the displayable number nearest to the answer."""
    for name in facts.family.find:
        rounded, shown, place = facts.instances.rounded[name], facts.shown[name], facts.place[name]
        # A value within 1e-11 of a tie counts as the tie, so a key may be that much farther.
        near = np.abs(rounded - shown) <= 0.5 * place + 2e-11 * np.abs(shown)
        counts = rounded / place
        passed = near & (np.abs(counts - np.rint(counts)) <= 1e-6)

        def explain(row: int, name: str = name) -> tuple[str, dict[str, float]]:
            numbers = {
                "key": float(facts.instances.rounded[name][row]),
                "answer": float(facts.shown[name][row]),
                "last place": float(facts.place[name][row]),
            }
            unit = facts.family.find[name].unit.text
            return (
                f"the key {numbers['key']:.10g} is not {numbers['answer']:.10g} {unit} rounded to"
                f" a last place of {numbers['last place']:g}",
                numbers,
            )

        yield Outcome(name, passed, facts.n, explain)


def key_in_tolerance(facts: Facts) -> Iterator[Outcome]:
    """Each band holds its key, and the answer before rounding. The author can mend a failure."""
    for name, unknown in facts.family.find.items():
        low, high = facts.instances.tolerance[name]
        rounded, shown = facts.instances.rounded[name], facts.shown[name]
        passed = (low <= rounded) & (rounded <= high) & (low <= shown) & (shown <= high)

        def explain(row: int, name: str = name) -> tuple[str, dict[str, float]]:
            low, high = facts.instances.tolerance[name]
            numbers = {
                "low": float(low[row]),
                "high": float(high[row]),
                "key": float(facts.instances.rounded[name][row]),
                "answer": float(facts.shown[name][row]),
            }
            said = (
                "the band {0:.10g} .. {1:.10g} leaves out the key {2:.10g} or the unrounded answer"
            )
            mend = " {3:.10g}; widen its tolerance or show more figures"
            return (said + mend).format(*numbers.values()), numbers

        yield Outcome(name, passed, facts.n, explain, unknown.place)


def tolerance_window(facts: Facts) -> Iterator[Outcome]:
    """Each band that the tool set holds all honest work and no slip that can be told apart.

    A band the author set is let be; what is wrong with it is a warning.
    """
    asked = asked_for(facts.family)
    for name, (slack, distance) in facts.instances.windows.items():
        if name not in asked or authored(facts.family.find[name]):
            continue
        low, high = facts.instances.tolerance[name]
        rounded = facts.instances.rounded[name]
        passed = covers(rounded, low, high, slack)
        passed &= np.maximum(high - rounded, rounded - low) < distance

        def explain(row: int, name: str = name) -> tuple[str, dict[str, float]]:
            slack, distance = facts.instances.windows[name]
            low, high = facts.instances.tolerance[name]
            numbers = {
                "slack": float(slack[row]),
                "slip distance": float(distance[row]),
                "low": float(low[row]),
                "high": float(high[row]),
            }
            said = (
                "rounding on the way can move it by {0:.6g} and the nearest slip lies {1:.6g} away,"
                " which the band {2:.10g} .. {3:.10g} does not lie between"
            )
            return said.format(*numbers.values()), numbers

        yield Outcome(name, passed, facts.n, explain)


def options_apart(facts: Facts) -> Iterator[Outcome]:
    """Where a value is chosen, enough slips lie outside the key's band and apart as displayed.

    Hand-given data are shown with as many options as there are.
    """
    if facts.hand_given:
        return
    instances = facts.instances
    for part in facts.family.ask:
        if not isinstance(part, ChooseValue):
            continue
        name, needed = part.quantity, part.options - 1
        unknown = facts.family.find[name]
        key, (low, high) = instances.rounded[name], instances.tolerance[name]
        wrong = [answers[name] for answers in instances.wrong.values() if name in answers]
        offered = distractors(unknown, key, (low, high), wrong, needed)
        shown = [
            np.where(taken, shown_answers(unknown, values), np.nan)
            for values, taken in zip(wrong, offered.T, strict=True)
        ]
        passed = np.count_nonzero(offered, axis=1) >= needed
        reach = np.minimum(high - key, key - low)
        with np.errstate(invalid="ignore"):  # NaN: not offered
            for i, one in enumerate(shown):
                passed &= ~((one >= low) & (one <= high))
                for other in shown[:i]:
                    passed &= ~(np.abs(one - other) <= reach)

        def explain(
            row: int, name: str = name, needed: int = needed
        ) -> tuple[str, dict[str, float]]:
            unit = facts.family.find[name].unit
            numbers = {"key": float(instances.rounded[name][row])} | {
                slip: float(unit.from_si(answers[name][row]))
                for slip, answers in instances.wrong.items()
                if name in answers
            }
            return (
                f"fewer than {needed} slips differ from the key and each other by more than the"
                f" tolerance: {', '.join(f'{k} {v:.6g}' for k, v in numbers.items())} {unit.text}",
                numbers,
            )

        yield Outcome(f"options of {name}", passed, facts.n, explain)
