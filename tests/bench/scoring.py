"""Reading and scoring: time beside a bare lxml parse of the same bytes.

Two banks of siblings, each item answered in its own way: an item of one number with three slips
and a short solution, where the number of items a second is promised, and a shipped family of
several parts, whose documents are many times longer. A third figure scores documents that share
no rules, each with a program of its own to build.
"""

from __future__ import annotations

import tempfile
import time
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from lxml import etree

from qbank.family.library import find_family
from qbank.family.loader import load_family
from qbank.formats.writing import write_bank
from qbank.generation import Generator
from qbank.item import (
    BankInfo,
    Display,
    Item,
    Math,
    NumberEntry,
    Paragraph,
    Pool,
    Tolerance,
    WrongValue,
)
from qbank.rendering.renderer import Renderer
from qbank.scoring import programs
from qbank.scoring.compiled import compile_item
from tests.bench.measure import Figure

FAMILY = "stepped-drum"
FORMATS = ("qti-2.1", "qti-3.0")
SHORT, LONG = 3_000, 400
RATIO = 6.0
RATE = 3_000.0

Document = tuple[bytes, dict[str, str]]


def figures() -> Iterator[Figure]:
    banks = {"one number": _short_items(), FAMILY: _family_items()}
    for name in FORMATS:
        for title, items in banks.items():
            documents = _documents(name, items)
            ours, bare = _seconds(_score, documents), _seconds(_parse, documents)
            size = sum(len(data) for data, _ in documents) / len(documents) / 1000
            label = f"{name}, {title} ({size:.0f} kB)"
            yield Figure("scoring", f"{label}: read and score / bare lxml", ours / bare, "x", RATIO)
            rate = len(documents) / ours
            promised = RATE if title == "one number" else None
            yield Figure("scoring", f"{label}: items a second", rate, "1/s", promised, "at least")
    yield _unshared(_documents("qti-2.1", banks[FAMILY]))


def _unshared(documents: Sequence[Document]) -> Figure:

    def score_alone(data: bytes, answers: dict[str, str]) -> None:
        programs.forget()
        _score(data, answers)

    ratio = _seconds(score_alone, documents) / _seconds(_parse, documents)
    return Figure("scoring", f"{FAMILY}, no rules shared: read and score / bare lxml", ratio, "x")


def _score(data: bytes, answers: dict[str, str]) -> None:
    compile_item(data).score(answers)


def _parse(data: bytes, _answers: dict[str, str]) -> None:
    etree.fromstring(data)


def _seconds(work: Callable[[bytes, dict[str, str]], None], documents: Sequence[Document]) -> float:
    """Processor seconds of one core, so that other work on the machine does not count."""

    def once() -> float:
        start = time.process_time()
        for data, answers in documents:
            work(data, answers)
        return time.process_time() - start

    return min(once() for _ in range(5))


def _documents(name: str, items: Sequence[Item]) -> list[Document]:
    """The items' bytes as written in a format, each with responses to it."""
    info = BankInfo("bench", "bench", "en", (Pool("bench", "bench", len(items), 8),))
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "bench.zip"
        write_bank(info, items, target, name)
        with zipfile.ZipFile(target) as archive:
            paths = {Path(path).stem: path for path in archive.namelist()}
            return [
                (archive.read(paths[item.identifier]), _answers(k, item))
                for k, item in enumerate(items)
            ]


def _answers(k: int, item: Item) -> dict[str, str]:
    """Responses: the key, a slip in each number, or nothing, in turn."""
    answers = {}
    for part in item.parts:
        if not isinstance(part, NumberEntry) or k % 3 == 2:
            continue
        slip = part.wrong_values[k % len(part.wrong_values)] if part.wrong_values else None
        text = part.key_text if k % 3 == 0 or slip is None else repr(slip.value)
        answers[f"RESPONSE_{part.identifier}"] = text
    return answers


def _family_items() -> list[Item]:
    family = load_family(find_family(FAMILY))
    renderer = Renderer(family)
    chunks = Generator(family).generate(LONG, seed=1)
    return [item for chunk in chunks for item in renderer.items(chunk)]


MATHML = 'xmlns="http://www.w3.org/1998/Math/MathML"'
POWER = Math(
    f"<math {MATHML}><mi>P</mi><mo>=</mo><mi>F</mi><mo>⁢</mo><mi>v</mi><mo>=</mo><mi>m</mi>"
    "<mo>⁢</mo><mi>g</mi><mo>⁢</mo><mi>v</mi></math>",
    "P = F·v = m·g·v",
)


def _short_items() -> list[Item]:
    """A lift of a crate: the power asked for, three slips known, a solution with formulas."""
    items = []
    for k in range(SHORT):
        mass = 40 + k
        power = round(mass * 9.81 * 0.5, 1)
        slips = tuple(
            WrongValue(name, power * f, power * f * 0.99, power * f * 1.01, (said, POWER, "."))
            for name, f, said in (
                ("mass as weight", 1 / 9.81, "The weight is m·g: "),
                ("speed doubled", 2.0, "The speed counts once: "),
                ("kinetic energy", 0.25, "The lift is steady: "),
            )
        )
        part = NumberEntry(
            "P", ("Enter the power in W, rounded to one decimal.",), power, f"{power:.1f}",
            f"{power:.1f} W", "W", Tolerance(power * 0.995, power * 1.005, "0.5 %"), 1.0,
            decimals=1, wrong_values=slips,
        )  # fmt: skip
        stem = (
            Paragraph((f"A winch lifts a crate of {mass} kg at a steady 0.50 m/s.",)),
            Paragraph(("Losses are left out. The power follows from ", POWER, ".")),
        )
        solution = (
            Paragraph(("The speed is steady, so the rope's force is the weight.",)),
            Display(POWER),
            Paragraph((f"P = {mass} kg · 9.81 m/s² · 0.50 m/s = {power} W",)),
        )
        items.append(Item(f"i{k}", "A winch on the quay", "en", stem, (part,), solution))
    return items
