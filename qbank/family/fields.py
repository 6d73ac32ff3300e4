"""Text with fields in braces -> sentences: literal text and fields in turn, all names resolved."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NoReturn, get_args

from qbank.errors import ExpressionError, FamilyError
from qbank.expressions.numbers import NumberFormat
from qbank.expressions.tree import Span, names_in
from qbank.expressions.units import ONE, Unit, parse_unit
from qbank.family.attributes import MAX_FIGURES
from qbank.family.keys import nearest
from qbank.family.model import (
    ComputedField,
    Field,
    FigureField,
    FormulaField,
    Sampled,
    Sentence,
    TableField,
    ValueField,
    WordField,
)
from qbank.family.model import Given as GivenQuantity
from qbank.family.nodes import Scalar
from qbank.family.scope import GIVENS, SOLUTION, Formulas, Kind, Piece

Form = Literal["value", "symbol", "name", "number", "unit", "equation"]
_FORMS: dict[str, Form] = {form: form for form in get_args(Form)}
_NUMERIC = frozenset({"value", "number", "equation"})
_TOKEN = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|[{}]")
_BLANK_LINE = re.compile(r"\n[ \t]*\n\s*")
_ROUNDING = re.compile(r"\s+to\s+(?P<count>\S+)\s+(?P<kind>figures?|decimals?)\s*\Z")
_IN = re.compile(r"\s+in\s+")
_MAX_FIELDS = 400
_MAX_FIELD_LENGTH = 2000


@dataclass(frozen=True, slots=True)
class Audience:
    """What a text may show: the stem and the prompts must not give the answer away."""

    where: str
    answers: bool = True  # values of unknowns
    case_words: bool = True  # words that depend on the case
    tables: bool = False
    figure: bool | None = None  # whether the figure here is the solved one; None for none here
    counts: bool = True  # showing a given here is a use of it
    only: tuple[str, ...] = ()  # the cases it is shown in; empty for all


@dataclass(frozen=True, slots=True)
class SentenceReader:
    """Reads the fields of texts against everything a family declares.

    `law_cases` says for each law in which cases it holds.
    """

    formulas: Formulas
    given: Mapping[str, GivenQuantity]
    law_cases: Mapping[str, frozenset[str]]
    cases: Sequence[str]
    case_words: frozenset[str]
    setting_words: frozenset[str]
    figure: bool = False  # whether the family has a figure

    def paragraphs(self, scalar: Scalar, audience: Audience) -> tuple[Sentence, ...]:
        """The paragraphs of a text, split at blank lines."""
        # In folded and quoted text YAML itself has turned each blank line into one line feed.
        split = _BLANK_LINE if scalar.style == "|" else re.compile(r"\n\s*")
        found = []
        at = 0
        for end, after in [
            *(match.span() for match in split.finditer(scalar.text)),
            (len(scalar.text), 0),
        ]:
            if scalar.text[at:end].strip():
                found.append(self._sentence(scalar, at, end, audience))
            at = after
        return tuple(found)

    def sentence(self, scalar: Scalar, audience: Audience) -> Sentence:
        """A text of one paragraph."""
        return self._sentence(scalar, 0, len(scalar.text), audience)

    def _sentence(self, scalar: Scalar, start: int, end: int, audience: Audience) -> Sentence:
        parts: list[str | Field] = [""]
        at = start
        for match in _TOKEN.finditer(scalar.text, start, end):
            literal = scalar.text[at : match.start()]
            at = match.end()
            token = match[0]
            if token in ("{{", "}}"):
                literal += token[0]
            _append(parts, literal)
            if token in ("{", "}"):
                raise scalar.fault(
                    f"{audience.where}: a single {token} stands here",
                    match.span(),
                    "fields are written {name}; for a brace itself write {{ or }}",
                )
            if token not in ("{{", "}}"):
                if len(parts) > 2 * _MAX_FIELDS:
                    raise scalar.fault(
                        f"{audience.where}: more than {_MAX_FIELDS} fields in one paragraph",
                        match.span(),
                        "split it",
                    )
                field = _FieldReader(self, scalar, match.start() + 1, match[1], audience).read()
                parts += [field, ""]
        _append(parts, scalar.text[at:end])
        sentence = _trimmed(parts)
        for part in sentence:
            if isinstance(part, TableField | FigureField) and len(sentence) > 1:
                called = "table" if isinstance(part, TableField) else "figure"
                begin = scalar.text.index("{" + called, start)
                raise scalar.fault(
                    f"{audience.where}: a {called} stands inside a sentence",
                    (begin, scalar.text.index("}", begin) + 1),
                    "put a blank line before and after it",
                )
        return sentence


def _append(parts: list[str | Field], literal: str) -> None:
    last = parts[-1]
    parts[-1] = (last if isinstance(last, str) else "") + re.sub(r"\s+", " ", literal)


def _trimmed(parts: list[str | Field]) -> Sentence:
    """Without white space at either end and without empty literals."""
    if isinstance(parts[0], str):
        parts[0] = parts[0].lstrip()
    if isinstance(parts[-1], str):
        parts[-1] = parts[-1].rstrip()
    return tuple(part for part in parts if part != "")


@dataclass(frozen=True, slots=True)
class _FieldReader:
    """Reads one field; `offset` is where its content begins in the scalar."""

    reader: SentenceReader
    scalar: Scalar
    offset: int
    content: str
    audience: Audience

    def read(self) -> Field:
        if len(self.content) > _MAX_FIELD_LENGTH:
            raise self.fault(
                f"it has more than {_MAX_FIELD_LENGTH} characters", "is a closing } missing?"
            )
        words = self.content.split()
        match words:
            case []:
                raise self.fault("the braces are empty", "name what is to be printed, as {m_a}")
            case ["say", *rest]:
                return self.word(rest)
            case ["table", *names]:
                return self.table(names)
            case ["figure"] if self.reader.figure:
                return self.figure()
            case [("law" | "let") as kind, *rest] if rest:
                return self.formula("law" if kind == "law" else "let", " ".join(rest))
            case _ if self.content.lstrip().startswith("="):
                return self.computed()
            case [_]:
                return self.value()
            case _:
                raise self.fault(
                    "it is no field",
                    "fields are {name}, {name.symbol}, {law NAME}, {let NAME}, "
                    "{= expression in unit}, {say WORD} and {table NAME}",
                )

    def fault(self, message: str, hint: str) -> FamilyError:
        """An error about the whole field, its braces underlined too."""
        span = (self.offset - 1, self.offset + len(self.content) + 1)
        return self.scalar.fault(f"{self.where}: {message}", span, hint)

    def fail(self, message: str, hint: str) -> NoReturn:
        raise self.fault(message, hint)

    def span(self, word: str) -> Span:
        """Where a word of the content first stands, whole, within the scalar."""
        found = re.search(rf"(?<!\w){re.escape(word)}(?!\w)", self.content)
        start = self.offset + (found.start() if found else self.content.index(word))
        return start, start + len(word)

    @property
    def where(self) -> str:
        return f"{self.audience.where}, field {{{' '.join(self.content.split())[:60]}}}"

    def value(self) -> ValueField:
        name, dot, form = self.content.strip().partition(".")
        start, end = self.span(name) if name else (self.offset, self.offset + 1)
        kind = self.reader.formulas.scope.know(
            name, self.scalar, (start, end), self.where, SOLUTION
        )
        if dot and (form not in _FORMS or form == "value"):
            known = [known for known in _FORMS if known != "value"]
            self.fail(f"'{form[:40]}' is nothing a quantity has", nearest(form, known))
        chosen = _FORMS[form] if dot else "value"
        if kind is Kind.UNKNOWN and chosen in _NUMERIC and not self.audience.answers:
            self.fail(
                f"it would give the answer away: {name} is an unknown",
                f"write {{{name}.symbol}} or {{{name}.name}}",
            )
        if chosen in _NUMERIC and (self.audience.counts or kind not in GIVENS):
            self.reader.formulas.scope.used.add(name)
        return ValueField(name, chosen)

    def word(self, words: list[str]) -> WordField:
        known = self.reader.case_words | self.reader.setting_words
        if len(words) != 1:
            self.fail("expected one word after `say`", "write {say WORD}")
        word = words[0]
        if word not in known:
            self.fail(
                f"neither a case nor a setting says '{word[:40]}'", nearest(word, sorted(known))
            )
        if word in self.reader.case_words and not self.audience.case_words:
            self.fail(
                "it would give the answer away: the word depends on the case",
                "say it in the solution, or let a setting say it",
            )
        return WordField(word)

    def table(self, names: list[str]) -> TableField:
        if not names:
            self.fail("expected the names of data lists", "write {table x} or {table x y}")
        if not self.audience.tables:
            self.fail("a table cannot stand here", "tables belong in the stem or the solution")
        scope = self.reader.formulas.scope
        for name in names:
            kind = scope.know(name, self.scalar, self.span(name), self.where, SOLUTION)
            if kind is not Kind.DATA:
                self.fail(f"{name} is no data list", "write {" + name + "} for its value")
        if len(set(names)) < len(names):
            self.fail("a list stands here twice", "name each list once")
        sizes = {_size_key(name, self.reader.given[name].source) for name in names}
        if len(sizes) > 1:
            self.fail(
                "the lists may differ in size",
                f"give the others `size: like {names[0]}`, or make a table of each",
            )
        return TableField(tuple(names))

    def figure(self) -> FigureField:
        if self.audience.figure is None:
            self.fail("a figure cannot stand here", "it belongs in the stem or the solution")
        return FigureField(self.audience.figure)

    def formula(self, kind: Literal["law", "let"], text: str) -> FormulaField:
        numbers = text.endswith(" with numbers")
        name = text.removesuffix(" with numbers")
        scope = self.reader.formulas.scope
        if kind == "let":
            lets = scope.of_kind({Kind.LET})
            if name not in lets:
                self.fail(f"there is no let '{name[:60]}'", nearest(name, lets))
            scope.used.add(name)
            return FormulaField("let", name, numbers)
        holds = self.reader.law_cases.get(name)
        if holds is None:
            self.fail(f"there is no law '{name[:60]}'", nearest(name, self.reader.law_cases))
        missing = [case for case in self.audience.only or self.reader.cases if case not in holds]
        if missing:
            self.fail(
                f"there is no law '{name}' in case '{missing[0]}'",
                f"show the text in some cases only: `only: {_flow(sorted(holds))}`",
            )
        if numbers and not self.audience.answers:
            self.fail(
                "it would give the answer away: the law is printed with its solution",
                f"write {{law {name}}}",
            )
        return FormulaField("law", name, numbers)

    def computed(self) -> ComputedField:
        start = self.offset + self.content.index("=") + 1
        text, unit, shown = self.content.lstrip()[1:], ONE, NumberFormat(figures=3)
        if rounding := _ROUNDING.search(text):
            shown = self.format(rounding["count"], rounding["kind"])
            text = text[: rounding.start()]
        if cuts := list(_IN.finditer(text)):
            unit = self.unit(text[cuts[-1].end() :], start + cuts[-1].end())
            text = text[: cuts[-1].start()]
        if not text.strip():
            self.fail("no expression stands before the unit", "write {= expression in unit}")
        formulas = self.reader.formulas
        node = formulas.value(
            Piece(self.scalar, text, start),
            self.where,
            SOLUTION,
            unit.dimension,
            f"the unit {unit.text}" if unit.text else "a field without `in UNIT`",
        )
        unknowns = names_in(node).intersection(formulas.scope.of_kind({Kind.UNKNOWN}))
        if unknowns and not self.audience.answers:
            self.fail(
                f"it would give the answer away: {min(unknowns)} is an unknown",
                "compute it from givens and lets",
            )
        return ComputedField(node, unit, shown)

    def unit(self, text: str, start: int) -> Unit:
        if re.search(r"\sto\s", text):
            self.fail("what follows `to` cannot be read", "write `to 3 figures` or `to 2 decimals`")
        try:
            return parse_unit(text)
        except ExpressionError as error:
            raise self.scalar.located(error, self.where, start) from None

    def format(self, count: str, kind: str) -> NumberFormat:
        least = 1 if kind.startswith("figure") else 0
        digits = count if re.fullmatch(r"[0-9]{1,3}", count) else "-1"
        if not least <= int(digits) <= MAX_FIGURES:
            self.fail(
                f"expected {least} to {MAX_FIGURES} {kind}, found '{count[:20]}'",
                "write for example `to 3 figures`",
            )
        number = int(digits)
        if kind.startswith("figure"):
            return NumberFormat(figures=number)
        return NumberFormat(decimals=number)


def _size_key(name: str, source: object) -> tuple[object, ...]:
    """Equal for lists that always have the same size."""
    if not isinstance(source, Sampled):
        return (name,)
    if source.like is None and source.least == source.most:
        return (source.least,)
    return (source.like or name,)


def _flow(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"[{', '.join(names)}]"
