"""The elliptic orbit against Newton's law followed in time and printed examples."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp


def test_orbit_agrees_with_newtons_law_followed_in_time(drawn):
    """From the lowest point, with the speed there that conservation of energy and of angular
    momentum between both ends of the orbit demands; no Kepler equation and no anomaly."""
    one = drawn("elliptic-orbit", 120)
    for k in range(one.count):
        mu, near, far = one.mu[k], one.R[k] + one.h_p[k], one.R[k] + one.h_a[k]
        # v_near*near = v_far*far and v_near^2/2 - mu/near = v_far^2/2 - mu/far
        v_near = np.sqrt(2 * mu * (1 / near - 1 / far) / (1 - (near / far) ** 2))

        def motion(_, y, mu=mu):
            pull = -mu / np.hypot(y[0], y[1]) ** 3
            return [y[2], y[3], pull * y[0], pull * y[1]]

        path = solve_ivp(
            motion, (0, one.t[k]), [near, 0, 0, v_near], method="DOP853", rtol=1e-10, atol=1e-3
        )
        x, y, v_x, v_y = path.y[:, -1]
        assert np.hypot(x, y) == pytest.approx(one.r[k], rel=1e-7)
        assert np.hypot(v_x, v_y) == pytest.approx(one.v[k], rel=1e-7)
        assert (one.case[k] == "on the way up") == (x * v_x + y * v_y > 0)
    assert len(set(one.case)) == 2


def test_published_space_station(worked, published):
    """OpenStax University Physics 1, Example 13.9 (module m58348): a circle 400 km up, with
    G = 6.67e-11 and M = 5.96e24 kg, takes 5.55e3 s (radius 6.37e6 m) at 7.67e3 m/s (radius
    6.36e6 m: the book uses both)."""
    for radius, period, speed in (("6370 km", 5.55e3, None), ("6360 km", None, 7.67e3)):
        one = worked(
            "elliptic-orbit", h_p="400 km", h_a="400 km", t="10 min", R=radius,
            mu=f"{6.67e-11 * 5.96e24 / 1e9!r} km^3/s^2",
        )  # fmt: skip
        if period:
            assert one.let["T"] == published(period, -1)
        if speed:
            assert one.v * 1000 == published(speed, -1)
