"""Which instances are drawn: distinct, even over what is valid, and as many as exist."""

import numpy as np
import pytest
from scipy import stats

from qbank.errors import DrawError
from qbank.generation import Generator, Report, count_instances
from qbank.sampling.blocks import Layout
from qbank.sampling.tally import contradiction
from tests.sampling.families import CASES, coarse_list, many_givens, rules, walk

LARGE = {"a": "1.00 .. 60.00 by 0.01 m", "b": "1.00 .. 60.00 by 0.01 m"}


def rows(generator: Generator, count: int, seed: int = 0, **options) -> np.ndarray:
    chunks = generator.generate(count, seed=seed, **options)
    return np.concatenate([np.stack([c.mantissas["a"], c.mantissas["b"]], axis=1) for c in chunks])


# ------------------------------------------------------------------ few points


def test_a_small_family_is_counted_exactly_and_drawn_to_the_last():
    family = walk(more=rules("a < b"))
    count = count_instances(family)
    assert (count.number, count.exact) == (15, True)
    found = rows(Generator(family), 15)
    assert sorted(map(tuple, found.tolist())) == [
        (a, b) for a in range(1, 7) for b in range(a + 1, 7)
    ]


def test_asking_for_one_more_says_how_many_exist():
    generator = Generator(walk(more=rules("a < b")))
    with pytest.raises(DrawError, match="walk has 15 distinct instances; 16 were asked for"):
        generator.generate(16)
    with pytest.raises(DrawError, match="walk has instances 0 to 14; instance 15 was asked for"):
        generator.instance(0, 15)


def test_the_order_of_few_points_is_a_fair_shuffle():
    generator = Generator(walk(more=rules("a < b")))
    firsts = [rows(generator, 1, seed)[0].tolist() for seed in range(600)]
    counts = np.unique(firsts, axis=0, return_counts=True)[1]
    assert len(counts) == 15
    assert stats.chisquare(counts).pvalue > 1e-4


def test_equal_shares_of_few_points_stop_at_the_rarest_case():
    family = walk(more=CASES + "shares: equal\n")
    longer = sum(a > 2 * b for a in range(1, 7) for b in range(1, 7))
    count = count_instances(family)
    assert (count.number, count.exact) == (2 * longer, True)
    generator, report = Generator(family), Report(family)
    assert len(np.unique(rows(generator, 2 * longer, report=report), axis=0)) == 2 * longer
    assert report.by_case() == {"longer": longer, "shorter": longer}


# ------------------------------------------------------------------ many points


@pytest.fixture(scope="module")
def large() -> Generator:
    return Generator(walk(**LARGE, more=rules("a + b < 60 m", "a < 3*b", "c > 10 m")))


def test_two_hundred_thousand_rows_are_distinct(large):
    found = rows(large, 200_000)
    assert len(np.unique(found @ np.array([10_000, 1]))) == 200_000


def test_a_large_family_promises_a_number_and_keeps_it(large):
    count = large.count()
    assert not count.exact
    valid = 5_901 * 5_901 * 0.3
    assert 0.5 * valid < count.number < 1.2 * valid
    assert len(next(large.generate(1, start=count.number - 1))) == 1
    with pytest.raises(DrawError, match=r"certain to have .* distinct instances"):
        large.generate(count.number + 1)


def test_draws_are_even_over_the_points_that_meet_the_rules(large):
    found = rows(large, 50_000, seed=3) / 100
    a, b = found.T
    assert ((a + b < 60) & (a < 3 * b) & (a + b > 10)).all()
    edges = np.arange(1, 61, 2.95)
    observed = np.histogram2d(a, b, bins=[edges, edges])[0].ravel()
    grid = np.arange(1.0, 60.005, 0.05) + 1e-9
    x, y = np.meshgrid(grid, grid, indexing="ij")
    valid = (x + y < 60) & (x < 3 * y) & (x + y > 10)
    area = np.histogram2d(x[valid], y[valid], bins=[edges, edges])[0].ravel()
    whole = area == area.max()  # cells within the rules entirely
    assert whole.sum() > 50
    assert stats.chisquare(observed[whole]).pvalue > 1e-4
    outside = area == 0
    assert observed[outside].sum() <= 60  # single points at the border of a cell


def test_marginals_of_an_unruled_family_are_uniform():
    generator = Generator(walk(a="1.0 .. 40.0 by 0.1 m", b="1.0 .. 90.0 by 0.1 m"))
    found = rows(generator, 60_000 // 2, seed=5)
    for column, count in ((0, 391), (1, 891)):
        counts = np.bincount(found[:, column] - 10, minlength=count)
        assert len(counts) == count
        assert stats.chisquare(counts).pvalue > 1e-4
    table = np.histogram2d(found[:, 0], found[:, 1], bins=12)[0]
    assert stats.chi2_contingency(table).pvalue > 1e-4


def test_equal_shares_hold_in_every_stretch():
    family = walk(**LARGE, more=CASES + "shares: equal\n")
    generator = Generator(family)
    cases = np.concatenate([chunk.case for chunk in generator.generate(20_000)])
    assert np.array_equal(cases.reshape(-1, 2).sum(axis=1), np.ones(10_000))
    assert stats.chisquare(np.bincount(cases[::2])).pvalue > 1e-4  # but the order is chance


def test_natural_shares_are_those_of_the_points():
    generator = Generator(walk(**LARGE, more=CASES))
    cases = np.concatenate([chunk.case for chunk in generator.generate(50_000)])
    expected = 1 - np.mean(np.arange(1, 60, 0.01)[:, None] < 2 * np.arange(1, 60, 0.01))
    share = np.mean(cases == 0)
    assert share == pytest.approx(expected, abs=4 * np.sqrt(0.25 * 0.75 / 50_000))


def test_a_rarely_met_rule_is_drawn_in_small_blocks_and_still_evenly():
    generator = Generator(walk(**LARGE, more=rules("abs(a - b) < 0.1 m", "a > 2*b or a > 30 m")))
    found = rows(generator, 5_000)
    assert len(np.unique(found, axis=0)) == 5_000
    assert stats.kstest((found[:, 0] - 3000) / 3000, "uniform").pvalue > 1e-4


@pytest.mark.parametrize("acceptance", [0.9, 0.3, 0.01, 2e-4])
@pytest.mark.parametrize("shares", [1, 2, 7])
def test_a_block_runs_short_less_than_once_in_a_million_million(acceptance, shares):
    layout = Layout.planned(acceptance / shares, acceptance / shares, shares)
    short = stats.binom.cdf(layout.quota - 1, layout.window, acceptance / shares)
    assert shares * short < 1e-11
    assert layout.first <= layout.window


# ------------------------------------------------------------------ rules that cannot be met


def test_an_impossible_rule_is_named_with_its_place_and_the_table():
    family = walk(**LARGE, more=rules("a < 50 m", "a + b > 130 m"))
    with pytest.raises(DrawError) as caught:
        Generator(family).generate(1)
    text = str(caught.value)
    assert text.startswith("walk.yaml:")
    assert "none of" in text
    assert "`a + b > 130 m`" in text
    assert "`a < 50 m`" not in text
    assert "rejected" in text
    assert "reason 1" in text
    assert "100 %" in text
    line = text.split(":")[1]
    assert "a + b > 130 m" in _source_line(family, int(line))


def _source_line(family, line: int) -> str:
    rule = next(rule for rule in family.rules if rule.place.line == line)
    return rule.text


def test_contradictory_rules_are_named_together():
    family = walk(**LARGE, more=rules("a > 40 m", "b < 50 m", "a < 2*b", "b < 15 m"))
    with pytest.raises(DrawError, match="no draw meets together") as caught:
        Generator(family).count()
    headline = str(caught.value).splitlines()[0]
    assert "`a > 40 m`" in headline
    assert "`a < 2*b`" in headline
    assert "`b < 15 m`" in headline
    assert "`b < 50 m`" not in headline


def test_rules_on_the_solution_can_contradict_rules_on_data():
    with pytest.raises(
        DrawError, match=r"contradict each other: `a < 3 m` and `b < 3 m` and `c > 6 m`"
    ):
        Generator(walk(more=rules("a < 3 m", "b < 3 m", "c > 6 m"))).count()


def test_nearly_impossible_rules_are_an_error_too():
    family = walk(**LARGE, more=rules("a > 59.6 m", "b > 59.7 m"))
    with pytest.raises(DrawError, match=r"of .* draws meet the rules") as caught:
        Generator(family).count()
    assert "because" in str(caught.value)


def test_a_case_that_never_comes_cannot_be_drawn_in_equal_shares():
    family = walk(a="1 .. 6 by 1 m", b="4 .. 9 by 1 m", more=CASES + "shares: equal\n")
    with pytest.raises(DrawError, match="the case 'longer', wanted in equal shares"):
        Generator(family).count()


def test_undecided_draws_are_rejected_and_counted():
    family = walk(more=CASES)
    report = Report(family)
    generator = Generator(family)
    undecided = sum(a == 2 * b for a in range(1, 7) for b in range(1, 7))
    assert generator.count().number == 36 - undecided
    list(generator.generate(5, report=report))
    row = next(r for r in report.rules.rows() if r["need"] == "a case holds")
    assert (row["reached"], row["rejected"]) == (36, undecided)


def test_more_points_than_a_word_can_number_still_give_distinct_instances():
    generator = Generator(many_givens())
    assert generator.count().number > 10**15
    found = [
        np.stack([chunk.mantissas[f"a_{i}"] for i in range(9)], axis=1)
        for chunk in generator.generate(20_000)
    ]
    table = np.concatenate(found)
    assert len(np.unique(table, axis=0)) == 20_000
    for column in table.T:  # those that had no room in the bijection are even too
        assert stats.kstest(column / 10**6, "uniform").pvalue > 1e-4


def test_lists_too_coarse_to_tell_instances_apart_say_so():
    generator = Generator(coarse_list())
    assert generator.count().number < 10
    with pytest.raises(DrawError, match="or its data lists more decimals"):
        generator.generate(10)


def test_a_contradiction_is_as_small_as_it_can_be():
    masks = [np.array([1, 1, 0, 0]), np.array([0, 0, 1, 1]), np.array([1, 1, 1, 0])]
    assert contradiction([mask.astype(bool) for mask in masks]) == [0, 1]
    assert contradiction([np.array([True, False])]) == []
    assert contradiction([np.array([False, False]), np.array([True, False])]) == [0]
    assert contradiction([]) == []


# ------------------------------------------------------------------ what was rejected


def test_the_report_counts_what_each_rule_saw():
    family = walk(more=rules("a > 2 m", "b > 2 m", "c > 7 m"))
    report = Report(family)
    list(Generator(family).generate(3, report=report))
    table = {row["need"]: (row["reached"], row["rejected"]) for row in report.rules.rows()}
    assert table["a > 2 m"] == (36, 12)
    assert table["b > 2 m"] == (24, 8)
    assert table["c > 7 m"] == (16, 16 - 13)
    assert report.rejected_share == pytest.approx(1 - 13 / 36)
    text = report.as_text()
    assert "a > 2 m" in text
    assert "33.3 %" in text
