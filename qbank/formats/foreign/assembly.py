"""From tokens with holes to a stem and parts: which words belong to which answer field.

Words in the same paragraph before an interaction are its prompt, words after it its unit where
they name one. What stands between two interactions leads to the second.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache

from lxml import etree

from qbank.errors import QbankError
from qbank.expressions.units import parse_unit
from qbank.formats.foreign.content import (
    Break,
    ContentReader,
    Hole,
    Token,
    UnitText,
    evened,
    plain_of,
)
from qbank.item import Block, Inline, Math, Paragraph, Part

GAP = "____"
MAX_PARTS = 100
_WORD = re.compile(r"\s*([^\s.,;:?!]+(?:[./·*^-][^\s.,;:?!]+)*)([.,;:?!)]*)(?=\s|$)")
# Words of a sentence that are symbols of units as well: in, a, as, at, min, h are the usual ones.
_NO_UNITS = frozenset(["a", "in", "as", "at", "is", "and", "to", "or", "d"])

MakePart = Callable[[etree._Element, tuple[Inline, ...], str], Part | None]


def assembled(
    tokens: Sequence[Token],
    reader: ContentReader,
    make: MakePart,
    takes_unit: Callable[[etree._Element], bool],
) -> tuple[tuple[Block, ...], tuple[Part, ...]]:
    """The stem and the parts of a body; `make` makes a part of an interaction, its prompt and
    its unit, or None."""
    segments: list[list[Token]] = [[]]
    holes: list[Hole] = []
    for token in tokens:
        if isinstance(token, Hole):
            holes.append(token)
            segments.append([])
        else:
            segments[-1].append(token)
    if not holes:
        return tuple(reader.as_blocks(segments[0])), ()
    stem: list[Block] = []
    parts: list[Part] = []
    for n, hole in enumerate(holes[:MAX_PARTS]):
        before, lead = _split_lead(segments[n])
        prompt: list[Inline] = []
        for block in reader.as_blocks(before):
            if n == 0:
                stem.append(block)
            elif isinstance(block, Paragraph):
                prompt.extend((*block.content, " "))
            else:
                reader.losses.add(
                    "order", "what stands between answer fields was moved to the stem", hole.element
                )
                stem.append(block)
        unit = ""
        if lead and isinstance(lead[-1], UnitText):
            unit = str(lead.pop())
        prompt.extend(lead)
        unit_after, rest = "", segments[n + 1]
        if takes_unit(hole.element):
            unit_after, rest = _unit_after(rest)
        last_of_line = n + 1 == len(holes) or any(not isinstance(t, str | Math) for t in rest)
        if last_of_line:
            tail, rest = _split_tail(rest)
            if re.search(r"\w", plain_of(tail)):
                prompt.extend((f" {GAP} ", *tail))
        segments[n + 1] = rest
        part = make(hole.element, evened(prompt), unit or unit_after)
        if part is not None:
            parts.append(part)
        elif prompt:
            stem.append(Paragraph(evened(prompt)))
    if len(holes) > MAX_PARTS:
        reader.losses.add("parts", f"only the first {MAX_PARTS} answer fields are read")
    after = reader.as_blocks(segments[-1])
    if after:
        reader.losses.add("order", "what stands after the last answer field was moved to the stem")
        stem.extend(after)
    return tuple(b for b in stem if b != Paragraph(())), tuple(parts)


def _split_lead(tokens: Sequence[Token]) -> tuple[list[Token], list[Inline]]:
    """What comes before the line an interaction stands in, and that line."""
    lead: list[Inline] = []
    n = len(tokens)
    while n and isinstance(token := tokens[n - 1], str | Math):
        lead.insert(0, token)
        n -= 1
    while lead and isinstance(lead[-1], str) and not lead[-1].strip():
        lead.pop()
    return list(tokens[:n]), lead


def _split_tail(tokens: Sequence[Token]) -> tuple[list[Inline], list[Token]]:
    """The rest of the line after an interaction, and what follows it."""
    tail: list[Inline] = []
    for n, token in enumerate(tokens):
        if not isinstance(token, str | Math):
            return tail, list(tokens[n:])
        tail.append(token)
    return tail, []


def _unit_after(tokens: Sequence[Token]) -> tuple[str, list[Token]]:
    """The unit that the words after an answer field start with, and the words without it."""
    rest = list(tokens)
    while rest and isinstance(rest[0], str) and not rest[0].strip():
        rest.pop(0)
    if not rest or not isinstance(rest[0], str):
        return "", list(tokens)
    if isinstance(rest[0], UnitText):
        return str(rest[0]), rest[1:]
    alone = rest[0].strip().rstrip(".,;:?!")
    if (len(rest) == 1 or isinstance(rest[1], Break)) and is_unit(alone):
        return alone, rest[1:]
    word = _WORD.match(rest[0][:80])
    if word is None or not is_unit(word[1]):
        return "", list(tokens)
    return word[1], [rest[0][word.end(1) :], *rest[1:]]


def is_unit(text: str) -> bool:
    """Whether a text names a unit, and not a word that could be one."""
    if not text or len(text) > 40 or text in _NO_UNITS or text == "1" or text[0].isdigit():
        return False
    return _is_known(text)


@lru_cache(maxsize=1024)
def _is_known(text: str) -> bool:
    try:
        parse_unit(text)
    except QbankError:
        return False
    return True
