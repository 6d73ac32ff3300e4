"""The floor beam against sympy's beam, a beam cut into slices, and formulas from handbooks."""

# ruff: noqa: SIM300 - a capital letter is a quantity here, not a constant

import numpy as np
import pytest
import sympy as sp
from sympy.physics.continuum_mechanics.beam import Beam


def test_beam_agrees_with_a_beam_cut_into_slices(drawn):
    """Every slice is a small weight; reactions from sums, shear and moment from running sums."""
    one = drawn("floor-beam", 300)
    slices = 8_000
    for k in range(one.count):
        L, a, P, w = one.L[k], one.a[k], one.P[k], one.w[k]
        middles = (np.arange(slices) + 0.5) * L / slices
        places = np.append(middles, a)
        weights = np.append(np.full(slices, w * L / slices), P)
        right = weights @ places / L
        left = weights @ (L - places) / L
        order = np.argsort(places)
        places, weights = places[order], weights[order]
        shear = left - np.concatenate([[0.0], np.cumsum(weights)])
        steps = np.diff(np.concatenate([[0.0], places]))
        moment = np.cumsum(shear[:-1] * steps)
        assert right == pytest.approx(one.R_B[k], rel=1e-9)
        assert left == pytest.approx(one.R_A[k], rel=1e-9)
        assert moment.max() == pytest.approx(one.M[k], rel=1e-5)
        assert places[moment.argmax()] == pytest.approx(one.x[k], abs=2 * L / slices)
    np.testing.assert_allclose(one.sigma, one.M / one.S, rtol=1e-12)
    assert len(set(one.case)) == 3


def test_beam_agrees_with_sympys_beam(drawn):
    one = drawn("floor-beam", 300)
    x = sp.Symbol("x")
    R_A, R_B = sp.symbols("R_A R_B")
    for k in range(0, 300, 30):
        L, a, P, w = (sp.Rational(repr(float(getattr(one, q)[k]))) for q in ("L", "a", "P", "w"))
        beam = Beam(L, sp.Symbol("E"), sp.Symbol("I"))
        beam.apply_load(R_A, 0, -1)
        beam.apply_load(R_B, L, -1)
        beam.apply_load(-P, a, -1)
        beam.apply_load(-w, 0, 0, end=L)
        beam.bc_deflection = [(0, 0), (L, 0)]
        beam.solve_for_reaction_loads(R_A, R_B)
        assert float(beam.reaction_loads[R_A]) == pytest.approx(one.R_A[k], rel=1e-12)
        assert float(beam.reaction_loads[R_B]) == pytest.approx(one.R_B[k], rel=1e-12)
        moment = sp.lambdify(x, beam.bending_moment().rewrite(sp.Piecewise), "numpy")
        span = np.linspace(1e-9, float(L) - 1e-9, 20_001)
        assert np.abs(moment(span)).max() == pytest.approx(one.M[k], rel=1e-4)
        assert abs(moment(one.x[k] - 1e-9)) == pytest.approx(one.M[k], rel=1e-6)


def test_beam_worked_by_three_programs(worked):
    """6 m, 10 kN at 2 m, 4 kN/m: sympy and two frame programs agree on 56/3 and 46/3 kN and on
    529/18 kN m at 13/6 m; no publication."""
    one = worked("floor-beam", L="6 m", a="2 m", P="10 kN", w="4 kN/m", S="1000 cm^3")
    assert one.case == "between the machine and B"
    assert one.R_A == pytest.approx(56 / 3, rel=1e-12)
    assert one.R_B == pytest.approx(46 / 3, rel=1e-12)
    assert one.x == pytest.approx(13 / 6, rel=1e-12)
    assert one.M == pytest.approx(529 / 18, rel=1e-12)
    assert one.sigma == pytest.approx(529 / 18, rel=1e-12)


def test_beam_formulas_of_handbooks(worked):
    """Simple-beam formulas printed in any handbook (common practice, no source): P a b / L under
    a force at a point, w L^2 / 8 at mid-span."""
    point = worked("floor-beam", L="8 m", a="3 m", P="16 kN", w="0 kN/m", S="1000 cm^3")
    assert (point.R_A, point.R_B, point.M) == pytest.approx((10, 6, 30), rel=1e-12)
    spread = worked("floor-beam", L="8 m", a="3 m", P="0 kN", w="5 kN/m", S="1000 cm^3")
    assert (spread.R_A, spread.R_B, spread.x, spread.M) == pytest.approx((20, 20, 4, 40), rel=1e-12)
