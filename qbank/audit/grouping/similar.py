"""Wordings alike, found through hashes of their words in time about linear in their number.

Words and pairs of neighbouring words are hashed. Of each wording the least of many hash functions
are kept (MinHash: Broder, "On the resemblance and containment of documents", 1997); wordings that
agree in two of them meet in a bucket, and only those are compared.
"""

from __future__ import annotations

import zlib
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from qbank.audit.grouping.wording import RUN, SLOT

# Share of words and pairs two wordings must have in common. A changed word in a stem of eight
# leaves 0.8, an extra sentence of ten words on thirty 0.85; stems on one topic share below 0.5.
ALIKE = 0.7
BANDS = 20  # a pair at ALIKE meets in one of them with a chance of 0.998
_ROWS = 2
_LEADERS = 6  # a bucket is compared with so many of its members; it seldom needs a second
_PRIME = (1 << 31) - 1


def clusters(wordings: Sequence[tuple[str, ...]]) -> list[int]:
    """A cluster for each of the wordings, which differ from each other and are sorted.

    Clusters are numbered by their first member. Cost: about linear in the number of words.
    """
    bags = [features(tokens) for tokens in wordings]
    parent = list(range(len(wordings)))

    def root(at: int) -> int:
        while parent[at] != at:
            parent[at] = parent[parent[at]]
            at = parent[at]
        return at

    for members in _buckets(bags):
        left = list(dict.fromkeys(members))
        for _ in range(_LEADERS):
            if len(left) < 2:
                break
            leader, rest = left[0], []
            for other in left[1:]:
                one, two = root(leader), root(other)
                if one == two:
                    continue
                if similarity(bags[leader], bags[other]) >= ALIKE:
                    parent[max(one, two)] = min(one, two)
                else:
                    rest.append(other)
            left = rest
    return [root(at) for at in range(len(wordings))]


def similarity(one: Counter[str], two: Counter[str]) -> float:
    """Twice what is common over the sum (the coefficient of Dice), 0 to 1."""
    total = one.total() + two.total()
    if len(two) < len(one):
        one, two = two, one
    common = sum(min(count, two[key]) for key, count in one.items() if key in two)
    return 2 * common / total if total else 1.0


def features(tokens: tuple[str, ...]) -> Counter[str]:
    """Words and pairs of neighbouring words, each with its count."""
    plain = [SLOT if token == RUN else token for token in tokens]
    words = [token for token in plain if token != SLOT]
    return Counter([*words, *(f"{a} {b}" for a, b in pairwise(plain))])


def _buckets(bags: Sequence[Counter[str]]) -> list[list[int]]:
    """Wordings that meet in a band of their signatures, each bucket in order."""
    ids: dict[str, int] = {}
    flat: list[int] = []
    starts: list[int] = []
    for counter in bags:
        starts.append(len(flat))
        flat.extend(ids.setdefault(key, len(ids)) for key in counter)
        if not counter:
            flat.append(ids.setdefault("", len(ids)))
    if not flat:
        return []
    hashes = np.array([zlib.crc32(key.encode()) % _PRIME for key in ids], dtype=np.uint64)
    at = np.array(flat)
    rng = np.random.Generator(np.random.PCG64(20261))
    factors = rng.integers(1, _PRIME, size=(2, BANDS * _ROWS), dtype=np.uint64)
    found: list[list[int]] = []
    for band in range(BANDS):
        signature = []
        for row in range(band * _ROWS, (band + 1) * _ROWS):
            mixed = (hashes * factors[0, row] + factors[1, row]) % np.uint64(_PRIME)
            signature.append(np.minimum.reduceat(mixed[at], starts))
        meeting: dict[tuple[int, ...], list[int]] = {}
        for position, key in enumerate(zip(*(s.tolist() for s in signature), strict=True)):
            meeting.setdefault(key, []).append(position)
        found += [members for members in meeting.values() if len(members) > 1]
    return found
