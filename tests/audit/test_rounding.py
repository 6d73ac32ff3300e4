"""Keys of authors who round on the way are told from wrong ones.

Author's keys are worked out here step by step, apart from the machinery under test. The limits on
wrong keys are what was reached when this was written, a little more: a search for ways of rounding
that is free enough reaches any number.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest

from qbank.audit.causes.rounding import paths_of, truth_of
from qbank.audit.causes.work import Work
from qbank.audit.judging import decide
from qbank.audit.question import Question
from qbank.audit.resolving import Floats, Resolver, resolver_of
from qbank.audit.verdict import Verdict
from qbank.expressions.numbers import NumberFormat, machine_number
from qbank.expressions.units import Unit
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator
from qbank.place import Place

N = 5
NEAR = 0.06  # of the answer: rounding explains nothing further off
MOST_SLIPS = {3: 0.035, 4: 0.006}  # of slips so near, by figures of the key, called rounded


@cache
def resolver(name: str) -> Resolver:
    return resolver_of(load_family(find_family(name)))


def question(row: int, unknown: str, key: str, unit: Unit | None) -> Question:
    nan = float("nan")
    return Question(
        f"q{row}", unknown, row, Place("bank.csv", row + 1, 1), "", "", (), float(key), key, unit,
        nan, nan,
    )  # fmt: skip


# Ages of some cars in years and what was asked for them, in thousands; numbers of our own.
X = (1.5, 2.0, 3.4, 4.1, 5.0, 6.3, 7.2, 8.8)
Y = (17.9, 17.1, 15.2, 13.9, 12.8, 10.4, 9.9, 7.1)
AT = 5.6


def line(decimals: int | None, *, in_full: bool) -> float:
    """The value of the fitted line, its slope and intercept rounded; the intercept from the
    rounded slope unless all is worked out in full."""
    slope, intercept = np.polyfit(X, Y, 1)
    if decimals is None:
        return float(slope * AT + intercept)
    rounded = round(float(slope), decimals)
    if not in_full:
        intercept = np.mean(Y) - rounded * np.mean(X)
    return rounded * AT + round(float(intercept), decimals)


def judged(key: str) -> tuple[Verdict, str]:
    own = resolver("regression-line")
    data = {"x": np.array([X]), "y": np.array([Y]), "x_0": np.array([AT])}
    work = Work.of(own, "y_0", data, [question(0, "y_0", key, own.family.find["y_0"].unit)])
    (row,) = decide(work, causes=False)
    return row.verdict, "" if row.cause is None else row.cause.says


def test_a_line_whose_coefficients_were_rounded() -> None:
    assert judged(f"{line(None, in_full=True):.5f}")[0] is Verdict.RIGHT
    for decimals in (2, 3):
        for in_full in (True, False):
            key = f"{line(decimals, in_full=in_full):.5f}"
            verdict, says = judged(key)
            assert verdict is Verdict.ROUNDED, (decimals, in_full)
            assert f"rounded to {decimals} decimals" in says
    both = judged(f"{line(2, in_full=True):.5f}")[1]
    assert both == "when b and a are worked out in full and then rounded to 2 decimals"


@pytest.mark.parametrize("off", [0.0007, -0.0012, 0.0031, -0.0049, 0.0093, -0.021])
def test_a_line_that_no_rounding_leads_to(off: float) -> None:
    assert judged(f"{line(None, in_full=True) * (1 + off):.5f}")[0] is Verdict.WRONG


def test_numbers_on_the_way_are_used_in_full_when_nothing_is_rounded() -> None:
    for name in ("stepped-drum", "hot-metal-in-water", "two-means", "elliptic-orbit"):
        own = resolver(name)
        (made,) = Generator(own.family).generate(N, 3)
        data = {given: made.values[given] for given in (*own.scalars, *own.lists)}
        for unknown in own.family.find:
            asked = own.family.find[unknown]
            rows = [question(row, unknown, "1", asked.unit) for row in range(N)]
            work = Work.of(own, unknown, data, rows)
            truth = truth_of(work)
            for member, path in paths_of(own, unknown):
                mine = member[work.resolved.case]
                for last in (None, *(last for last, _ in path.carried)):
                    found = path.run(truth, N, last=last)
                    np.testing.assert_allclose(found[mine], truth[unknown][mine], rtol=1e-8)


def near_slips(
    own: Resolver, unknown: str, figures: int
) -> tuple[list[int], list[str], dict[str, Floats]]:
    """Rows and keys of slips that come near the answer without rounding to it, and the data."""
    (made,) = Generator(own.family).generate(N, 77)
    data = {given: made.values[given] for given in (*own.scalars, *own.lists)}
    solved = own.solve(data, N, with_slips=True)
    unit, form = own.family.find[unknown].unit, NumberFormat(figures=figures)
    right = unit.from_si(solved.answers[unknown])
    rows, keys = [], []
    for answers in solved.wrong.values():
        for row, value in enumerate(unit.from_si(answers[unknown]).tolist()):
            if not np.isfinite(value) or right[row] == 0 or abs(value / right[row] - 1) > NEAR:
                continue
            key = machine_number(value, form)
            if float(key) != float(machine_number(float(right[row]), form)):
                rows.append(row)
                keys.append(key)
    return rows, keys, data


def test_slips_are_not_taken_for_rounding() -> None:
    """Of the slips that come near the answer hardly any is a number that rounding leads to."""
    seen: Counter[tuple[int, Verdict]] = Counter()
    for path in sorted(shipped_families())[::2]:
        own = resolver_of(load_family(path))
        for unknown, asked in own.family.find.items():
            for figures in MOST_SLIPS:
                rows, keys, data = near_slips(own, unknown, figures)
                if not rows:
                    continue
                at = np.array(rows)
                stated = [question(i, unknown, key, asked.unit) for i, key in enumerate(keys)]
                work = Work.of(own, unknown, {k: v[at] for k, v in data.items()}, stated)
                seen.update((figures, row.verdict) for row in decide(work, causes=False))
    for figures, most in MOST_SLIPS.items():
        total = sum(count for (own_figures, _), count in seen.items() if own_figures == figures)
        assert total > 100
        assert seen[figures, Verdict.ROUNDED] <= most * total, seen
        assert seen[figures, Verdict.RIGHT] == 0
