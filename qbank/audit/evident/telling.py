"""What the checks share: making a judgement, and texts as a reader sees them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from qbank.audit.verdict import Judgement, Level, Verdict
from qbank.finding import Severity
from qbank.formats.content import plain
from qbank.formats.source import ReadItem
from qbank.item import (
    Block,
    Choice,
    Display,
    Image,
    Inline,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Part,
)

LONGEST_QUOTE = 60


def tell(
    shown: Shown,
    part: Part | None,
    code: str,
    severity: Severity,
    how: str,
    expected: str = "",
) -> Judgement:
    """A judgement of level 5; an error is a defect, anything less leaves the key unjudged."""
    return Judgement(
        item=shown.item.identifier,
        part="" if part is None else part.identifier,
        place=shown.read.place,
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
    return _one_line(plain(tuple(content)))


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _lines(blocks: Iterable[Block]) -> Iterator[str]:
    """The texts of blocks, a line each; pictures have none."""
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


class Shown:
    """An item as its reader sees it; the texts are made once for all checks.

    lines     of the stem; `stem` has them in one text
    prompts   of each part, a line each
    options   of each part: the options of a choice, the entries to order, sources then targets
    pictures  of stem and solution
    """

    __slots__ = ("item", "lines", "options", "pictures", "prompts", "read", "stem")

    def __init__(self, read: ReadItem) -> None:
        item = read.item
        self.read = read
        self.item = item
        self.lines = list(_lines(item.stem))
        self.stem = "\n".join([line for line in self.lines if line])
        self.prompts = [flat(part.prompt) for part in item.parts]
        self.options = [[flat(one.content) for one in options_of(part)] for part in item.parts]
        self.pictures = [
            block for block in (*item.stem, *item.solution) if isinstance(block, Image)
        ]


def options_of(part: Part) -> tuple[Option, ...]:
    """All that a part shows to be picked, ordered or matched; empty where a number is entered."""
    match part:
        case NumberEntry():
            return ()
        case Choice():
            return part.options
        case Ordering():
            return part.entries
        case Matching():
            return (*part.sources, *part.targets)


def alike(text: str) -> str:
    """The text without differences of space and case."""
    return _one_line(text).casefold()


def quoted(text: str) -> str:
    """A piece of a text, for a message."""
    short = text if len(text) <= LONGEST_QUOTE else text[: LONGEST_QUOTE - 1] + "…"
    return f"'{short}'"
