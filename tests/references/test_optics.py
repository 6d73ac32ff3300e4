"""The thin lens against sympy's optics, ray matrices and a printed example."""

import numpy as np
import pytest
from sympy.physics.optics import FreeSpace, ThinLens, lens_formula


def test_lens_agrees_with_sympys_lens_formula(drawn):
    """sympy counts distances along the light: the object is at -d_o, a real image at a plus."""
    one = drawn("thin-lens", 400)
    seen = np.array(
        [float(lens_formula(focal_length=f, u=-d)) for f, d in zip(one.f, one.d_o, strict=True)]
    )
    np.testing.assert_allclose(np.abs(seen), one.d_i, rtol=1e-10)
    np.testing.assert_array_equal(one.case == "real image", seen > 0)
    np.testing.assert_allclose(one.h_i, one.h_o * np.abs(seen) / one.d_o, rtol=1e-10)
    assert len(set(one.case)) == 3


def test_lens_agrees_with_ray_matrices(drawn):
    """All rays from an object point meet where the element B of the ray matrix is zero; the
    element A is then the magnification, negative for an inverted image."""
    one = drawn("thin-lens", 400)
    for k in range(0, 400, 10):
        side = 1 if one.case[k] == "real image" else -1
        system = FreeSpace(side * one.d_i[k]) * ThinLens(one.f[k]) * FreeSpace(one.d_o[k])
        assert float(system.B) == pytest.approx(0, abs=1e-12)
        assert float(system.A) == pytest.approx(-side * one.m[k], rel=1e-10)


def test_published_objective_of_a_microscope(worked, published):
    """OpenStax University Physics 3, Example 2.11: focal length 6.00 mm, object at 6.20 mm, image
    at 186 mm."""
    one = worked("thin-lens", f="6.00 mm", d_o="6.20 mm", h_o="1 mm")
    assert one.case == "real image"
    assert one.d_i * 10 == published(186, 0)
    assert one.m == pytest.approx(30, rel=1e-12)
