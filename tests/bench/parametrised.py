"""Families as one item: 2,000 draws of each, solved again by the family's own model.

A figure for each family: disagreements between template and model, which must be none, with
each draw's key, empty answer and slips graded; and the share of draws that meet the rules.
"""

from __future__ import annotations

from collections.abc import Iterator

from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.formats.dialects import QTI_30
from qbank.generation import Generator
from qbank.parametrised.expressions import InexpressibleError
from qbank.parametrised.item import LEAST_ACCEPTANCE, Parametriser
from tests.bench.measure import Figure
from tests.parametrised.drawing import compare, draws

DRAWS = 2000
GRADED = 500


def figures() -> Iterator[Figure]:
    for path in shipped_families():
        family = load_family(path)
        try:
            made = Parametriser(family).write(QTI_30)
        except InexpressibleError as reason:
            yield Figure("one item", f"{family.name}: {reason.message[:40]}", 0, "items")
            continue
        tally = compare(family, Generator(family), list(draws(made.data, DRAWS)), scored=GRADED)
        said = f": {tally.faults[0]}" if tally.faults else ""
        figure = f"{family.name}: faults in {DRAWS} draws{said}"
        yield Figure("one item", figure, len(tally.faults), "faults", 0)
        share = f"{family.name}: draws that meet its rules"
        yield Figure("one item", share, made.acceptance, "", LEAST_ACCEPTANCE, "at least")
