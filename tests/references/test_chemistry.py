"""The weak acid against an exact charge balance, with water's own ions, and printed examples."""

import numpy as np
import pytest
from scipy.optimize import brentq

K_W = 1.0e-14  # ionic product of water, mol^2/L^2


def charge_balance(c, K_a):
    """Hydrogen ions in mol/L: [H+] = [OH-] + [A-], nothing neglected."""
    return brentq(lambda h: h - K_W / h - c * K_a / (K_a + h), 1e-14, 1.0, xtol=1e-18, rtol=1e-14)


def test_acid_agrees_with_the_exact_charge_balance(drawn):
    one = drawn("weak-acid", 400)
    litre = 1000.0  # mol/m^3 in one mol/L
    exact = np.array(
        [charge_balance(c / litre, K / litre) for c, K in zip(one.c, one.K_a, strict=True)]
    )
    # What the family neglects, the ions of water, is K_w/h^2 < 1e-6 of h by its own `confirm`.
    np.testing.assert_allclose(one.h / litre, exact, rtol=1e-6)
    np.testing.assert_allclose(one.pH, -np.log10(exact), atol=1e-6)
    np.testing.assert_allclose(one.beta, exact / (one.c / litre), rtol=1e-6)


@pytest.mark.parametrize(
    ("c", "K_a", "pH"),
    [
        # OpenStax Chemistry 2e, Example 14.12: 0.534 mol/L formic acid, 1.8e-4.
        ("0.534", "1.8e-4", 2.01),
        # OpenStax Chemistry 2e, Example 14.15: 0.233 mol/L anilinium, from K_b = 4.3e-10.
        ("0.233", repr(1.0e-14 / 4.3e-10), 2.64),
    ],
)
def test_published_acids(worked, published, c, K_a, pH):
    one = worked("weak-acid", V_a="100 mL", V="100 mL", c_a=f"{c} mol/L", K_a=f"{K_a} mol/L")
    assert one.pH == published(pH, 2)
    assert one.h == pytest.approx(charge_balance(float(c), float(K_a)), rel=1e-6)


# ---------------------------------------------------------------------------- buffer


def buffer_balance(acid, sodium, K_a):
    """Hydrogen ions in mol/L where `acid` is the total of HA and A-, and `sodium` that of Na+."""
    return brentq(
        lambda h: h + sodium - K_W / h - acid * K_a / (K_a + h), 1e-15, 1.0, xtol=1e-20, rtol=1e-14
    )


def test_buffer_agrees_with_the_exact_charge_balance(drawn):
    """One equation for both cases, with nothing neglected and no reaction written. The family
    neglects hydrogen ions beside the acid and hydrolysis beside hydroxide: under 0.01 in pH."""
    one = drawn("buffer", 400)
    litres = 1000 * (one.V + one.V_s)
    acid = (one.n_a + one.n_b) / litres
    sodium = (one.n_b + one.n_s) / litres
    exact = [buffer_balance(*row) for row in zip(acid, sodium, one.K_a / 1000, strict=True)]
    pH = -np.log10(exact)
    np.testing.assert_allclose(one.pH, pH, atol=0.01)
    np.testing.assert_array_equal(one.case == "buffer exhausted", pH > 9.5)
    assert set(one.case) == {"buffer holds", "buffer exhausted"}


@pytest.mark.parametrize(("added", "pH"), [("0 mL", 4.74), ("1.0 mL", 4.75)])
def test_published_buffer(worked, published, added, pH):
    """OpenStax Chemistry 2e, Example 14.20: 0.10 mol/L acetic acid (1.8e-5) and acetate, 100 mL,
    before and after 1.0 mL of 0.10 mol/L sodium hydroxide."""
    one = worked(
        "buffer", V="100 mL", c_a="0.10 mol/L", c_b="0.10 mol/L", K_a="1.8e-5 mol/L",
        V_s=added, c_s="0.10 mol/L",
    )  # fmt: skip
    assert one.case == "buffer holds"
    assert one.pH == published(pH, 2)
