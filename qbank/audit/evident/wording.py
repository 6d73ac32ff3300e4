"""Defects of an item's texts, pictures and points."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator

from qbank.audit.evident.telling import quoted, tell
from qbank.audit.reading.shown import Shown, written
from qbank.audit.verdict import Judgement
from qbank.finding import Severity

_ANSWERED = frozenset(("interaction", "text-answer", "joint-scoring", "declaration"))  # losses
_LEFT_OVER = re.compile(
    r"\{\{?\s{0,3}[A-Za-z_]\w{0,30}\s{0,3}\}?\}|\[\[\s{0,3}\w{1,30}\s{0,3}\]\]|\$\{\w{1,30}\}"
    r"|(?<![\w.])NaN(?!\w)|(?<!\w)undefined(?=\s{0,2}(?:[.,;?!)]|$|[kcmµ]?[mgsJNWVAΩ]\b))"
    r"|(?<!\w)(?:TODO|FIXME|XXX)(?!\w)|\?\?\?"
)
_LEFT_OVER_HOLDS = ("{", "[[", "NaN", "undefined", "TODO", "FIXME", "XXX", "???")
_FIGURE = re.compile(
    r"\b(?:see|in|shown in|from|as in) (?:the )?(?:figure|diagram|picture|drawing|sketch|graph)"
    r"(?: (?:below|above|shown))?\b(?! of\b)|\b(?:figure|diagram|picture|graph) (?:below|above)\b",
    re.IGNORECASE,
)
_FIGURE_HOLDS = (
    "igure", "iagram", "icture", "rawing", "ketch", "raph",
    "IGURE", "IAGRAM", "ICTURE", "RAWING", "KETCH", "RAPH",
)  # fmt: skip
_MATH_COMMAND = re.compile(r"\\[a-zA-Z]{2,20}\s{0,2}\{")


def empty_stem(shown: Shown) -> Iterator[Judgement]:
    """stem-empty: neither stem nor prompt says anything."""
    if shown.stem or shown.pictures:
        return
    prompts = zip(shown.item.parts, shown.prompts, strict=True)
    bare = [part for part, prompt in prompts if not prompt]
    if bare or not shown.item.parts:
        how = "The item has no stem, and no prompt either."
        yield tell(shown, bare[0] if bare else None, "stem-empty", Severity.ERROR, how)


def nothing_asked(shown: Shown) -> Iterator[Judgement]:
    """item-asks-nothing: the item has no part that is answered."""
    # what could not be read, such as an essay, may well be answered
    if not shown.item.parts and not any(loss.code in _ANSWERED for loss in shown.read.losses):
        how = "The item has nothing to answer."
        yield tell(shown, None, "item-asks-nothing", Severity.ERROR, how)


def left_over(shown: Shown) -> Iterator[Judgement]:
    """text-left-over: a field that was never filled in, or a note to oneself, stands in a text."""
    texts = list(written(shown))
    if not _holds("\n".join(texts), _LEFT_OVER_HOLDS):
        return
    for text in texts:
        # braces belong to a formula's own markup where it has commands
        found = None if _MATH_COMMAND.search(text) else _LEFT_OVER.search(text)
        if found:
            how = f"The text {quoted(text)} still holds {quoted(found[0])}."
            yield tell(shown, None, "text-left-over", Severity.ERROR, how)
            return


def figure_missing(shown: Shown) -> Iterator[Judgement]:
    """figure-missing: the text sends the reader to a figure, and there is none."""
    if shown.pictures:
        return
    texts = (shown.stem, *shown.prompts)
    if not _holds("\n".join(texts), _FIGURE_HOLDS):
        return
    for text in texts:
        found = _FIGURE.search(text)
        if found:
            how = f"The text says {quoted(found[0])}, and the item has no picture."
            yield tell(shown, None, "figure-missing", Severity.WARNING, how)
            return


def _holds(text: str, pieces: Iterable[str]) -> bool:
    """Whether one of the pieces stands in a text; much quicker than to search for a pattern."""
    return any(piece in text for piece in pieces)


def picture_without_data(shown: Shown) -> Iterator[Judgement]:
    """picture-missing, picture-no-text: a picture without its file, or without a text."""
    for picture in shown.pictures:
        if not picture.data:
            how = f"The picture {quoted(picture.name)} is not in the package."
            yield tell(shown, None, "picture-missing", Severity.ERROR, how)
        elif not picture.alt.strip():
            how = f"The picture {quoted(picture.name)} has no text for who cannot see it."
            yield tell(shown, None, "picture-no-text", Severity.NOTE, how)


def worthless(shown: Shown) -> Iterator[Judgement]:
    """points-none, points-negative: a right answer earns nothing, or less."""
    for part in shown.item.parts:
        if part.points < 0 or not math.isfinite(part.points):
            how = f"A right answer earns {part.points:g} points."
            yield tell(shown, part, "points-negative", Severity.ERROR, how, "a positive number")
        elif part.points == 0:
            how = "A right answer earns no points."
            yield tell(shown, part, "points-none", Severity.WARNING, how, "a positive number")


CHECKS = (
    nothing_asked,
    empty_stem,
    left_over,
    figure_missing,
    picture_without_data,
    worthless,
)
