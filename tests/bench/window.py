"""Tolerance windows of every shipped family: honest solvers inside, slips outside.

Each instance is answered by solvers who walk the worked path and round at random; each of its
slips is looked up as a machine and as a student would give it.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np

from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator, Report
from tests.bench.measure import Figure
from tests.checking.honest import Solvers, slips_inside

COUNT = 10_000
SOLVERS = 20


def figures() -> Iterator[Figure]:
    outside = inside = answered = looked_at = 0
    for path in shipped_families():
        started = time.perf_counter()
        generator = Generator(load_family(path))
        report = Report(generator.family)
        solvers, rng = Solvers.of(generator), np.random.default_rng(1)
        asked = generator.sampler.windows.asked
        off = bad = 0
        slack_share: list[np.ndarray] = []
        slip_share: list[np.ndarray] = []
        for instances in generator.generate(COUNT, seed=1, report=report):
            for _ in range(SOLVERS):
                responses = solvers.responses(instances, rng)
                for name in asked:
                    low, high = instances.tolerance[name]
                    off += int(
                        np.count_nonzero(~((low <= responses[name]) & (responses[name] <= high)))
                    )
                    answered += len(instances)
            for _, _, found in slips_inside(generator, instances):
                bad += found
                looked_at += len(instances)
            for name in asked:
                slack, distance = instances.windows[name]
                low, high = instances.tolerance[name]
                slack_share.append(2 * slack / (high - low))
                slip_share.append(2 * distance / (high - low))
        outside += off
        inside += bad
        name = generator.family.name
        yield Figure("window", f"{name}: honest responses outside the tolerance", off, "", 0)
        yield Figure("window", f"{name}: slips inside the tolerance", bad, "", 0)
        yield Figure("window", f"{name}: slack / tolerance, greatest",
                     float(np.concatenate(slack_share).max()), "x", 1.0 + 1e-6)  # fmt: skip
        yield Figure("window", f"{name}: slip distance / tolerance, least",
                     float(np.concatenate(slip_share).min()), "x", 1.0, "at least")  # fmt: skip
        yield Figure("window", f"{name}: draws without a fair tolerance",
                     _rejected(report), "%")  # fmt: skip
        close = sum(len(policy.close) for policy in generator.sampler.windows.policies.values())
        yield Figure("window", f"{name}: slips not told apart from honest work", close, "")
        yield Figure("window", f"{name}: seconds", time.perf_counter() - started, "s")
    yield Figure("window", "all: honest responses given", answered, "")
    yield Figure("window", "all: of them outside the tolerance", outside, "", 0)
    yield Figure("window", "all: values of slips looked at", looked_at, "")
    yield Figure("window", "all: of them inside the tolerance", inside, "", 0)


def _rejected(report: Report) -> float:
    """Share of the draws met by every rule that have no fair tolerance, in percent."""
    rules = report.rules
    assert rules is not None
    rows = [i for i, ruling in enumerate(rules.rulings) if "fair tolerance" in ruling.need]
    return 100.0 * float(rules.rejected[rows].sum()) / max(int(rules.reached[rows[0]]), 1)
