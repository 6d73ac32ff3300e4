"""Faulty keys among siblings are found without a family, and good ones are not accused.

Laws are common textbook ones (kinetic energy, lens equation, range of a throw, Reynolds number);
keys are computed here, in no way by the code under test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from qbank.audit.outliers.judge import FEWEST, judge_outliers
from qbank.audit.outliers.likely import likely_cause
from qbank.audit.outliers.sample import half_place, sample_of
from qbank.audit.question import Floats, Group, Question
from qbank.audit.verdict import Level, Verdict
from qbank.expressions.units import Unit, parse_unit
from qbank.finding import Severity
from qbank.place import Place


def group(
    columns: Sequence[Floats],
    keys: Floats,
    units: Sequence[str] = (),
    key_unit: str = "",
    figures: int = 3,
) -> Group:
    """Siblings with keys rounded to significant figures."""
    unit: Unit | None = parse_unit(key_unit) if key_unit else None
    texts = [f"{key:.{figures - 1}e}" if math.isfinite(key) else "" for key in keys]
    rounded = np.array([float(text) if text else math.nan for text in texts])
    questions = tuple(
        Question(
            f"i{k}", "X", k, Place("bank", k + 1, 1), "", "", (), float(rounded[k]), texts[k],
            unit, math.nan, math.nan,
        )
        for k in range(len(keys))
    )  # fmt: skip
    values = np.column_stack(columns) if len(columns) else np.zeros((len(keys), 0))
    read = [parse_unit(u) if u else None for u in units] or [None] * values.shape[1]
    si = rounded if unit is None else np.asarray(unit.to_si(rounded))
    return Group(
        questions, "", values, tuple(read), np.full(values.shape, 3, dtype=np.int64), si, unit
    )


def drawn(count: int, *ranges: tuple[float, float], seed: int = 1) -> list[Floats]:
    generator = np.random.default_rng(seed)
    return [np.round(generator.uniform(low, high, count), 2) for low, high in ranges]


LAWS: dict[str, tuple[list[tuple[float, float]], Callable[..., Floats], list[str], str]] = {
    "energy": ([(1, 9), (2, 20)], lambda m, v: m * v**2 / 2, ["kg", "m/s"], "J"),
    "no units": ([(1, 9), (2, 20)], lambda m, v: m * v**2 / 2, [], ""),
    "period": ([(0.2, 3)], lambda x: 2 * np.pi * np.sqrt(x / 9.81), ["m"], "s"),
    "work": (
        [(2, 50), (1, 9), (1, 8)],
        lambda m, h, v: m * 9.81 * h + m * v**2 / 2,
        ["kg", "m", "m/s"],
        "J",
    ),
    "parallel": ([(10, 90), (10, 90)], lambda a, b: a * b / (a + b), ["Ω", "Ω"], "Ω"),
    "atwood": (
        [(1, 4), (5, 9)],
        lambda a, b: 9.81 * (b - a) / (a + b),
        ["kg", "kg"],
        "m/s^2",
    ),
    "fall": ([(1, 9), (1, 9)], lambda v, h: np.sqrt(v**2 + 2 * 9.81 * h), ["m/s", "m"], "m/s"),
    "range": (
        [(5, 20), (0.3, 1.2)],
        lambda v, b: 2 * v**2 * np.sin(b) * np.cos(b) / 9.81,
        ["m/s", "°"],
        "m",
    ),
    "image": ([(5, 9), (12, 40)], lambda f, d: 1 / (1 / f - 1 / d), ["m", "m"], "m"),
    "Reynolds": (
        [(0.1, 2), (0.01, 0.2), (1, 5)],
        lambda v, d, nu: v * d / nu,
        ["m/s", "m", "m^2/s"],
        "",
    ),
}


@pytest.mark.parametrize("name", LAWS)
@pytest.mark.parametrize("share", [0.04, 0.1, 0.3])
def test_faults_are_found_and_nothing_else(name: str, share: float) -> None:
    ranges, law, units, key_unit = LAWS[name]
    n = 50
    columns = drawn(n, *ranges, seed=len(name))
    keys = law(*columns)
    generator = np.random.default_rng(5)
    faulty = generator.choice(n, round(share * n), replace=False)
    factors = generator.choice([-1.0, 10.0, 0.1, 2.0, 0.5, 1.08, 0.9], len(faulty))
    keys[faulty] *= factors
    judgements, how = judge_outliers(group(columns, keys, units, key_unit))
    assert how.startswith("the keys follow"), how
    assert sorted(j.number for j in judgements) == sorted(faulty.tolist())
    for judgement in judgements:
        assert judgement.verdict is Verdict.SUSPECT
        assert judgement.level is Level.OUTLIER
        assert judgement.severity is Severity.WARNING
        assert 0.5 < judgement.confidence < 1
        assert judgement.expected.startswith("about ")
        true = law(*[c[judgement.number] for c in columns])
        assert judgement.value == pytest.approx(true, rel=0.02)


@pytest.mark.parametrize("seed", range(6))
def test_keys_that_follow_nothing_accuse_nobody(seed: int) -> None:
    columns = drawn(50, (1, 9), (1, 9), (1, 9), seed=seed)
    keys = np.random.default_rng(seed + 99).uniform(1, 9, 50)
    judgements, how = judge_outliers(group(columns, keys))
    assert judgements == []
    assert how == "no simple surface holds a clear majority of the keys"


@pytest.mark.parametrize("seed", range(6))
def test_a_second_regime_is_no_fault(seed: int) -> None:
    """Friction on a slope, at rest where it is not too steep: two laws in one family."""
    m, f = drawn(50, (1, 9), (5, 60), seed=seed)
    keys = np.where(f > 4 * m, f - 2.5 * m, f)
    judgements, _ = judge_outliers(group([m, f], keys))
    assert judgements == []


@pytest.mark.parametrize("noise", [0.002, 0.01])
def test_scatter_is_no_fault(noise: float) -> None:
    """Keys read off an instrument lie about the surface; none stands out."""
    m, v = drawn(60, (1, 9), (2, 20))
    keys = m * v**2 / 2 * np.exp(noise * np.random.default_rng(3).standard_normal(60))
    judgements, _ = judge_outliers(group([m, v], keys, figures=5))
    assert judgements == []


def test_a_key_within_its_own_band_is_left_alone() -> None:
    m, v = drawn(30, (1, 9), (2, 20))
    keys = m * v**2 / 2
    keys[4] *= 1.03
    bank = group([m, v], keys)
    assert [j.number for j in judge_outliers(bank)[0]] == [4]
    key = bank.questions[4].key
    wide = [q if q.number != 4 else _banded(q, 0.9 * key, 1.1 * key) for q in bank.questions]
    again = Group(tuple(wide), "", bank.values, bank.units, bank.figures, bank.keys, bank.key_unit)
    assert judge_outliers(again)[0] == []


def test_a_key_off_by_a_little_is_told_and_not_accused() -> None:
    m, v = drawn(60, (1, 9), (2, 20))
    keys = m * v**2 / 2
    keys[4] *= 1.01
    (found,), _ = judge_outliers(group([m, v], keys, figures=3))
    assert (found.number, found.verdict, found.code) == (4, Verdict.UNCHECKED, "off-a-little")
    assert not found.accuses


@pytest.mark.parametrize(("factor", "least", "most"), [(1.02, 0.75, 0.85), (2.0, 0.9, 1.0)])
def test_confidence_grows_with_how_far_off_a_key_is(
    factor: float, least: float, most: float
) -> None:
    m, v = drawn(60, (1, 9), (2, 20))
    keys = m * v**2 / 2
    keys[4] *= factor
    found, _ = judge_outliers(group([m, v], keys, figures=3))
    assert [j.number for j in found] == [4]
    assert least < found[0].confidence < most


def _banded(q: Question, low: float, high: float) -> Question:
    return Question(
        q.item, q.part, q.number, q.place, q.stem, q.prompt, q.quantities, q.key, q.key_text,
        q.unit, low, high,
    )  # fmt: skip


def test_the_same_group_is_judged_the_same_way() -> None:
    m, v = drawn(40, (1, 9), (2, 20))
    keys = m * v**2 / 2
    keys[3] *= 2
    bank = group([m, v], keys)
    assert judge_outliers(bank) == judge_outliers(bank)


# ---------------------------------------------------------------------------- nothing to say

ONE = np.ones(20)
RAMP = np.arange(1.0, 21.0)


@pytest.mark.parametrize(
    ("bank", "says"),
    [
        (group([RAMP[:9]], RAMP[:9]), f"only 9 siblings: {FEWEST} are needed"),
        (group([RAMP[:1]], RAMP[:1]), f"only 1 sibling: {FEWEST} are needed"),
        (group([], RAMP), "no number differs among the siblings"),
        (group([ONE], RAMP), "no number differs among the siblings"),
        (group([RAMP], ONE), "all siblings have the same key"),
        (group([RAMP * np.nan], RAMP), "no number differs among the siblings"),
        (
            group([RAMP], np.where(RAMP > 8, np.nan, RAMP)),
            f"only 8 siblings with a key and all numbers: {FEWEST} are needed",
        ),
    ],
)
def test_why_nothing_can_be_said(bank: Group, says: str) -> None:
    assert judge_outliers(bank) == ([], says)


@pytest.mark.parametrize(
    "columns",
    [
        [RAMP - 5.0],  # with a zero and negative numbers
        [RAMP, RAMP],  # the same twice
        [RAMP, ONE],  # one that never varies
        [RAMP, np.where(RAMP == 3, np.nan, RAMP**0.5)],  # one number lacking
        [*np.random.default_rng(4).uniform(1, 2, (25, 20))],  # more numbers than siblings
        [RAMP * 1e200, RAMP * 1e-200],
        [np.zeros(20), RAMP],
    ],
)
@pytest.mark.parametrize("keys", [RAMP, -RAMP, RAMP - 10.0, RAMP * 1e-300, RAMP * 1e290])
def test_odd_numbers_do_no_harm(columns: list[Floats], keys: Floats) -> None:
    judgements, how = judge_outliers(group(columns, keys))
    assert judgements == []
    assert how


def test_a_zero_key_off_the_surface_is_suspicious() -> None:
    m, v = drawn(30, (1, 9), (2, 20))
    keys = m * v**2 / 2
    keys[7] = 0.0
    assert [j.number for j in judge_outliers(group([m, v], keys))[0]] == [7]


# ---------------------------------------------------------------------------- parts


@pytest.mark.parametrize(
    ("text", "half"),
    [
        ("12.5", 0.05), ("1.20e3", 5.0), ("−0.5", 0.05), ("1500", 50.0), ("7", 0.5), ("10", 5.0),
        ("3,5", 0.05), ("2.0 × 10^-3", 5e-5), ("?", 0.0),
    ],
)  # fmt: skip
def test_half_a_unit_in_the_last_place(text: str, half: float) -> None:
    q = group([RAMP], RAMP).questions[0]
    made = Question(
        q.item, q.part, q.number, q.place, "", "", (), 1.0, text, None, math.nan, math.nan
    )
    assert half_place(made) == pytest.approx(half)


def test_the_sample_holds_the_rows_and_columns_that_count() -> None:
    keys = np.where(RAMP == 4, np.nan, RAMP)
    sample = sample_of(group([ONE, RAMP, 2 * RAMP, RAMP**2], keys, ["m", "m", "s", "s"], "m"))
    assert sample.columns == (1, 3)
    assert len(sample) == 19
    assert 3 not in sample.rows
    assert sample.constants == (parse_unit("m").dimension,)


@pytest.mark.parametrize(
    ("stated", "code"),
    [(-4.0, "sign"), (40.0, "power-of-ten"), (0.4, "power-of-ten"), (8.0, "factor-2"), (5.1, "")],
)
def test_likely_causes(stated: float, code: str) -> None:
    cause = likely_cause(stated, 4.0, 0.0001)
    assert (cause.code if cause else "") == code
    if cause:
        assert cause.value == pytest.approx(stated)
