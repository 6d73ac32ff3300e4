"""Is everything there that a student who is stuck, wrong or at risk needs?"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from qbank.family.model import (
    ChooseStatements,
    ChooseWord,
    Enter,
    Family,
    FormulaField,
    Match,
    PutInOrder,
    Sentence,
    WordField,
)
from qbank.finding import Finding, Severity
from qbank.place import Place
from qbank.vetting import guidelines
from qbank.vetting.evidence import Evidence, listed
from qbank.vetting.prose import plain

# What the real task can do to someone, and the words that suggest it. Common practice, no source.
HAZARDS = {
    "mains electricity": r"mains|household (?:current|supply)|wall socket|power outlet|fuse box|"
    r"(?:1[12]0|2[23]0|24[00]|400) V|high.voltage|electric shock|supply voltage",
    "lifting": r"crane|hoists?|hoisted|hoisting|winch(?:es)?|lifting gear|lifting tackle|sling|"
    r"scaffold\w*|ladder|lifts? a load|counterweights?",
    "corrosive or poisonous substances": r"acids?|acidic|hydroxide|caustic|lye|alkali|ammonia|"
    r"chlorine|bleach|solvent",
    "loads on structures": r"(?:floor|roof|support(?:ing)?|steel|timber|wooden|concrete) beams?|"
    r"joists?|girders?|truss(?:es)?|rafters?|load.bearing|balcony",
    "medicine": r"doses?|dosage|patients?|infusions?|injections?|medicines?|medication|drugs?|"
    r"tablets? of|mg/kg|antibiotics?|insulin|anaesthetics?",
    "pressure vessels": r"boilers?|gas cylinders?|autoclaves?|compressed (?:air|gas)|"
    r"pressure vessels?",
    "radiation": r"laser|X-rays?|radioactiv\w*|gamma rays?",
}


def hints(family: Family) -> Iterator[Finding]:
    """hints-missing: nothing helps a student who is stuck."""
    texts = family.texts
    if not texts.hints:
        yield Finding(
            "hints-missing",
            Severity.WARNING,
            texts.place,
            "there are no hints",
            "at least one hint that starts a student off",
            "add `hints:` under `text:`",
        )


def solution(family: Family) -> Iterator[Finding]:
    """solution-missing: no step of the worked solution is the author's."""
    texts = family.texts
    if not texts.solution:
        yield Finding(
            "solution-missing",
            Severity.NOTE,
            texts.place,
            "no step of the worked solution is written; only the generated ones appear",
            "steps that say why each law is used",
            "add `solution:` under `text:`",
        )


def caution(family: Family) -> Iterator[Finding]:
    """caution-missing: the subject can hurt someone, and nothing warns."""
    if family.caution:
        return
    texts = family.texts
    said = [family.title, family.subject]
    said += [plain(sentence, setting) for sentence in texts.stem for setting in family.settings]
    said += [given.meaning for given in family.given.values()]
    said += [unknown.meaning for unknown in family.find.values()]
    for hazard, pattern in HAZARDS.items():
        match = re.search(rf"\b(?:{pattern})\b", "\n".join(said), re.IGNORECASE)
        if match:
            yield Finding(
                "caution-missing",
                Severity.WARNING,
                texts.place,
                f"the text says '{match[0]}', which suggests {hazard}, and there is no caution",
                "a caution where the real task can hurt someone",
                "add `caution:` that defers to local codes and licensed practice",
            )


def feedback(evidence: Evidence) -> Iterator[Finding]:
    """feedback-missing: a wrong answer to a part is never told why it is wrong."""
    family = evidence.family
    for part in family.ask:
        match part:
            case Enter(quantity=name):
                wrong = evidence.instances.wrong.values()
                if any(np.isfinite(answers[name]).any() for answers in wrong):
                    continue
                found = f"no slip leads to a wrong value of {name}, so wrong answers get no reason"
                mend = f"add a slip that changes {name}"
            case ChooseWord(word=word):
                if any(slip.cases for slip in family.slips.values()):
                    continue
                found = f"no slip takes one case for another, so a wrong '{word}' gets no reason"
                mend = "add a slip with `cases:`"
            case ChooseStatements(statements=statements):
                bare = [str(i) for i, s in enumerate(statements, 1) if s.feedback is None]
                if not bare:
                    continue
                found = f"no feedback for statement {listed(bare)}"
                mend = "add `feedback:`"
            case _:
                continue
        yield Finding(
            "feedback-missing",
            Severity.NOTE if isinstance(part, ChooseWord) else Severity.WARNING,
            part.place,
            found,
            "feedback for the usual wrong answers to each part",
            mend,
            {},
            guidelines.TYPICAL_ERRORS,
        )


def unused_words(family: Family) -> Iterator[Finding]:
    """word-unused: a word of the cases or settings that no text says and no part asks for."""
    used = {part.word for part in family.ask if isinstance(part, ChooseWord)}
    for sentence in _sentences(family):
        used |= {part.word for part in sentence if isinstance(part, WordField)}
    for word in family.cases[0].words:
        if word not in used:
            yield _unused(word, "cases", family.cases[0].place)
    for word in family.settings[0].words:
        if word not in used:
            yield _unused(word, "settings", family.place)


def _unused(word: str, section: str, place: Place) -> Finding:
    return Finding(
        "word-unused",
        Severity.WARNING,
        place,
        f"the {section} say the word '{word}', but no text says it and no part asks for it",
        "every word is used",
        f"write {{say {word}}} in a text, or delete the word",
    )


def unused_laws(family: Family) -> Iterator[Finding]:
    """law-not-shown: the author's steps never show a law, though they show others."""
    texts = family.texts
    shown = {
        part.name
        for step in texts.solution
        for sentence in step.text
        for part in sentence
        if isinstance(part, FormulaField) and part.kind == "law"
    }
    for law in family.laws:
        if shown and law.name not in shown:
            yield Finding(
                "law-not-shown",
                Severity.NOTE,
                law.place,
                f"the written steps show other laws, but not '{law.name}'",
                "the worked solution shows every law it uses",
                f"write {{law {law.name}}} in a step",
            )


def _sentences(family: Family) -> Iterator[Sentence]:
    yield from family.texts.stem
    yield from family.texts.hints
    for step in family.texts.solution:
        yield from step.text
    for part in family.ask:
        if part.prompt:
            yield part.prompt
        if isinstance(part, ChooseStatements):
            for statement in part.statements:
                yield statement.text
                if statement.feedback:
                    yield statement.feedback
        elif isinstance(part, PutInOrder):
            yield from part.entries
        elif isinstance(part, Match):
            for pair in part.pairs:
                yield from pair
