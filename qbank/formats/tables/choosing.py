"""Options in the cells of a row, and which of them a cell keys, however it says so."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from qbank.audit.question import Quantity
from qbank.audit.reading.numerals import Decimal
from qbank.audit.reading.quantities import read_number
from qbank.audit.reading.text import inline_text

LETTERS = "abcdefghijklmnopqrstuvwxyz"
MAX_OPTIONS = 60
_LETTERED = re.compile(r"(?:^|[\s;,|>])\(?([A-Ja-j])[).:]\s*")
_PICKED_LETTER = re.compile(r"(?:option|choice|answer)?\s*\(?([A-Za-z])[).]?", re.IGNORECASE)
_PICKED_NUMBER = re.compile(r"(?:option|choice|answer)?\s*\(?([0-9]{1,2})[).]?", re.IGNORECASE)
YES = frozenset({"x", "yes", "true", "y", "t", "correct", "right", "ja", "wahr", "richtig", "oui",
                  "vrai", "✓", "✔", "*"})  # fmt: skip
NO = frozenset({"no", "false", "n", "f", "nein", "falsch", "wrong", "incorrect", "non", "faux", "0",
                "0%", "0 %", "1", "100", "100%", "100 %", "-"})  # fmt: skip
_NEARLY = 0.95  # of the best: thirds are written 33, 33 and 34


@dataclass(frozen=True, slots=True)
class Options:
    """The options of a part as (name, text), for cells that pick one of them.

    `base` is the number of the first where they are picked by number.
    """

    texts: tuple[tuple[str, str], ...]
    decimal: Decimal
    base: int

    def picked(self, said: str) -> frozenset[int]:
        """Which options a cell keys: by text, letter, number, several of them, or by value."""
        if not said:
            return frozenset()
        one = self.pick(said)
        if one is not None:
            return frozenset({one})
        several = [self.pick(part.strip()) for part in re.split(r"[,;|/&]|\band\b", said)]
        if len(several) > 1 and all(at is not None for at in several):
            return frozenset(at for at in several if at is not None)
        if said.isalpha() and said.isupper() and 1 < len(said) <= 5:
            letters = [self.pick(letter) for letter in said]
            if all(at is not None for at in letters):
                return frozenset(at for at in letters if at is not None)
        return frozenset()

    def pick(self, said: str) -> int | None:
        """The one option a cell keys; None where it keys none, or it is not sure which."""
        plain = inline_text(said)
        texts = [inline_text(text) for _, text in self.texts]
        if texts.count(plain) == 1:
            return texts.index(plain)
        if letter := _PICKED_LETTER.fullmatch(plain):
            return self._lettered(letter[1].lower())
        if number := _PICKED_NUMBER.fullmatch(plain):
            at = int(number[1]) - self.base
            if 0 <= at < len(self.texts):
                return at
        quantity = read_number(plain, self.decimal)
        if quantity is None:
            return None
        fits = [n for n, text in enumerate(texts) if self._equal(quantity, text)]
        return fits[0] if len(fits) == 1 else None

    def said(self, cell: str, wanted: str) -> str | None:
        """What a cell has to say to key the option of that name, in the way it keys one now; None
        where that is not sure."""
        names = [name for name, _ in self.texts]
        at = names.index(wanted) if wanted in names else -1
        core = cell.strip()
        if at < 0 or self.pick(core) is None:
            return None
        texts = [inline_text(text) for _, text in self.texts]
        new = self.texts[at][1]
        if inline_text(core) not in texts:
            for pattern, anew in ((_PICKED_LETTER, LETTERS[at : at + 1]),
                                  (_PICKED_NUMBER, str(at + self.base))):  # fmt: skip
                if match := pattern.fullmatch(core):
                    name = wanted if pattern is _PICKED_LETTER and wanted.isalpha() else anew
                    name = name.upper() if match[1].isupper() else name
                    new = core[: match.start(1)] + name + core[match.end(1) :]
                    break
        return cell.replace(core, new, 1) if self.pick(new) == at else None

    def _lettered(self, letter: str) -> int | None:
        names = [name.lower() for name, _ in self.texts]
        if letter in names:
            return names.index(letter)
        at = LETTERS.index(letter)
        return at if at < len(names) and not any(name.isalpha() for name in names) else None

    def _equal(self, quantity: Quantity, text: str) -> bool:
        other = read_number(text, self.decimal)
        if other is None:
            return False
        if quantity.unit is None or other.unit is None:
            return quantity.value == other.value
        return quantity.unit.dimension == other.unit.dimension and math.isclose(
            quantity.si, other.si, rel_tol=1e-12
        )


def earning(cells: Sequence[str], decimal: Decimal) -> frozenset[int]:
    """The options that earn the most, by a cell for each: "100", "50 %", "yes" or "x"."""
    earned = []
    for cell in cells:
        word = cell.strip().lower()
        read = read_number(word, decimal) if word not in YES else None
        earned.append(1.0 if word in YES else float(read.value) if read is not None else 0.0)
    best = max(earned, default=0.0)
    return frozenset(n for n, one in enumerate(earned) if best > 0 and one >= _NEARLY * best)


def split_lettered(text: str) -> tuple[str, list[str]] | None:
    """What stands before "A) … B) …", and the options; None where there are none in order."""
    marks = list(_LETTERED.finditer(text[:20_000]))
    firsts = [n for n, match in enumerate(marks) if match[1].lower() == "a"]
    if not firsts:
        return None
    marks = marks[firsts[-1] :]  # the "a." of a sentence may stand before
    letters = [match[1].lower() for match in marks]
    if len(marks) < 2 or letters != list(LETTERS[: len(marks)]):
        return None
    ends = [match.start() for match in marks[1:]] + [len(text)]
    options = [
        text[match.end() : end].strip(" ;,|\n\r\t") for match, end in zip(marks, ends, strict=True)
    ]
    return text[: marks[0].start()].strip(), options


def picks_by_letter(said: str) -> bool:
    """Whether a cell is one letter of an option and nothing else."""
    return _PICKED_LETTER.fullmatch(said.strip()) is not None


def split_options(cell: str) -> list[str]:
    """The options of one cell: by letters "A) … B) …", lines, bars or semicolons."""
    lettered = split_lettered(cell)
    if lettered is not None and not lettered[0]:
        return lettered[1]
    for separator in ("\n", "|", ";", "\t", ","):
        parts = [part.strip() for part in cell.split(separator) if part.strip()]
        if len(parts) >= 2:
            return parts[:MAX_OPTIONS]
    return [cell.strip()] if cell.strip() else []


def letter(n: int) -> str:
    """The name of an option that has none."""
    return LETTERS[n] if n < len(LETTERS) else f"o{n + 1}"
