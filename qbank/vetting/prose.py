"""Sentences of a family as plain words, and how hard they are to read."""

from __future__ import annotations

import re
from collections.abc import Iterable

from qbank.family.model import Sentence, Setting, TableField, WordField

_WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*|\d[\d.,]*")
_END = re.compile(r"[.!?:](?=\s|$)")
_VOWELS = re.compile(r"[aeiouy]+")


def plain(sentence: Sentence, setting: Setting | None = None) -> str:
    """A sentence with numbers for its fields; words of the setting put in where one is given."""
    parts = []
    for part in sentence:
        if isinstance(part, str):
            parts.append(part)
        elif isinstance(part, WordField):
            known = setting.words if setting else {}
            parts.append(known.get(part.word, part.word))
        elif not isinstance(part, TableField):
            parts.append("1")
    return "".join(parts)


def words_of(sentence: Sentence, setting: Setting | None = None) -> list[str]:
    """Its words; a field counts as one."""
    return _WORD.findall(plain(sentence, setting))


def counted(paragraphs: Iterable[str]) -> tuple[int, int, int]:
    """Sentences, words and syllables of some paragraphs.

    Each paragraph ends a sentence. Syllables are counted by groups of vowels, without a silent e
    or ed at the end: a usual approximation for English.
    """
    sentences = words = syllables = 0
    for paragraph in paragraphs:
        found = _WORD.findall(paragraph)
        if not found:
            continue
        text = paragraph.rstrip()
        ends = len(_END.findall(text))
        sentences += max(ends + (text[-1:] not in ".!?:"), 1)
        words += len(found)
        syllables += sum(map(_syllables, found))
    return sentences, words, syllables


def _syllables(word: str) -> int:
    """Syllables of an English word; a number counts as one.

    >>> [_syllables(word) for word in ("cord", "table", "pulley", "made", "equilibrium")]
    [1, 2, 2, 1, 5]
    """
    lower = word.lower()
    groups = len(_VOWELS.findall(lower))
    silent = groups > 1 and (
        (lower.endswith("e") and not lower.endswith(("le", "ee")))
        or (lower.endswith("ed") and not lower.endswith(("ted", "ded", "eed")))
    )
    if lower.endswith("ium"):
        groups += 1
    return max(groups - silent, 1)


def reading_ease(sentences: int, words: int, syllables: int) -> float:
    """206.835 - 1.015 words/sentences - 84.6 syllables/words.

    R. Flesch, "A new readability yardstick", Journal of Applied Psychology 32 (1948) 221-233,
    from memory. About 60 to 70 is plain English; below 30 is very hard. For English only.
    """
    return 206.835 - 1.015 * words / sentences - 84.6 * syllables / words
