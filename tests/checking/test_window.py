"""The window and the policy that sets a tolerance in it, against arithmetic from outside.

Interval arithmetic is that of mpmath (`mpmath.iv`), with the formulas written out by hand.
"""

import itertools
from fractions import Fraction

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.checking.slack import honest_range
from qbank.checking.tolerance import CLEAR, LEAST_PLACES, bands, reach, within_window
from qbank.checking.window import covers
from qbank.errors import DrawError, FamilyError
from qbank.expressions.numbers import NumberFormat, last_place, round_values
from qbank.expressions.units import parse_unit
from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import ToleranceRule, Unknown
from qbank.generation import Generator, Report
from qbank.place import Place
from qbank.rendering.renderer import Renderer
from qbank.rendering.terminal import show_text
from tests.checking.families import LEVER, LEVER_TEXT, family
from tests.checking.test_window_honest import LADDER

# ---------------------------------------------------------------------------- outside arithmetic


def half_place(value, figures: int):
    """Half a unit in the last of so many significant figures; 0 where nothing is rounded off."""
    place = mpmath.mpf(10) ** (int(mpmath.floor(mpmath.log10(abs(value)))) - figures + 1)
    count = value / place
    return place / 2 if abs(count - mpmath.nint(count)) > 1e-9 else mpmath.mpf(0)


def box(value, half):
    return mpmath.iv.mpf([value - half, value + half])


def ends_of(interval) -> list[float]:
    return [float(mpmath.mpf(interval.a)), float(mpmath.mpf(interval.b))]


def drum_data(instances, row):
    values = {
        name: mpmath.mpf(float(instances.values[name][row])) for name in instances.family.given
    }
    sign = instances.family.cases[int(instances.case[row])].constants["s"]
    return values, mpmath.mpf(sign)


def drum_steps(d, s, inertia, weight_a, weight_b):
    """Angular acceleration of the drum from what has been written down before it."""
    net = s * (weight_b * d["R"] - weight_a * d["r"])
    return net / (inertia + d["m_a"] * d["r"] ** 2 + d["m_b"] * d["R"] ** 2)


def tensions(d, s, alpha, weight_a, weight_b):
    return weight_a + s * d["m_a"] * d["r"] * alpha, weight_b - s * d["m_b"] * d["R"] * alpha


@pytest.fixture(scope="module")
def drums():
    generator = Generator(load_family(find_family("stepped-drum")))
    return next(generator.generate(60, seed=4))


def test_the_drum_against_intervals_and_all_combinations(drums):
    """All 3**k combinations of moved numbers stay within the slack; intervals enclose it.

    Written down with four figures: moment of inertia, both weights; with three: the angular
    acceleration, and with four before it is rounded.
    """
    for row in range(len(drums)):
        d, s = drum_data(drums, row)
        exact = {
            "I": (d["M_r"] * d["r"] ** 2 + d["M_R"] * d["R"] ** 2) / 2,
            "a": d["m_a"] * d["g"],
            "b": d["m_b"] * d["g"],
        }
        halves = {name: half_place(value, 4) for name, value in exact.items()}
        alpha = drum_steps(d, s, exact["I"], exact["a"], exact["b"])
        carried = half_place(alpha, 3) + half_place(alpha, 4)
        T_a, T_b = tensions(d, s, alpha, exact["a"], exact["b"])
        ways = {"alpha": [], "T_a": [], "T_b": []}
        for i, a, b, k in itertools.product((-1, 0, 1), repeat=4):
            shifted = {
                name: exact[name] + sign * halves[name]
                for name, sign in zip(("I", "a", "b"), (i, a, b), strict=True)
            }
            found = drum_steps(d, s, shifted["I"], shifted["a"], shifted["b"])
            ways["alpha"].append(found)
            pair = tensions(d, s, found + k * carried, shifted["a"], shifted["b"])
            ways["T_a"].append(pair[0])
            ways["T_b"].append(pair[1])
        exact |= {"alpha": alpha, "T_a": T_a, "T_b": T_b}

        boxes = {name: box(exact[name], halves[name]) for name in ("I", "a", "b")}
        sharp, sign = {name: box(value, 0) for name, value in d.items()}, box(s, 0)
        wide = {"alpha": drum_steps(sharp, sign, boxes["I"], boxes["a"], boxes["b"])}
        moved = wide["alpha"] + box(mpmath.mpf(0), carried)
        wide["T_a"], wide["T_b"] = tensions(sharp, sign, moved, boxes["a"], boxes["b"])

        for name, found in ways.items():
            slack = float(drums.windows[name][0][row])
            key = float(drums.rounded[name][row])
            own = float(half_place(exact[name], 4))
            fmt = drums.family.find[name].shown
            ends = [float(min(found)) - own, float(max(found)) + own]
            ends += round_values(np.array(ends), fmt).tolist()
            assert max(abs(end - key) for end in ends) <= slack * (1 + 1e-12)
            # and not beyond what intervals allow, with its own half units and the share for
            # what roundings do together; half a place is what rounding the end can add
            bound = max(abs(end - key) for end in ends_of(wide[name]))
            place = float(last_place(np.array([key]), fmt)[0])
            within_intervals = 1.06 * (bound + own) + 0.51 * place
            assert slack <= max(within_intervals, LEAST_PLACES * place) * (1 + 1e-12)


def test_a_quadratic_against_intervals():
    """Weak acid: four figures of the concentration after dilution, three of the hydrogen ions."""
    generator = Generator(load_family(find_family("weak-acid")))
    instances = next(generator.generate(60, seed=4))
    for row in range(len(instances)):
        given_ = {
            n: mpmath.mpf(float(instances.values[n][row])) for n in ("V_a", "c_a", "V", "K_a")
        }
        c = given_["c_a"] * given_["V_a"] / given_["V"]
        unit = mpmath.mpf(1000)  # mol/L in mol/m^3
        k = given_["K_a"]
        boxed = box(c, half_place(c / unit, 4) * unit)
        sharp = box(k, 0)
        root = (mpmath.iv.sqrt(sharp * sharp + 4 * sharp * boxed) - sharp) / 2 / box(unit, 0)
        exact = (mpmath.sqrt(k * k + 4 * k * c) - k) / 2 / unit
        own = half_place(exact, 4)
        slack, _ = instances.windows["h"]
        key = float(instances.rounded["h"][row])
        ends = np.array(ends_of(root + box(mpmath.mpf(0), own)))
        ends = np.concatenate([ends, round_values(ends, NumberFormat(figures=3))])
        # a power of ten just above is kept with the coarser place, so the slack may be wider
        assert slack[row] >= np.abs(ends - key).max() * (1 - 1e-9) - 1e-15
        carried = half_place(exact, 3) + own
        wide = root + box(mpmath.mpf(0), carried)
        pH = sorted(-mpmath.log10(end) for end in ends_of(wide))
        slack, _ = instances.windows["pH"]
        key = float(instances.rounded["pH"][row])
        ends = np.array([float(pH[0]) - 0.0005, float(pH[1]) + 0.0005])
        ends = np.concatenate([ends, round_values(ends, NumberFormat(decimals=2))])
        assert slack[row] <= 1.06 * np.abs(ends - key).max() + 0.0101
        assert slack[row] >= abs(float(-mpmath.log10(exact)) - key)


# ---------------------------------------------------------------------------- honest range


@given(
    st.floats(1e-6, 1e6),
    st.sampled_from([1, -1]),
    st.floats(0, 0.3),
    st.integers(1, 6),
    st.floats(-1, 1),
)
def test_rounded_work_stays_in_its_range(size, sign, share, figures, where):
    """Rounding to the nearest keeps the order of numbers, also across a power of ten."""
    fmt = NumberFormat(figures=figures)
    exact = np.array([sign * size])
    off = share * size
    place = last_place(exact, fmt)
    low, high = honest_range(exact, place, np.array([off]), np.array([off]), fmt)
    worked = exact + where * off
    tolerance = 1e-9 * np.abs(exact)
    for response in (worked, round_values(worked, fmt)):
        assert (low - tolerance <= response).all()
        assert (response <= high + tolerance).all()


def test_a_chain_of_roundings_differs_from_one():
    """ISO 80000-1:2009, annex B (from memory), warns of rounding in several stages: 12.2451 is
    12.2 to a tenth, but over 12.25 it becomes 12.3. The slack of an answer takes it in."""
    exact = np.array([12.2451])
    fmt = NumberFormat(figures=3)
    place = last_place(exact, fmt)
    off = np.array([0.0051])
    low, high = honest_range(exact, place, off, off, fmt)
    assert round_values(round_values(exact, NumberFormat(figures=4)), fmt)[0] == 12.3
    assert high[0] == pytest.approx(12.3)
    assert low[0] == pytest.approx(12.2)


# ---------------------------------------------------------------------------- policy


def unknown(**rule: float) -> Unknown:
    shown, place = NumberFormat(figures=3), Place("test", 1, 1)
    return Unknown("x", "length", "x", parse_unit("m"), shown, ToleranceRule(**rule), place)


def set_width(key: float, slack: float, distance: float, **rule: float) -> float:
    keys = np.array([key])
    of = unknown(**rule)
    wished = reach(of, keys, last_place(keys, of.shown))
    return float(within_window(of, wished, np.array([slack]), np.array([distance]))[0])


def test_the_default_is_widened_to_the_slack_and_narrowed_before_a_slip():
    assert set_width(50.0, 0.1, np.inf) == pytest.approx(0.5)  # 1 %
    assert set_width(50.0, 0.8, np.inf) == pytest.approx(0.8)
    assert set_width(50.0, 0.1, 0.6) == pytest.approx(0.3)  # half-way to the slip
    assert set_width(50.0, 0.4, 0.6) == pytest.approx(0.4)  # but never below the slack
    assert set_width(50.0, 0.8, 1.0) == pytest.approx(0.8)
    assert set_width(50.0, 0.8, 0.6, relative=0.02) == pytest.approx(1.0)  # the author's stays


@given(st.integers(100, 999), st.floats(1e-4, 0.05), st.floats(1.001, 50))
def test_wherever_there_is_a_window_the_band_lies_in_it(digits, share, times):
    key = np.array([digits / 10])
    slack = share * key
    distance = np.maximum(slack * times, slack + 0.004)  # bounds lie on a grid of 0.001
    of = unknown()
    wished = reach(of, key, last_place(key, of.shown))
    low, high = bands(of, key, within_window(of, wished, slack, distance))
    assert covers(key, low, high, slack).all()
    assert (high - key < distance).all()
    assert (key - low < distance).all()
    assert (high - key <= np.maximum(np.maximum(wished, slack), CLEAR * distance) + 0.0011).all()


# ---------------------------------------------------------------------------- families

SLIPS = """
slips:
  no-arm: {replace: {moments: L = F}, says: The arms differ.}
  near: {replace: {forces: P = FACTOR*(F + L)}, says: Add up what is there.}
"""


def near(factor: str, tolerance: str = "") -> Generator:
    """The lever with a slip that makes the force on the pivot `factor` times too great."""
    slips = SLIPS.replace("FACTOR", factor)
    asked = "force on the pivot, unit: N, figures: 3"
    body = LEVER.replace(asked, f"{asked}, tolerance: {tolerance}" if tolerance else asked)
    return Generator(family(body + slips + LEVER_TEXT))


def drawn(generator: Generator, count: int = 400):
    report = Report(generator.family)
    chunks = list(generator.generate(count, seed=1, report=report))
    rejected = {
        ruling.need: int(number)
        for ruling, number in zip(report.rules.rulings, report.rules.rejected, strict=True)
        if "fair tolerance" in ruling.need
    }
    return chunks[0], report, rejected


def share_of_key(instances, name="P"):
    low, high = instances.tolerance[name]
    return (high - low) / 2 / instances.rounded[name]


def test_a_slip_two_percent_off_narrows_the_tolerance():
    instances, report, rejected = drawn(near("1.02"))
    _, distance = instances.windows["P"]
    assert (share_of_key(instances) < 0.0151).all()
    assert (distance / instances.rounded["P"] < 0.03).all()
    assert np.isfinite(distance).all()
    assert report.warnings == ()
    assert rejected.keys() == {"a fair tolerance for L", "a fair tolerance for P"}


def test_instances_without_a_window_are_rejected_and_counted():
    instances, report, rejected = drawn(near("1.012"))
    slack, distance = instances.windows["P"]
    assert rejected["a fair tolerance for P"] > 20
    assert (slack < distance).all()
    assert "a fair tolerance for P" in report.as_text()


def test_a_slip_that_honest_work_cannot_be_told_from_does_not_count():
    generator = near("1.001")
    instances, report, _ = drawn(generator)
    policy = generator.sampler.windows.policies["P"]
    assert policy.apart == ("no-arm",)
    assert policy.close["near"] > 0.9
    (warning,) = report.warnings
    assert warning.startswith(
        "lever.yaml:23:3: the slip 'near' cannot be told from honest work on P"
    )
    assert report.as_json()["warnings"] == [warning]
    # it narrows nothing, and where it lies inside the tolerance it is no wrong answer of its own
    assert np.median(share_of_key(instances)) > 0.0099
    for item in Renderer(generator.family).items(instances):
        pivot = item.parts[1]
        inside = pivot.tolerance
        for wrong in pivot.wrong_values:
            assert wrong.low > inside.high or wrong.high < inside.low


@pytest.mark.parametrize(
    ("factor", "tolerance", "said", "fate"),
    [
        ("1.2", "0.05 %", "narrower than honest rounding in", "and is let be"),
        ("1.2", "0.6 %", "narrower than honest rounding in", "and those are not drawn"),
        ("1.04", "3.9 %", "reaches a slip in", "and those are not drawn"),
    ],
)
def test_an_authors_tolerance_wins_with_a_warning(factor, tolerance, said, fate):
    generator = near(factor, tolerance)
    if tolerance == "0.05 %":  # the answer before rounding lies outside: the author must mend it
        with pytest.raises(FamilyError, match="widen its tolerance"):
            drawn(generator)
        warnings = generator.sampler.windows.warnings
    else:
        instances, report, _ = drawn(generator)
        warnings = report.warnings
        share = float(tolerance.split()[0]) / 100
        place = last_place(instances.rounded["P"], NumberFormat(figures=3))
        off = np.abs(share_of_key(instances) - share) * instances.rounded["P"]
        assert (off <= 0.011 * place).all()
    assert any(said in warning and warning.endswith(fate) for warning in warnings)


def test_a_wide_tolerance_that_takes_in_a_slip_nearly_always_does_not_heed_it():
    generator = near("1.02", "5 %")
    instances, report, _ = drawn(generator)
    assert generator.sampler.windows.policies["P"].apart == ("no-arm",)
    assert share_of_key(instances).min() > 0.049
    assert any("the slip 'near' cannot be told" in warning for warning in report.warnings)


def test_data_by_hand_without_a_window_are_told():
    generator = near("1.006")
    told = 0
    for force in range(40, 90):
        worked = generator.work({"F": f"{force} N", "a": "0.23 m", "b": "57 cm"})
        slack, distance = (float(column[0]) for column in worked.instances.windows["P"])
        said = [w for w in worked.warnings if "tolerance-window: P" in w]
        assert bool(said) == (slack >= distance)
        told += bool(said)
    assert 0 < told < 50


def test_the_window_is_shown():
    generator = near("1.02")
    instances, _, _ = drawn(generator, 5)
    item = next(iter(Renderer(generator.family).items(instances)))
    slack, distance = instances.windows["P"]
    band = item.parts[1].tolerance
    assert (band.slack, band.slip_distance) == (slack[0], distance[0])
    assert "rounding on the way can move it by" in show_text(item)
    assert "the nearest slip lies" in show_text(item)
    alone = next(iter(Renderer(generator.family).items(instances))).parts[0].tolerance
    assert alone.slip_distance is not None


def test_windows_do_not_depend_on_the_seed_or_the_chunk():
    generator = near("1.012")
    (whole,) = generator.generate(300, seed=5)
    again = Generator(generator.family)
    (part,) = again.generate(50, seed=5, start=200)
    for name in ("L", "P"):
        for one, other in zip(whole.windows[name], part.windows[name], strict=True):
            assert np.array_equal(one[200:250], other)
    assert generator.sampler.windows.policies == again.sampler.windows.policies
    seen = near("1.012")
    list(seen.generate(10, seed=99))
    assert seen.sampler.windows.policies == again.sampler.windows.policies


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("fixed: 9.81 m/s^2", "fixed: 9.81 m/s^2, accept: 9.8 m", "expected values in m/s²"),
        ("fixed: 9.81 m/s^2", "draw: 9 .. 10 by 1 m/s^2, accept: 9.8", "only beside 'fixed'"),
        ("fixed: 9.81 m/s^2", "fixed: 9.81 m/s^2, accept: about ten", "a number"),
        ("given:", "working: {figures: 1}\ngiven:", "expected a whole number from 2 to 15"),
        ("given:", "working: {places: 3}\ngiven:", "the key 'places' is not known"),
        ("given:", "working: 4\ngiven:", "a mapping"),
    ],
)
def test_faults_of_the_keys(old, new, fault):
    with pytest.raises(FamilyError, match=fault):
        family(LADDER.replace("ACCEPT", "").replace(old, new, 1), "fall")


def test_no_more_is_drawn_than_has_a_window():
    generator = near("1.012")
    with pytest.raises(DrawError, match="were asked for"):
        list(generator.generate(10**7))


def test_a_list_of_stated_constants_is_exact():
    of = family(LADDER.replace("ACCEPT", ", accept: '9.8, 9.80665 m/s^2'"), "fall")
    exact = [o.mantissa * Fraction(10) ** o.exponent for o in of.given["g"].accept]
    assert exact == [Fraction("9.8"), Fraction("9.80665")]


# ---------------------------------------------------------------------------- coincidences

MEETING = """
slips:
  no-arm: {replace: {moments: L = F}, says: The arms differ.}
  upside-down: {replace: {moments: L*a = F*b}, says: Each force has its own arm.}
  double: {replace: {moments: L*b = 2*F*a}, says: The moment counts once.}
  sum-forgotten: {replace: {forces: P = L}, says: Add up what is there.}
"""


def meeting(how: str) -> Generator:
    return Generator(family(f"coinciding: {how}\n" + LEVER + MEETING + LEVER_TEXT))


def test_slips_that_meet_are_recorded():
    instances, report, _ = drawn(meeting("drop"), 4000)
    # where the arms are equal nothing is wrong with leaving them out or exchanging them
    arms = instances.values["a"] == instances.values["b"]
    assert 0 < arms.sum() == report.coincidences["L", "no-arm", ""]
    assert report.coincidences["L", "upside-down", ""] == arms.sum()
    # a slip of the other law never touches the load
    assert report.coincidences["L", "sum-forgotten", ""] == 4000
    low, high = instances.tolerance["L"]
    for slip, other in (("double", "no-arm"), ("double", "upside-down")):
        gap = np.abs(instances.wrong[slip]["L"] - instances.wrong[other]["L"])
        meets = gap <= (high - low) / 2
        assert 0 < meets.sum() == report.coincidences["L", slip, other]
    told = report.as_json()["coincidences"]
    assert {
        "answer": "L", "slip": "sum-forgotten", "with": "the key", "instances": 4000,
    } in told  # fmt: skip


def test_the_family_may_have_instances_in_which_slips_meet_rejected():
    instances, report, _ = drawn(meeting("reject"), 4000)
    assert (instances.values["a"] != instances.values["b"]).all()
    assert report.coincidences == {("L", "sum-forgotten", ""): 4000}
    needs = [ruling.need for ruling in report.rules.rulings]
    place = needs.index("slips that come to different answers")
    assert report.rules.rejected[place] > 0
    with pytest.raises(FamilyError, match="coinciding: expected drop or reject, found 'merge'"):
        meeting("merge")
