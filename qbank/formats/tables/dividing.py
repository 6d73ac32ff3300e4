"""A question of several parts in one cell, divided where it says "(a)", "(b)" and so on."""

from __future__ import annotations

import re
from collections.abc import Sequence

MOST_TEXT = 20_000


def divided(text: str, marks: Sequence[str]) -> tuple[str, dict[str, str]]:
    """What comes before the first part, and the text of each part by its mark.

    The marks stand as "(a)", "a)" or "a." at the start, after a blank or after a tag, each once
    and in order. Where they do not, the whole text and no parts.
    """
    ends: list[tuple[int, int]] = []
    at = 0
    for mark in marks:
        found = list(_mark(mark).finditer(text[:MOST_TEXT], at))
        if not mark or len(found) != 1:
            return text, {}
        ends.append((found[0].start("mark"), found[0].end()))
        at = found[0].end()
    starts = [start for start, _ in ends[1:]] + [len(text)]
    parts = {
        mark: text[end:start].strip(" \n\r\t;")
        for mark, (_, end), start in zip(marks, ends, starts, strict=True)
    }
    if not all(parts.values()) or "<" in text:  # markup would be torn apart
        return text, {}
    return text[: ends[0][0]].strip(), parts


def _mark(mark: str) -> re.Pattern[str]:
    name = re.escape(mark)
    return re.compile(rf"(?:^|(?<=[\s;.]))(?P<mark>\({name}\)|{name}\)|{name}\.)\s+", re.IGNORECASE)
