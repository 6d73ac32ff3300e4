"""What the words of a stem say about its numbers: weak evidence, for the order of the search; and
strong evidence, where it names each quantity."""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from qbank.audit.matching.trade import INCIDENTAL, QUALIFIERS, SAME, TELLING, plainly
from qbank.family.model import ChooseValue, Enter, Family, Given, Unknown

_TOKEN = re.compile(r"\{(\d+)\}|([^\W\d_][^\W_]*(?:_[^\W_]+)*)|([.?!;:])")
_FUNCTION_WORDS = (
    "a an the of in on at to from by with and or is are was were be been being its it that this"
    " these those which who whose as for how what where into onto than then each one two up out per"
    " not no if when while until has have had having take takes find finds calculate compute"
    " determine give gives answer question use uses used using she he her his him they them"
    " their there here we you your our much many do does did will would can could may must should"
    " now also so very just only some any all other another about over upon above let lets get gets"
    " value unit units units result consider assume assumed ignore ignoring follows following state"
    " called call certain such shows show known make makes made again through"
)
_STOP = frozenset(_FUNCTION_WORDS.split())
_ARTICLES = frozenset({"a", "A", "I", "an"})  # words that look like symbols
_MARK = re.compile(r"(?<!^)\b[B-HJ-Z]\b|(?<=[a-z] )A\b")
_LETTERS = re.compile(r"[^\W\d_]+")
_JOINING, _JOINED = ("and", "while", "whereas", "but"), 4  # in place of so many words
_BEFORE, _AFTER = 14, 6  # words looked at on either side of a number
SYMBOL = 3.0  # what a symbol beside the number is worth; all words of the meaning are worth 1


@lru_cache(maxsize=1024)
def roots(text: str) -> frozenset[str]:
    """The content words of a text, each cut to what its forms have in common."""
    return frozenset(root(m[2]) for m in _TOKEN.finditer(plainly(text)) if m[2]) - {""}


def root(word: str) -> str:
    """A word without its ending; empty for words without content."""
    small = word.lower()
    if small in _STOP or len(small) == 1 or "_" in small:
        return ""
    stem = _cut(small)
    return _CANONICAL.get(stem, stem)


def _cut(small: str) -> str:
    for ending in ("ing", "ies", "es", "s", "ed"):
        if small.endswith(ending) and len(small) - len(ending) > 2:
            small = small[: -len(ending)]
            break
    return small[:7]


# each root of a group of words that mean the same -> the root of the first
_CANONICAL = {
    _cut(word): _cut(group.split()[0]) for group in reversed(SAME) for word in group.split()
}
TELLING_ROOTS = frozenset(_CANONICAL.get(_cut(word), _cut(word)) for word in TELLING)
INCIDENTAL_ROOTS = frozenset(_CANONICAL.get(_cut(word), _cut(word)) for word in INCIDENTAL)
QUALIFYING_ROOTS = frozenset(_CANONICAL.get(_cut(word), _cut(word)) for word in QUALIFIERS)


@dataclass(frozen=True, slots=True)
class Context:
    """What stands around a number: symbols given to it, and words with their distance."""

    symbols: frozenset[str]
    words: dict[str, float]

    def score(self, meaning: frozenset[str], symbols: frozenset[str]) -> float:
        """How well a quantity of this meaning and these symbols fits here; 0 without a sign."""
        found = sum(self.words.get(word, 0.0) for word in meaning) / max(1, len(meaning))
        return found + (SYMBOL if symbols & self.symbols else 0.0)


def contexts(wording: str, columns: int) -> list[Context]:
    """The context of each number of a group's wording."""
    tokens = [(m[1], m[2], m[3], m.start(), m.end()) for m in _TOKEN.finditer(wording)]
    out = [Context(frozenset(), {}) for _ in range(columns)]
    for at, (number, _, _, start, _) in enumerate(tokens):
        if not number or int(number) >= columns:
            continue
        symbols: set[str] = set()
        words: dict[str, float] = {}
        count = 0
        for _, word, stop, _, end in reversed(tokens[max(0, at - _BEFORE) : at]):
            if stop in (".", "?", "!"):
                break
            if not word:
                if not stop:  # another number: what stands before it is its own
                    count += 4
                continue
            if word in _JOINING:  # what stands before it is likely told of another number
                count += _JOINED
                continue
            gap = wording[end:start]
            if (count == 0 and ("=" in gap or (len(word) == 1 and word not in _ARTICLES))) or (
                "_" in word and count < 4
            ):
                symbols.add(word)
            words.setdefault(root(word), max(0.1, 1 - 0.06 * count))
            count += 1
        count = 0
        for other, word, stop, _, _ in tokens[at + 1 : at + 1 + _AFTER]:
            if other or stop in (".", "?", "!"):
                break
            if word:
                words.setdefault(root(word), max(0.05, 0.5 - 0.07 * count))
                count += 1
        words.pop("", None)
        out[int(number)] = Context(frozenset(symbols), words)
    return out


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The words of a family: those of its stem and quantities, those and all its other prose, and
    for each quantity its meaning and symbols."""

    all: frozenset[str]
    prose: frozenset[str]
    meaning: dict[str, frozenset[str]]
    symbols: dict[str, frozenset[str]]


_kept: OrderedDict[str, Vocabulary] = OrderedDict()


def vocabulary(family: Family) -> Vocabulary:
    """The words of a family, kept for the families used last."""
    found = _kept.get(family.digest)
    if found is None:
        found = _kept[family.digest] = _vocabulary(family)
        while len(_kept) > 256:
            _kept.popitem(last=False)
    return found


def _vocabulary(family: Family) -> Vocabulary:
    quantities: dict[str, Given | Unknown] = {**family.given, **family.find}
    prose = [family.title, family.subject.replace("/", " ").replace("-", " ")]
    prose += [quantity.meaning for quantity in quantities.values()]
    prose += [let.meaning for let in family.let.values()]
    paragraphs = family.texts.stem
    prose += [part for paragraph in paragraphs for part in paragraph if isinstance(part, str)]
    prose += [word for setting in family.settings for word in setting.words.values()]
    for ask in family.ask:
        if isinstance(ask, Enter | ChooseValue) and ask.prompt:
            prose.append(" ".join(part for part in ask.prompt if isinstance(part, str)))
    own = frozenset().union(*(roots(text) for text in prose))
    return Vocabulary(
        own,
        own | roots(" ".join(_more_prose(family))),
        {name: roots(quantity.meaning) for name, quantity in quantities.items()},
        {
            name: frozenset({name, quantity.symbol, quantity.symbol.replace("_", "")})
            for name, quantity in quantities.items()
        },
    )


def _more_prose(family: Family) -> Iterator[str]:
    """What a family says besides its stem: a word in it hints at no other law."""
    yield from family.objectives
    sentences = list(family.texts.hints)
    sentences += [sentence for step in family.texts.solution for sentence in step.text]
    for sentence in sentences:
        yield from (part for part in sentence if isinstance(part, str))
    yield from (rule.because for rule in family.rules)
    yield from (confirmation.because for confirmation in family.confirm)


def kinship(words: frozenset[str], family: Family) -> float:
    """The share of a stem's content words that the family uses too, 0 to 1."""
    return len(words & vocabulary(family).all) / len(words) if words else 0.0


def symbols_of(asked: str, unit: str) -> frozenset[str]:
    """What can be a symbol among the words that ask, the letters of a unit left out."""
    return _words(asked) - frozenset(_LETTERS.findall(unit))


_STARTS = re.compile(r"\b(?:what|which|how|find|calculate|determine|compute|give|state)\b", re.I)
_ENDS = re.compile(
    r"\b(?:when|if|while|whose|where|which|give|express|round|enter|take|use)\b", re.I
)
_HEAD_ENDS = re.compile(r"\b(?:of|at|in|from|on|for|with|to|after|before|between|above)\b", re.I)


@lru_cache(maxsize=1024)
def asked_for(asked: str) -> tuple[frozenset[str], frozenset[str]]:
    """The content words of what a question asks for: of its first noun, and of the clause."""
    found = _STARTS.search(asked)
    clause = plainly(asked if found is None else asked[found.start() :])
    begun = _STARTS.match(clause)
    rest = clause[begun.end() :] if begun else clause
    end = _ENDS.search(rest, 8)
    core = rest if end is None else rest[: end.start()]
    words = roots(core)
    for piece in _HEAD_ENDS.split(core):
        if head := roots(piece):
            return head, words
    return words, words


@lru_cache(maxsize=1024)
def marks(meaning: str) -> frozenset[str]:
    """Capital letters that stand for something, such as in "node A"."""
    return frozenset(_MARK.findall(meaning))


def naming(asked: str, family: Family, unknown: str) -> float:
    """How plainly a question asks for an unknown: the share of its meaning's words that stand
    there, and 1 more where its symbol does."""
    own = vocabulary(family)
    meaning = own.meaning[unknown]
    share = len(meaning & roots(asked)) / len(meaning) if meaning else 0.0
    return share + (1.0 if own.symbols[unknown] & _words(asked) else 0.0)


@lru_cache(maxsize=1024)
def _words(text: str) -> frozenset[str]:
    return frozenset(m[2] for m in _TOKEN.finditer(text) if m[2]) - _ARTICLES
