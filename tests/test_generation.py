"""Generating: the same instance whatever the chunk or the process, and hand-given data."""

import json
import subprocess
import sys
from collections.abc import Iterable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qbank.errors import DrawError, ExpressionError
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.generation import Generator, Report, generate, instance, work
from qbank.instances import Instances
from tests.sampling.families import CASES, lengths, rules, walk

LARGE = {"a": "1.00 .. 60.00 by 0.01 m", "b": "1.00 .. 60.00 by 0.01 m"}


def columns(instances: Instances) -> dict[str, np.ndarray]:
    found = {"index": instances.index, "case": instances.case, "setting": instances.setting}
    found |= {f"mantissa {name}": array for name, array in instances.mantissas.items()}
    found |= {f"size {name}": array for name, array in instances.sizes.items()}
    found |= {f"value {name}": array for name, array in instances.values.items()}
    found |= {f"rounded {name}": array for name, array in instances.rounded.items()}
    for slip, answers in instances.wrong.items():
        found |= {f"{slip} {name}": array for name, array in answers.items()}
    for name, (low, high) in instances.tolerance.items():
        found |= {f"low {name}": low, f"high {name}": high}
    return found


def joined(chunks: Iterable[Instances]) -> dict[str, np.ndarray]:
    parts = [columns(chunk) for chunk in chunks]
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def rows_of(whole: dict[str, np.ndarray], start: int, count: int) -> dict[str, np.ndarray]:
    return {name: array[start : start + count] for name, array in whole.items()}


def same(one: Instances, right: dict[str, np.ndarray]) -> bool:
    left = columns(one)
    return left.keys() == right.keys() and all(
        np.array_equal(left[name], right[name], equal_nan=left[name].dtype.kind == "f")
        for name in left
    )


GENERATORS = {
    "few points": Generator(walk(a="1 .. 90 by 1 m", b="1 .. 90 by 1 m", more=rules("a < b"))),
    "many points": Generator(walk(**LARGE, more=CASES + rules("a + b < 70 m"))),
    "equal shares": Generator(walk(**LARGE, more=CASES + "shares: equal\n")),
    "data lists": Generator(lengths()),
    "shipped": Generator(load_family(find_family("rough-slope-pulley"))),
}
WHOLE = {name: joined(generator.generate(3000, seed=1)) for name, generator in GENERATORS.items()}


@pytest.mark.parametrize("name", GENERATORS)
@settings(max_examples=10)
@given(start=st.integers(0, 2990), count=st.integers(1, 600))
def test_any_stretch_equals_the_same_rows_of_a_longer_run(name, start, count):
    count = min(count, 3000 - start)
    chunks = list(GENERATORS[name].generate(count, seed=1, start=start))
    assert sum(len(chunk) for chunk in chunks) == count
    for chunk in chunks:
        assert same(chunk, rows_of(WHOLE[name], start, len(chunk)))
        start += len(chunk)


@pytest.mark.parametrize("name", GENERATORS)
def test_an_instance_alone_is_that_of_the_run(name):
    for k in (0, 1023, 1024, 2999):
        assert same(GENERATORS[name].instance(1, k), rows_of(WHOLE[name], k, 1))


def test_a_freshly_compiled_family_gives_the_same():
    family = load_family(find_family("rough-slope-pulley"))
    assert same(instance(family, 1, 77), rows_of(WHOLE["shipped"], 77, 1))
    other = next(generate(family, 5, seed=2))
    assert not same(other, rows_of(WHOLE["shipped"], 0, 5))


def test_another_process_gives_the_same():
    program = (
        "from tests.test_generation import GENERATORS; import json; "
        "one = GENERATORS['data lists'].instance(1, 2500); "
        "print(json.dumps([one.mantissas['x'].tolist(), one.values['m'].tolist(),"
        " one.setting.tolist()]))"
    )
    # a process of its own, with another seed of Python's hashing
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": "7", "PYTHONPATH": "."},
    )  # fmt: skip
    here = rows_of(WHOLE["data lists"], 2500, 1)
    expected = [here[name].tolist() for name in ("mantissa x", "value m", "setting")]
    assert json.loads(done.stdout) == expected


def test_chunks_are_bounded_and_in_order():
    at = 0
    for chunk in GENERATORS["many points"].generate(50_000, start=5):
        assert 0 < len(chunk) <= 16_384
        assert np.array_equal(chunk.index, np.arange(5 + at, 5 + at + len(chunk)))
        at += len(chunk)
    assert at == 50_000


def test_settings_are_drawn_evenly_and_do_not_hang_on_the_chunk():
    setting = np.concatenate([c.setting for c in GENERATORS["data lists"].generate(6000, seed=4)])
    counts = np.bincount(setting)
    assert len(counts) == 3
    assert counts.min() > 1800


# ------------------------------------------------------------------ counts


def test_none_asked_for_is_none_made():
    assert list(GENERATORS["many points"].generate(0)) == []


def test_a_billion_is_refused_at_once_where_so_many_do_not_exist():
    with pytest.raises(DrawError, match=r"certain to have .*; 1,000,000,000 were asked for"):
        GENERATORS["many points"].generate(10**9)


def test_a_billion_comes_in_chunks_where_they_exist():
    family = walk(a="1 .. 90000 by 1 m", b="1 .. 90000 by 1 m")
    chunks = Generator(family).generate(10**9)
    assert len(next(chunks)) <= 16_384
    assert len(Generator(family).instance(0, 999_999_999)) == 1


@pytest.mark.parametrize(("count", "start"), [(-1, 0), (1, -1), (1, 2**62)])
def test_senseless_counts_are_refused(count, start):
    with pytest.raises(ValueError, match="expected both from 0 on"):
        GENERATORS["many points"].generate(count, start=start)


# ------------------------------------------------------------------ the report


def test_the_report_adds_up():
    family = walk(**LARGE, more=CASES + rules("a + b < 70 m"))
    report = Report(family)
    total = sum(len(chunk) for chunk in generate(family, 3000, seed=2, report=report))
    assert report.instances == total == 3000
    assert sum(report.by_case().values()) == 3000
    assert report.rules.candidates > report.rules.accepted >= 3000
    assert report.checks.made == report.checks.passed > 3000
    plain = json.loads(json.dumps(report.as_json()))
    assert plain["instances"] == 3000
    assert plain["checks"]["made"] == report.checks.made
    assert {"need", "because", "place", "reached", "rejected"} == set(plain["rules"][0])
    assert "a + b < 70 m" in report.as_text()


# ------------------------------------------------------------------ data given by hand


def test_hand_given_data_are_solved_on_the_grid_and_off_it():
    family = walk(more=rules("a < 5 m"))
    worked = work(family, {"a": "2 m", "b": "350 cm"})
    one = worked.instances
    assert one.index.tolist() == [-1]
    assert one.rounded["c"].tolist() == [5.5]
    assert one.typed == {"b": "3.5"}
    assert one.mantissas["a"].tolist() == [2]
    assert worked.warnings == ()


def test_rules_that_hand_given_data_break_are_warnings():
    worked = work(walk(more=rules("a < 5 m", "c > 10 m")), {"a": "5.5 m", "b": "1 m"})
    assert worked.warnings == (
        "the family needs a < 5 m, because reason 0",
        "the family needs c > 10 m, because reason 1",
    )
    assert worked.instances.rounded["c"].tolist() == [6.5]


def test_a_drawn_instance_worked_by_hand_has_the_same_answers():
    family = load_family(find_family("stepped-drum"))
    drawn = instance(family, 3, 5)
    data = {}
    for name, quantity in family.given.items():
        value = float(quantity.unit.from_si(drawn.values[name])[0])
        data[name] = f"{round(value, 6)} {quantity.unit.ascii}"
    worked = work(family, data)
    assert worked.warnings == ()
    for name in family.find:
        assert worked.instances.rounded[name] == drawn.rounded[name]
    assert {name: array.tolist() for name, array in worked.instances.mantissas.items()} == {
        name: array.tolist() for name, array in drawn.mantissas.items()
    }


def test_fixed_data_may_be_left_out_or_overridden():
    family = load_family(find_family("stepped-drum"))
    data = {"m_a": "2 kg", "m_b": "4 kg", "r": "10 cm", "R": "20 cm", "M_r": "2 kg", "M_R": "6 kg"}
    usual = work(family, data).instances.values
    moon = work(family, data | {"g": "1.62 m/s^2"}).instances.values
    assert moon["alpha"] / usual["alpha"] == pytest.approx(1.62 / 9.81)


def test_data_lists_are_given_with_commas_and_one_unit():
    worked = work(lengths(), {"x": "1.20, 1.30, 1.415, 1.3 cm", "y": "14.00, 15, 15.5, 16 mm"})
    one = worked.instances
    assert one.values["x"].tolist() == [[0.012, 0.013, 0.01415, 0.013]]
    assert one.sizes["x"].tolist() == [4]
    assert one.rounded["m"].tolist() == [2.09]
    assert "x" not in one.typed
    finer = work(lengths(1), {"x": "12.00, 13.05, 12 mm", "y": "1, 2, 3 mm"}).instances
    assert finer.typed["x"] == "12.00, 13.05, 12.00"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"a": "2 m"}, "no value is given for b"),
        ({"a": "2 m", "b": "3 m", "bb": "4 m"}, "'bb' is not a given of walk"),
        ({"a": "2 m", "b": "3 kg"}, "b is a length .*; 3 kg is a mass"),
        ({"a": "2 m", "b": "3"}, "b: 3 has no unit; a length .* needs one"),
        ({"a": "2 m", "b": "three m"}, "b: expected a number"),
        ({"a": "2 m", "b": "3 foo"}, "b: .*foo"),
    ],
)
def test_data_that_cannot_be_read_are_explained(data, message):
    with pytest.raises(ExpressionError, match=message) as caught:
        work(walk(), data)
    assert caught.value.hint


def test_lists_of_one_size_must_have_one_size():
    with pytest.raises(ExpressionError, match="y has 2 values and x has 3"):
        work(lengths(), {"x": "1, 2, 3 mm", "y": "1, 2 mm"})


def test_data_for_which_no_case_holds_are_refused():
    with pytest.raises(DrawError, match="no case holds for these data; the cases are 'longer'"):
        work(walk(more=CASES), {"a": "2 m", "b": "1 m"})
