"""Families of first-year physics, chemistry and statistics against other routes to their answers.

Each test takes drawn instances and finds the answers again without the family's laws: motion
followed in time, integrals summed, charge balances, distributions from SciPy.
"""

# ruff: noqa: SIM300 - a capital letter is a quantity here, not a constant

import numpy as np
import pytest
from scipy import constants, integrate, optimize, stats
from scipy.linalg import eigh_tridiagonal

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.generation import generate


def path(acceleration, start, speed, until):
    """Place and speed at a time, followed from Newton's law in one dimension."""
    followed = integrate.solve_ivp(
        lambda _, y: [y[1], acceleration], (0, until), [start, speed], rtol=1e-10, atol=1e-12
    )
    return followed.y[:, -1]


def test_speeding_up_and_a_pushed_wagon_followed_in_time(drawn):
    one = drawn("speeding-up", 40)
    for k in range(0, 40, 4):
        place, speed = path(one.a[k], 0, one.v_0[k], one.t[k])
        assert place == pytest.approx(one.x[k], rel=1e-9)
        assert speed == pytest.approx(one.v[k], rel=1e-9)
    one = drawn("wagon-push", 40)
    for k in range(0, 40, 4):
        place, speed = path(one.F[k] / one.m[k], 0, 0, one.t[k])
        assert place == pytest.approx(one.s[k], rel=1e-9)
        assert speed == pytest.approx(one.v[k], rel=1e-9)


def test_level_launch_stopped_at_the_floor(drawn):
    one = drawn("level-launch", 40)

    def floor(_, y):
        return y[1]

    floor.terminal = True
    for k in range(0, 40, 4):
        flight = integrate.solve_ivp(
            lambda _, y, g=one.g[k]: [y[2], y[3], 0, -g],
            (0, 10), [0, one.h[k], one.v_0[k], 0], events=floor, rtol=1e-10, atol=1e-12,
        )  # fmt: skip
        end = flight.y_events[0][0]
        assert flight.t_events[0][0] == pytest.approx(one.t[k], rel=1e-8)
        assert end[0] == pytest.approx(one.x[k], rel=1e-8)
        assert np.hypot(end[2], end[3]) == pytest.approx(one.v[k], rel=1e-8)


def test_drop_on_spring_followed_to_its_turning_point(drawn):
    one = drawn("drop-on-spring", 40)

    def turns(_, y):
        return y[1]

    turns.terminal, turns.direction = True, -1
    for k in range(0, 40, 4):
        m, c, g, h = one.m[k], one.k[k], one.g[k], one.h[k]

        def motion(_, y, m=m, c=c, g=g):
            return [y[1], g - c * max(0.0, y[0]) / m]

        fall = integrate.solve_ivp(
            motion, (0, 10), [-h, 1e-9], events=turns, rtol=1e-10, atol=1e-12, max_step=1e-3
        )
        lowest = fall.y_events[0][0][0]
        assert lowest == pytest.approx(one.x[k], rel=1e-6)
        assert c * lowest == pytest.approx(one.F[k], rel=1e-6)


def test_polar_distance_by_complex_numbers(drawn):
    one = drawn("polar-distance", 200)
    first = one.r_1 * np.exp(1j * one.phi_1)
    second = one.r_2 * np.exp(1j * one.phi_2)
    np.testing.assert_allclose(np.abs(second - first), one.d, rtol=1e-11)
    np.testing.assert_allclose(np.abs((first.conj() * second).imag) / 2, one.A, rtol=1e-11)


def test_steady_climb_by_the_other_sides(drawn):
    one = drawn("steady-climb", 200)
    np.testing.assert_allclose(np.hypot(one.h, one.h / np.tan(one.theta)), one.s, rtol=1e-11)
    np.testing.assert_allclose(one.h / np.tan(one.theta), one.x, rtol=1e-11)


def test_string_modes_as_eigenvalues(drawn):
    """A string of many beads: the frequencies are eigenvalues of its stiffness matrix."""
    beads = 600
    one = drawn("string-beats", 12)
    for k in range(0, 12, 3):
        step, n = one.L[k] / (beads + 1), round(one.n[k])
        for tension, told in ((one.F_1[k], one.f_1[k]), (one.F_2[k], one.f_2[k])):
            scale = tension / (one.mu[k] * step**2)
            values = eigh_tridiagonal(
                np.full(beads, 2 * scale), np.full(beads - 1, -scale),
                eigvals_only=True, select="i", select_range=(n - 1, n - 1),
            )  # fmt: skip
            assert np.sqrt(values[0]) / (2 * np.pi) == pytest.approx(told, rel=5e-4)


def test_string_wave_satisfies_the_wave_equation(drawn):
    """Tension times curvature is mass per length times acceleration, by finite differences."""
    one = drawn("string-wave", 50)
    step = 1e-4 / one.k
    curvature = (2 * np.cos(one.k * step) - 2) / step**2
    moment = 1e-4 / one.w
    acceleration = (2 * np.cos(one.w * moment) - 2) / moment**2
    np.testing.assert_allclose(one.F * curvature, one.mu * acceleration, rtol=1e-6)


def test_hot_metal_entropy_summed_in_small_steps(drawn):
    one = drawn("hot-metal-in-water", 30)
    for k in range(0, 30, 5):
        metal, water = one.m[k] * one.c[k], one.m_w[k] * one.c_w[k]
        final = optimize.brentq(
            lambda T, k=k, a=metal, b=water: a * (one.T_m[k] - T) - b * (T - one.T_w[k]), 200, 900
        )
        assert final == pytest.approx(one.T[k], rel=1e-11)
        for capacity, start, told in (
            (metal, one.T_m[k], one.S_m[k]),
            (water, one.T_w[k], one.S_w[k]),
        ):
            summed, _ = integrate.quad(lambda T, c=capacity: c / T, start, final)
            assert summed == pytest.approx(told, rel=1e-9)


def test_rods_by_a_chain_of_cells(drawn):
    """Steady heat flow through 2 times 50 cells, solved as a linear system."""
    one = drawn("rods-in-series", 20)
    cells = 50
    for k in range(0, 20, 4):
        area = np.pi * (one.d[k] / 2) ** 2
        each = np.repeat([one.k_1[k], one.k_2[k]], cells) * area * cells / one.L[k]
        matrix = np.diag(each[:-1] + each[1:]) - np.diag(each[1:-1], 1) - np.diag(each[1:-1], -1)
        right = np.zeros(2 * cells - 1)
        right[0], right[-1] = each[0] * one.T_h[k], each[-1] * one.T_c[k]
        chain = np.linalg.solve(matrix, right)
        assert chain[cells - 1] == pytest.approx(one.T[k], rel=1e-9)
        assert each[0] * (one.T_h[k] - chain[0]) == pytest.approx(one.P[k], rel=1e-6)


def test_carnot_cycle_of_an_ideal_gas(drawn):
    """Heat taken up along the hot isotherm, given off along the cold one: integrals of p dV."""
    one = drawn("carnot-engine", 20)
    for k in range(0, 20, 4):
        hot, cold = one.T_h[k], one.T_c[k]
        stretch = np.exp(one.Q_h[k] / (constants.R * hot))  # of one mole along the hot isotherm
        given, _ = integrate.quad(lambda v, T=cold: constants.R * T / v, 1, stretch)
        assert given == pytest.approx(one.Q_c[k], rel=1e-8)
        assert one.Q_h[k] - given == pytest.approx(one.W[k], rel=1e-8)


def test_wires_by_summing_a_long_wire(drawn):
    """The field by Biot and Savart's law along 2 km of wire, with CODATA's magnetic constant."""
    one = drawn("parallel-wires", 30)
    for k in range(0, 30, 5):
        d = one.d[k]
        field, _ = integrate.quad(np.cos, -np.arctan(1e3 / d), np.arctan(1e3 / d))
        field *= constants.mu_0 * one.I_1[k] / (4 * np.pi * d)
        assert field == pytest.approx(one.B[k], rel=1e-6)
        assert field * abs(one.I_2[k]) == pytest.approx(one.q[k], rel=1e-6)
    np.testing.assert_array_equal(one.case == "same way", one.I_2 > 0)


def test_glasses_by_least_time(drawn):
    """Fermat: light takes the path of least time from a point in air to one in glass."""
    one = drawn("two-glasses", 12)
    for k in range(0, 12, 2):
        for incidence, index in ((one.t_1[k], one.n_1[k]), (one.t_2[k], one.n_2[k])):
            across, deep = np.tan(incidence), np.tan(one.r[k])

            def slope(x, n=index, end=across + deep):
                return x / np.hypot(x, 1) - n * (end - x) / np.hypot(end - x, 1)

            crossing = optimize.brentq(slope, 0, across + deep, xtol=1e-14)
            assert crossing == pytest.approx(across, rel=1e-9)


def test_grating_by_adding_waves(drawn):
    """The first maximum beside the middle of a sum over slits lies where the family says."""
    one = drawn("grating-screen", 12)
    slits = np.arange(40)
    for k in range(0, 12, 3):
        for wave, told in ((one.l_1[k], one.y_1[k]), (one.l_2[k], one.y_2[k])):

            def dark(s, k=k, wave=wave):
                return -np.abs(np.exp(2j * np.pi * one.d[k] * slits * s / wave).sum())

            about = told / np.hypot(told, one.L[k])
            best = optimize.minimize_scalar(
                dark, bounds=(0.98 * about, 1.02 * about), method="bounded",
                options={"xatol": 1e-10},
            )  # fmt: skip
            assert best.x == pytest.approx(about, rel=1e-5)


def test_contraction_by_lorentz_transformation(drawn):
    """Both ends measured at one time of the mark, brought back to the frame of the body."""
    one = drawn("length-contraction", 100)
    gamma = 1 / np.sqrt(1 - one.b**2)
    np.testing.assert_allclose(gamma * one.L, one.L_0, rtol=1e-10)
    np.testing.assert_allclose(one.t * one.b * one.c, one.L, rtol=1e-10)


def test_nuclei_with_codata_constants(drawn):
    """E = m c² in SI, with the constants of CODATA; the family's have six figures."""
    one = drawn("nucleus-mass-defect", 100)
    energy = one.D * constants.c**2
    np.testing.assert_allclose(energy, one.E, rtol=2e-6)
    np.testing.assert_allclose(energy / one.A, one.e, rtol=2e-6)
    np.testing.assert_allclose(energy * constants.N_A, one.M, rtol=4e-6)


def test_dating_followed_in_time(drawn):
    one = drawn("decay-dating", 20)
    for k in range(0, 20, 4):
        left = integrate.solve_ivp(
            lambda _, y, k=k: [-np.log(2) / one.T[k] * y[0]],
            (0, one.t[k]), [one.A_0[k]], rtol=1e-10, atol=1e-30,
        )  # fmt: skip
        assert left.y[0, -1] == pytest.approx(one.A[k], rel=1e-7)


def test_common_ion_by_root_of_the_product(drawn):
    one = drawn("common-ion", 100)
    litre = 1000.0
    for k in range(0, 100, 5):
        product, ion = one.K[k] / litre**2, one.c[k] / litre
        root = optimize.brentq(lambda s, K=product, c=ion: s * (c + s) - K, 0, 1, xtol=1e-22)
        assert root == pytest.approx(one.s[k] / litre, rel=1e-8)


def test_propane_with_atomic_weights(drawn):
    """Atoms balanced as a null vector, weights of IUPAC 2021 (C 12.011, H 1.008, O 15.999)."""
    atoms = np.array([[3, 0, -1, 0], [8, 0, 0, -2], [0, 2, -2, -1]])  # C, H, O
    _, _, rows = np.linalg.svd(atoms)
    propane, oxygen, _, _ = rows[-1]
    assert oxygen / propane == pytest.approx(5)
    mass = 5 * 2 * 15.999 / (3 * 12.011 + 8 * 1.008)
    one = drawn("propane-air", 100)
    np.testing.assert_allclose(mass * one.m / one.o, one.V, rtol=1e-3)


def test_pressures_and_concentrations_of_a_gas(drawn):
    """Amounts in a vessel that satisfy one constant satisfy the other, by the gas law."""
    one = drawn("pressure-to-concentration", 60)
    for k in range(60):
        products, reactants = one.n_p[k], one.n_r[k]
        amount = np.full(2, 0.37)  # mol/L of every reactant and of every product
        pressure = amount * 0.082057366 * one.T[k]  # atm, R of CODATA
        ratio_c = amount[1] ** products / amount[0] ** reactants
        ratio_p = pressure[1] ** products / pressure[0] ** reactants
        assert one.K_p[k] / one.K_c[k] == pytest.approx(ratio_p / ratio_c, rel=1e-4)


def test_plating_one_ion_at_a_time(drawn):
    one = drawn("electroplating", 100)
    ions = one.rho * one.S * one.h / one.M * constants.N_A
    charge = ions * one.z * constants.e
    np.testing.assert_allclose(charge, one.Q, rtol=1e-5)
    np.testing.assert_allclose(charge / one.I, one.t, rtol=1e-5)


def test_arrhenius_by_a_straight_line(drawn):
    one = drawn("arrhenius", 60)
    for k in range(0, 60, 6):
        line = stats.linregress([1 / one.T_1[k], 1 / one.T_2[k]], np.log([one.k_1[k], one.k_2[k]]))
        assert -line.slope * constants.R == pytest.approx(one.E[k], rel=1e-5)
        assert np.exp(line.intercept) == pytest.approx(one.A[k], rel=1e-3)


def test_arrhenius_end_points_of_a_printed_table(worked):
    """OpenStax Chemistry 2e, Example 12.13 (m68793), hydrogen iodide from 555 to 781 K: the end
    points (rate constants from memory) give 185.42 kJ/mol. The book prints 180, from a graph with
    reciprocals of 3 figures."""
    one = worked(
        "arrhenius", k_1="3.52e-7 1/s", k_2="3.95e-2 1/s", T_1="555 K", T_2="781 K",
        R="8.3145 J/(mol K)",
    )  # fmt: skip
    assert one.E == pytest.approx(185.42, abs=0.02)


def test_one_sample_against_scipy():
    chunks = generate(load_family(find_family("one-sample-t")), seed=2026, count=200)
    for chunk in chunks:
        for k in range(len(chunk)):
            times = chunk.values["x"][k]
            times = times[np.isfinite(times)]
            test = stats.ttest_1samp(times, chunk.values["m_0"][k])
            level = chunk.values["a"][k]
            ends = test.confidence_interval(1 - level)
            assert chunk.values["t"][k] == pytest.approx(test.statistic, rel=1e-9)
            assert chunk.values["low"][k] == pytest.approx(ends.low, rel=1e-8, abs=1e-6)
            assert chunk.values["high"][k] == pytest.approx(ends.high, rel=1e-8, abs=1e-6)
            rejected = chunk.family.cases[int(chunk.case[k])].name == "rejected"
            assert rejected == (test.pvalue < level)


def test_heat_pistons_thermometers_and_lifts_by_integration(drawn):
    one = drawn("piston-work", 20)
    for k in range(0, 20, 4):
        work, _ = integrate.dblquad(  # pressure over the disc, along the stroke
            lambda r, _, k=k: one.p[k] * 2 * np.pi * r, 0, one.s[k], 0, one.d[k] / 2
        )
        assert work == pytest.approx(one.W[k], rel=1e-9)
    one = drawn("thermometer-bore", 100)
    liquid = one.V * (1 + one.b * one.T)
    hollow = one.V * (1 + one.b_g * one.T)
    np.testing.assert_allclose((liquid - hollow) / (np.pi * (one.d / 2) ** 2), one.x, rtol=1e-8)
    one = drawn("lift-work", 100)
    np.testing.assert_allclose(one.W_c + one.W_g + one.W_f, 0, atol=1e-6)
    np.testing.assert_allclose(-one.W_g / one.g, one.m * one.h, rtol=1e-11)


def test_temperature_coefficient_by_a_straight_line(drawn):
    one = drawn("temperature-coefficient", 50)
    for k in range(0, 50, 5):
        line = stats.linregress([one.T_1[k], one.T_2[k]], [one.R_1[k], one.R_2[k]])
        assert line.slope / one.R_1[k] == pytest.approx(one.a[k], rel=1e-9)
        doubled = one.T_1[k] + one.R_1[k] / line.slope
        assert doubled == pytest.approx(one.T_d[k], rel=1e-9)


def test_terminal_speed_reached_in_time(drawn):
    one = drawn("terminal-speed", 20)
    for k in range(0, 20, 4):
        drag = one.C[k] * one.rho[k] * one.A[k] / 2

        def motion(_, y, k=k, drag=drag):
            return [one.g[k] - drag * y[0] ** 2 / one.m[k]]

        fall = integrate.solve_ivp(motion, (0, 200), [0], rtol=1e-9, atol=1e-12, method="Radau")
        assert fall.y[0, -1] == pytest.approx(one.v[k], rel=1e-7)
        assert one.m[k] * motion(0, [one.v[k] / 2])[0] == pytest.approx(one.F[k], rel=1e-9)


def test_resonance_where_the_impedance_is_least(drawn):
    one = drawn("series-resonance", 40)
    for k in range(0, 40, 4):

        def impedance(w, k=k):
            return abs(one.R[k] + 1j * (w * one.L[k] - 1 / (w * one.C[k])))

        least = optimize.minimize_scalar(
            impedance, bounds=(0.5 * one.w[k], 2 * one.w[k]), method="bounded",
            options={"xatol": 1e-9 * one.w[k]},
        )  # fmt: skip
        assert least.x == pytest.approx(one.w[k], rel=1e-6)
        assert one.V[k] / least.fun == pytest.approx(one.I[k], rel=1e-8)
        # the quality factor is the resonance frequency over the width at the root of two
        edges = [
            optimize.brentq(lambda w, k=k: impedance(w) - np.sqrt(2) * one.R[k], *sorted(ends))
            for ends in ((0.1 * one.w[k], one.w[k]), (one.w[k], 10 * one.w[k]))
        ]
        assert one.w[k] / (edges[1] - edges[0]) == pytest.approx(one.Q[k], rel=1e-8)
        assert one.V[k] * one.I[k] / 2 == pytest.approx(one.P[k], rel=1e-9)
