"""Drum, slope and throw against Lagrange's equations, time integration and printed examples."""

# ruff: noqa: SIM300 - a capital letter is a quantity here, not a constant

import numpy as np
import pytest
import sympy as sp
from scipy.integrate import solve_ivp
from sympy.physics.mechanics import LagrangesMethod, Point, ReferenceFrame, dynamicsymbols

TIME = dynamicsymbols._t  # a fresh symbol named t would make every derivative vanish


def disc_inertia(mass, radius):
    """Second moment of a uniform disc by summing thin rings, not by quoting the result."""
    rho = sp.Symbol("rho", positive=True)
    return sp.integrate(2 * sp.pi * rho * mass / (sp.pi * radius**2) * rho**2, (rho, 0, radius))


def accelerations_and_multipliers(lagrangian, coordinates, constraints, **forces):
    """Solve Lagrange's equations with multipliers for accelerations and constraint forces."""
    method = LagrangesMethod(lagrangian, coordinates, hol_coneqs=constraints, **forces)
    equations = list(method.form_lagranges_equations())
    equations += [sp.diff(constraint, TIME, 2) for constraint in constraints]
    unknowns = [q.diff(TIME, 2) for q in coordinates] + list(method.lam_vec)
    return sp.solve(equations, unknowns, dict=True)[0], list(method.lam_vec)


# ---------------------------------------------------------------------------- stepped drum

DRUM = sp.symbols("m_a m_b r R M_r M_R g", positive=True)


@pytest.fixture(scope="module")
def drum_by_lagrange():
    """Three coordinates, two constraints: the multipliers are the pulls of the two cords."""
    m_a, m_b, r, R, M_r, M_R, g = DRUM
    turn, up, down = dynamicsymbols("turn up down")  # clockwise; left load up; right load down
    inertia = disc_inertia(M_r, r) + disc_inertia(M_R, R)
    kinetic = (
        inertia * turn.diff(TIME) ** 2 + m_a * up.diff(TIME) ** 2 + m_b * down.diff(TIME) ** 2
    ) / 2
    lagrangian = kinetic - m_a * g * up + m_b * g * down
    found, pulls = accelerations_and_multipliers(
        lagrangian, [turn, up, down], [up - r * turn, down - R * turn]
    )
    # LagrangesMethod adds the multipliers' terms so that each is, up to its sign, the cord's pull.
    wanted = [found[turn.diff(TIME, 2)], found[pulls[0]], found[pulls[1]]]
    return sp.lambdify(DRUM, wanted, "numpy")


def test_drum_agrees_with_lagranges_equations_with_multipliers(drawn, drum_by_lagrange):
    one = drawn("stepped-drum", 500)
    turning, left, right = drum_by_lagrange(one.m_a, one.m_b, one.r, one.R, one.M_r, one.M_R, one.g)
    np.testing.assert_allclose(np.abs(turning), one.alpha, rtol=1e-10)
    np.testing.assert_allclose(np.abs(left), one.T_a, rtol=1e-10)
    np.testing.assert_allclose(np.abs(right), one.T_b, rtol=1e-10)
    assert set(one.case) == {"clockwise", "anticlockwise"}
    np.testing.assert_array_equal(one.case == "clockwise", turning > 0)


def test_drum_agrees_with_elastic_cords_followed_in_time(drawn):
    """No constraint algebra at all: stiff damped cords, loads and drum integrated in time."""
    one = drawn("stepped-drum", 500)
    stiffness, damping, until = 2e6, 400.0, 0.5
    for k in range(0, 500, 250):
        inertia = one.M_r[k] * one.r[k] ** 2 / 2 + one.M_R[k] * one.R[k] ** 2 / 2
        m_a, m_b, r, R, g = (getattr(one, name)[k] for name in ("m_a", "m_b", "r", "R", "g"))

        def motion(_, y, m_a=m_a, m_b=m_b, r=r, R=R, g=g, inertia=inertia):
            _, _, _, spin, rise, fall = y
            left = stiffness * (r * y[0] - y[1]) + damping * (r * spin - rise)
            right = stiffness * (y[2] - R * y[0]) + damping * (fall - R * spin)
            return [spin, rise, fall, (right * R - left * r) / inertia,
                    left / m_a - g, g - right / m_b]  # fmt: skip

        stretched = [0, -m_a * g / stiffness, m_b * g / stiffness, 0, 0, 0]
        path = solve_ivp(motion, (0, until), stretched, method="Radau", rtol=1e-9, atol=1e-12)
        assert abs(path.y[3, -1]) / until == pytest.approx(one.alpha[k], rel=2e-4)


@pytest.mark.parametrize(
    ("m_b", "m_a", "case", "alpha", "right", "left"),
    [
        # The drum worked out by seven routes (Newton, Lagrange twice, Kane, elastic cords in
        # time, a rigid-body simulator, interval arithmetic): no publication, they agree.
        ("4.0 kg", "1.6 kg", "clockwise", 10464 / 485, 21.9797938144, 19.1480412371),
        ("1.6 kg", "4.0 kg", "anticlockwise", 3.58356164384, 16.8427397260, 37.8065753425),
    ],
)
def test_drum_worked_by_seven_routes(worked, m_b, m_a, case, alpha, right, left):
    one = worked(
        "stepped-drum", m_a=m_a, m_b=m_b, r="10 cm", R="20 cm", M_r="3.0 kg", M_R="5.0 kg",
    )  # fmt: skip
    assert one.case == case
    assert one.alpha == pytest.approx(alpha, rel=1e-11)
    assert one.T_b == pytest.approx(right, rel=1e-11)
    assert one.T_a == pytest.approx(left, rel=1e-11)


def test_drum_without_mass_is_the_published_pair_of_weights(worked, published):
    """OpenStax University Physics 1, Example 6.5 (module m58303): 2.00 kg and 4.00 kg."""
    one = worked(
        "stepped-drum", m_a="2.00 kg", m_b="4.00 kg", r="10 cm", R="10 cm", M_r="0 kg",
        M_R="0 kg", g="9.8 m/s^2",
    )  # fmt: skip
    assert one.alpha * 0.10 == published(3.27, 2)
    assert one.T_a == published(26.1, 1)
    assert one.T_b == published(26.1, 1)


# ---------------------------------------------------------------------------- rough slope

SLOPE = sp.symbols("m_1 m_2 M theta g friction", real=True)


@pytest.fixture(scope="module")
def slope_by_lagrange():
    """Positive up the slope. Returns (acceleration, pull on sledge, pull on weight) for a given
    friction force up the slope, and the friction that holds the sledge."""
    m_1, m_2, M, theta, g, friction = SLOPE
    radius = sp.Symbol("radius", positive=True)
    along, drop, turn = dynamicsymbols("along drop turn")
    kinetic = (
        m_1 * along.diff(TIME) ** 2
        + m_2 * drop.diff(TIME) ** 2
        + disc_inertia(M, radius) * turn.diff(TIME) ** 2
    ) / 2
    lagrangian = kinetic - m_1 * g * sp.sin(theta) * along + m_2 * g * drop
    constraints = [along - radius * turn, drop - radius * turn]
    frame, sledge = ReferenceFrame("slope"), Point("sledge")
    sledge.set_vel(frame, along.diff(TIME) * frame.x)
    forces = {"forcelist": [(sledge, friction * frame.x)], "frame": frame}
    moving, pulls = accelerations_and_multipliers(
        lagrangian, [along, drop, turn], constraints, **forces
    )
    held, at_rest = accelerations_and_multipliers(
        lagrangian, [along, drop, turn], [*constraints, along]
    )
    results = [moving[along.diff(TIME, 2)], moving[pulls[0]], moving[pulls[1]], held[at_rest[2]]]
    return sp.lambdify(SLOPE, [sp.simplify(result) for result in results], "numpy")


def test_slope_agrees_with_lagranges_equations_in_every_case(drawn, slope_by_lagrange):
    one = drawn("rough-slope-pulley", 600)
    data = (one.m_1, one.m_2, one.M, one.theta, one.g)
    press = one.m_1 * one.g * np.cos(one.theta)
    # The multiplier of "does not move" is the force that holds the sledge, up to its sign.
    _, _, _, needed = slope_by_lagrange(*data, np.zeros(one.count))
    slides = np.abs(needed) > one.mu_s * press
    rest_pull, _, _, _ = slope_by_lagrange(*data, np.zeros(one.count))
    upward = rest_pull > 0  # where a smooth slope would let it go
    friction = np.where(slides, one.mu_k * press, np.abs(needed)) * np.where(upward, -1, 1)
    acceleration, on_sledge, on_weight, _ = slope_by_lagrange(*data, friction)

    expected = np.select(
        [slides & upward, slides, upward],
        ["slides up", "slides down", "held against the counterweight"],
        "held against its weight",
    )
    np.testing.assert_array_equal(one.case, expected)
    assert len(set(one.case)) == 4
    np.testing.assert_allclose(np.abs(acceleration), one.a, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(np.abs(friction), one.f, rtol=1e-9)
    np.testing.assert_allclose(np.abs(on_sledge), one.T_1, rtol=1e-9)
    np.testing.assert_allclose(np.abs(on_weight), one.T_2, rtol=1e-9)


def test_slope_over_a_light_pulley(worked):
    """Lagrange's equations for 4 and 5 kg, 30 degrees, friction 0.25: no publication."""
    one = worked(
        "rough-slope-pulley", m_1="4 kg", m_2="5 kg", M="0 kg", theta="30 deg", mu_s="0.30",
        mu_k="0.25",
    )  # fmt: skip
    assert one.case == "slides up"
    assert one.a == pytest.approx(2.32603230987, rel=1e-11)
    assert one.T_1 == pytest.approx(37.4198384506, rel=1e-11)


@pytest.mark.parametrize(("push", "friction"), [(20, 20), (30, 30), (120, 120), (180, 118)])
def test_level_floor_is_the_published_crate(worked, published, push, friction):
    """OpenStax University Physics 1, Example 6.10 (module m58304): a 20.0 kg crate, static
    0.700, kinetic 0.600, pushed with 20, 30, 120 and 180 N. A hanging weight pulls as the push
    does while the crate rests; once it slides, friction does not depend on the push."""
    one = worked(
        "rough-slope-pulley", m_1="20.0 kg", m_2=f"{push / 9.8!r} kg", M="0 kg", theta="0 deg",
        mu_s="0.700", mu_k="0.600", g="9.8 m/s^2",
    )  # fmt: skip
    assert one.f == published(friction, 0)
    assert (one.a > 0) == (push == 180)


def test_upright_smooth_slope_is_the_published_pair_of_weights(worked, published):
    """OpenStax University Physics 1, Example 6.5 (module m58303), as the limit of 90 degrees."""
    one = worked(
        "rough-slope-pulley", m_1="2.00 kg", m_2="4.00 kg", M="0 kg", theta="90 deg", mu_s="0.5",
        mu_k="0.4", g="9.8 m/s^2",
    )  # fmt: skip
    assert one.a == published(3.27, 2)
    assert one.T_1 == published(26.1, 1)


# ---------------------------------------------------------------------------- throw


def test_throw_agrees_with_motion_followed_in_time(drawn):
    """The path is integrated from Newton's law and stopped at the water and at the top."""
    one = drawn("line-throw", 200)

    def splash(_, y):
        return y[1]

    def top(_, y):
        return y[3]

    splash.terminal, splash.direction = True, -1
    for k in range(0, 200, 4):
        start = [0, one.h[k], one.v_0[k] * np.cos(one.theta[k]), one.v_0[k] * np.sin(one.theta[k])]
        path = solve_ivp(
            lambda _, y, g=one.g[k]: [y[2], y[3], 0, -g],
            (0, 20), start, events=(splash, top), rtol=1e-10, atol=1e-12,
        )  # fmt: skip
        assert path.t_events[0][0] == pytest.approx(one.t[k], rel=1e-8)
        end, highest = path.y_events[0][0], path.y_events[1][0]
        assert end[0] == pytest.approx(one.x[k], rel=1e-8)
        assert np.hypot(end[2], end[3]) == pytest.approx(one.v[k], rel=1e-8)
        assert highest[1] == pytest.approx(one.H[k], rel=1e-8)


def test_rise_of_a_published_firework(worked, published):
    """OpenStax University Physics 1, the firework shell of chapter 4 (from memory): 70.0 m/s at
    75.0 degrees with g = 9.80 m/s^2 rises 233 m."""
    one = worked("line-throw", v_0="70.0 m/s", theta="75.0 deg", h="0 m", g="9.80 m/s^2")
    assert one.H == published(233, 0)


# ---------------------------------------------------------------------------- collision


def test_collision_agrees_with_a_stiff_spring_followed_in_time(drawn):
    """The bumper is a spring that only pushes; nothing is conserved by decree."""
    one = drawn("elastic-collision", 200)
    stiffness = 1e5

    def parted(_, y):
        return y[1] - y[0]

    parted.terminal, parted.direction = True, 1
    for k in range(0, 200, 5):
        m_1, m_2 = one.m_1[k], one.m_2[k]

        def motion(_, y, m_1=m_1, m_2=m_2):
            push = stiffness * max(0.0, y[0] - y[1])
            return [y[2], y[3], -push / m_1, push / m_2]

        path = solve_ivp(
            motion, (0, 1), [0, 0, one.v_1[k], one.v_2[k]],
            events=parted, rtol=1e-10, atol=1e-13, max_step=1e-4,
        )  # fmt: skip
        left, right = path.y_events[0][-1][2:]
        assert left == pytest.approx(one.w_1[k], rel=1e-6, abs=1e-7)
        assert right == pytest.approx(one.w_2[k], rel=1e-6, abs=1e-7)
        assert m_1 * (one.v_1[k] - left) == pytest.approx(one.J[k], rel=1e-6)


def test_published_collision_with_a_heavy_target(worked, published):
    """OpenStax College Physics, Example 8.4 (from memory): 0.500 kg at 4.00 m/s meets 3.50 kg at
    rest; afterwards -3.00 and 1.00 m/s."""
    one = worked(
        "elastic-collision", m_1="0.500 kg", m_2="3.50 kg", v_1="4.00 m/s", v_2="0 m/s",
    )  # fmt: skip
    assert one.w_1 == published(-3.00, 2)
    assert one.w_2 == published(1.00, 2)


# ---------------------------------------------------------------------------- pulled crate

CRATE = sp.symbols("m F phi g friction", real=True)


@pytest.fixture(scope="module")
def crate_by_lagrange():
    """(acceleration, push of the floor) for a given friction force, and the friction that would
    hold the crate: the multipliers of "stays on the floor" and "does not move"."""
    m, F, phi, g, friction = CRATE
    x, y = dynamicsymbols("x y")
    frame, crate = ReferenceFrame("floor"), Point("crate")
    crate.set_vel(frame, x.diff(TIME) * frame.x + y.diff(TIME) * frame.y)
    pull = F * sp.cos(phi) * frame.x + F * sp.sin(phi) * frame.y
    lagrangian = m * (x.diff(TIME) ** 2 + y.diff(TIME) ** 2) / 2 - m * g * y
    forces = {"forcelist": [(crate, pull - friction * frame.x)], "frame": frame}
    moving, floor = accelerations_and_multipliers(lagrangian, [x, y], [y], **forces)
    held, holds = accelerations_and_multipliers(lagrangian, [x, y], [y, x], **forces)
    return sp.lambdify(CRATE, [moving[x.diff(TIME, 2)], moving[floor[0]], held[holds[1]]], "numpy")


def test_crate_agrees_with_lagranges_equations(drawn, crate_by_lagrange):
    one = drawn("pulled-crate", 400)
    data = (one.m, one.F, one.phi, one.g)
    _, floor, needed = crate_by_lagrange(*data, np.zeros(one.count))
    slides = np.abs(needed) > one.mu_s * np.abs(floor)
    friction = np.where(slides, one.mu_k * np.abs(floor), np.abs(needed))
    acceleration, floor, _ = crate_by_lagrange(*data, friction)
    np.testing.assert_array_equal(one.case == "slides", slides)
    np.testing.assert_allclose(np.abs(floor), one.N, rtol=1e-10)
    np.testing.assert_allclose(friction, one.f, rtol=1e-10)
    np.testing.assert_allclose(acceleration, one.a, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(
    ("push", "friction", "acceleration"),
    [(20, 20, 0), (30, 30, 0), (120, 120, 0), (180, 118, 3.12)],
)
def test_level_pull_is_the_published_crate(worked, published, push, friction, acceleration):
    """OpenStax University Physics 1, Example 6.10 (module m58304), with the acceleration of the
    fourth push recomputed: the book prints 3.10 m/s^2 from its rounded friction of 118 N."""
    one = worked(
        "pulled-crate", m="20.0 kg", F=f"{push} N", phi="0 deg", mu_s="0.700", mu_k="0.600",
        g="9.80 m/s^2",
    )  # fmt: skip
    assert one.f == published(friction, 0)
    assert one.a == published(acceleration, 2)
    assert one.N == pytest.approx(196, rel=1e-12)
