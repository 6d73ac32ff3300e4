"""Small families for the checks, and ways to break their solved instances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from qbank.checking.checker import Checker
from qbank.checking.report import CheckReport
from qbank.family.loader import read_family
from qbank.family.model import Family
from qbank.generation import Generator
from qbank.instances import Instances

HEAD = """
family: {name}
title: Test
subject: test
level: test
version: 1.0.0
licence: CC0-1.0
"""

LEVER = """
given:
  F: {name: force, draw: 10 .. 90 by 1 N}
  a: {name: arm of the force, draw: 0.10 .. 0.90 by 0.01 m}
  b: {name: arm of the load, draw: 10 .. 90 by 1 cm}
let:
  M: {name: moment, equals: F*a, unit: N m}
find:
  L: {name: load, unit: N, figures: 3}
  P: {name: force on the pivot, unit: N, figures: 3}
laws:
  moments: L*b = M
  forces: P = F + L
"""
LEVER_TEXT = """
ask:
  - {enter: [L, P], points: 1}
text:
  stem: |
    A force {F} at {a} balances a load at {b}.
"""


def family(body: str, name: str = "lever") -> Family:
    """A family of the given sections."""
    return read_family(HEAD.format(name=name).lstrip() + body, f"{name}.yaml")


def solved(of: Family, n: int = 50, seed: int = 7) -> Instances:
    """Instances as the generator makes them, all checks passed."""
    (chunk,) = Generator(of).generate(n, seed=seed)
    return chunk


def lever(more: str = "", text: str = LEVER_TEXT, name: str = "lever") -> Family:
    """The lever, with more sections."""
    return family(LEVER + more + text, name)


def report_on(instances: Instances) -> CheckReport:
    """Every check on the instances."""
    report = CheckReport()
    Checker(instances.family).check(instances, report)
    return report


def failing(report: CheckReport) -> dict[str, int]:
    """Check code -> how often it failed, for those that did."""
    return {
        code: tally.made - tally.passed
        for code, tally in report.tallies.items()
        if tally.made != tally.passed
    }


def changed(
    arrays: Mapping[str, np.ndarray], name: str, row: int, value: float
) -> dict[str, np.ndarray]:
    """The arrays with one number of one of them changed."""
    array = arrays[name].copy()
    array[row] = value
    return {**arrays, name: array}


def with_value(instances: Instances, name: str, row: int, value: float) -> Instances:
    """The instances with one SI value changed."""
    return replace(instances, values=changed(instances.values, name, row, value))


def with_key(instances: Instances, name: str, row: int, key: float) -> Instances:
    """The instances with one displayed answer changed, and its band moved along."""
    by = key - instances.rounded[name][row]
    low, high = instances.tolerance[name]
    moved = np.zeros(len(low))
    moved[row] = by
    return replace(
        instances,
        rounded=changed(instances.rounded, name, row, key),
        tolerance={**instances.tolerance, name: (low + moved, high + moved)},
    )
