"""Whole families solved, against published values and outside solvers, one instance at a time."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy
from scipy.optimize import brentq, fsolve

from qbank.solving.cases import decide_cases
from qbank.solving.execution import solve_rows
from qbank.solving.solver import (
    NO_CASE,
    NO_ROOT,
    NOT_FINITE,
    SEVERAL_ROOTS,
    SOLVED,
    Solver,
)
from qbank.solving.steps import BracketedRoots, Candidates, Linear, PolynomialRoots
from tests.solving.models import DRUM, make_family


def solved(family, n=None, **data):
    values = {name: np.atleast_1d(np.asarray(x, dtype=float)) for name, x in data.items()}
    n = n or max(len(x) for x in values.values())
    values = {name: np.broadcast_to(x, n).copy() for name, x in values.items()}
    solver = Solver(family)
    values = solver.lets(values, n)
    case, holding = decide_cases(family)(values, n)
    assert (holding == 1).all()
    return solver.solve(values, case, n)


def steps_of(family):
    return [step for _, plan in Solver(family).plans for step in plan.steps]


# ---------------------------------------------------------------------------- linear


def test_stepped_drum_against_newton_lagrange_and_kane():
    # Four routes agree on these numbers: Newton's equations by sympy.solve, LagrangesMethod with
    # the tensions as multipliers, KanesMethod, and the time domain by solve_ivp.
    result = solved(
        make_family(**DRUM),
        m_a=[1.6, 4.0], m_b=[4.0, 1.6], r=0.10, R=0.20, M_r=3.0, M_R=5.0, g=9.81,
    )  # fmt: skip
    assert result.values["alpha"] == pytest.approx([10464 / 485, 3.58356164384], rel=1e-11)
    assert result.values["T_b"] == pytest.approx([21.9797938144, 16.8427397260], rel=1e-11)
    assert result.values["T_a"] == pytest.approx([19.1480412371, 37.8065753425], rel=1e-11)
    assert (result.status == SOLVED).all()


def test_stepped_drum_is_solved_for_both_cases_at_once():
    (pair,) = Solver(make_family(**DRUM)).plans
    assert [variant.case for variant in pair[0].variants] == [0, 1]
    (step,) = pair[1].steps
    assert isinstance(step, Linear)
    assert step.system.closed is not None


def test_stepped_drum_against_sympy_solve_on_random_instances():
    family = make_family(**DRUM)
    rng = np.random.default_rng(3)
    data = {
        "m_a": rng.integers(4, 19, 60) / 2, "m_b": rng.integers(2, 13, 60) / 2,
        "r": rng.integers(8, 17, 60) / 100, "R": rng.integers(18, 33, 60) / 100,
        "M_r": rng.integers(10, 30, 60) / 5, "M_R": rng.integers(10, 28, 60) / 2,
        "g": np.full(60, 9.81),
    }  # fmt: skip
    result = solved(family, **data)
    t_a, t_b, alpha = sympy.symbols("T_a T_b alpha")
    for k in range(60):
        d = {name: sympy.Rational(str(round(x[k], 4))) for name, x in data.items()}
        s = 1 if d["m_b"] * d["R"] > d["m_a"] * d["r"] else -1
        inertia = (d["M_r"] * d["r"] ** 2 + d["M_R"] * d["R"] ** 2) / 2
        exact = sympy.solve(
            [
                s * (t_a - d["m_a"] * d["g"]) - d["m_a"] * d["r"] * alpha,
                s * (d["m_b"] * d["g"] - t_b) - d["m_b"] * d["R"] * alpha,
                s * (t_b * d["R"] - t_a * d["r"]) - inertia * alpha,
            ],
            [t_a, t_b, alpha],
        )
        for name, symbol in [("T_a", t_a), ("T_b", t_b), ("alpha", alpha)]:
            assert result.values[name][k] == pytest.approx(float(exact[symbol]), rel=1e-12)


BRIDGE = {
    "given": "E R_1 R_2 R_3 R_4 R_5",
    "find": "V_1 V_2 I_5",
    "laws": {
        "node 1": "(E - V_1)/R_1 = V_1/R_2 + I_5",
        "node 2": "(E - V_2)/R_3 + I_5 = V_2/R_4",
        "bridge": "V_1 - V_2 = R_5*I_5",
    },
}


def test_unbalanced_bridge_against_ngspice():
    # ngspice .op on 10 V, 100/220 and 150/470 ohm with 47 ohm across; numpy agrees to 13 digits
    result = solved(make_family(**BRIDGE), E=10, R_1=100, R_2=220, R_3=150, R_4=470, R_5=47)
    assert result.values["V_1"][0] == pytest.approx(7.086423224, rel=1e-9)
    assert result.values["V_2"][0] == pytest.approx(7.230959828, rel=1e-9)
    assert result.values["I_5"][0] == pytest.approx(-175 / 56906, rel=1e-12)


def test_random_linear_systems_against_numpy():
    rng = np.random.default_rng(11)
    for k in range(2, 7):
        names = [f"x_{i}" for i in range(k)]
        given, laws = [], {}
        filled = rng.random((k, k)) < 0.5
        filled[np.arange(k), rng.permutation(k)] = True
        for i in range(k):
            terms = []
            for j in np.flatnonzero(filled[i]):
                given.append(f"a_{i}_{j}")
                terms.append(f"a_{i}_{j}*{names[j]}")
            given.append(f"b_{i}")
            laws[f"law {i}"] = " + ".join(terms) + f" = b_{i}"
        family = make_family(given=" ".join(given), find=" ".join(names), laws=laws)
        data = {name: rng.normal(size=300) for name in given}
        result = solved(family, **data)
        matrix = np.zeros((300, k, k))
        for i, j in zip(*np.nonzero(filled), strict=True):
            matrix[:, i, j] = data[f"a_{i}_{j}"]
        right = np.stack([data[f"b_{i}"] for i in range(k)], axis=-1)
        want = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
        condition = np.linalg.cond(matrix)
        good = condition < 1e4
        assert good.sum() > 200
        for j, name in enumerate(names):
            error = np.abs(result.values[name] - want[:, j])[good]
            assert (error <= 1e-9 * np.abs(want[good]).max(axis=1)).all()


def ladder(k):
    """A chain of k resistors to ground: node voltages, each tied to its neighbours."""
    given = ["E", *(f"R_{i}" for i in range(k)), *(f"S_{i}" for i in range(k))]
    laws = {}
    for i in range(k):
        before = "E" if i == 0 else f"V_{i - 1}"
        after = f" + (V_{i} - V_{i + 1})/R_{i + 1}" if i + 1 < k else ""
        laws[f"node {i}"] = f"({before} - V_{i})/R_{i} = V_{i}/S_{i}{after}"
    find = " ".join(f"V_{i}" for i in range(k))
    return make_family(given=" ".join(given), find=find, laws=laws)


@pytest.mark.parametrize(("k", "closed"), [(3, True), (12, False)])
def test_long_linear_blocks_are_solved_row_by_row(k, closed):
    family = ladder(k)
    (step,) = steps_of(family)
    assert (step.system.closed is not None) == closed
    rng = np.random.default_rng(k)
    data = {name: rng.uniform(1, 9, 50) for name in family.given}
    result = solved(family, **data)
    resistance = data[f"S_{k - 1}"] + data[f"R_{k - 1}"]  # series and parallel from the far end
    for i in range(k - 2, -1, -1):
        resistance = 1 / (1 / resistance + 1 / data[f"S_{i}"]) + data[f"R_{i}"]
    current = (data["E"] - result.values["V_0"]) / data["R_0"]
    np.testing.assert_allclose(current, data["E"] / resistance, rtol=1e-12)


def test_a_zero_pivot_does_not_hide_a_solution():
    family = make_family(
        given="a b c d p q",
        find="x y",
        laws={"one": "a*x + b*y = p", "two": "c*x + d*y = q"},
    )
    rows = [(0, 1, 1, 1), (1, 0, 1, 1), (1, 1, 0, 1), (1, 1, 1, 0), (2, 1, 1, 3)]
    a, b, c, d = np.array(rows, dtype=float).T
    result = solved(family, a=a, b=b, c=c, d=d, p=3, q=5)
    for k, (a_k, b_k, c_k, d_k) in enumerate(rows):
        x, y = np.linalg.solve([[a_k, b_k], [c_k, d_k]], [3, 5])
        assert (result.values["x"][k], result.values["y"][k]) == pytest.approx((x, y), rel=1e-14)
    assert (result.status == SOLVED).all()


def test_singular_rows_are_marked_and_leave_the_others_alone():
    family = make_family(given="a b", find="x y", laws={"one": "a*x + y = 1", "two": "x + b*y = 2"})
    result = solved(family, a=[2, 1, 2, np.nan], b=[3, 1, 0.5, 1])
    assert result.status.tolist() == [SOLVED, NOT_FINITE, NOT_FINITE, NOT_FINITE]
    assert np.isnan(result.values["x"][1:]).all()
    assert result.values["x"][0] == pytest.approx(0.2)


def test_solve_rows_marks_singular_and_infinite_rows():
    matrix = np.array(
        [[[1.0, 2], [2, 4]], [[1, 0], [0, 2]], [[np.inf, 0], [0, 1]], [[0, 0], [1, 1]]]
    )
    solution = solve_rows(matrix, np.ones((4, 2)))
    assert np.isnan(solution[[0, 2, 3]]).all()
    np.testing.assert_array_equal(solution[1], [1.0, 0.5])


# ---------------------------------------------------------------------------- roots


def test_weak_acid_against_brentq_and_the_book():
    # Chemistry 2e examples 14.12 and 14.15: 0.534 M formic acid, K_a 1.8e-4, pH 2.01; and
    # brentq on the full charge balance gives 2.012579822
    family = make_family(
        given="K_a c K_w",
        find={"h": {"choose": "h > 0"}},
        laws={"charge": "h = K_w/h + c*K_a/(K_a + h)"},
    )
    (step,) = steps_of(family)
    assert isinstance(step, PolynomialRoots)
    rng = np.random.default_rng(2)
    acid = np.concatenate([[1.8e-4], 10 ** rng.uniform(-11, -2, 200)])
    content = np.concatenate([[0.534], 10 ** rng.uniform(-7, 0, 200)])
    result = solved(family, K_a=acid, c=content, K_w=1e-14)
    assert -math.log10(result.values["h"][0]) == pytest.approx(2.012579822, abs=1e-9)
    for k in range(201):
        want = brentq(
            lambda h, k=k: h - 1e-14 / h - content[k] * acid[k] / (acid[k] + h),
            1e-14, 2, xtol=1e-25, rtol=1e-14,
        )  # fmt: skip
        assert result.values["h"][k] == pytest.approx(want, rel=1e-11)


def test_simple_weak_acid_is_a_quadratic_with_a_stated_choice():
    family = make_family(
        given="K_a c",
        find={"h": {"choose": "0 < h < c"}},
        laws={"equilibrium": "h^2 = K_a*(c - h)"},
    )
    content = np.array([0.1, 1e-3, 1e-6])
    result = solved(family, K_a=1.8e-5, c=content)
    np.testing.assert_allclose(
        result.values["h"], 2 * content / (1 + np.sqrt(1 + 4 * content / 1.8e-5)), rtol=1e-14
    )


COLEBROOK = {
    "given": "Re e",
    "find": {"f": {"between": "0.001 .. 0.2"}},
    "laws": {"friction": "1/sqrt(f) = -2*log10(e/3.7 + 2.51/(Re*sqrt(f)))"},
}


def test_colebrook_friction_by_bracket():
    # brentq and fluids.friction_factor(Re=1e5, eD=1e-4, Method="Colebrook"): 0.0185138660775
    family = make_family(**COLEBROOK)
    (step,) = steps_of(family)
    assert isinstance(step, BracketedRoots)
    rng = np.random.default_rng(4)
    reynolds = np.concatenate([[1e5], 10 ** rng.uniform(3.7, 8, 200)])
    rough = np.concatenate([[1e-4], 10 ** rng.uniform(-6, -1.4, 200)])
    result = solved(family, Re=reynolds, e=rough)
    assert result.values["f"][0] == pytest.approx(0.0185138660775, rel=1e-11)
    for k in range(201):
        want = brentq(
            lambda f, k=k: 1 / math.sqrt(f)
            + 2 * math.log10(rough[k] / 3.7 + 2.51 / (reynolds[k] * math.sqrt(f))),
            1e-3, 0.2, xtol=1e-16, rtol=1e-14,
        )  # fmt: skip
        assert result.values["f"][k] == pytest.approx(want, rel=1e-12)


def test_charging_a_capacitor_is_undone_in_closed_form():
    # ngspice .tran, 101 ohm, 50 mF, 100 V to 80 V: 8.127661 s; University Physics 2, 10.8: 8.13 s
    family = make_family(
        given="V_0 V_1 R C", find="t", laws={"charge": "V_1 = V_0*(1 - exp(-t/(R*C)))"}
    )
    (step,) = steps_of(family)
    assert isinstance(step, Candidates)
    result = solved(family, V_0=100, V_1=[80, 120], R=101, C=0.05)
    assert result.values["t"][0] == pytest.approx(8.127661, abs=5e-6)
    assert result.status.tolist() == [SOLVED, NO_ROOT]


def test_projectile_from_a_height_takes_the_root_after_the_throw():
    family = make_family(
        given="v g H theta",
        find={"t": {"choose": "t > 0"}, "x": {}},
        laws={
            "height": "0 = H + v*sin(theta)*t - g*t^2/2",
            "way": "x = v*cos(theta)*t",
        },
    )
    rng = np.random.default_rng(9)
    v, height = rng.uniform(3, 30, 100), rng.uniform(0.5, 40, 100)
    theta = rng.uniform(-1, 1.4, 100)
    result = solved(family, v=v, g=9.81, H=height, theta=theta)
    for k in range(100):
        roots = np.roots([-9.81 / 2, v[k] * math.sin(theta[k]), height[k]])
        want = max(roots.real)
        assert result.values["t"][k] == pytest.approx(want, rel=1e-12)
        assert result.values["x"][k] == pytest.approx(v[k] * math.cos(theta[k]) * want, rel=1e-12)


def test_elastic_collision_leaves_one_root_besides_nothing_happening():
    family = make_family(
        given="m_1 m_2 u_1 u_2",
        find={"v_1": {"choose": "v_1 != u_1"}, "v_2": {}},
        laws={
            "momentum": "m_1*u_1 + m_2*u_2 = m_1*v_1 + m_2*v_2",
            "energy": "m_1*u_1^2/2 + m_2*u_2^2/2 = m_1*v_1^2/2 + m_2*v_2^2/2",
        },
    )
    rng = np.random.default_rng(8)
    m_1, m_2 = rng.uniform(1, 5, (2, 200))
    u_1, u_2 = rng.uniform(1, 5, 200), rng.uniform(-5, 0.5, 200)
    result = solved(family, m_1=m_1, m_2=m_2, u_1=u_1, u_2=u_2)
    np.testing.assert_allclose(
        result.values["v_1"], ((m_1 - m_2) * u_1 + 2 * m_2 * u_2) / (m_1 + m_2), atol=1e-12
    )
    np.testing.assert_allclose(
        result.values["v_2"], ((m_2 - m_1) * u_2 + 2 * m_1 * u_1) / (m_1 + m_2), atol=1e-12
    )


def test_two_circles_meet_in_the_point_that_is_chosen():
    family = make_family(
        given="d r_1 r_2",
        find={"x": {}, "y": {"choose": "y > 0"}},
        laws={"first": "x^2 + y^2 = r_1^2", "second": "(x - d)^2 + y^2 = r_2^2"},
    )
    result = solved(family, d=[5.0, 5.0], r_1=[3.0, 1.0], r_2=[4.0, 2.0])
    assert result.status.tolist() == [SOLVED, NO_ROOT]
    assert result.values["x"][0] == pytest.approx(9 / 5, rel=1e-14)
    assert result.values["y"][0] == pytest.approx(12 / 5, rel=1e-14)


def test_odd_powers_keep_both_signs_of_an_eliminated_unknown_apart():
    # y = +-sqrt(c - x^2) may not stand for each other in the second law
    family = make_family(
        given="c d",
        find={"x": {"choose": "x > 0"}, "y": {"choose": "y < 0"}},
        laws={"circle": "x^2 + y^2 = c", "hyperbola": "x*y = d"},
    )
    result = solved(family, c=5.0, d=[-2.0, -1.0])
    assert result.status.tolist() == [SEVERAL_ROOTS, SEVERAL_ROOTS]
    family = make_family(
        given="c d",
        find={"x": {"choose": "x > 1.5"}, "y": {"choose": "y < 0"}},
        laws={"circle": "x^2 + y^2 = c", "hyperbola": "x*y = d"},
    )
    result = solved(family, c=5.0, d=-2.0)
    assert (result.values["x"][0], result.values["y"][0]) == pytest.approx((2, -1), rel=1e-12)


def test_a_fraction_with_the_unknown_below_the_bar():
    # UP3 2.11: f = 6.00 mm, an object 6.20 mm away, image at 186 mm
    family = make_family(given="f u", find="b", laws={"lens": "1/f = 1/u + 1/b"})
    result = solved(family, f=[6.0, 6.0], u=[6.2, 6.0])
    assert result.values["b"][0] == pytest.approx(186, rel=1e-12)
    assert result.status.tolist() == [SOLVED, NO_ROOT]  # an object in the focus has no image


def test_two_unknowns_one_in_a_sine_keep_the_author_s_choice():
    # a conical pendulum: T cos(a) = m g, T sin(a) = m w^2 L sin(a)
    family = make_family(
        given="m g L w",
        find={"a": {"choose": "0 < a < 1.57", "between": "0.001 .. 1.57"}, "T": {}},
        laws={"up": "T*cos(a) = m*g", "in": "T*sin(a) = m*w^2*L*sin(a)"},
    )
    w = np.linspace(4.0, 9.0, 40)
    result = solved(family, m=0.3, g=9.81, L=0.8, w=w)
    np.testing.assert_allclose(result.values["a"], np.arccos(9.81 / (w**2 * 0.8)), rtol=1e-12)
    np.testing.assert_allclose(result.values["T"], 0.3 * w**2 * 0.8, rtol=1e-12)


def test_snell_angle_by_choice_and_total_reflection_has_no_root():
    family = make_family(
        given="n_1 n_2 a", find={"b": {"choose": "0 <= b <= 1.5707963267948966"}},
        laws={"snell": "n_1*sin(a) = n_2*sin(b)"},
    )  # fmt: skip
    result = solved(family, n_1=[1.0, 1.5], n_2=[1.5, 1.0], a=math.radians(60))
    # sympy.physics.optics.refraction_angle(60 deg, 1, 1.5): 35.2643896828 deg
    assert math.degrees(result.values["b"][0]) == pytest.approx(35.2643896828, rel=1e-11)
    assert result.status.tolist() == [SOLVED, NO_ROOT]


def test_obtuse_angles_are_found_as_well():
    family = make_family(
        given="y", find={"a": {"choose": "1.6 < a < 4.7"}}, laws={"sine": "sin(a) = y"}
    )
    y = np.array([0.5, -0.5, 0.9])
    result = solved(family, y=y)
    np.testing.assert_allclose(result.values["a"], np.pi - np.arcsin(y), rtol=1e-14)


def test_a_polynomial_in_an_exponential():
    family = make_family(given="c tau", find="t", laws={"decay": "exp(-2*t/tau) + exp(-t/tau) = c"})
    assert [type(step) for step in steps_of(family)] == [PolynomialRoots, Candidates]
    c = np.linspace(0.1, 1.9, 30)
    result = solved(family, c=c, tau=3.0)
    np.testing.assert_allclose(
        result.values["t"], -3 * np.log((-1 + np.sqrt(1 + 4 * c)) / 2), atol=1e-14
    )


def test_a_polynomial_in_a_square_root():
    family = make_family(given="c", find="x", laws={"sum": "x + sqrt(x) = c"})
    c = np.linspace(0.5, 9, 30)
    result = solved(family, c=c)
    np.testing.assert_allclose(result.values["x"], ((np.sqrt(1 + 4 * c) - 1) / 2) ** 2, rtol=1e-13)


def test_algebra_does_not_widen_the_domain_of_a_root():
    # squared, the law is x/4 = x - a with the root 4 a/3, real only where x >= 0
    family = make_family(given="a", find="x", laws={"law": "(sqrt(x)/2)^2 = x - a"})
    result = solved(family, a=[3.0, -3.0])
    assert result.status.tolist() == [SOLVED, NO_ROOT]
    assert result.values["x"][0] == pytest.approx(4.0)


def test_random_cubics_against_numpy_roots():
    family = make_family(
        given="a b c", find={"x": {"choose": "x > 0"}}, laws={"cubic": "x^3 + a*x = b*x^2 + c"}
    )
    rng = np.random.default_rng(6)
    a, b, c = rng.normal(size=(3, 300)) * 3
    result = solved(family, a=a, b=b, c=c)
    for k in range(300):
        roots = np.roots([1, -b[k], a[k], -c[k]])
        positive = roots[(np.abs(roots.imag) < 1e-12) & (roots.real > 0)].real
        expected = [NO_ROOT, SOLVED, SEVERAL_ROOTS, SEVERAL_ROOTS][len(positive)]
        assert result.status[k] == expected
        if expected == SOLVED:
            assert result.values["x"][k] == pytest.approx(positive[0], rel=1e-11)


def test_three_coupled_laws_against_fsolve():
    # a heated wire: current, power and temperature hang on each other
    family = make_family(
        given="U R_0 k h T_0",
        find={"I": {"choose": "I > 0"}, "P": {}, "T": {}},
        laws={
            "ohm": "U = I*R_0*(1 + k*(T - T_0))",
            "heat": "P = U*I",
            "loss": "P = h*(T - T_0)",
        },
    )
    rng = np.random.default_rng(12)
    u, r, k, h = rng.uniform([[5], [2], [0.002], [0.5]], [[20], [9], [0.006], [2]], (4, 60))
    result = solved(family, U=u, R_0=r, k=k, h=h, T_0=293.0)
    assert (result.status == SOLVED).all()
    for i in range(60):
        current, power, temperature = fsolve(
            lambda x, i=i: [
                x[0] * r[i] * (1 + k[i] * (x[2] - 293)) - u[i],
                x[1] - u[i] * x[0],
                x[1] - h[i] * (x[2] - 293),
            ],
            [u[i] / r[i], u[i] ** 2 / r[i], 300],
            xtol=1e-11,
        )
        got = [result.values[name][i] for name in ("I", "P", "T")]
        assert got == pytest.approx([current, power, temperature], rel=1e-8)


# ---------------------------------------------------------------------------- cases, status


SLOPE = {
    "given": "m_1 m_2 theta mu_s mu_k g",
    "find": "T f a",
    "cases": {
        "slides up": {"when": "m_2*g - m_1*g*sin(theta) > mu_s*m_1*g*cos(theta)"},
        "slides down": {"when": "m_1*g*sin(theta) - m_2*g > mu_s*m_1*g*cos(theta)"},
        "held": {},
    },
    "laws": {
        "slides up": {
            "block": "T - m_1*g*sin(theta) - f = m_1*a",
            "load": "m_2*g - T = m_2*a",
            "friction": "f = mu_k*m_1*g*cos(theta)",
        },
        "slides down": {
            "block": "m_1*g*sin(theta) - T - f = m_1*a",
            "load": "T - m_2*g = m_2*a",
            "friction": "f = mu_k*m_1*g*cos(theta)",
        },
        "held": {"block": "T + f = m_1*g*sin(theta)", "load": "T = m_2*g", "rest": "a = 0"},
    },
}


def test_cases_with_laws_of_their_own():
    # 4 kg on a rough slope of 30 deg, 5 kg hanging, mu 0.25: a = 2.32603230987, T = 37.4198384506
    # by LagrangesMethod with friction as a force (sliding up)
    result = solved(
        make_family(**SLOPE),
        m_1=[4.0, 4.0, 4.0], m_2=[5.0, 0.2, 2.1], theta=math.pi / 6, mu_s=0.3, mu_k=0.25, g=9.81,
    )  # fmt: skip
    assert result.values["a"][0] == pytest.approx(2.32603230987, rel=1e-11)
    assert result.values["T"][0] == pytest.approx(37.4198384506, rel=1e-11)
    weight, friction = 4 * 9.81, 0.25 * 4 * 9.81 * math.cos(math.pi / 6)
    assert result.values["a"][1] == pytest.approx((weight / 2 - 0.2 * 9.81 - friction) / 4.2)
    assert [result.values[name][2] for name in ("a", "T")] == pytest.approx([0, 2.1 * 9.81])
    assert result.values["f"][2] == pytest.approx(weight / 2 - 2.1 * 9.81)


def test_no_case_gives_its_status_and_nan():
    family = make_family(**DRUM)
    solver = Solver(family)
    data = {"m_a": 2.0, "m_b": 1.0, "r": 0.1, "R": 0.2, "M_r": 1.0, "M_R": 1.0, "g": 9.81}
    values = solver.lets({name: np.full(3, x) for name, x in data.items()}, 3)
    values["m_a"][0] = 5.0
    case, holding = decide_cases(family)(values, 3)
    assert case.tolist() == [1, -1, -1]
    assert holding.tolist() == [1, 0, 0]
    result = solver.solve(values, case, 3)
    assert result.status.tolist() == [SOLVED, NO_CASE, NO_CASE]
    assert np.isnan(result.values["alpha"][1:]).all()
    for name in family.find:
        assert result.values[name].shape == (3,)
        assert np.isfinite(result.values[name][0])


def test_no_case_beside_groups_of_cases():
    family = make_family(**SLOPE)
    solver = Solver(family)
    data = {"m_1": 4.0, "m_2": 5.0, "theta": 0.5, "mu_s": 0.3, "mu_k": 0.2, "g": 9.81}
    values = {name: np.full(4, x) for name, x in data.items()}
    result = solver.solve(values, np.array([-1, 0, 1, 2]), 4)
    assert result.status.tolist() == [NO_CASE, SOLVED, SOLVED, SOLVED]


def test_every_status():
    family = make_family(
        given="a b", find={"x": {"choose": "x < 10"}}, laws={"root": "(x - b)^2 = a"}
    )
    result = solved(family, a=[4.0, -1.0, 1.0, np.nan, 0.0], b=[9.0, 0.0, 0.0, 0.0, 3.0])
    assert result.status.tolist() == [SOLVED, NO_ROOT, SEVERAL_ROOTS, NOT_FINITE, SOLVED]
    np.testing.assert_array_equal(result.values["x"], [7.0, np.nan, np.nan, np.nan, 3.0])


def test_ends_pick_among_roots():
    family = make_family(
        given="c", find={"x": {"between": "0 .. 2*c"}}, laws={"square": "x^2 = c^2"}
    )
    result = solved(family, c=[1.5, 2.5])
    np.testing.assert_array_equal(result.values["x"], [1.5, 2.5])


def test_scalars_and_empty_batches():
    family = make_family(**BRIDGE)
    solver = Solver(family)
    values = {"E": 10.0, "R_1": 100.0, "R_2": 220.0, "R_3": 150.0, "R_4": 470.0}
    values = {name: np.asarray(x) for name, x in values.items()} | {"R_5": np.array([47.0, 1e9])}
    result = solver.solve(values, np.zeros(2, dtype=np.int64), 2)
    assert result.values["I_5"].shape == (2,)
    nothing = solver.solve({name: np.empty(0) for name in values}, np.zeros(0, dtype=np.int64), 0)
    assert nothing.values["I_5"].shape == (0,)
    assert nothing.status.shape == (0,)


def test_lets_follow_each_other_in_any_order():
    family = make_family(
        given="a", let={"c": "b + 1", "b": "2*a", "d": "c*b"}, find="x", laws={"x": "x = d"}
    )
    values = Solver(family).lets({"a": np.array([1.0, 2.0])}, 2)
    np.testing.assert_array_equal(values["d"], [6.0, 20.0])


def test_lets_of_data_lists():
    family = make_family(
        given="x t", let={"xm": "mean(x)", "h": "t*sd(x)/sqrt(count(x))"},
        find="low high", laws={"lower": "low = xm - h", "upper": "high = xm + h"},
    )  # fmt: skip
    solver = Solver(family)
    values = solver.lets(
        {"x": np.array([[1.0, 2, 3, np.nan], [2, 4, 4, 6]]), "t": np.array([2.0, 3.0])}, 2
    )
    result = solver.solve(values, np.zeros(2, dtype=np.int64), 2)
    np.testing.assert_allclose(result.values["low"], [2 - 2 / 3**0.5, 4 - 3 * (8 / 3) ** 0.5 / 2])
