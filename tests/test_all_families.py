"""Every shipped family: it draws, solves, checks and renders, and its parts earn their place."""

from collections import Counter
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator, Report
from qbank.item import Choice, Item, Math, NumberEntry
from qbank.rendering.renderer import Renderer

FAMILIES = {path.stem: path for path in shipped_families()}
ROOT = Path(__file__).parent.parent / "families"
COUNT = 200
MANY = 4000  # rules that reject one candidate in a hundred must be seen to do so

# Rules that reject nothing among the first thousands of draws, and why they stay.
IDLE_RULES: dict[tuple[str, str], str] = {}

each_family = pytest.mark.parametrize("name", FAMILIES)


@cache
def generator(name):
    return Generator(load_family(FAMILIES[name]))


@cache
def drawn(name):
    """The first `COUNT` instances of seed 7, and the report of how they were made."""
    chunks, report = many(name, COUNT)
    (instances,) = chunks
    return instances, report


@cache
def many(name, count=MANY):
    """Instances of seed 7 in chunks, and the report of how they were made."""
    report = Report(generator(name).family)
    chunks = list(generator(name).generate(count, seed=7, report=report))
    assert sum(map(len, chunks)) == count
    return chunks, report


def texts(part):
    """Every piece of text in an item, formulas included."""
    if isinstance(part, str):
        yield part
    elif isinstance(part, Math):
        yield part.plain
        yield part.mathml
    elif isinstance(part, tuple):
        for inner in part:
            yield from texts(inner)
    elif is_dataclass(part):
        for field in fields(part):
            yield from texts(getattr(part, field.name))


def test_every_file_is_found():
    assert sorted(FAMILIES.values()) == sorted(ROOT.rglob("*.yaml"))
    assert len(FAMILIES) >= 10


@each_family
def test_says_who_may_use_it_and_what_it_teaches(name):
    family = generator(name).family
    assert family.name == name
    assert family.licence == "CC-BY-4.0"
    assert family.objectives
    assert len(family.slips) >= 3
    assert len(family.rules) >= 3
    assert family.confirm
    assert sum(part.points for part in family.ask) == pytest.approx(10, abs=5)


@each_family
def test_draws_distinct_instances_that_pass_every_check(name):
    instances, report = drawn(name)
    assert len(instances) == COUNT
    assert report.checks.made == report.checks.passed > COUNT
    givens = np.column_stack([array.reshape(COUNT, -1) for array in instances.mantissas.values()])
    assert len(np.unique(givens, axis=0)) == COUNT


@each_family
def test_every_case_occurs(name):
    instances, _ = drawn(name)
    family = instances.family
    counts = np.bincount(instances.case, minlength=len(family.cases))
    assert counts.min() >= 5
    if family.equal_shares:
        assert counts.max() - counts.min() <= len(family.cases)


@each_family
def test_every_rule_rejects_something(name):
    _, report = many(name)
    written = {rule.text for rule in generator(name).family.rules}
    idle = {
        ruling.need
        for ruling, rejected in zip(report.rules.rulings, report.rules.rejected, strict=True)
        if ruling.need in written and rejected == 0
    }
    assert idle == {need for family, need in IDLE_RULES if family == name}


@each_family
def test_every_slip_is_told_apart_from_the_key(name):
    """A slip that can hardly be told from the right answer teaches nothing. It counts as apart
    where the value of at least one unknown, as displayed, lies outside the accepted band."""
    chunks, _ = many(name)
    find = generator(name).family.find
    for slip in generator(name).family.slips:
        made = told = 0
        for chunk in chunks:
            applies = np.zeros(len(chunk), dtype=bool)
            apart = np.zeros(len(chunk), dtype=bool)
            for unknown, values in chunk.wrong[slip].items():
                shown = find[unknown].unit.from_si(values)
                low, high = chunk.tolerance[unknown]
                applies |= np.isfinite(shown)
                apart |= np.isfinite(shown) & ((shown < low) | (shown > high))
            made += applies.sum()
            told += apart[applies].sum()
        assert made, f"{slip} gives no value in any instance"
        assert told / made > 0.9, f"{slip} is told apart in only {told / made:.0%} of instances"


@each_family
def test_every_item_renders_whole(name):
    instances, _ = drawn(name)
    items = list(Renderer(instances.family).items(instances))
    assert len(items) == COUNT
    assert len({item.identifier for item in items}) == COUNT
    for item in items:
        assert isinstance(item, Item)
        assert len(item.parts) == len(instances.family.ask)
        for text in texts(item):
            assert "{" not in text
            assert "}" not in text
            assert "nan" not in text.split()


@each_family
def test_every_kind_of_part_asks_for_something(name):
    """Numbers have a key inside their band; choices have one right option and some wrong ones."""
    instances, _ = drawn(name)
    shown = Counter()
    for item in Renderer(instances.family).items(instances):
        for part in item.parts:
            match part:
                case NumberEntry():
                    assert part.tolerance.low <= part.key <= part.tolerance.high
                    assert float(part.key_text) == part.key
                    for wrong in part.wrong_values:
                        outside = wrong.high < part.tolerance.low or wrong.low > part.tolerance.high
                        assert outside
                        shown[wrong.slip] += 1
                case Choice():
                    right = [option for option in part.options if option.correct]
                    assert part.multiple or len(right) == 1
                    assert len(part.options) > 1
                    shown.update(option.slip for option in part.options if option.slip)
    assert set(shown) == set(instances.family.slips), "a slip that never reaches a student"


def test_the_drum_has_two_million_instances():
    count = generator("stepped-drum").count()
    assert count.number >= 2_000_000
