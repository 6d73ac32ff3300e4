"""Pipe friction against closed forms of other kinds and a value printed by a fluids library."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import lambertw


def test_turbulent_friction_agrees_with_the_closed_form_by_lambert_w(drawn):
    """Colebrook's equation has an exact solution in Lambert's W: with x = 1/sqrt(f),
    b = 2.51/Re, a = k/(3.7 D) and c = ln(10)/2, x = W((c/b) exp(a c/b))/c - a/b."""
    one = drawn("pipe-friction", 400)
    rough = one.case == "turbulent"
    a, b, c = one.k / (3.7 * one.D), 2.51 / one.Re, np.log(10) / 2
    x = lambertw(c / b * np.exp(a * c / b)).real / c - a / b
    np.testing.assert_allclose(one.f[rough], (1 / x**2)[rough], rtol=1e-9)
    np.testing.assert_array_equal(rough, one.Re > 2300)
    assert 150 < rough.sum() < 250


def test_laminar_loss_agrees_with_the_velocity_profile(drawn):
    """A parabolic profile carries the flow, and its slope at the wall times viscosity is the
    shear that the loss of pressure balances; no friction factor is used."""
    one = drawn("pipe-friction", 400)
    for k in np.flatnonzero(one.case == "laminar")[::5]:
        radius = one.D[k] / 2
        flow, _ = quad(lambda r, R=radius: (1 - (r / R) ** 2) * 2 * np.pi * r, 0, radius)
        fastest = one.Q[k] / flow
        shear = one.rho[k] * one.nu[k] * 2 * fastest / radius
        loss = shear * 2 * np.pi * radius * one.len[k] / (np.pi * radius**2)
        assert loss == pytest.approx(one.dp[k], rel=1e-10)
        assert one.W[k] == pytest.approx(loss * one.Q[k], rel=1e-10)


def test_friction_factor_of_a_fluids_library(worked):
    """fluids 1.3.1, friction_factor(Re=1e5, eD=1e-4, Method="Colebrook"): 0.0185138660775."""
    one = worked(
        "pipe-friction", D="100 mm", k="0.01 mm", len="10 m", v="1.00 m/s", nu="1.0 mm^2/s",
        rho="1000 kg/m^3",
    )  # fmt: skip
    assert one.case == "turbulent"
    assert one.f == pytest.approx(0.0185138660775, rel=1e-11)
    assert one.dp == pytest.approx(0.0185138660775 * 100 * 500 / 1000, rel=1e-10)
