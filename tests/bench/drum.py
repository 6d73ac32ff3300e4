"""A million stepped drums: the general machinery beside one family done by hand."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
import sympy

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.generation import Generator
from tests.bench import drum_by_hand
from tests.bench.measure import Figure, seconds

COUNT = 1_000_000


def figures() -> Iterator[Figure]:
    family = load_family(find_family("stepped-drum"))
    generator = Generator(family)

    def ours() -> None:
        for _ in generator.generate(COUNT, seed=1):
            pass

    by_hand = seconds(lambda: drum_by_hand.run(COUNT), repeats=2)
    general = seconds(ours, repeats=2)
    rows = drum_by_hand.draw(COUNT, np.random.default_rng(0))
    closed = seconds(lambda: drum_by_hand.closed_form(rows))
    yield Figure("drum", "draw, solve, slips, checks / the same by hand in NumPy",
                 general / by_hand, "x", 2.0)  # fmt: skip
    yield Figure("drum", "draw, solve, slips, checks / bare closed form of alpha",
                 general / closed, "x")  # fmt: skip
    for kind, limit in (("floats", 20_000), ("rationals", None)):
        times = _sympy_seconds(rows, 20, kind) / (general / COUNT)
        yield Figure("drum", f"sympy.solve per instance ({kind}) / this, per instance",
                     times, "x", limit, "at least")  # fmt: skip
    yield Figure("drum", "instances a second", COUNT / general, "1/s")


def _sympy_seconds(rows: dict[str, np.ndarray], n: int, kind: str) -> float:
    """Seconds an instance for `sympy.solve` with the numbers put in, averaged over `n`.

    "floats" is what a script would pass; "rationals" is the fastest form there is.
    """
    number = float if kind == "floats" else lambda x: sympy.Rational(str(x))
    t_a, t_b, alpha = sympy.symbols("T_a T_b alpha")
    start = time.perf_counter()
    for i in range(n):
        d = {name: number(values[i]) for name, values in rows.items()}
        g = number(9.81)
        inertia = (d["M_r"] * d["r"] ** 2 + d["M_R"] * d["R"] ** 2) / 2
        s = 1 if d["m_b"] * d["R"] > d["m_a"] * d["r"] else -1
        sympy.solve(
            [
                s * (t_a - d["m_a"] * g) - d["m_a"] * d["r"] * alpha,
                s * (d["m_b"] * g - t_b) - d["m_b"] * d["R"] * alpha,
                s * (t_b * d["R"] - t_a * d["r"]) - inertia * alpha,
            ],
            [t_a, t_b, alpha],
        )
    return (time.perf_counter() - start) / n
