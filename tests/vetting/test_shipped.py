"""The shipped families pass the vetting, and quickly."""

import json
import time
from functools import cache

import numpy as np
import pytest
from scipy import stats

from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.family.model import ChooseLaw
from qbank.generation import Generator
from qbank.item import Choice
from qbank.rendering.renderer import Renderer
from qbank.vetting.vet import vet_file

FAMILIES = {path.stem: path for path in shipped_families()}
SECONDS = 6.0  # of the processor; twice what is meant, for slow machines

each_family = pytest.mark.parametrize("name", FAMILIES)


@cache
def vetted(name):
    started = time.process_time()
    return vet_file(FAMILIES[name]), time.process_time() - started


@each_family
def test_a_shipped_family_is_clean(name):
    result, seconds = vetted(name)
    assert [str(f) for f in result.findings if f.weighs] == []
    assert result.clean
    assert seconds < SECONDS


@each_family
def test_what_was_done_is_said(name):
    result, _ = vetted(name)
    assert result.looked_at["rules"]
    assert result.looked_at["answers, slips and options"].endswith("instances of seed 0")
    many = len(load_family(FAMILIES[name]).cases) > 1
    assert ("cases" in result.looked_at) == many
    json.dumps(result.as_json(), allow_nan=False)
    assert result.as_text().startswith(name)


def value_choices(name, count=600):
    """The options of every question for a value, instance by instance."""
    family = load_family(FAMILIES[name])
    for chunk in Generator(family).generate(count, seed=5):
        for item in Renderer(family).items(chunk):
            for part in item.parts:
                if isinstance(part, Choice) and not part.shuffle and not part.multiple:
                    yield part


WITH_VALUES = [name for name, path in FAMILIES.items() if "- choose: " in path.read_text("utf-8")]


@pytest.mark.parametrize("name", WITH_VALUES)
def test_no_place_holds_the_key_too_often_in_a_bank(name):
    """Read from the items themselves, as a student meets them."""
    places = [[o.correct for o in part.options].index(True) for part in value_choices(name)]
    shares = np.bincount(places) / len(places)
    assert shares.max() <= 0.6 + 3 * np.sqrt(0.24 / len(places))


@pytest.mark.parametrize("name", WITH_VALUES)
def test_options_have_one_unit_and_are_in_order(name):
    for part in value_choices(name, 300):
        texts = [option.content[0] for option in part.options]
        units = {text.partition(" ")[2] if "×" not in text else "" for text in texts}
        assert len(units) == 1
        numbers = [float(text.split(" ")[0].replace("−", "-")) for text in texts]
        assert numbers == sorted(numbers)
        assert len(set(texts)) == len(texts)


@pytest.mark.parametrize("name", ["stepped-drum", "two-means"])
def test_the_right_equation_stands_in_each_place_equally_often(name):
    family = load_family(FAMILIES[name])
    places = []
    for chunk in Generator(family).generate(600, seed=5):
        for item in Renderer(family).items(chunk):
            (part,) = [
                part
                for part, ask in zip(item.parts, family.ask, strict=True)
                if isinstance(ask, ChooseLaw)
            ]
            places.append([option.correct for option in part.options].index(True))
    counts = np.bincount(places, minlength=2)
    assert stats.chisquare(counts).pvalue > 0.001
