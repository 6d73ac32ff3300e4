"""The single questions as banks, with right keys and with wrong ones, and how they are judged."""

from __future__ import annotations

import csv
import io
import random
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from qbank.audit.check import judge_matched
from qbank.audit.grouping import group_questions
from qbank.audit.matching import match_groups
from qbank.audit.question import Question
from qbank.audit.reading.questions import questions_of
from qbank.audit.resolving import resolver_of
from qbank.audit.verdict import Judgement
from qbank.family.library import find_family, shipped_families
from qbank.family.loader import load_family
from qbank.family.model import Family, Given, Sampled
from qbank.formats.foreign.bank import open_bank
from qbank.generation import Generator
from qbank.instances import Instances
from tests.audit.singles.decoys import DECOYS
from tests.audit.singles.wordings import STORIES

FIGURES = 3


@dataclass(frozen=True)
class Single:
    """A question with the keys it may have: what made the key -> its text."""

    name: str
    family: str
    unknown: str
    text: str
    unit: str
    keys: dict[str, str]


@cache
def families() -> tuple[Family, ...]:
    return tuple(load_family(path) for path in shipped_families())


@cache
def stories() -> tuple[Single, ...]:
    """Each story with each thing it asks for, with data of its own."""
    out = []
    for name, told in STORIES.items():
        family = load_family(find_family(name))
        generator = Generator(family)
        for at, (stem, asks) in enumerate(told):
            for unknown, ask in asks.items():
                single = f"{name}-{at + 1}-{unknown}"
                seed = zlib.crc32(single.encode())
                made = next(iter(generator.generate(1, seed)))
                out.append(_single(single, family, unknown, f"{stem} {ask}", made, seed))
    return tuple(out)


@cache
def decoys() -> tuple[Single, ...]:
    """The questions that no family solves, each with its right key."""
    return tuple(
        Single(f"decoy-{at + 1}", "", "", one.text, one.unit,
               {"right": written(one.answer, 3 + at % 2)})
        for at, one in enumerate(DECOYS)
    )  # fmt: skip


def _single(
    name: str, family: Family, unknown: str, text: str, made: Instances, seed: int
) -> Single:
    data = {given: made.values[given] for given in family.given if given in made.values}
    shown = {given: _shown(family.given[given], np.asarray(values)[0])
             for given, values in data.items()}  # fmt: skip
    resolver = resolver_of(family)
    known = {n: v for n, v in data.items() if n in resolver.scalars or n in resolver.lists}
    solved = resolver.solve(known, 1, with_slips=True)
    unit = family.find[unknown].unit
    right = float(unit.from_si(solved.answers[unknown][0]))
    rng = random.Random(seed)
    keys = {"right": written(right, FIGURES)}
    slips = sorted(
        slip
        for slip, answers in solved.wrong.items()
        if np.isfinite(answers[unknown][0])
        and abs(unit.from_si(answers[unknown][0]) - right) > 0.02 * abs(right)
    )
    if slips:
        slipped = float(unit.from_si(solved.wrong[rng.choice(slips)][unknown][0]))
        keys["slip"] = written(slipped, FIGURES)
    keys["near"] = written(right * (1 + rng.choice((-1, 1)) * rng.uniform(0.02, 0.12)), FIGURES)
    keys["far"] = written(right * 10 ** rng.uniform(0.15, 1) ** rng.choice((-1, 1)), FIGURES)
    return Single(name, family.name, unknown, text.format_map(shown), unit.text, keys)


def _shown(given: Given, si: object) -> str:
    """A value as people write it, with its unit."""
    numbers = np.atleast_1d(np.asarray(given.unit.from_si(np.asarray(si, dtype=np.float64))))
    texts = [f"{number:.6g}" for number in numbers[np.isfinite(numbers)].tolist()]
    assert isinstance(given.source, Sampled) or len(texts) == 1
    unit = given.unit.text
    return ", ".join(texts) + (unit if unit == "°" else f" {unit}" if unit else "")


def written(value: float, figures: int) -> str:
    """With so many significant figures, plain or with a power of ten."""
    text = f"{value:.{figures - 1}e}"
    number, _, power = text.partition("e")
    exponent = int(power)
    if -4 <= exponent < figures:
        return f"{float(text):.{max(0, figures - 1 - exponent)}f}"
    return f"{number}e{exponent}"


def questions(path: Path, singles: Sequence[Single], kind: str) -> list[Question]:
    """The questions with the keys of one kind, read from a table."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(("id", "question", "answer", "unit"))
    writer.writerows((s.name, s.text, s.keys[kind], s.unit) for s in singles if kind in s.keys)
    path.write_text(out.getvalue(), encoding="utf-8")
    with open_bank(path) as bank:
        return list(questions_of(bank))


def judged(
    path: Path, singles: Sequence[Single], kind: str, known: Sequence[Family] = ()
) -> Iterator[tuple[Single, Judgement | None]]:
    """Each question alone with all families: the judgement, or None where it stays unmatched."""
    own = {single.name: single for single in singles}
    for question in questions(path, singles, kind):
        found = match_groups(group_questions([question]), known or families())
        made = [one for match in found.matched for one in judge_matched(match)]
        yield own[question.item], made[0] if made else None
