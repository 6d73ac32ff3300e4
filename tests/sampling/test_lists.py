"""Data lists: distributed as the author says, and never twice the same."""

import numpy as np
import pytest
from scipy import stats

from qbank.generation import Generator
from qbank.sampling.points import Points, Stretch
from qbank.sampling.streams import Key
from tests.sampling.families import lengths


def drawn(points: Points, count: int, seed: int = 0):
    positions = np.arange(count) * 7919 % points.size
    candidates = points.candidates(Key.of("lists", seed), positions, [Stretch(0, 0, count)])
    assert candidates.need_all().all()
    return candidates


@pytest.fixture(scope="module", params=[1, 2, 3])
def sample(request):
    points = Points(lengths(request.param))
    candidates = drawn(points, 40_000)
    return points, candidates


def test_normal_lists_are_normal(sample):
    points, candidates = sample
    values, sizes = candidates.values, candidates.sizes["x"]
    z = (values["x"] - values["mu"][:, None]) / values["d"][:, None]
    for column in (0, 3, 7):
        used = z[sizes > column, column]
        assert abs(used.mean()) < 4 / np.sqrt(len(used))
        # rounding to the last place adds a twelfth of its square (Sheppard, 1898)
        place = 10.0 ** -{"1": 1, "2": 2, "3": 3}[str(-points.lists[0].source.exponent)] * 1e-3
        extra = np.mean((place / values["d"]) ** 2) / 12
        assert used.var() == pytest.approx(1 + extra, abs=5 * np.sqrt(2 / len(used)))
        # spread each value over its last place, so that the steps of rounding do not show
        smooth = used + (np.random.default_rng(column).random(len(used)) - 0.5) * (
            place / values["d"][sizes > column]
        )
        if place / values["d"].min() < 0.2:
            assert stats.kstest(smooth, "norm").pvalue > 1e-4


def test_values_of_a_list_are_independent(sample):
    _, candidates = sample
    x = candidates.values["x"] - candidates.values["mu"][:, None]
    correlation = np.corrcoef(x[:, :6].T)
    assert np.abs(correlation - np.eye(6)).max() < 5 / np.sqrt(len(x))


def test_uniform_lists_keep_to_their_range(sample):
    _, candidates = sample
    values, sizes = candidates.values, candidates.sizes["y"]
    share = (values["y"] - values["mu"][:, None]) / (20 * values["d"][:, None])
    used = share[:, 2]
    assert used.min() > -1e-9
    assert used.max() < 1 + 1e-9
    assert stats.kstest(used, "uniform").pvalue > 1e-4
    assert np.array_equal(sizes, candidates.sizes["x"])


def test_sizes_are_drawn_evenly_and_pad_with_nan(sample):
    _, candidates = sample
    sizes = candidates.sizes["x"]
    counts = np.bincount(sizes)[6:]
    assert len(counts) == 4
    assert stats.chisquare(counts).pvalue > 1e-4
    assert np.array_equal(np.isfinite(candidates.values["x"]).sum(axis=1), sizes)


def test_lists_are_distinct_though_their_parameters_are_hidden():
    generator = Generator(lengths(1))
    total = min(generator.count().number, 100_000)
    assert total > 20_000
    seen = set()
    for chunk in generator.generate(total):
        rows = np.concatenate([chunk.mantissas["x"], chunk.mantissas["y"]], axis=1)
        seen.update(row.tobytes() for row in rows)
    assert len(seen) == total
