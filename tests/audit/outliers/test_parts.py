"""Parts of the same items: a key that does not fit the item's other answers.

The laws are common ones (uniform motion, thin lens, kinetic energy); keys are computed here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from qbank.audit.outliers.judge import judge_outliers, judge_parts
from qbank.audit.question import Floats, Group
from qbank.audit.verdict import Verdict
from tests.audit.outliers.test_outliers import drawn, group

N = 40
HARD = "no simple surface holds a clear majority of the keys"


def hard(*columns: Floats) -> Floats:
    """A smooth key that is no sum of few products of the numbers."""
    x, y = columns
    return np.asarray(3.0 + 2.0 * np.tanh(x - 2.0) + np.sqrt(x * y) / (1.0 + np.log1p(y)))


def items(faults: Sequence[tuple[str, int, float]]) -> list[Group]:
    """A speed that follows no simple surface, a time, and their product: parts of N items."""
    x, y, t = drawn(N, (1, 4), (1, 9), (2, 9), seed=3)
    speed = hard(x, y)
    keys = {"v": speed, "s": speed * t, "t": t * 1.0}
    for name, row, factor in faults:
        keys[name] = keys[name].copy()
        keys[name][row] *= factor
    columns, units = [x, y, t], ["m", "m", "s"]
    return [
        _named("v", group(columns, keys["v"], units, "m/s", figures=4)),
        _named("s", group(columns, keys["s"], units, "m", figures=4)),
    ]


def _named(part: str, made: Group) -> Group:
    return replace(made, questions=tuple(replace(q, part=part) for q in made.questions))


def test_by_themselves_these_keys_follow_nothing() -> None:
    assert [judge_outliers(g)[1] for g in items([])] == [HARD, HARD]


def test_good_items_accuse_nobody_and_say_what_the_keys_follow() -> None:
    found = judge_parts(items([]))
    assert [judgements for judgements, _ in found] == [[], []]
    assert [how.partition(" within")[0] for _, how in found] == [
        "the keys follow s/[3]",
        "the keys follow [3]·v",
    ]
    assert all(how.endswith("from the item's other answers") for _, how in found)


@pytest.mark.parametrize("factor", [10.0, 2.0, -1.0, 0.1])
@pytest.mark.parametrize("name", ["v", "s"])
def test_the_key_that_is_also_far_from_its_siblings_is_the_suspect(
    name: str, factor: float
) -> None:
    groups = items([(name, 11, factor)])
    found = [judgement for judgements, _ in judge_parts(groups) for judgement in judgements]
    assert [(j.part, j.number, j.verdict) for j in found] == [(name, 11, Verdict.SUSPECT)]
    own = next(g for g in groups if g.questions[0].part == name)
    assert found[0].value == pytest.approx(own.questions[11].key / factor, rel=0.01)
    assert "from the item's other answers" in found[0].how


def test_where_either_may_be_wrong_both_are_told_and_none_accused() -> None:
    found = [j for judgements, _ in judge_parts(items([("s", 7, 1.04)])) for j in judgements]
    assert [(j.part, j.number) for j in found] == [("v", 7), ("s", 7)]
    assert {(j.verdict, j.code) for j in found} == {(Verdict.UNCHECKED, "parts-disagree")}


@pytest.mark.parametrize("name", ["v", "s", "e"])
def test_a_third_part_tells_which_is_wrong(name: str) -> None:
    """By a few hundredths: too little to be far from similar siblings."""
    x, y, t = drawn(N, (1, 4), (1, 9), (2, 9), seed=3)
    speed = hard(x, y)
    keys = {"v": speed, "s": speed * t, "e": speed**2 / 2}
    keys[name] = keys[name].copy()
    keys[name][5] *= 1.1
    units = {"v": "m/s", "s": "m", "e": "m^2/s^2"}
    groups = [
        _named(part, group([x, y, t], keys[part], ["m", "m", "s"], units[part], figures=4))
        for part in keys
    ]
    found = [j for judgements, _ in judge_parts(groups) for j in judgements]
    assert [(j.part, j.number) for j in found] == [(name, 5)]


def test_an_answer_with_a_surface_of_its_own_is_put_right_before_it_is_used() -> None:
    """Its fault accuses it alone, and no part that is compared with it."""
    x, y, t = drawn(N, (1, 4), (1, 9), (2, 9), seed=3)
    length = x * t
    rest = hard(x, y)
    length_wrong = length.copy()
    length_wrong[[3, 9]] *= 2.0
    keys = {"a": length_wrong, "b": length + rest * 0 + np.where(y > 0, length * 0.5, 0.0)}
    groups = [
        _named(part, group([x, y, t], keys[part], ["m/s", "m", "s"], "m", figures=4))
        for part in keys
    ]
    found = [j for judgements, _ in judge_parts(groups) for j in judgements]
    assert [(j.part, j.number) for j in found] == [("a", 3), ("a", 9)]


def test_parts_of_different_items_are_not_related() -> None:
    speed, way = items([("s", 11, 2.0)])
    moved = replace(way, questions=tuple(replace(q, number=q.number + 1000) for q in way.questions))
    assert judge_parts([speed, moved]) == [([], HARD), ([], HARD)]


def test_the_order_of_the_groups_changes_nothing() -> None:
    groups = items([("v", 11, 10.0), ("s", 20, -1.0)])
    ahead = judge_parts(groups)
    assert list(reversed(judge_parts(groups[::-1]))) == ahead
    assert [j.part for judgements, _ in ahead for j in judgements] == ["v", "s"]
