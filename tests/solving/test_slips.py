"""Wrong answers from edited models, against the edit worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from qbank.errors import FamilyError
from qbank.solving.cases import decide_cases
from qbank.solving.slips import SlipSolver
from qbank.solving.solver import Solver
from tests.solving.models import DRUM, make_family
from tests.solving.test_solver import SLOPE


def wrong(family, **data):
    n = max(np.size(x) for x in data.values())
    values = {name: np.broadcast_to(np.asarray(x, dtype=float), n) for name, x in data.items()}
    solver = Solver(family)
    values = solver.lets(values, n)
    case, _ = decide_cases(family)(values, n)
    return SlipSolver(family, solver).solve(values, case, n)


def drum(m_a, m_b, r, R, inertia, g=9.81):
    """Newton's laws of the drum as a 3 x 3 system, solved by numpy; clockwise counts positive."""
    matrix = np.array([[1, 0, -m_a * r], [0, 1, m_b * R], [-r, R, -inertia]])
    return np.linalg.solve(matrix, [m_a * g, m_b * g, 0])


def drum_data(n=50):
    rng = np.random.default_rng(1)
    ranges = {
        "m_a": (2, 9), "m_b": (1, 6), "r": (0.08, 0.16), "R": (0.18, 0.32),
        "M_r": (2, 6), "M_R": (5, 14),
    }  # fmt: skip
    return {name: rng.uniform(low, high, n) for name, (low, high) in ranges.items()} | {
        "g": np.full(n, 9.81)
    }


def test_each_slip_of_the_drum():
    data = drum_data()
    answers = wrong(make_family(**DRUM), **data)
    for k in range(50):
        m_a, m_b, r, R, M_r, M_R, _ = (data[name][k] for name in data)
        inertia = M_r * r**2 / 2 + M_R * R**2 / 2
        s = 1 if m_b * R > m_a * r else -1
        alpha = s * (m_b * R - m_a * r) * 9.81 / inertia
        wanted = {
            "weights-as-tensions": [m_a * 9.81, m_b * 9.81, alpha],
            "small-disc-forgotten": drum(m_a, m_b, r, R, M_R * R**2 / 2) * [1, 1, s],
            "diameters": drum(m_a, m_b, 2 * r, 2 * R, 4 * inertia) * [1, 1, s],
            "wrong-way": drum(m_a, m_b, r, R, inertia) * [1, 1, -s],
        }
        for slip, want in wanted.items():
            got = [answers[slip][name][k] for name in ("T_a", "T_b", "alpha")]
            assert got == pytest.approx(want, rel=1e-10), slip


def slipped(slip, **data):
    family = make_family(**{**DRUM, "slips": {"slip": slip}})
    return wrong(family, **data)["slip"]


def test_swapped_unconverted_and_self_referring_edits_reach_the_lets():
    data = drum_data(20)
    cases = {
        "swap": ({"swap": [("r", "R")]}, lambda r, R: (R, r)),
        "unconverted": ({"unconverted": ["r"]}, lambda r, R: (100 * r, R)),
        "change": ({"change": {"r": "R", "R": "r/2"}}, lambda r, R: (R, r / 2)),
    }
    for name, (slip, edit) in cases.items():
        answers = slipped(slip, **data)
        for k in range(20):
            m_a, m_b, r, R, M_r, M_R, _ = (data[x][k] for x in data)
            s = 1 if m_b * R > m_a * r else -1
            r, R = edit(r, R)
            want = drum(m_a, m_b, r, R, M_r * r**2 / 2 + M_R * R**2 / 2) * [1, 1, s]
            got = [answers[x][k] for x in ("T_a", "T_b", "alpha")]
            assert got == pytest.approx(want, rel=1e-9), name
    half = slipped({"replace": {"I": "I/2"}}, **data)
    m_a, m_b, r, R, M_r, M_R, _ = (data[x][0] for x in data)
    want = drum(m_a, m_b, r, R, M_r * r**2 / 4 + M_R * R**2 / 4)
    assert half["T_a"][0] == pytest.approx(want[0], rel=1e-10)


LETS = {
    "given": "a b",
    "let": {"p": "a + b", "q": "a - b", "u": "p*q"},
    "find": "x y",
    "laws": {"x": "x = p/q", "y": "y = u + a"},
}


@pytest.mark.parametrize(
    ("slip", "x", "y"),
    [
        ({"swap": [("p", "q")]}, 2 / 8, 16 + 5),
        ({"swap": [("a", "p")]}, (8 / 5), None),
        ({"change": {"b": "2*b"}}, 11 / -1, -11 + 5),
        ({"change": {"b": "2*b"}, "swap": [("p", "q")]}, -1 / 11, -11 + 5),
        ({"replace": {"q": "a + 2*b"}}, 8 / 11, 88 + 5),
        ({"replace": {"u": "p"}}, 8 / 2, 8 + 5),
    ],
)
def test_lets_that_use_lets(slip, x, y):
    family = make_family(**LETS, slips={"slip": slip})
    if y is None:  # a is taken for p = 8 and p for a = 5; q = a - b = 8 - 3
        x, y = 5 / 5, 5 * 5 + 8
    answers = wrong(family, a=5.0, b=3.0)["slip"]
    assert answers["x"][0] == pytest.approx(x)
    assert answers["y"][0] == pytest.approx(y)


def test_unconverted_angles_and_temperatures():
    family = make_family(
        given="theta T", find="x y", laws={"x": "x = sin(theta)", "y": "y = T"},
        units={"theta": "deg", "T": "°C"}, slips={"slip": {"unconverted": ["theta", "T"]}},
    )  # fmt: skip
    answers = wrong(family, theta=np.radians(30.0), T=298.15)["slip"]
    assert answers["x"][0] == pytest.approx(np.sin(30.0), rel=1e-12)
    assert answers["y"][0] == pytest.approx(25.0, rel=1e-12)


SLIPPERY = {
    **SLOPE,
    "slips": {
        "no-friction": {"replace": {"friction": "f = 0"}},
        "only-up": {"replace": {"friction": "f = mu_s*m_1*g"}, "only": ["slides up"]},
        "as-if-moving": {"cases": {"held": "slides up"}},
        "forgotten": {"drop": ["rest"]},
        "no-load": {"drop": ["load"]},
    },
}
SLOPE_DATA = {
    "m_1": 4.0, "m_2": [5.0, 0.2, 2.1, 2.0], "theta": np.pi / 6, "mu_s": 0.3, "mu_k": 0.25,
    "g": 9.81,
}  # fmt: skip


def test_slips_give_nothing_where_they_do_not_apply():
    answers = wrong(make_family(**SLIPPERY), **SLOPE_DATA)
    up, down, held = 0, 1, 2
    free = (5 - 2) * 9.81 / 9
    assert answers["no-friction"]["a"][up] == pytest.approx(free)
    assert answers["no-friction"]["a"][down] == pytest.approx((2 - 0.2) * 9.81 / 4.2)
    assert answers["no-friction"]["f"][up] == 0
    assert np.isnan(answers["no-friction"]["a"][held])  # `held` has no law of that name
    assert np.isfinite(answers["only-up"]["a"][up])
    assert np.isnan(answers["only-up"]["a"][[down, held]]).all()
    moving = (2.1 - 2 - 4 * 0.25 * np.cos(np.pi / 6)) * 9.81 / 6.1
    assert answers["as-if-moving"]["a"][held] == pytest.approx(moving)
    assert np.isnan(answers["as-if-moving"]["a"][[up, down]]).all()


def test_a_dropped_law_leaves_what_the_others_still_determine():
    answers = wrong(make_family(**SLIPPERY), **SLOPE_DATA)
    held = 2
    assert np.isnan(answers["forgotten"]["a"]).all()  # no other law holds a
    assert answers["forgotten"]["T"][held] == pytest.approx(2.1 * 9.81)
    assert np.isnan(answers["forgotten"]["T"][:2]).all()  # `rest` is a law of `held` alone
    # without `load`: moving cases keep the friction; held keeps nothing but a = 0
    friction = 0.25 * 4 * 9.81 * np.cos(np.pi / 6)
    np.testing.assert_allclose(answers["no-load"]["f"], [friction, friction, np.nan, np.nan])
    np.testing.assert_allclose(answers["no-load"]["a"], [np.nan, np.nan, 0, 0])
    for answer in answers.values():
        assert {name: a.shape for name, a in answer.items()} == dict.fromkeys("Tfa", (4,))


def test_no_root_and_several_roots_give_nan():
    family = make_family(
        given="K_a c",
        find={"h": {"choose": "0 < h < c"}},
        laws={"equilibrium": "h^2 = K_a*(c - h)"},
        slips={
            "no-square": {"replace": {"equilibrium": "h = 2*c"}},
            "both": {"replace": {"equilibrium": "(h - c/2)^2 = c^2/16"}},
            "undiminished": {"replace": {"equilibrium": "h^2 = K_a*c"}},
            "acid-for-content": {"swap": [("K_a", "c")]},
        },
    )
    answers = wrong(family, K_a=1.8e-5, c=[0.1, 0.2])
    assert np.isnan(answers["no-square"]["h"]).all()
    assert np.isnan(answers["both"]["h"]).all()
    np.testing.assert_allclose(answers["undiminished"]["h"], np.sqrt(1.8e-5 * np.array([0.1, 0.2])))
    # the choice 0 < h < c is made with the edited content as well
    swapped = np.array([0.1, 0.2])
    want = (-swapped + np.sqrt(swapped**2 + 4 * swapped * 1.8e-5)) / 2
    np.testing.assert_allclose(answers["acid-for-content"]["h"], want, rtol=1e-9)


def test_division_by_zero_gives_nan_and_no_case_gives_nan():
    family = make_family(
        given="a b", find="x", laws={"x": "x = a/b"}, slips={"off": {"change": {"b": "b - 1"}}},
        cases={"some": {"when": "a > 0"}},
    )  # fmt: skip
    answers = wrong(family, a=[1.0, 1.0, -1.0], b=[1.0, 3.0, 3.0])["off"]
    np.testing.assert_array_equal(answers["x"], [np.nan, 0.5, np.nan])


def test_data_lists_left_unconverted():
    family = make_family(
        given="x", let={"m": "mean(x)"}, find="y", laws={"y": "y = m"}, units={"x": "mm"},
        slips={"metres": {"unconverted": ["x"]}},
    )  # fmt: skip
    values = {"x": np.array([[0.012, 0.014, np.nan], [0.010, 0.020, 0.030]])}
    solver = Solver(family)
    values = solver.lets(values, 2)
    answers = SlipSolver(family, solver).solve(values, np.zeros(2, dtype=np.int64), 2)
    np.testing.assert_allclose(answers["metres"]["y"], [13.0, 20.0])


def test_slips_that_cannot_be_solved_are_refused_at_their_place():
    laws = {"laws": {"x": "x = a"}, "given": "a", "find": "x"}
    family = make_family(**laws, slips={"odd": {"replace": {"x": "x = cos(x)"}}})
    with pytest.raises(FamilyError) as caught:
        SlipSolver(family, Solver(family))
    assert str(caught.value) == (
        "test.yaml:90:1: slip 'odd', law 'x' cannot be solved for 'x' in closed form\n"
        "    give 'x' ends to search between, as in between: LOW .. HIGH."
    )
    family = make_family(**laws, slips={"void": {"drop": ["x"]}})
    with pytest.raises(FamilyError, match="slip 'void' gives no unknown a value"):
        SlipSolver(family, Solver(family))
