"""The stems of every shipped family: each given is read with its unit and each key with its own."""

from __future__ import annotations

import math

import numpy as np
import pytest

from qbank import Renderer, generate
from qbank.audit.reading import questions_of
from qbank.audit.reading.quantities import plain_numbers
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.formats.source import ReadItem
from qbank.item import NumberEntry
from qbank.place import Place


@pytest.mark.parametrize("path", shipped_families(), ids=lambda path: path.stem)
def test_every_given_and_every_key_is_read(path):
    family = load_family(path)
    (instances,) = generate(family, 4, seed=11)
    items = list(Renderer(family).items(instances))
    questions = list(questions_of(ReadItem(item, Place("bank", 1, 1)) for item in items))
    for row, item in enumerate(items):
        of_item = [question for question in questions if question.number == row]
        assert of_item
        numbers = np.array([one.si for one in of_item[0].quantities])
        exact = {float(one.value) for one in of_item[0].quantities}
        assert plain_numbers(of_item[0].stem) <= exact
        dimensions = [one.unit.dimension for one in of_item[0].quantities if one.unit is not None]
        for given in family.given.values():
            if given.hidden:
                continue
            shown = np.ravel(instances.values[given.name][row])
            for value in shown[np.isfinite(shown)]:
                near = np.isclose(numbers, value, rtol=1e-12, atol=0) | (numbers == value)
                assert near.any(), (given.name, value, of_item[0].text)
            if given.unit.text:
                assert given.unit.dimension in dimensions
        entries = {part.identifier: part for part in item.parts if isinstance(part, NumberEntry)}
        for question in of_item:
            if question.part in entries:
                part = entries[question.part]
                assert question.key == part.key
                assert (question.unit.text if question.unit else "") == part.unit
                assert question.low <= question.key <= question.high
            for one in question.quantities:
                assert question.text[one.start : one.end] == one.text
                assert math.isfinite(one.si)
