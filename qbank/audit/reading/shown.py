"""An item as the one who answers it sees it: its texts, made once for all who look at them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from qbank.audit.reading.text import inline_text, plain_text
from qbank.formats.source import ReadItem
from qbank.item import (
    Block,
    Choice,
    Display,
    Image,
    Inline,
    Matching,
    Math,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Part,
)


class Shown:
    """The texts and pictures of an item that was read.

    stem      as one line
    prompts   of each part, a line each
    options   of each part: the options of a choice, the entries to order, sources then targets
    pictures  of stem and solution
    """

    __slots__ = ("item", "options", "pictures", "prompts", "read", "stem")

    def __init__(self, read: ReadItem) -> None:
        item = read.item
        self.read = read
        self.item = item
        self.stem = plain_text(item.stem)
        self.prompts = [inline_text(part.prompt) for part in item.parts]
        self.options = [
            [inline_text(option.content) for option in options_of(part)] for part in item.parts
        ]
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


def arranged(part: Ordering | Matching, texts: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The entries in their right order, or the right pairs, by the `texts` of its options."""
    if isinstance(part, Ordering):
        return tuple((text,) for text in texts)
    count = len(part.sources)
    sources = {one.identifier: text for one, text in zip(part.sources, texts[:count], strict=True)}
    targets = {one.identifier: text for one, text in zip(part.targets, texts[count:], strict=True)}
    return tuple(
        sorted((sources.get(one, one), targets.get(other, other)) for one, other in part.pairs)
    )


def in_line(entries: Sequence[Sequence[str]]) -> str:
    """An order, or pairs, in one line."""
    if all(len(entry) == 1 for entry in entries):
        return " → ".join([entry[0].removesuffix(".") for entry in entries])
    return "; ".join([" – ".join(entry) for entry in entries])


def written(shown: Shown) -> Iterator[str]:
    """The texts of an item as they were written: markup in them is not read."""
    for block in shown.item.stem:
        yield from _written(block)
    for part in shown.item.parts:
        yield _pieces(part.prompt)
        for option in options_of(part):
            yield _pieces(option.content)


def _written(block: Block) -> Iterator[str]:
    match block:
        case Paragraph():
            yield _pieces(block.content)
        case Display():
            yield block.math.plain
        case Image():
            return
        case _:
            yield block.caption
            for row in (block.header, *block.rows):
                yield from map(_pieces, row)


def _pieces(content: Iterable[Inline]) -> str:
    return "".join([piece.plain if isinstance(piece, Math) else piece for piece in content])
