"""Bridge and discharge against the circuit simulator ngspice and printed examples."""

# ruff: noqa: SIM300 - a capital letter is a quantity here, not a constant

import re
import shutil
import subprocess

import numpy as np
import pytest
from scipy.integrate import quad

NGSPICE = shutil.which("ngspice")
needs_ngspice = pytest.mark.skipif(
    NGSPICE is None,
    reason="the circuit simulator ngspice is not installed (Debian package ngspice)",
)


def simulate(lines, folder):
    """Run a netlist in batch mode; what it prints as `name = value`, lower case."""
    netlist = folder / "circuit.cir"
    netlist.write_text("\n".join(["* a title line comes first", *lines, ".end", ""]))
    run = subprocess.run(
        [NGSPICE, "-b", str(netlist)], capture_output=True, text=True, timeout=120, check=False
    )
    found = re.findall(r"^\s*([\w()#.-]+)\s*=\s*(-?[\d.]+(?:e[+-]?\d+)?)", run.stdout, re.M)
    assert found, run.stdout + run.stderr
    return {name.lower(): float(value) for name, value in found}


# ---------------------------------------------------------------------------- bridge


@needs_ngspice
def test_bridge_agrees_with_ngspice(drawn, tmp_path):
    """300 separate bridges in one netlist, each with a current meter in its middle arm."""
    one = drawn("resistor-bridge", 300)
    lines, wanted = [], []
    for k in range(one.count):
        lines += [
            f"vs{k} s{k} 0 {one.V_s[k]:.17g}",
            f"ra{k} s{k} l{k} {one.R_1[k]:.17g}",
            f"rb{k} l{k} 0 {one.R_2[k]:.17g}",
            f"rc{k} s{k} r{k} {one.R_3[k]:.17g}",
            f"rd{k} r{k} 0 {one.R_4[k]:.17g}",
            f"rg{k} l{k} q{k} {one.R_g[k]:.17g}",
            f"vm{k} q{k} r{k} 0",
        ]
        wanted += [f"v(l{k})", f"v(r{k})", f"i(vm{k})", f"i(vs{k})"]
    control = [".options reltol=1e-9 abstol=1e-15 vntol=1e-12 numdgt=12", ".control",
               "set numdgt=12", "op", *(f"print {name}" for name in wanted), ".endc"]  # fmt: skip
    got = simulate(lines + control, tmp_path)
    column = {
        key: np.array([got[pattern.format(k)] for k in range(one.count)])
        for key, pattern in {
            "left": "v(l{})", "right": "v(r{})", "meter": "i(vm{})", "supply": "i(vs{})",
        }.items()
    }  # fmt: skip
    # ngspice adds a conductance of 1e-12 S at each node: relative 1e-9 of these circuits.
    np.testing.assert_allclose(column["left"], one.V_L, rtol=1e-8)
    np.testing.assert_allclose(column["right"], one.V_R, rtol=1e-8)
    np.testing.assert_allclose(np.abs(column["meter"]), one.I_g, rtol=1e-7)
    np.testing.assert_allclose(-column["supply"], one.I, rtol=1e-8)
    np.testing.assert_array_equal(one.case == "left to right", column["meter"] > 0)
    assert set(one.case) == {"left to right", "right to left"}


def test_bridge_worked_by_nodal_analysis_and_by_ngspice(worked):
    """10 V, 100/220, 150/470, 47 ohm across: ngspice, numpy and exact fractions agree on
    7.086423224 V, 7.230959828 V and 175/56906 A; no publication."""
    one = worked(
        "resistor-bridge", V_s="10 V", R_1="100 Ω", R_2="220 Ω", R_3="150 Ω", R_4="470 Ω",
        R_g="0.047 kΩ",
    )  # fmt: skip
    assert one.case == "right to left"
    assert one.V_L == pytest.approx(7.086423224, rel=1e-9)
    assert one.V_R == pytest.approx(7.230959828, rel=1e-9)
    assert one.I_g == pytest.approx(175 / 56906 * 1000, rel=1e-12)


# ---------------------------------------------------------------------------- three branches


@needs_ngspice
def test_three_branches_agree_with_ngspice(drawn, tmp_path):
    one = drawn("three-branches", 300)
    lines, wanted = [], []
    for k in range(one.count):
        lines += [
            f"va{k} p{k} 0 {one.E_1[k]:.17g}",
            f"ra{k} p{k} a{k} {one.R_1[k]:.17g}",
            f"vb{k} q{k} 0 {one.E_2[k]:.17g}",
            f"rb{k} q{k} a{k} {one.R_2[k]:.17g}",
            f"rc{k} a{k} s{k} {one.R_3[k]:.17g}",
            f"vc{k} 0 s{k} {one.E_3[k]:.17g}",
        ]
        wanted += [f"v(a{k})", f"i(va{k})", f"i(vb{k})", f"i(vc{k})"]
    control = [".control", "set numdgt=12", "op", *(f"print {name}" for name in wanted), ".endc"]
    got = simulate(lines + control, tmp_path)
    rows = np.array([got[name] for name in wanted]).reshape(one.count, 4)
    np.testing.assert_allclose(rows[:, 0], one.V, rtol=1e-8)
    # ngspice counts the current into the plus pole, so a source that delivers has a negative one.
    np.testing.assert_allclose(-rows[:, 1], one.I_1, rtol=1e-7)
    np.testing.assert_allclose(-rows[:, 2], one.I_2, rtol=1e-7)
    np.testing.assert_allclose(-rows[:, 3], one.I_3, rtol=1e-7)
    np.testing.assert_array_equal(one.case == "first cell charged", rows[:, 1] > 0)
    np.testing.assert_array_equal(one.case == "second cell charged", rows[:, 2] > 0)
    assert len(set(one.case)) == 3


def test_published_three_branches(worked, published):
    """OpenStax University Physics 2, Example 10.6: 0.5, 2.3, 0.6 V and 3, 8, 1 ohm give 0.20, 0.30
    and 0.50 A."""
    one = worked(
        "three-branches", E_1="0.5 V", E_2="2.3 V", E_3="0.6 V", R_1="3 Ω", R_2="8 Ω", R_3="1 Ω",
    )  # fmt: skip
    assert (one.I_1, one.I_2, one.I_3) == pytest.approx((0.2, 0.3, 0.5), rel=1e-12)


# ---------------------------------------------------------------------------- discharge


@needs_ngspice
def test_discharge_agrees_with_ngspice_in_time(drawn, tmp_path):
    """40 capacitors let go at once, each timed when it passes its own harmless voltage."""
    one = drawn("capacitor-discharge", 40)
    lines = []
    for k in range(one.count):
        lines += [
            f"c{k} n{k} 0 {one.C[k]:.17g} ic={one.V_0[k]:.17g}",
            f"r{k} n{k} 0 {one.R[k]:.17g}",
            f".meas tran t{k} WHEN v(n{k})={one.V_1[k]:.17g} FALL=1",
        ]
    lines += [".options reltol=1e-6", ".tran 0.05 250 0 0.05 UIC"]
    got = simulate(lines, tmp_path)
    timed = np.array([got[f"t{k}"] for k in range(one.count)])
    np.testing.assert_allclose(timed, one.t, rtol=2e-4)
    np.testing.assert_array_equal(one.case == "long enough", timed <= one.t_w)
    assert set(one.case) == {"long enough", "too short"}


def test_heat_of_the_discharge_is_the_power_summed_over_time(drawn):
    one = drawn("capacitor-discharge", 300)
    for k in range(0, 300, 6):
        V_0, R, C = one.V_0[k], one.R[k], one.C[k]
        heat, _ = quad(lambda t, V_0=V_0, R=R, C=C: (V_0 * np.exp(-t / (R * C))) ** 2 / R,
                       0, one.t[k])  # fmt: skip
        assert heat == pytest.approx(one.W[k], rel=1e-8)


def test_published_time_to_eighty_percent(worked, published):
    """OpenStax University Physics 2, Example 10.8: 101 ohm and 50 mF charge to 80 V of 100 V in
    8.13 s. What is missing to 100 V decays, so a discharge from 100 V to 20 V takes as long."""
    one = worked(
        "capacitor-discharge", C="50000 µF", R="0.101 kΩ", V_0="100 V", V_1="20 V", t_w="10 s",
    )  # fmt: skip
    assert one.t == published(8.13, 2)
    assert one.case == "long enough"
