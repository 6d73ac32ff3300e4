"""Runs a target under the coverage-guided fuzzer atheris (`pip install atheris`).

    python -m tests.fuzz.fuzz_qti CORPUS -max_total_time=300 -timeout=20 -rss_limit_mb=2048

CORPUS is a folder that keeps the inputs found; it is filled with seeds when it is empty. Options
are libFuzzer's. An input that crashes, hangs or takes too much memory is written to a file.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def fuzz(target: str) -> None:
    """Fuzz until a crash or the time given."""
    import atheris

    if len(sys.argv) < 2 or sys.argv[1].startswith("-"):
        sys.exit(f"usage: python -m tests.fuzz.fuzz_{target} CORPUS [LIBFUZZER OPTIONS]")
    corpus = Path(sys.argv[1])
    if not corpus.is_dir() or not any(corpus.iterdir()):
        # In a process of its own: what is imported here before atheris would not be measured.
        command = [sys.executable, "-m", "tests.fuzz.seeds", target, str(corpus)]
        subprocess.run(command, check=True)
    with atheris.instrument_imports(include=["qbank"]):
        from tests.fuzz.targets import TARGETS
    atheris.Setup(sys.argv, TARGETS[target])
    atheris.Fuzz()
