"""The section `ask`: the parts of the question."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from qbank.family import numerals, schema
from qbank.family.attributes import read_boolean
from qbank.family.fields import Audience, SentenceReader
from qbank.family.keys import Keys, nearest, text_of
from qbank.family.model import (
    Ask,
    Case,
    ChooseLaw,
    ChooseStatements,
    ChooseValue,
    ChooseWord,
    Enter,
    FigureField,
    Law,
    Match,
    PutInOrder,
    Sentence,
    Slip,
    Statement,
    TableField,
)
from qbank.family.nodes import Scalar
from qbank.family.scope import SOLUTION, Kind, Piece
from qbank.family.slips import applies

MAX_OPTIONS = 12
MAX_POINTS = 1000


@dataclass(frozen=True, slots=True)
class AskReader:
    """Reads what is asked, against the model and its slips."""

    sentences: SentenceReader
    cases: Sequence[Case]
    laws: Sequence[Law]
    slips: Mapping[str, Slip]

    def read(self, top: Keys) -> tuple[Ask, ...]:
        """The section `ask`."""
        parts: list[Ask] = []
        asked: set[tuple[str, str]] = set()
        for number, node in enumerate(top.items("ask"), 1):
            keys = Keys(node, schema.ASK, f"part {number}")
            form = keys.one_of()
            if form not in ("statements", "order", "match"):
                for scalar in keys.texts(form):
                    if (form, scalar.text) in asked:
                        raise scalar.fault(
                            f"{keys.what}: '{scalar.text[:60]}' is asked for the same way above",
                            hint="delete one of the two",
                        )
                    asked.add((form, scalar.text))
            parts.extend(self._parts(keys, form))
        if not parts:
            raise top.key("ask").fault("ask: nothing is asked", hint="add `- enter: NAME`")
        if len(parts) > 40:
            raise top.key("ask").fault(
                f"ask: {len(parts)} parts, more than 40", hint="split the family"
            )
        return tuple(parts)

    def _parts(self, keys: Keys, form: str) -> Iterator[Ask]:
        points = _points(keys)
        prompt = self._prompt(keys)
        if "partial" in keys and form not in ("order", "match"):
            raise keys.key("partial").fault(
                f"{keys.what}: 'partial' has a meaning only beside 'order' or 'match'",
                hint="delete `partial:`",
            )
        match form:
            case "enter":
                yield from self._enter(keys, points, prompt)
            case "choose":
                yield self._choose(keys, points, prompt)
            case "which":
                yield self._which(keys, points, prompt)
            case "law":
                yield self._law(keys, points, prompt)
            case "order":
                yield self._order(keys, points, prompt)
            case "match":
                yield self._match(keys, points, prompt)
            case _:
                yield self._statements(keys, points, prompt)

    def _prompt(self, keys: Keys) -> Sentence | None:
        scalar = keys.text("prompt")
        if scalar is None:
            return None
        audience = Audience(f"{keys.what}, prompt", answers=False, case_words=False)
        return self.sentences.sentence(scalar, audience)

    def _unknown(self, scalar: Scalar, what: str) -> str:
        scope = self.sentences.formulas.scope
        scope.know(scalar.text, scalar, (0, len(scalar.text)), what, frozenset({Kind.UNKNOWN}))
        return scalar.text

    def _enter(self, keys: Keys, points: float, prompt: Sentence | None) -> Iterator[Enter]:
        names = keys.texts("enter")
        if not names:
            raise keys.key("enter").fault(
                f"{keys.what}: no unknown is named", hint="write `enter: NAME`"
            )
        if prompt and len(names) > 1:
            raise keys.key("prompt").fault(
                f"{keys.what}: one prompt for {len(names)} quantities",
                hint="make a part of each, with a prompt of its own",
            )
        for scalar in names:
            yield Enter(self._unknown(scalar, keys.what), points, prompt, scalar.place)

    def _choose(self, keys: Keys, points: float, prompt: Sentence | None) -> ChooseValue:
        scalar = keys.need("choose")
        name = self._unknown(scalar, keys.what)
        options = 4
        if given := keys.text("options"):
            options = numerals.whole_number(given, f"{keys.what}, options", 2, MAX_OPTIONS)
        at = keys.text("options") or scalar
        for case in self.cases:
            slips = [s.name for s in self.slips.values() if applies(s, case.name, self.laws)]
            if len(slips) < options - 1:
                where = f" in case '{case.name}'" if case.name else ""
                raise at.fault(
                    f"{keys.what}: {options} options need {options - 1} distractors, but "
                    f"{_count(len(slips), 'slip')} can make one{where}",
                    hint="ask for fewer options, or add slips",
                )
        return ChooseValue(name, points, options, prompt, scalar.place)

    def _which(self, keys: Keys, points: float, prompt: Sentence | None) -> ChooseWord:
        scalar = keys.need("which")
        word = scalar.text
        known = list(self.cases[0].words)
        if word not in known:
            raise scalar.fault(
                f"{keys.what}: the cases say no word '{word[:60]}'",
                hint=nearest(word, known) if known else "add cases that `say:` it",
            )
        if len({case.words[word] for case in self.cases}) < 2:
            raise scalar.fault(
                f"{keys.what}: every case says the same for '{word}', so there is nothing to pick",
                hint="let the cases say different things",
            )
        return ChooseWord(word, points, prompt, scalar.place)

    def _law(self, keys: Keys, points: float, prompt: Sentence | None) -> ChooseLaw:
        scalar = keys.need("law")
        name = scalar.text
        known = list(dict.fromkeys(law.name for law in self.laws))
        if name not in known:
            raise scalar.fault(
                f"{keys.what}: there is no law '{name[:60]}'", hint=nearest(name, known)
            )
        for case in self.cases:
            here = [law.name for law in self.laws if law.case in (None, case.name)]
            if name not in here:
                raise scalar.fault(
                    f"{keys.what}: there is no law '{name}' in case '{case.name}'",
                    hint="ask for a law that holds in every case",
                )
        for case in self.cases:
            if not any(
                name in slip.laws and (not slip.only or case.name in slip.only)
                for slip in self.slips.values()
            ):
                where = f" in case '{case.name}'" if case.name else ""
                raise scalar.fault(
                    f"{keys.what}: no slip replaces the law '{name}'{where}, so there is no "
                    "distractor",
                    hint=f"add a slip with `replace: {{{name}: ...}}`",
                )
        return ChooseLaw(name, points, prompt, scalar.place)

    def _statements(self, keys: Keys, points: float, prompt: Sentence | None) -> ChooseStatements:
        found = []
        for number, node in enumerate(keys.items("statements"), 1):
            what = f"{keys.what}, statement {number}"
            inner = Keys(node, schema.STATEMENT, what)
            feedback = inner.text("feedback")
            found.append(
                Statement(
                    text=self.sentences.sentence(
                        inner.need("text"), Audience(what, answers=False, case_words=False)
                    ),
                    when=self.sentences.formulas.condition(
                        Piece.whole(inner.need("when")), what, SOLUTION
                    ),
                    feedback=self.sentences.sentence(feedback, Audience(f"{what}, feedback"))
                    if feedback
                    else None,
                    place=inner.need("text").place,
                )
            )
        if len(found) < 2:
            raise keys.key("statements").fault(
                f"{keys.what}: {_count(len(found), 'statement')}; to mark those that hold, two "
                "at least are needed",
                hint="add statements",
            )
        return ChooseStatements(tuple(found), points, prompt, keys.key("statements").place)

    def _order(self, keys: Keys, points: float, prompt: Sentence | None) -> PutInOrder:
        texts = keys.texts("order")
        _ensure_distinct(texts, f"{keys.what}, order")
        if len(texts) < 2:
            raise keys.key("order").fault(
                f"{keys.what}: {_count(len(texts), 'step')}; to put steps in order, two at least "
                "are needed",
                hint="add steps",
            )
        entries = tuple(
            self._offered(text, f"{keys.what}, step {number}")
            for number, text in enumerate(texts, 1)
        )
        partial = read_boolean(keys, "partial")
        return PutInOrder(entries, points, partial, prompt, keys.key("order").place)

    def _match(self, keys: Keys, points: float, prompt: Sentence | None) -> Match:
        entries = keys.mapping("match")
        targets = [text_of(entry, f"{keys.what}, match") for entry in entries]
        if len({" ".join(target.text.split()) for target in targets}) < 2:
            raise keys.key("match").fault(
                f"{keys.what}: there are fewer than two different targets to choose from",
                hint="add pairs, written `text: the text it belongs to`",
            )
        pairs = tuple(
            (
                self._offered(entry.key, f"{keys.what}, source {number}"),
                self._offered(target, f"{keys.what}, target {number}"),
            )
            for number, (entry, target) in enumerate(zip(entries, targets, strict=True), 1)
        )
        spare = [self._spare(scalar, keys) for scalar in keys.texts("spare")]
        partial = read_boolean(keys, "partial")
        place = keys.key("match").place
        return Match(pairs, tuple(dict.fromkeys(spare)), points, partial, prompt, place)

    def _offered(self, scalar: Scalar, what: str) -> Sentence:
        """A text to be put in order or matched, which must not print an answer."""
        sentence = self.sentences.sentence(scalar, Audience(what, answers=False, case_words=False))
        if any(isinstance(part, TableField | FigureField) for part in sentence):
            raise scalar.fault(
                f"{what}: a table or a figure cannot be offered here",
                hint="put it into the stem",
            )
        return sentence

    def _spare(self, scalar: Scalar, keys: Keys) -> str:
        slip = self.slips.get(scalar.text)
        if slip is None:
            raise scalar.fault(
                f"{keys.what}, spare: there is no slip '{scalar.text[:60]}'",
                hint=nearest(scalar.text, list(self.slips)) if self.slips else "add slips",
            )
        if not slip.laws:
            raise scalar.fault(
                f"{keys.what}, spare: the slip '{slip.name}' replaces no law, so it has no "
                "equation to offer",
                hint="name a slip with `replace: {LAW: ...}`",
            )
        return slip.name


def _ensure_distinct(texts: Sequence[Scalar], what: str) -> None:
    seen: set[str] = set()
    for scalar in texts:
        text = " ".join(scalar.text.split())
        if text in seen:
            raise scalar.fault(
                f"{what}: '{text[:60]}' stands twice, so the order cannot be told",
                hint="word them differently, or delete one",
            )
        seen.add(text)


def _points(keys: Keys) -> float:
    scalar = keys.text("points")
    if scalar is None:
        return 1.0
    what = f"{keys.what}, points"
    text = scalar.text
    number, end = numerals.numeral(scalar, len(text) - len(text.lstrip()), what)
    if text[end:].strip() not in ("", "each") or not 0 < number.value <= MAX_POINTS:
        raise scalar.fault(
            f"{what}: expected a number above 0 and up to {MAX_POINTS}, found "
            f"'{text.strip()[:40]}'",
            hint="write for example 2, or 2 each",
        )
    return float(number.value)


def _count(number: int, word: str) -> str:
    return f"{number if number else 'no'} {word}{'' if number == 1 else 's'}"
