"""Drawn forms as values: what stands on each, and how alike they are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from qbank.expressions.numbers import round_values
from qbank.hardness.features import INDEX_FORMAT
from qbank.instances import Instances


@dataclass(frozen=True, slots=True)
class FormItem:
    """One item of a form.

    instance    the instance it is made of, alone
    points      what it gives
    difficulty  its difficulty index
    features    what the index is made of
    """

    instance: Instances
    points: float
    difficulty: float
    features: dict[str, float]

    @property
    def family(self) -> str:
        """The name of its family."""
        return self.instance.family.name

    @property
    def index(self) -> int:
        """Which instance of the family and seed it is."""
        return int(self.instance.index[0])

    @property
    def case(self) -> str:
        """Which way it goes; empty for a family without cases."""
        return self.instance.family.cases[int(self.instance.case[0])].name

    def as_json(self) -> dict[str, Any]:
        """The item as plain values; family, digest, seed and index give it again."""
        family = self.instance.family
        return {
            "family": family.name,
            "version": family.version,
            "digest": family.digest,
            "seed": self.instance.seed,
            "index": self.index,
            "case": self.case,
            "points": self.points,
            "difficulty": self.difficulty,
            "features": self.features,
        }


@dataclass(frozen=True, slots=True)
class Form:
    """One form: its number, counted from 1, and its items in order."""

    number: int
    items: tuple[FormItem, ...]

    @property
    def difficulty(self) -> float:
        """The total of the difficulty index, to four decimals like its parts."""
        return _four_decimals(sum(item.difficulty for item in self.items))

    @property
    def points(self) -> float:
        """The most a candidate can score."""
        return sum(item.points for item in self.items)


@dataclass(frozen=True, slots=True)
class FormSet:
    """Parallel forms of one test."""

    title: str
    seed: int
    band: float
    shared: int
    forms: tuple[Form, ...]

    @property
    def spread(self) -> float:
        """How far the totals of the difficulty index lie apart."""
        totals = [form.difficulty for form in self.forms]
        return _four_decimals(max(totals) - min(totals))

    @property
    def most_shared(self) -> int:
        """The most items any two forms have in common."""
        sets = [{(item.family, item.index) for item in form.items} for form in self.forms]
        pairs = ((a, b) for i, a in enumerate(sets) for b in sets[:i])
        return max((len(a & b) for a, b in pairs), default=0)

    def as_json(self) -> dict[str, Any]:
        """The forms as plain values."""
        return {
            "title": self.title,
            "seed": self.seed,
            "band": self.band,
            "spread": self.spread,
            "shared": self.most_shared,
            "forms": [
                {
                    "form": form.number,
                    "difficulty": form.difficulty,
                    "points": form.points,
                    "items": [item.as_json() for item in form.items],
                }
                for form in self.forms
            ],
        }


def _four_decimals(value: float) -> float:
    return float(round_values([value], INDEX_FORMAT)[0])
