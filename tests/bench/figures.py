"""Figures: what the pictures of one instance cost, drawn with labels placed, as SVG."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.family.model import Case
from qbank.generation import Generator
from qbank.instances import Instances
from qbank.item import Image
from qbank.rendering.batch import Batch, Ledger
from qbank.rendering.case_formulas import CaseFormulas
from qbank.rendering.columns import Column
from qbank.rendering.figures import Figures
from qbank.rendering.messages import messages_for
from qbank.rendering.sentences import Sentences
from tests.bench.measure import Figure, seconds

FAMILIES = ("stepped-drum", "floor-beam", "rough-slope-pulley", "thin-lens")
COUNT = 2000
ROWS_AT_A_TIME = 512  # as the renderer takes them
AIM = 300.0

_Part = tuple[Column[Image], Case, Ledger, Instances]


def figures() -> Iterator[Figure]:
    for name in FAMILIES:
        family = load_family(find_family(name))
        (instances,) = Generator(family).generate(COUNT, seed=1)
        compiled: list[_Part] = []
        for case, rows in _by_case(instances):
            ledger = Ledger()
            messages = messages_for(family.texts.language)
            formulas = CaseFormulas(family, family.cases[case], ledger, messages)
            drawing = Figures(Sentences(formulas), family.texts.figure)
            column = drawing.images(solved=False)
            compiled.append((column, family.cases[case], ledger, rows))

        def draw(parts: list[_Part] = compiled) -> None:
            for column, case, ledger, rows in parts:
                for start in range(0, len(rows), ROWS_AT_A_TIME):
                    few = rows.take(slice(start, start + ROWS_AT_A_TIME))
                    for _ in column(Batch(few, case, ledger)):
                        pass

        taken = seconds(draw, repeats=5)
        yield Figure("figures", f"{name}: one figure ({AIM:g} aimed at)", 1e6 * taken / COUNT, "µs")


def _by_case(instances: Instances) -> Iterator[tuple[int, Instances]]:
    for case in np.unique(instances.case).tolist():
        yield case, instances.take(instances.case == case)
