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
from qbank.hardness.weights import WEIGHTS
from qbank.instances import Floats
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
RESOLUTION = 1e-4  # of the index


OTHER_WEIGHTS = 100  # sets of them, for each seed


def matched_features(drawn: FormSet) -> Floats:
    """The features of each form summed over its items, (forms, features)."""
    rows = [[list(item.features.values()) for item in form.items] for form in drawn.forms]
    return np.array(rows).sum(axis=1)


def plain_features(drawn: FormSet) -> Floats:
    """The same where the forms take the next instances of the same families."""
    slots = [item.instance.family for item in drawn.forms[0].items]
    families = {family.name: family for family in slots}
    totals = np.zeros((len(drawn.forms), len(WEIGHTS)))
    for name, count in Counter(family.name for family in slots).items():
        chunks = generate(families[name], count * len(totals), drawn.seed)
        found = [[f.of(w.feature) for w in WEIGHTS] for f in map(difficulty, chunks)]
        features = np.concatenate(found, axis=1).T
        totals += features.reshape(len(totals), count, -1).sum(axis=1)
    return totals


def spreads(features: Floats, weights: Floats) -> Floats:
    """How far the totals of the forms lie apart for each set of weights, (sets,)."""
    return np.ptp(features @ weights.T, axis=0)


def figures() -> Iterator[Figure]:
    blueprint = read_blueprint(BLUEPRINT, "blueprint.yaml", Path())
    stated = np.array([[weight.per_unit for weight in WEIGHTS]])
    random = np.random.default_rng(0)
    plain, matched, ratios, reached, shared = [], [], [], [], []
    for seed in SEEDS:
        drawn = draw_forms(blueprint, seed)
        ours, theirs = matched_features(drawn), plain_features(drawn)
        plain.append(spreads(theirs, stated)[0])
        matched.append(max(drawn.spread, RESOLUTION))
        others = stated * 2.0 ** random.uniform(-1, 1, (OTHER_WEIGHTS, len(WEIGHTS)))
        ratios.append(spreads(theirs, others).mean() / spreads(ours, others).mean())
        reached.append(drawn.spread)
        shared.append(drawn.most_shared)
    several = f"{len(SEEDS)} seeds"
    yield Figure("forms", f"spread of totals, plain drawing / matched, means of {several}",
                 float(np.mean(plain) / np.mean(matched)), "x", 5.0, "at least")  # fmt: skip
    yield Figure("forms", f"the same, least of {several}",
                 float((np.array(plain) / matched).min()), "x", 5.0, "at least")  # fmt: skip
    yield Figure("forms", "the same with every weight off by up to 2 times, least",
                 float(min(ratios)), "x", 3.0, "at least")  # fmt: skip
    yield Figure("forms", "spread of totals, plain drawing, mean", float(np.mean(plain)), "index")
    yield Figure("forms", f"spread of totals, matched, greatest of {several}",
                 max(reached), "index", blueprint.band)  # fmt: skip
    yield Figure("forms", "items that two forms have in common, most",
                 max(shared), "items", blueprint.shared)  # fmt: skip
