"""Defects of an item's texts, pictures and points."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from qbank.audit.evident.telling import flat, lines, pictures, quoted, stem_of, tell
from qbank.audit.verdict import Judgement
from qbank.finding import Severity
from qbank.formats.source import ReadItem
from qbank.item import Choice, Matching, Ordering

_ANSWERED = frozenset(("interaction", "text-answer", "joint-scoring", "declaration"))  # losses
_LEFT_OVER = re.compile(
    r"\{\{?\s{0,3}[A-Za-z_]\w{0,30}\s{0,3}\}?\}|\[\[\s{0,3}\w{1,30}\s{0,3}\]\]|\$\{\w{1,30}\}"
    r"|(?<![\w.])NaN(?!\w)|(?<!\w)undefined(?=\s{0,2}(?:[.,;?!)]|$|[kcmµ]?[mgsJNWVAΩ]\b))"
    r"|(?<!\w)(?:TODO|FIXME|XXX)(?!\w)|\?\?\?"
)
_FIGURE = re.compile(
    r"\b(?:see|in|shown in|from|as in) (?:the )?(?:figure|diagram|picture|drawing|sketch|graph)"
    r"(?: (?:below|above|shown))?\b(?! of\b)|\b(?:figure|diagram|picture|graph) (?:below|above)\b",
    re.IGNORECASE,
)
_MATH_COMMAND = re.compile(r"\\[a-zA-Z]{2,20}\s{0,2}\{")


def empty_stem(read: ReadItem) -> Iterator[Judgement]:
    """stem-empty: neither stem nor prompt says anything."""
    stem = stem_of(read)
    if stem or any(True for _ in pictures(read)):
        return
    bare = [part for part in read.item.parts if not flat(part.prompt)]
    if bare or not read.item.parts:
        how = "The item has no stem, and no prompt either."
        yield tell(read, bare[0] if bare else None, "stem-empty", Severity.ERROR, how)


def nothing_asked(read: ReadItem) -> Iterator[Judgement]:
    """item-asks-nothing: the item has no part that is answered."""
    # what could not be read, such as an essay, may well be answered
    if not read.item.parts and not any(loss.code in _ANSWERED for loss in read.losses):
        how = "The item has nothing to answer."
        yield tell(read, None, "item-asks-nothing", Severity.ERROR, how)


def left_over(read: ReadItem) -> Iterator[Judgement]:
    """text-left-over: a field that was never filled in, or a note to oneself, stands in a text."""
    for text in _texts(read):
        # braces belong to a formula's own markup where it has commands
        found = None if _MATH_COMMAND.search(text) else _LEFT_OVER.search(text)
        if found:
            how = f"The text {quoted(text)} still holds {quoted(found[0])}."
            yield tell(read, None, "text-left-over", Severity.ERROR, how)
            return


def _texts(read: ReadItem) -> Iterator[str]:
    yield from lines(read.item.stem)
    for part in read.item.parts:
        yield flat(part.prompt)
        match part:
            case Choice():
                options = part.options
            case Ordering():
                options = part.entries
            case Matching():
                options = (*part.sources, *part.targets)
            case _:
                continue
        for option in options:
            yield flat(option.content)


def figure_missing(read: ReadItem) -> Iterator[Judgement]:
    """figure-missing: the text sends the reader to a figure, and there is none."""
    if any(True for _ in pictures(read)):
        return
    prompts = [flat(part.prompt) for part in read.item.parts]
    for text in (stem_of(read), *prompts):
        found = _FIGURE.search(text)
        if found:
            how = f"The text says {quoted(found[0])}, and the item has no picture."
            yield tell(read, None, "figure-missing", Severity.WARNING, how)
            return


def picture_without_data(read: ReadItem) -> Iterator[Judgement]:
    """picture-missing, picture-no-text: a picture without its file, or without a text."""
    for picture in pictures(read):
        if not picture.data:
            how = f"The picture {quoted(picture.name)} is not in the package."
            yield tell(read, None, "picture-missing", Severity.ERROR, how)
        elif not picture.alt.strip():
            how = f"The picture {quoted(picture.name)} has no text for who cannot see it."
            yield tell(read, None, "picture-no-text", Severity.NOTE, how)


def worthless(read: ReadItem) -> Iterator[Judgement]:
    """points-none, points-negative: a right answer earns nothing, or less."""
    for part in read.item.parts:
        if part.points < 0 or not math.isfinite(part.points):
            how = f"A right answer earns {part.points:g} points."
            yield tell(read, part, "points-negative", Severity.ERROR, how, "a positive number")
        elif part.points == 0:
            how = "A right answer earns no points."
            yield tell(read, part, "points-none", Severity.WARNING, how, "a positive number")


CHECKS = (
    nothing_asked,
    empty_stem,
    left_over,
    figure_missing,
    picture_without_data,
    worthless,
)
