"""A last step on the right answer: a factor, an inverse, a square, a complement."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from qbank.audit.causes.data import is_pure
from qbank.audit.causes.work import Alternative, Work, told

_NUMBERS = (
    ("2", 2.0), ("4", 4.0), ("3", 3.0), ("π", math.pi), ("2π", 2 * math.pi), ("√2", math.sqrt(2)),
    ("4π", 4 * math.pi), ("√3", math.sqrt(3)), ("8", 8.0), ("9.81", 9.81), ("12", 12.0),
    ("6", 6.0), ("ln 2", math.log(2)),
)  # fmt: skip


def factor(work: Work) -> Iterator[Alternative]:
    """A factor dropped or applied twice: a plain number, a given or an intermediate quantity."""
    for rank, (text, value) in enumerate(_NUMBERS):
        prior = 56.0 if rank < 2 else 36.0
        for values, verb in (
            (work.answer * value, "a factor too many, or one not divided by"),
            (work.answer / value, "a factor left out, or one divided by twice"),
        ):
            yield Alternative("factor", values, prior, told(f"{text}: {verb}"), 2)
    named = {**work.values, **{n: work.resolved.values[n] for n in work.resolver.family.let}}
    for name, column in named.items():
        if np.ndim(column) != 1 or name in work.resolver.lists:
            continue
        with np.errstate(all="ignore"):
            for values, verb in (
                (work.answer * column, "applied once too often, or not divided by"),
                (work.answer / column, "left out, or divided by twice"),
            ):
                said = told(f"the factor {name} is {verb}")
                yield Alternative(f"factor:{name}", values, 34.0, said, 3)


def last_step(work: Work) -> Iterator[Alternative]:
    """The inverse, the square, the root or the complement of the answer."""
    x = work.answer
    unit = work.resolver.family.find[work.unknown].unit
    with np.errstate(all="ignore"):
        yield Alternative("inverse", 1 / x, 47.0, told("this is one over the answer"), 2)
        yield Alternative("squared", x * x, 44.0, told("this is the square of the answer"), 2)
        root = np.copysign(np.sqrt(np.abs(x)), x)
        yield Alternative("rooted", root, 44.0, told("this is the root of the answer"), 2)
        if is_pure(unit):
            yield Alternative("complement", 1 - x, 57.0, told("this is one minus the answer"), 2)
        if unit.text == "°":
            for whole in (90.0, 180.0, 360.0):
                said = told(f"this is {whole:g}° minus the answer")
                yield Alternative("complement", whole - x, 57.0, said, 2)
