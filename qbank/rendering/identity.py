"""Identifiers of items, and choices that must look random yet be the same each time."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from qbank.family.model import Family
from qbank.item import Provenance
from qbank.rendering.batch import Batch

BY_HAND = "given"  # in place of the index, for data given by hand


def stem_of_identifier(family: Family, seed: int) -> str:
    """`i` and ten hexadecimal digits that stand for the family's content and the seed."""
    return "i" + hashlib.sha256(f"{family.digest} {seed}".encode()).hexdigest()[:10]


def identifiers(batch: Batch) -> Iterable[str]:
    """NCNames of at most 32 characters, the same wherever and whenever an instance is made."""
    stem = stem_of_identifier(batch.family, batch.instances.seed)
    return [
        f"{stem}-{index if index >= 0 else BY_HAND}" for index in batch.instances.index.tolist()
    ]


def provenances(batch: Batch) -> Iterable[Provenance]:
    """Where each item comes from."""
    family, seed, case = batch.family, batch.instances.seed, batch.case.name
    return [
        Provenance(family.name, family.version, family.digest, seed, index, case)
        for index in batch.instances.index.tolist()
    ]


def places(batch: Batch, part: str, count: int) -> list[int]:
    """A position below `count` for each row, which depends on the item and the part alone."""
    return [
        int.from_bytes(hashlib.sha256(f"{identifier} {part}".encode()).digest()[:8]) % count
        for identifier in identifiers(batch)
    ]
