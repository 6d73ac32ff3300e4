"""Where a suspicious key comes from: pasted from elsewhere, or another option keyed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from qbank.audit.outliers.judge import judge_outliers, judge_parts
from qbank.audit.question import Group, OptionValue
from qbank.audit.reading.quantities import read_quantities
from tests.audit.outliers.test_outliers import drawn, group

N = 30
M, V = drawn(N, (1, 9), (2, 20), seed=4)
UNITS = ["kg", "m/s"]


def energies(row: int, key: float) -> Group:
    keys = M * V**2 / 2
    keys[row] = key
    return group([M, V], keys, UNITS, "J", figures=4)


@pytest.mark.parametrize(("step", "side"), [(-1, "before"), (1, "after")])
def test_the_key_of_a_neighbouring_item(step: int, side: str) -> None:
    keys = M * V**2 / 2
    found, _ = judge_outliers(energies(12, float(keys[12 + step])))
    assert [j.number for j in found] == [12]
    assert found[0].cause is not None
    assert (found[0].cause.code, found[0].cause.says) == (
        "neighbour-key",
        f"it is the key of the item {side} it",
    )


def test_the_key_of_another_part() -> None:
    momentum = group([M, V], M * V, UNITS, "kg m/s", figures=4)
    energy = energies(12, float(momentum.questions[12].key))
    parts = [
        replace(g, questions=tuple(replace(q, part=name) for q in g.questions))
        for name, g in (("p", momentum), ("e", energy))
    ]
    found = [j for judgements, _ in judge_parts(parts) for j in judgements]
    assert [(j.part, j.number) for j in found] == [("e", 12)]
    assert found[0].cause is not None
    assert (found[0].cause.code, found[0].cause.says) == (
        "other-part",
        "it is the key of the part p",
    )


def choices(wrong: int, *, offered: bool) -> Group:
    """Choices of three, one of them with another option keyed."""
    made = group([M, V], M * V**2 / 2, UNITS, "J", figures=4)
    questions = []
    for row, q in enumerate(made.questions):
        right = q.key if offered or row != wrong else q.key * 1.6
        texts = [f"{value:.4g} J" for value in (right / 2, right, right * 3)]
        keyed = 2 if row == wrong else 1
        options = tuple(
            OptionValue("abc"[k], text, read_quantities(text)[0], k == keyed)
            for k, text in enumerate(texts)
        )
        key = options[keyed].quantity
        assert key is not None
        questions.append(
            replace(q, key=float(key.value), key_text=texts[keyed], options=options,
                    low=math.nan, high=math.nan)
        )  # fmt: skip
    keys = np.array([q.key for q in questions])
    return replace(made, questions=tuple(questions), keys=keys)


@pytest.mark.parametrize("offered", [True, False])
def test_which_option_lies_where_the_siblings_say(offered: bool) -> None:
    bank = choices(9, offered=offered)
    found, _ = judge_outliers(bank)
    assert [j.number for j in found] == [9]
    assert found[0].correct == (("b",) if offered else ())
    if offered:
        assert found[0].expected == bank.questions[9].options[1].text
        assert found[0].cause is not None
        assert found[0].cause.code == "wrong-option"
    else:
        assert "no option lies there" in found[0].how
