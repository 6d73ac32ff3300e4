"""What checking keys needs of an item, so that readers can leave out the rest.

Worked solutions and feedback are most of an item by size, and no key is judged by them. A reader
asked for less than the whole may leave out all that `skimmed` leaves out, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from qbank.item import (
    Block,
    Choice,
    Display,
    Image,
    Inline,
    Item,
    Matching,
    Math,
    Metadata,
    NumberEntry,
    Option,
    Ordering,
    Paragraph,
    Part,
    Table,
)

PRESENT = b"\0"  # stands for the data of a picture that is there


def skimmed(item: Item) -> Item:
    """The item without feedback, hints, caution and metadata.

    Of the solution only the pictures are left. A picture's data say no more than whether there
    are any. A formula has no MathML where it has plain text.
    """
    return replace(
        item,
        stem=_blocks(item.stem),
        parts=tuple(map(_part, item.parts)),
        solution=_blocks(block for block in item.solution if isinstance(block, Image)),
        caution="",
        hints=(),
        metadata=Metadata(),
    )


def _part(part: Part) -> Part:
    prompt = _inlines(part.prompt)
    match part:
        case NumberEntry():
            wrong = tuple(replace(value, feedback=()) for value in part.wrong_values)
            return replace(part, prompt=prompt, wrong_values=wrong)
        case Choice():
            return replace(part, prompt=prompt, options=_options(part.options))
        case Ordering():
            return replace(part, prompt=prompt, entries=_options(part.entries))
        case Matching():
            sources, targets = _options(part.sources), _options(part.targets)
            return replace(part, prompt=prompt, sources=sources, targets=targets)


def _options(options: Iterable[Option]) -> tuple[Option, ...]:
    return tuple(
        replace(option, content=_inlines(option.content), feedback=()) for option in options
    )


def _blocks(blocks: Iterable[Block]) -> tuple[Block, ...]:
    return tuple(map(_block, blocks))


def _block(block: Block) -> Block:
    match block:
        case Paragraph():
            return Paragraph(_inlines(block.content))
        case Display():
            return Display(_math(block.math))
        case Image():
            return replace(block, data=PRESENT if block.data else b"")
        case Table():
            header = tuple(map(_inlines, block.header))
            rows = tuple(tuple(map(_inlines, row)) for row in block.rows)
            return replace(block, header=header, rows=rows)


def _inlines(content: Iterable[Inline]) -> tuple[Inline, ...]:
    return tuple(piece if isinstance(piece, str) else _math(piece) for piece in content)


def _math(math: Math) -> Math:
    return Math("", math.plain) if math.plain else math
