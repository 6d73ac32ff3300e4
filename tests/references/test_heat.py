"""Melting ice against one curve of enthalpy, read backwards, and printed examples."""

# ruff: noqa: SIM300 - a capital letter is a quantity here, not a constant

import numpy as np
import pytest
from scipy.optimize import brentq


def enthalpy_of_water(kelvin, c_w, c_i, latent):
    """Of 1 kg, from ice at the melting point; the jump is smeared over a millionth of a kelvin."""
    above = kelvin - 273.15
    smear = 1e-6
    if above <= 0:
        return c_i * above
    if above < smear:
        return latent * above / smear
    return latent + c_w * (above - smear)


def test_final_state_is_where_the_enthalpy_is_that_of_the_start(drawn):
    """No case is decided: the temperature is sought at which nothing has been lost or gained,
    and the mass of ice follows from what the latent heat of the mixture lacks."""
    one = drawn("melting-ice", 600)
    temperature, ice = np.empty(one.count), np.empty(one.count)
    for k in range(one.count):
        of_water = (one.c_w[k], one.c_i[k], one.L[k])
        mass, can = one.m_w[k] + one.m_i[k], one.m_v[k] * one.c_v[k]
        start = (
            one.m_w[k] * enthalpy_of_water(one.T_w[k], *of_water)
            + one.m_i[k] * enthalpy_of_water(one.T_i[k], *of_water)
            + can * one.T_w[k]
        )

        def excess(T, start=start, mass=mass, can=can, of_water=of_water):
            return mass * enthalpy_of_water(T, *of_water) + can * T - start

        temperature[k] = brentq(excess, one.T_i[k], one.T_w[k], xtol=1e-12)
        wet = (start - can * temperature[k]) / (mass * one.L[k])  # share that is liquid, if mixed
        ice[k] = mass * np.clip(1 - wet, 0, 1)
    np.testing.assert_allclose(temperature, one.T, atol=2e-5)
    np.testing.assert_allclose(ice, one.m, atol=2e-6)
    assert len(set(one.case)) == 4
    np.testing.assert_array_equal(one.case == "all melts", temperature > 273.15 + 1e-5)
    np.testing.assert_array_equal(one.case == "all freezes", temperature < 273.15 - 1e-5)


def test_published_pan_and_water_without_melting(worked, published):
    """OpenStax University Physics 2, Example 1.7 (module m58387): an aluminium pan, 0.500 kg,
    900 J/(kg K), 150 °C, and 0.250 kg of water, 4186 J/(kg K), 20 °C, end at 59.1 °C. Here the
    pan is the can, and the water is "ice" that melts at 20 °C without latent heat."""
    one = worked(
        "melting-ice", m_w="0 kg", m_v="0.500 kg", c_v="0.900 kJ/(kg K)", T_w="150 °C",
        m_i="0.250 kg", T_i="20 °C", T_0="20 °C", L="0 kJ/kg", c_w="4.186 kJ/(kg K)",
    )  # fmt: skip
    assert one.case == "all melts"
    assert one.T == published(59.1, 1)


def test_published_ice_cubes_in_a_drink(worked, published):
    """OpenStax University Physics 2, chapter 1, ice cubes in a soft drink (from memory): three
    cubes of 6.0 g at 0 °C in 0.25 kg at 20 °C end at 13 °C."""
    one = worked(
        "melting-ice", m_w="0.25 kg", m_v="0 kg", T_w="20 °C", m_i="0.018 kg", T_i="0 °C",
        c_w="4.186 kJ/(kg K)",
    )  # fmt: skip
    assert one.case == "all melts"
    assert one.T == published(13, 0)
    assert one.m == pytest.approx(0, abs=1e-12)
