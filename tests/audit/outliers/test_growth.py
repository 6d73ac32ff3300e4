"""Keys with an exponential or a logarithm: decay, discharge, a rate at two temperatures.

The laws are common textbook ones (radioactive decay; discharge of a capacitor; S. Arrhenius's law;
H.-L. Le Chatelier's and van 't Hoff's form of two equilibria is the same as that of two rates);
keys are computed here. Values of constants are those of the CODATA adjustment of 2018, from memory.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from qbank.audit.outliers.growth import exponential, logarithm
from qbank.audit.outliers.judge import judge_outliers
from qbank.audit.outliers.sample import sample_of
from qbank.audit.question import Floats
from tests.audit.outliers.test_outliers import drawn, group

R = 8.314462618
N = 50
Law = tuple[list[tuple[float, float]], Callable[..., Floats], list[str], str, str]
LAWS: dict[str, Law] = {
    "activity left": (
        [(20, 90), (1, 30)],
        lambda a, t: a * np.exp(-0.0866 * t),
        ["1/s", "s"],
        "1/s",
        "[1]·exp of a multiple of [2]",
    ),
    "voltage left": (
        [(5, 12), (1, 9), (2, 4), (1, 3)],
        lambda v, t, r, c: v * np.exp(-t / (r * c)),
        ["V", "s", "Ω", "F"],
        "V",
        "[1]·exp of a multiple of [2]/([3]·[4])",
    ),
    "rate": (
        [(1, 9), (40, 90), (300, 400)],
        lambda a, e, t: a * 1e9 * np.exp(-e * 1000 / (R * t)),
        ["1/s", "kJ/mol", "K"],
        "1/s",
        "[1]·exp of a multiple of [2]/[3]",
    ),
    "time of discharge": (
        [(50, 90), (5, 20), (2, 9), (2, 9)],
        lambda v, w, r, c: r * c * np.log(v / w),
        ["V", "V", "Ω", "F"],
        "s",
        "ln([1]/[2])·[3]·[4]",
    ),
    "energy of activation": (
        [(0.1, 0.5), (2, 9), (290, 310), (330, 360)],
        lambda k, m, t, u: R * np.log(m / k) / (1 / t - 1 / u),
        ["1/s", "1/s", "K", "K"],
        "J/mol",
        "the inverse of the key as a sum of multiples of 1/(ln([1]/[2])·[3]), 1/(ln([1]/[2])·[4])",
    ),
    "potential": (
        [(0.01, 2)],
        lambda c: 0.34 + 0.0128 * np.log(c),
        ["mol/L"],
        "V",
        "a sum of multiples of 1, ln [1]",
    ),
}


@pytest.mark.parametrize("name", LAWS)
@pytest.mark.parametrize("share", [0.0, 0.1, 0.2])
def test_faults_are_found_and_nothing_else(name: str, share: float) -> None:
    ranges, law, units, key_unit, says = LAWS[name]
    columns = drawn(N, *ranges, seed=len(name))
    keys = law(*columns)
    generator = np.random.default_rng(11)
    faulty = generator.choice(N, round(share * N), replace=False)
    keys[faulty] *= generator.choice([-1.0, 10.0, 0.1, 2.0, 0.5, 1.15, 0.85], len(faulty))
    judgements, how = judge_outliers(group(columns, keys, units, key_unit, figures=4))
    assert sorted(j.number for j in judgements) == sorted(faulty.tolist())
    assert f"the keys follow {says} within" in how
    for judgement in judgements:
        true = law(*[column[judgement.number] for column in columns])
        assert judgement.value == pytest.approx(true, rel=0.01)


@pytest.mark.parametrize("seed", range(4))
def test_keys_that_follow_nothing_accuse_nobody(seed: int) -> None:
    columns = drawn(N, (1, 9), (1, 9), seed=seed)
    keys = np.exp(np.random.default_rng(seed).normal(size=N))
    sample = sample_of(group(columns, keys, ["m", "m"], "m"))
    assert logarithm(sample) is None
    assert exponential(sample) is None


@pytest.mark.parametrize("values", [np.zeros(20), -np.arange(1.0, 21.0), np.full(20, 3.0)])
def test_numbers_without_a_logarithm_do_no_harm(values: Floats) -> None:
    keys = np.arange(1.0, 21.0) ** 1.3
    sample = sample_of(group([values, np.arange(1.0, 21.0) % 7], keys, ["m", "s"], "m"))
    assert logarithm(sample) is None
    assert exponential(sample) is None
