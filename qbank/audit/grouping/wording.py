"""The wording of a question: its words in order, with slots where numbers stand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from qbank.audit.question import Quantity, Question

MOST_TOKENS = 2000  # of one text; what follows is not compared
SLOT = "#"  # one number
RUN = "##"  # a list of numbers
LEAST_RUN = 3  # so many numbers with nothing but commas between are a list

_WORD = re.compile(r"[^\W_]+(?:_[^\W_]+)*")
# "3 significant figures" says how to round; it is no quantity of the problem.
_ROUNDING = re.compile(
    r"\s?(?:significant|signif\.?|sig\.?|s\.\s?f\.?|sf\b|decimals?|d\.\s?p\.?|dp\b|figures?|digits?"
    r"|places?)",
    re.IGNORECASE,
)
MOST_TABLE_COLUMNS = 5
_BETWEEN = re.compile(r"[\s,;|]*(?:(?:and|und|et|y)\s+)?\Z", re.IGNORECASE)
_SENTENCE = re.compile(r"(?<=[.?!:;])\s+|\n+")
_ASKS = re.compile(
    r"\?|^\W*(?:(?:then|now|hence|please)\s+)?(?:find|calculate|compute|determine|give|state"
    r"|work out|evaluate|estimate|what|which|how|enter|choose|select|obtain|show)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Wording:
    """Words and slots in order.

    tokens   words in small letters; `SLOT` and `RUN` where numbers stand
    numbers  for each token the positions of its numbers in the list of quantities; () for words
    """

    tokens: tuple[str, ...]
    numbers: tuple[tuple[int, ...], ...]


def wording_of(text: str, quantities: Sequence[Quantity], start: int = 0) -> Wording:
    """The wording of a text from `start` on; `quantities` stand in it in order."""
    tokens: list[str] = []
    numbers: list[tuple[int, ...]] = []
    at = start
    for run in _runs(text, quantities):
        if len(tokens) > MOST_TOKENS:
            break
        if len(run) >= LEAST_RUN:
            _words(text, at, quantities[run[0]].start, tokens, numbers)
            for listed in table_columns([quantities[position].value for position in run]):
                tokens.append(RUN)
                numbers.append(tuple(run[offset] for offset in listed))
            at = max(at, quantities[run[-1]].end)
            continue
        for position in run:
            _words(text, at, quantities[position].start, tokens, numbers)
            tokens.append(SLOT)
            numbers.append((position,))
            at = max(at, quantities[position].end)
    _words(text, at, len(text), tokens, numbers)
    return Wording(tuple(tokens[:MOST_TOKENS]), tuple(numbers[:MOST_TOKENS]))


def wordings_of(question: Question) -> tuple[Wording, Wording]:
    """The wordings of a question's stem, and of its stem and prompt together."""
    inside = sum(quantity.start < len(question.stem) for quantity in question.quantities)
    stem = wording_of(question.stem, question.quantities[:inside])
    return stem, with_prompt(question, stem)


def with_prompt(question: Question, stem: Wording) -> Wording:
    """The wording of stem and prompt, that of the stem being known."""
    if not question.prompt:
        return stem
    inside = sum(quantity.start < len(question.stem) for quantity in question.quantities)
    prompt = wording_of(question.text, question.quantities[inside:], len(question.stem) + 1)
    moved = tuple(tuple(at + inside for at in numbers) for numbers in prompt.numbers)
    return Wording(stem.tokens + prompt.tokens, stem.numbers + moved)


def _words(
    text: str, start: int, end: int, tokens: list[str], numbers: list[tuple[int, ...]]
) -> None:
    for match in _WORD.finditer(text, start, max(start, end)):
        word = match[0]
        # a symbol's letter case tells R from r; that of a word tells nothing
        tokens.append(word if len(word) == 1 or "_" in word else word.lower())
        numbers.append(())
        if len(tokens) > MOST_TOKENS:
            return


def _runs(text: str, quantities: Sequence[Quantity]) -> list[list[int]]:
    """Positions of the quantities, those with nothing but commas between taken together."""
    runs: list[list[int]] = []
    for position, quantity in enumerate(quantities):
        if quantity.unit is None and _ROUNDING.match(text, quantity.end):
            continue
        if runs:
            before = quantities[runs[-1][-1]]
            gap = text[before.end : quantity.start]
            if len(gap) <= 12 and not quantity.symbol and gap and _BETWEEN.match(gap):
                runs[-1].append(position)
                continue
        runs.append([position])
    return runs


def table_columns(values: Sequence[Fraction]) -> list[range]:
    """The columns of a table read row by row, without that of the row numbers 1, 2, 3, ..; as
    offsets in `values`. Numbers that do not begin with row numbers are one list."""
    for width in range(2, MOST_TABLE_COLUMNS + 1):
        rows, rest = divmod(len(values), width)
        if rest == 0 and rows > 1 and all(values[i * width] == i + 1 for i in range(rows)):
            return [range(column, len(values), width) for column in range(1, width)]
    return [range(len(values))]


def asking(question: Question) -> tuple[str, ...]:
    """The words that say what is asked for: those of the prompt, and of the stem's sentences that
    ask (the last one where none plainly does)."""
    return asking_stem(question) + asking_prompt(question)


def asking_stem(question: Question) -> tuple[str, ...]:
    """The words of the stem that ask; see `asking`."""
    inside = [q for q in question.quantities if q.start < len(question.stem)]
    text = _blanked(question.stem, inside)
    sentences = [part for part in _SENTENCE.split(text) if part.strip()]
    asked = [part for part in sentences if _ASKS.search(part)]
    if not asked and not question.prompt.strip():
        asked = sentences[-1:]
    return wording_of(" ".join(asked), ()).tokens


def asking_prompt(question: Question) -> tuple[str, ...]:
    """The words of the prompt, without numbers."""
    offset = len(question.stem) + 1
    inside = [q for q in question.quantities if q.start >= offset]
    return wording_of(_blanked(question.prompt, inside, offset), ()).tokens


def _blanked(text: str, quantities: Sequence[Quantity], offset: int = 0) -> str:
    parts = []
    at = 0
    for quantity in quantities:
        parts.append(text[at : max(at, quantity.start - offset)])
        at = max(at, quantity.end - offset)
    return " ".join([*parts, text[at:]])
