"""Bands that accept a typical mistake although a narrower one would serve all honest work."""

from __future__ import annotations

import numpy as np

from qbank.audit.causes.work import LAST_BITS, Work

ROOM = 2.0  # times what honest work needs: as far from the key as a mistake must be to be told


def accepted_slips(work: Work) -> list[str]:
    """For each row a slip of the family whose number its band accepts; empty where none."""
    out = [""] * len(work)
    low = np.array([q.low for q in work.questions], dtype=np.float64)
    high = np.array([q.high for q in work.questions], dtype=np.float64)
    rows = np.flatnonzero(low < high)
    if not len(rows):
        return out
    some = work.take(rows)
    key = some.keys.value
    need = ROOM * np.maximum(some.slack, some.keys.unit)
    nearest = np.full(len(rows), np.inf)
    for name, values in some.wrong.items():
        with np.errstate(invalid="ignore"):
            off = np.abs(values - key)
            held = (low[rows] <= values) & (values <= high[rows]) & (off > need)
            held &= np.abs(values - some.answer) > LAST_BITS * np.abs(some.answer)
            closer = held & (off < nearest)
        nearest[closer] = off[closer]
        for row in np.flatnonzero(closer).tolist():
            out[int(rows[row])] = name
    return out
