"""Is the question easy to read and fairly put?"""

from __future__ import annotations

import re
from collections.abc import Iterator

from qbank.family.model import (
    Ask,
    ChooseStatements,
    ChooseWord,
    Family,
    Match,
    PutInOrder,
)
from qbank.finding import Finding, Severity
from qbank.place import Place
from qbank.vetting import guidelines
from qbank.vetting.prose import counted, plain, reading_ease

LONG_STEM = 200  # words; read aloud that is more than a minute
HARD_TO_READ = 30.0  # reading ease; "very hard" in Flesch's own table, from memory
LONG_SENTENCES = 30.0  # words a sentence on average

_NEGATIVE = re.compile(
    r"\b(?:not|never|except|cannot|\w+n['’]t|incorrect|false|wrong|untrue)\b", re.IGNORECASE
)
_ALL_OR_NONE = re.compile(
    r"\b(?:all|none|both|neither) of (?:the above|these|the others|them)\b", re.IGNORECASE
)
_SENTENCE = re.compile(r"[^.?!]+[.?!]?")


def long_stem(family: Family) -> Iterator[Finding]:
    """stem-long, stem-hard-to-read: more words, or harder ones, than the problem needs."""
    texts = family.texts
    stems = [[plain(s, setting) for s in texts.stem] for setting in family.settings]
    counts = [counted(stem) for stem in stems]
    sentences, words, syllables = max(counts, key=lambda count: count[1])
    if words > LONG_STEM:
        yield _note(
            "stem-long",
            texts.place,
            f"the stem has {words} words",
            f"at most {LONG_STEM}",
            "leave out what is not needed to solve the problem",
            {"words": float(words)},
            guidelines.LITTLE_READING,
        )
    if not family.texts.language.startswith("en") or not words:
        return
    ease = min(reading_ease(*count) for count in counts if count[1])
    mean = words / sentences
    if ease < HARD_TO_READ or mean > LONG_SENTENCES:
        yield _note(
            "stem-hard-to-read",
            texts.place,
            f"the reading ease of the stem is {ease:.0f} (Flesch 1948), with {mean:.0f} words a"
            " sentence",
            f"a reading ease of at least {HARD_TO_READ:.0f} and at most {LONG_SENTENCES:.0f} words"
            " a sentence",
            "split long sentences and use shorter words",
            {"reading ease": ease, "words a sentence": mean, "syllables": float(syllables)},
            guidelines.LITTLE_READING,
        )


def negative_question(family: Family) -> Iterator[Finding]:
    """question-negative: the question asks for what is not so."""
    for place, text in _questions(family):
        match = _NEGATIVE.search(text)
        if match:
            yield _warning(
                "question-negative",
                place,
                f"the question '{_cut(text)}' hangs on the word '{match[0]}'",
                "a question that asks for what is so",
                "turn it round",
                guidelines.STEM_POSITIVE,
            )


def several_questions(family: Family) -> Iterator[Finding]:
    """question-double: one part asks two things."""
    for part in family.ask:
        text = plain(part.prompt) if part.prompt else ""
        if text.count("?") > 1:
            yield _warning(
                "question-double",
                part.place,
                f"the prompt '{_cut(text)}' asks {text.count('?')} questions",
                "one question in each part",
                "make a part of each",
                guidelines.ONE_PROBLEM,
            )


def all_of_the_above(family: Family) -> Iterator[Finding]:
    """option-all-or-none: an option about the other options."""
    for place, text in _options(family):
        match = _ALL_OR_NONE.search(text)
        if match:
            yield _warning(
                "option-all-or-none",
                place,
                f"the option '{_cut(text)}' speaks of the other options ('{match[0]}')",
                "options that stand on their own, in any order",
                "say what it means, or leave it out",
                guidelines.NO_ALL_OF_THE_ABOVE,
            )


def negative_option(family: Family) -> Iterator[Finding]:
    """option-negative: an option is worded negatively, which is easily misread."""
    for part in family.ask:
        if not isinstance(part, ChooseStatements):
            continue
        for statement in part.statements:
            text = plain(statement.text)
            found = _NEGATIVE.findall(text)
            if len(found) > 1:
                yield _note(
                    "option-negative",
                    statement.place,
                    f"the statement '{_cut(text)}' holds {len(found)} negations",
                    "at most one",
                    "say it positively",
                    {"negations": float(len(found))},
                    guidelines.STEM_POSITIVE,
                )


def match_by_elimination(family: Family) -> Iterator[Finding]:
    """match-by-elimination: there are no targets to spare, so the last pair needs no thought."""
    for part in family.ask:
        if not isinstance(part, Match) or part.spare:
            continue
        targets = {target for _, target in part.pairs}
        if len(targets) == len(part.pairs):
            yield _note(
                "match-by-elimination",
                part.place,
                f"{len(part.pairs)} sources have {len(targets)} targets, each used once, so the "
                "last pair follows from the others",
                "more targets than are used, or one that is used twice",
                "name slips under `spare:`",
                {"targets": float(len(targets))},
                guidelines.NO_CLUES,
            )


def _questions(family: Family) -> Iterator[tuple[Place, str]]:
    """Prompts, and the sentences of the stem that end with a question mark."""
    for part in family.ask:
        if part.prompt:
            yield part.place, plain(part.prompt)
    texts = family.texts
    for paragraph in texts.stem:
        for sentence in _SENTENCE.findall(plain(paragraph, family.settings[0])):
            if sentence.endswith("?"):
                yield texts.place, sentence.strip()


def _options(family: Family) -> Iterator[tuple[Place, str]]:
    for part in family.ask:
        yield from _options_of(family, part)


def _options_of(family: Family, part: Ask) -> Iterator[tuple[Place, str]]:
    match part:
        case ChooseWord():
            for case in family.cases:
                yield case.place, case.words[part.word]
        case ChooseStatements():
            for statement in part.statements:
                yield statement.place, plain(statement.text)
        case PutInOrder():
            for entry in part.entries:
                yield part.place, plain(entry)
        case Match():
            for pair in part.pairs:
                for sentence in pair:
                    yield part.place, plain(sentence)
        case _:
            return


def _cut(text: str, widest: int = 80) -> str:
    return text if len(text) <= widest else text[: widest - 1] + "…"


def _warning(code: str, place: Place, found: str, expected: str, mend: str, by: str) -> Finding:
    return Finding(code, Severity.WARNING, place, found, expected, mend, {}, by)


def _note(
    code: str,
    place: Place,
    found: str,
    expected: str,
    mend: str,
    numbers: dict[str, float],
    by: str,
) -> Finding:
    return Finding(code, Severity.NOTE, place, found, expected, mend, numbers, by)
