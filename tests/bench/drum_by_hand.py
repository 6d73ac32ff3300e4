"""The stepped drum done by hand in NumPy: what a capable author would write for this one family.

Same draws, rules, cases, answers, slips and checks as families/mechanics/stepped-drum.yaml, with
every formula worked out on paper, but for the tolerance window, which is left to the general
machinery. It is the yardstick that machinery is timed against, and shares no code with it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
G = 9.81
FIGURES = 3

# first, step, count, decimals in the shown unit, and the divisor to SI
GRIDS = {
    "m_a": (20, 1, 71, 10),
    "m_b": (10, 1, 51, 10),
    "r": (80, 5, 17, 1000),
    "R": (180, 5, 29, 1000),
    "M_r": (40, 2, 26, 10),
    "M_R": (40, 5, 13, 10),
}


def draw(n: int, rng: np.random.Generator) -> dict[str, Array]:
    """`n` distinct rows that meet the rules, with their answers."""
    radices = np.array([count for _, _, count, _ in GRIDS.values()], dtype=np.int64)
    total = int(radices.prod())
    codes = np.empty(0, dtype=np.int64)
    while len(codes) < n:
        fresh = np.unique(rng.integers(0, total, size=2 * (n - len(codes)) + 1000, dtype=np.int64))
        fresh = fresh[valid(decode(fresh))]
        codes = np.union1d(codes, fresh) if len(codes) else fresh
    return decode(rng.permutation(codes)[:n])


def decode(codes: NDArray[np.int64]) -> dict[str, Array]:
    rows = {}
    rest = codes
    for name, (first, step, count, divisor) in GRIDS.items():
        rest, digit = np.divmod(rest, count)
        rows[name] = (first + step * digit) / divisor
    return rows


def valid(d: dict[str, Array]) -> NDArray[np.bool_]:
    at_b = d["m_b"] * d["R"]
    at_a = d["m_a"] * d["r"]
    ok = d["R"] >= 1.4 * d["r"]
    ok &= np.abs(at_b - at_a) >= 0.35 * np.maximum(at_b, at_a)
    t_a, t_b, alpha = answers(d)
    ok &= (alpha > 0.5) & (alpha < 20)
    return ok & (np.abs(t_a - 1.4 * t_b) >= 0.03 * t_a)


def answers(d: dict[str, Array], inertia: Array | None = None) -> tuple[Array, Array, Array]:
    """Tension left, tension right, angular acceleration (taken positive the way it turns)."""
    if inertia is None:
        inertia = (d["M_r"] * d["r"] ** 2 + d["M_R"] * d["R"] ** 2) / 2
    torque = G * (d["m_b"] * d["R"] - d["m_a"] * d["r"])
    s = np.sign(torque)
    alpha = np.abs(torque) / (inertia + d["m_a"] * d["r"] ** 2 + d["m_b"] * d["R"] ** 2)
    t_a = d["m_a"] * (G + s * d["r"] * alpha)
    t_b = d["m_b"] * (G - s * d["R"] * alpha)
    return t_a, t_b, alpha


def slips(d: dict[str, Array]) -> list[tuple[Array, Array, Array]]:
    """The wrong answers of the family's seven slips, each worked out on paper."""
    m_a, m_b, r, R = d["m_a"], d["m_b"], d["r"], d["R"]
    inertia = (d["M_r"] * r**2 + d["M_R"] * R**2) / 2
    torque = G * (m_b * R - m_a * r)
    s = np.sign(torque)
    size = np.abs(torque)

    one = size / (inertia + m_a * r**2 + m_b * R * r)
    fall = size / (inertia - m_a * r**2 + m_b * R**2)
    added = s * G * (m_b * R + m_a * r) / (inertia - m_a * r**2 + m_b * R**2)
    return [
        (m_a * G, m_b * G, size / inertia),
        answers(d, d["M_R"] * R**2 / 2),
        answers(d, d["M_r"] * r**2 + d["M_R"] * R**2),
        (m_a * (G + s * r * one), m_b * (G - s * r * one), one),
        (m_a * (G - s * r * fall), m_b * (G - s * R * fall), fall),
        (m_a * (G + s * r * added), m_b * (G - s * R * added), added),
        answers({**d, "r": 100 * r, "R": 100 * R}),
    ]


def rounded(x: Array) -> tuple[Array, Array]:
    """`x` to three figures, half away from zero, and the size of its last place."""
    place = 10.0 ** (np.floor(np.log10(np.abs(x))) - (FIGURES - 1))
    return np.sign(x) * np.floor(np.abs(x) / place + 0.5 + 1e-11) * place, place


def check(d: dict[str, Array]) -> tuple[dict[str, int], int]:
    """Solve, make the slips and check every row.

    How many rows fail each check, and how often a slip comes within the tolerance of the key or
    of another slip.
    """
    n = len(d["r"])
    t_a, t_b, alpha = answers(d)
    wrong = slips(d)
    inertia = (d["M_r"] * d["r"] ** 2 + d["M_R"] * d["R"] ** 2) / 2
    s = np.sign(d["m_b"] * d["R"] - d["m_a"] * d["r"])
    failed: dict[str, int] = {}

    # every law's residual, against the size of its terms
    sides = (
        (s * (t_a - d["m_a"] * G), d["m_a"] * d["r"] * alpha, d["m_a"] * G),
        (s * (d["m_b"] * G - t_b), d["m_b"] * d["R"] * alpha, d["m_b"] * G),
        (s * (t_b * d["R"] - t_a * d["r"]), inertia * alpha, t_b * d["R"] + t_a * d["r"]),
    )
    failed["residual"] = sum(
        int((np.abs(left - right) > 1e-9 * (np.abs(left) + size)).sum())
        for left, right, size in sides
    )

    # a second route: the three equations as a matrix
    matrix = np.zeros((n, 3, 3))
    matrix[:, 0, 0], matrix[:, 0, 2] = s, -d["m_a"] * d["r"]
    matrix[:, 1, 1], matrix[:, 1, 2] = -s, -d["m_b"] * d["R"]
    matrix[:, 2, 0], matrix[:, 2, 1], matrix[:, 2, 2] = -s * d["r"], s * d["R"], -inertia
    side = np.stack([s * d["m_a"] * G, -s * d["m_b"] * G, np.zeros(n)], axis=1)
    again = np.linalg.solve(matrix, side[:, :, None])[:, :, 0]
    keys = np.stack([t_a, t_b, alpha], axis=1)
    failed["second route"] = int((np.abs(again - keys) > 1e-9 * np.abs(keys)).any(axis=1).sum())

    # exactly one case, and the solved sign agrees with it
    clockwise = d["m_b"] * d["R"] > d["m_a"] * d["r"]
    anticlockwise = d["m_b"] * d["R"] < d["m_a"] * d["r"]
    failed["one case"] = int((clockwise == anticlockwise).sum())
    failed["sign"] = int(((alpha <= 0) | (t_a <= 0) | (t_b <= 0)).sum())

    # common sense
    failed["left"] = int((np.where(clockwise, t_a > d["m_a"] * G, t_a < d["m_a"] * G) == 0).sum())
    failed["right"] = int((np.where(clockwise, t_b < d["m_b"] * G, t_b > d["m_b"] * G) == 0).sum())
    failed["falls"] = int((d["R"] * alpha >= G).sum())

    # rounding, and the rounded answers put back
    shown, places = zip(*(rounded(x) for x in (t_a, t_b, alpha)), strict=True)
    shown_keys = np.stack(shown, axis=1)
    half = np.stack(places, axis=1) / 2
    put_back = np.abs(np.einsum("nij,nj->ni", matrix, shown_keys) - side)
    allowed = np.einsum("nij,nj->ni", np.abs(matrix), half) * (1 + 1e-9)
    failed["put back"] = int((put_back > allowed + 1e-9 * np.abs(side)).any(axis=1).sum())

    # the tolerance holds the key; how many slips come too near the key or each other is counted
    failed["own band"] = 0
    near = 0
    for i, (key, place) in enumerate(zip(shown, places, strict=True)):
        width = np.maximum(0.01 * np.abs(key), 1.5 * place)
        low, high = key - width, key + width
        failed["own band"] += int(((key < low) | (key > high)).sum())
        values = [slip[i] for slip in wrong]
        for a, value in enumerate(values):
            near += int((np.abs(value - key) <= width).sum())
            near += sum(int((np.abs(value - other) <= width).sum()) for other in values[a + 1 :])

    # nothing is nan or infinite, and small changes of the data make small changes of the answers
    failed["finite"] = int((~np.isfinite(keys)).any(axis=1).sum())
    h = 2.0**-30
    nudged = {
        name: value * (1 + h * (1 if i % 2 else -1)) for i, (name, value) in enumerate(d.items())
    }
    moved = np.stack(answers(nudged), axis=1)
    failed["conditioning"] = int((np.abs(moved - keys) > 1e6 * h * np.abs(keys)).any(axis=1).sum())
    return failed, near


def run(n: int, seed: int = 0) -> tuple[dict[str, int], int]:
    """The whole job for `n` rows."""
    return check(draw(n, np.random.default_rng(seed)))


def closed_form(d: dict[str, Array]) -> Array:
    """The angular acceleration alone, for comparison with the bare solution."""
    return answers(d)[2]
