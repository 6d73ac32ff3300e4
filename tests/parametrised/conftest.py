"""Items of shipped families, each put together once."""

from __future__ import annotations

from functools import cache

import pytest

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.formats.dialects import DIALECTS
from qbank.generation import Generator
from qbank.parametrised.item import Parametrised, Parametriser

# What each shipped family is: written as one item, or why not. A family that is added belongs here.
EXPRESSIBLE = (
    "adiabatic-compression",
    "arrhenius",
    "atwood-disc",
    "buffer",
    "capacitor-discharge",
    "carnot-engine",
    "circular-orbit",
    "decay-dating",
    "doppler-passing",
    "drop-on-spring",
    "elastic-collision",
    "electroplating",
    "floor-beam",
    "free-energy",
    "grating-screen",
    "hanging-rod",
    "hot-metal-in-water",
    "joined-capacitors",
    "length-contraction",
    "level-launch",
    "lift-work",
    "line-throw",
    "melting-ice",
    "osmotic-pressure",
    "parallel-wires",
    "pendulum-gravity",
    "photoelectric",
    "piston-work",
    "polar-distance",
    "pressure-to-concentration",
    "propane-air",
    "pulled-crate",
    "redshift",
    "resistor-bridge",
    "rods-in-series",
    "rough-slope-pulley",
    "series-resonance",
    "speeding-up",
    "steady-climb",
    "stepped-drum",
    "string-wave",
    "temperature-coefficient",
    "terminal-speed",
    "thermometer-bore",
    "thin-lens",
    "three-branches",
    "two-glasses",
    "van-der-waals",
    "wagon-push",
    "weak-acid",
)
REASONS = {
    "common-ion": "s is a root of a polynomial of degree 3, and the standard finds no roots",
    "elliptic-orbit": "E is found by searching between two ends, and the standard finds no roots",
    "goodness-of-fit": "it uses chi2_quantile, and the standard has no quantiles",
    "ladder-on-wall": (
        "beta is found by searching between two ends, and the standard finds no roots"
    ),
    "mean-interval": "x is a data list, and the standard draws no list of values",
    "normal-share": "it uses normal_quantile, and the standard has no quantiles",
    "one-sample-t": "x is a data list, and the standard draws no list of values",
    "pipe-friction": "f is found by searching between two ends, and the standard finds no roots",
    "proportion-interval": "it uses normal_quantile, and the standard has no quantiles",
    "proportion-test": "it uses normal_cdf, and the standard has no distribution functions",
    "regression-line": "x is a data list, and the standard draws no list of values",
    "salt-one-to-two": "s is a root of a polynomial of degree 3, and the standard finds no roots",
    "two-means": "x is a data list, and the standard draws no list of values",
}
# Too few draws meet the rules of these; the share that is told is that of a sample.
FEW_DRAWS = ("nucleus-mass-defect", "string-beats", "vapour-pressure")


@cache
def parametriser(name: str) -> Parametriser:
    return Parametriser(load_family(find_family(name)))


@cache
def written(name: str, version: str = "qti-2.1") -> Parametrised:
    return parametriser(name).write(DIALECTS[version])


@cache
def generator(name: str) -> Generator:
    return Generator(load_family(find_family(name)))


@pytest.fixture(params=EXPRESSIBLE)
def expressible(request) -> str:
    """The name of a shipped family that is one item."""
    return request.param
