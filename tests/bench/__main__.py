"""`python -m tests.bench [NAME ...] [--json]`: run the benchmarks and print their figures.

Exit code 1 when a figure breaks its limit.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator

from tests.bench import (
    drum,
    export,
    faults,
    figures,
    forms,
    outliers,
    parametrised,
    scoring,
    startup,
    window,
)
from tests.bench.measure import Figure

BENCHES: dict[str, Callable[[], Iterator[Figure]]] = {
    "drum": drum.figures,
    "export": export.figures,
    "faults": faults.figures,
    "figures": figures.figures,
    "forms": forms.figures,
    "outliers": outliers.figures,
    "memory": export.memory_figures,
    "scoring": scoring.figures,
    "parametrised": parametrised.figures,
    "startup": startup.figures,
    "window": window.figures,
}


def main(arguments: list[str]) -> int:
    as_json = "--json" in arguments
    names = [name for name in arguments if name != "--json"] or list(BENCHES)
    unknown = [name for name in names if name not in BENCHES]
    if unknown:
        print(f"no benchmark '{unknown[0]}'; there are: {', '.join(BENCHES)}", file=sys.stderr)
        return 2
    kept = True
    for name in names:
        for figure in BENCHES[name]():
            kept = kept and figure.holds
            if as_json:
                print(json.dumps(figure.as_json()), flush=True)
                continue
            limit = "" if figure.limit is None else f"   {figure.sense} {figure.limit:g}"
            verdict = "" if figure.holds else "   BROKEN"
            print(
                f"{figure.bench:8}  {figure.figure:62}  {figure.value:12.4g} {figure.unit}"
                f"{limit}{verdict}",
                flush=True,
            )
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
