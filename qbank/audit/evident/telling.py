"""What the checks share: making a judgement, and texts as a reader sees them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.formats.content import plain
from qbank.formats.source import ReadItem
from qbank.item import Block, Display, Image, Inline, NumberEntry, Paragraph, Part

LONGEST_QUOTE = 60
_BLANK = re.compile(r"\s+")


def tell(
    read: ReadItem,
    part: Part | None,
    code: str,
    severity: Severity,
    how: str,
    expected: str = "",
) -> Judgement:
    """A judgement of level 5; an error is a defect, anything less leaves the key unjudged."""
    return Judgement(
        item=read.item.identifier,
        part="" if part is None else part.identifier,
        place=read.place,
        number=0,
        verdict=Verdict.DEFECT if severity is Severity.ERROR else Verdict.REMARK,
        level=Level.SELF_EVIDENT,
        code=code,
        severity=severity,
        states=part.key_shown or part.key_text if isinstance(part, NumberEntry) else "",
        expected=expected,
        how=how,
    )


def flat(content: Iterable[Inline]) -> str:
    """Text as one line."""
    return _BLANK.sub(" ", plain(tuple(content))).strip()


def lines(blocks: Iterable[Block]) -> Iterator[str]:
    """The texts of blocks, a line each; of a picture what is read out."""
    for block in blocks:
        match block:
            case Paragraph():
                yield flat(block.content)
            case Display():
                yield block.math.plain.strip()
            case Image():
                continue
            case _:
                cells = [block.caption, *map(flat, block.header)]
                yield " ".join([*cells, *(flat(cell) for row in block.rows for cell in row)])


def stem_of(read: ReadItem) -> str:
    """The stem as lines of text."""
    return "\n".join(line for line in lines(read.item.stem) if line)


def pictures(read: ReadItem) -> Iterator[Image]:
    """The pictures of stem and solution."""
    for block in (*read.item.stem, *read.item.solution):
        if isinstance(block, Image):
            yield block


def alike(text: str) -> str:
    """The text without differences of space and case."""
    return _BLANK.sub(" ", text).strip().casefold()


def quoted(text: str) -> str:
    """A piece of a text, for a message."""
    short = text if len(text) <= LONGEST_QUOTE else text[: LONGEST_QUOTE - 1] + "…"
    return f"'{short}'"
