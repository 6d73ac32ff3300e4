"""Banks our writers make, with wrong keys put into some items, and judgements that accuse them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

import qbank
from qbank.audit.correction.numerals import in_style, rounded, whole_numeral
from qbank.audit.verdict import Audit, Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.formats.registry import FORMATS
from qbank.item import BankInfo, Choice, Item, NumberEntry, Pool
from qbank.place import Place
from qbank.rendering.renderer import Renderer


@cache
def items_of(family: str, count: int = 3) -> tuple[Item, ...]:
    loaded = qbank.load_family(qbank.find_family(family))
    renderer = Renderer(loaded)
    chunks = qbank.generate(loaded, count=count, seed=9)
    return tuple(item for chunk in chunks for item in renderer.items(chunk))


def write(items: Iterable[Item], target: Path, name: str, unpacked: bool = False) -> Path:
    items = tuple(items)
    pool = Pool("p", "p", len(items), max(len(item.parts) for item in items))
    path = target / FORMATS[name].file_name("bank", unpacked)
    qbank.write_bank(BankInfo("bank", "bank", "en", (pool,)), items, path, name, unpacked=unpacked)
    return path


def spoiled(part: NumberEntry, factor: float = 1.37) -> NumberEntry:
    """The part with a wrong key, its band around it, and no list of known mistakes to collide."""
    figures = part.figures or 3
    key = float(f"{part.key * factor:.{figures - 1}e}")
    text = in_style(
        rounded(key, figures),
        whole_numeral(part.key_text),
    )
    scale = abs(key / part.key)
    band = part.tolerance
    return replace(
        part,
        key=float(text),
        key_text=text,
        key_shown=f"{text} {part.unit}".strip(),
        tolerance=replace(
            band,
            low=float(text) - scale * (part.key - band.low),
            high=float(text) + scale * (band.high - part.key),
        ),
        wrong_values=(),
    )


def accuse(item: Item, wrong: NumberEntry, right: NumberEntry, number: int = 0) -> Judgement:
    """A proof that the part is wrong, with the band it should have."""
    return Judgement(
        item=item.identifier,
        part=wrong.identifier,
        place=Place("bank", 1, 1),
        number=number,
        verdict=Verdict.WRONG,
        level=Level.SAME_FAMILY,
        code="derived",
        severity=Severity.ERROR,
        states=wrong.key_shown,
        expected=f"{right.key_text} {right.unit}".strip(),
        value=right.key,
        low=right.tolerance.low,
        high=right.tolerance.high,
    )


def accuse_choice(item: Item, part: Choice, correct: tuple[str, ...]) -> Judgement:
    keyed = ", ".join(option.identifier for option in part.options if option.correct)
    return Judgement(
        item=item.identifier, part=part.identifier, place=Place("bank", 1, 1), number=0,
        verdict=Verdict.WRONG, level=Level.MATCHED, code="derived", severity=Severity.ERROR,
        states=keyed, correct=correct,
    )  # fmt: skip


def audit_of(*judgements: Judgement) -> Audit:
    return Audit("bank", "any", len(judgements), list(judgements))
