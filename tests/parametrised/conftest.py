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
    "buffer",
    "capacitor-discharge",
    "elastic-collision",
    "floor-beam",
    "line-throw",
    "melting-ice",
    "pulled-crate",
    "resistor-bridge",
    "rough-slope-pulley",
    "stepped-drum",
    "thin-lens",
    "three-branches",
    "weak-acid",
)
REASONS = {
    "elliptic-orbit": "E is found by searching between two ends, and the standard finds no roots",
    "mean-interval": "x is a data list, and the standard draws no list of values",
    "pipe-friction": "f is found by searching between two ends, and the standard finds no roots",
    "two-means": "x is a data list, and the standard draws no list of values",
}


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
