"""Parallel forms: how far their totals lie apart, drawn plainly and drawn as a matched set."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from qbank.forms.blueprint import read_blueprint
from qbank.forms.drawing import draw_forms
from qbank.forms.formset import FormSet
from qbank.generation import generate
from qbank.hardness.features import difficulty
from tests.bench.measure import Figure

BLUEPRINT = """\
title: Mock examination
forms: 4
draw:
  - {family: stepped-drum}
  - {subject: mechanics, count: 2}
  - {subject: electricity}
  - {family: thin-lens, count: 2}
"""
SEEDS = range(10)


def plain_spread(drawn: FormSet) -> float:
    """How far totals lie apart when the forms take the next instance of the same families."""
    slots = [item.instance.family for item in drawn.forms[0].items]
    per_form = Counter(family.name for family in slots)
    families = {family.name: family for family in slots}
    totals = np.zeros(len(drawn.forms))
    for name, count in per_form.items():
        chunks = generate(families[name], count * len(totals), drawn.seed)
        index = np.concatenate([difficulty(chunk).index for chunk in chunks])
        totals += index.reshape(len(totals), count).sum(axis=1)
    return float(np.ptp(totals))


def figures() -> Iterator[Figure]:
    blueprint = read_blueprint(BLUEPRINT, "blueprint.yaml", Path())
    drawn = [draw_forms(blueprint, seed) for seed in SEEDS]
    matched = [forms.spread for forms in drawn]
    plain = [plain_spread(forms) for forms in drawn]
    ratios = np.array(plain) / np.maximum(matched, 1e-4)  # the index has four decimals
    ratio = float(np.mean(plain) / max(np.mean(matched), 1e-4))
    yield Figure("forms", "spread of totals, plain drawing / matched, means of 10 seeds",
                 ratio, "x", 5.0, "at least")  # fmt: skip
    yield Figure("forms", "the same, least of 10 seeds", float(ratios.min()), "x", 5.0, "at least")
    yield Figure("forms", "spread of totals, plain drawing, mean", float(np.mean(plain)), "index")
    yield Figure("forms", "spread of totals, matched, greatest of 10 seeds",
                 max(matched), "index", blueprint.band)  # fmt: skip
    yield Figure("forms", "items two forms of a set have in common, most",
                 max(forms.most_shared for forms in drawn), "items", blueprint.shared)  # fmt: skip
