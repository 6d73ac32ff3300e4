"""What every benchmark reports, and how time and memory are taken."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Figure:
    """One measured figure. `limit` is what the project promises; `sense` which way it binds."""

    bench: str
    figure: str
    value: float
    unit: str
    limit: float | None = None
    sense: str = "at most"

    @property
    def holds(self) -> bool:
        if self.limit is None:
            return True
        return self.value <= self.limit if self.sense == "at most" else self.value >= self.limit

    def as_json(self) -> dict[str, object]:
        return {**asdict(self), "holds": self.holds}


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """The shortest of several runs: the one least disturbed by the rest of the machine."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def peak_megabytes(code: str) -> float:
    """The peak resident memory of a new Python process that runs `code`."""
    report = "\nimport resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    done = subprocess.run(
        [sys.executable, "-c", code + report], check=True, capture_output=True, text=True
    )
    return float(done.stdout.split()[-1])


def process_seconds(arguments: list[str], repeats: int = 10) -> float:
    """The shortest wall time of a whole process."""
    return seconds(lambda: subprocess.run(arguments, check=True, capture_output=True), repeats)
