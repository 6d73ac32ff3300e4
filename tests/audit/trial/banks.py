"""The questions of the trial as tables of a stranger, checked bound and unbound, and the count."""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from qbank.audit.check import check_bank
from qbank.audit.verdict import Judgement, Verdict
from tests.audit.trial.chemistry import CHEMISTRY
from tests.audit.trial.fields import FIELDS
from tests.audit.trial.mechanics import MECHANICS
from tests.audit.trial.table import Asked, Part, written
from tests.audit.trial.textbook import TEXTBOOK

NEAR = (*MECHANICS, *FIELDS, *CHEMISTRY)
ALL = (*NEAR, *TEXTBOOK)
KINDS = ("right", "wrong", "wrong2", "wrong3", "rounded", "other")


@dataclass(frozen=True)
class Row:
    """One question with one key."""

    name: str
    asked: Asked
    part: Part
    kind: str
    key: str
    codes: str = ""

    @property
    def text(self) -> str:
        return f"{self.asked.stem} {self.part.ask}".strip().format_map(self.asked.data)

    @property
    def pattern(self) -> str:
        return f"{self.asked.stem} {self.part.ask}".strip()


def unseen(asked: Asked) -> bool:
    """Whether nothing was mended by looking at this question: two of five."""
    return ALL.index(asked) % 5 in (1, 3)


def rows(kind: str, questions: Sequence[Asked] = ALL) -> Iterator[Row]:
    """The parts that have such a key."""
    for asked in questions:
        for at, part in enumerate(asked.parts):
            name = f"{asked.name}-{at + 1}"
            right = written(part.value, part.figures)
            if kind == "right":
                yield Row(name, asked, part, kind, right)
            elif kind.startswith("wrong"):
                place = int(kind[5:] or 1) - 1
                if place < len(part.wrong):
                    codes, value = part.wrong[place]
                    yield Row(name, asked, part, kind, written(value, part.figures), codes)
            else:
                for value in list(part.rounded if kind == "rounded" else part.other)[:1]:
                    yield Row(name, asked, part, kind, written(value, part.figures))


def write(path: Path, made: Sequence[Row]) -> None:
    """A table with a stranger's headers, semicolons between the cells."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(("Ref", "Problem", "Model answer", "Units", "Marks"))
        for row in made:
            style, unit = row.part.style, row.part.unit
            key = f"{row.key} {unit}".strip() if style == "key" else row.key
            writer.writerow((row.name, row.text, key, unit if style == "column" else "", "2"))


def write_binding(path: Path, made: Sequence[Row]) -> None:
    lines = ["bindings:"]
    for row in made:
        lines.append(f"  - family: {row.asked.family}")
        lines.append(f"    wording: {json.dumps(row.pattern, ensure_ascii=False)}")
        lines.append(f"    answers: [{{find: {row.part.unknown}}}]")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


@dataclass(frozen=True)
class Outcome:
    row: Row
    judgement: Judgement

    @property
    def verdict(self) -> Verdict:
        return self.judgement.verdict

    @property
    def named(self) -> bool:
        """Whether the cause that is told first is one that is meant, or leads to the same key."""
        cause = self.judgement.cause
        if cause is None:
            return False
        return any(cause.code.startswith(code) for code in self.row.codes.split("|"))


def outcomes(
    folder: Path, kind: str, *, bound: bool, questions: Sequence[Asked] = ALL
) -> list[Outcome]:
    """How the keys of one kind are judged, in one bank."""
    made = list(rows(kind, questions))
    path = folder / f"{kind}.csv"
    write(path, made)
    bindings = None
    if bound:
        bindings = folder / f"{kind}.yaml"
        write_binding(bindings, made)
    audit = check_bank(path, bindings=bindings)
    found: dict[str, Judgement] = {}
    for judgement in audit.judgements:
        known = found.get(judgement.item)
        if known is None or (judgement.accuses and not known.accuses):
            found[judgement.item] = judgement
    return [Outcome(row, found[row.name]) for row in made]


def counted(found: Sequence[Outcome]) -> Counter[str]:
    """Verdicts, and causes named of those that are wrong."""
    count: Counter[str] = Counter(one.verdict.name for one in found)
    count["named"] = sum(one.verdict is Verdict.WRONG and one.named for one in found)
    return count
