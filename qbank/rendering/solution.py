"""The worked solution: the author's steps, and what the model itself can tell around them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from qbank.expressions.numbers import NumberFormat
from qbank.expressions.symbols import with_units
from qbank.expressions.tree import names_in
from qbank.family.model import (
    Case,
    Confirmation,
    FormulaField,
    Sampled,
    Sentence,
    SolutionStep,
    Texts,
    Unknown,
    ValueField,
    WordField,
)
from qbank.item import Block, Display, Inline, Paragraph, Table
from qbank.rendering.batch import Batch
from qbank.rendering.case_formulas import CaseFormulas
from qbank.rendering.columns import (
    Column,
    Fixed,
    MathPart,
    Part,
    TextPart,
    apply,
    content,
    fill,
    together,
)
from qbank.rendering.messages import number_of
from qbank.rendering.put_back import PutBack
from qbank.rendering.sentences import Sentences

UNROUNDED_FIGURES = 6
UNROUNDED_DECIMALS = 3  # more than the answer shows


class Solution:
    """Compiles the worked solution for the case of `sentences`."""

    def __init__(self, sentences: Sentences, texts: Texts) -> None:
        self.sentences = sentences
        self.formulas: CaseFormulas = sentences.formulas
        self.family = sentences.family
        self.case = self.formulas.case
        self.messages = sentences.messages
        self.steps = [
            step for step in texts.solution if not step.only or self.case.name in step.only
        ]
        self.shown = list(_fields(self.steps))
        self.put_back = PutBack(self.formulas)

    def blocks(self) -> Column[tuple[Block, ...]]:
        """Data, direction, equations, answers, common sense, and the answers put back.

        An author's step is kept as it is; nothing is told twice.
        """
        fixed = together(self.told())
        rest = together([*self.confirmations(), self.put_back.table(), self.put_back.verdict()])
        return apply(_joined, fixed, self._signs, rest)

    def told(self) -> list[Column[Block]]:
        """Data, direction, equations and answers."""
        columns: list[Column[Block]] = [self._data(), *self._lets()]
        if len(self.family.cases) > 1 and not self._author_tells_the_case():
            columns += self._which_way()
        laws = self._missing_laws()
        for step in self.steps:
            if laws and _shows_answers(step, self.family.find):
                columns += laws  # equations come before what follows from them
                laws = []
            for paragraph in step.text:
                columns += [self.sentences.block(paragraph), *self._numbers_after(paragraph)]
        columns += laws
        columns.append(self._answers())
        return columns

    # ------------------------------------------------------------------------ data

    def _data(self) -> Column[Block]:
        says = self.messages
        rows: list[Column[tuple[tuple[Inline, ...], ...]]] = []
        for name, given in self.family.given.items():
            if given.hidden:
                continue
            listed = isinstance(given.source, Sampled)
            value = TextPart(_list_values(name)) if listed else self.sentences.value(name, "value")
            rows.append(self._row(name, value))
        header = ((says.quantity,), (says.sign,), (says.value,))
        return apply(Table, Fixed(says.data), Fixed(header), together(rows))

    def _row(self, name: str, *values: Part) -> Column[tuple[tuple[Inline, ...], ...]]:
        """A table row: what the quantity is called, its symbol, its values."""
        sign = content([MathPart(self.formulas.symbol_math(name))])
        cells = [content([value]) for value in values]
        return together([Fixed((self.sentences.meaning(name),)), sign, *cells])

    # ------------------------------------------------------------------------ direction

    def _author_tells_the_case(self) -> bool:
        return any(
            isinstance(field, WordField) and field.word in self.case.words for field in self.shown
        )

    def _which_way(self) -> list[Column[Block]]:
        says, case = self.messages, self.case
        if case.when is None:
            others = [other for other in self.family.cases if other.when is not None]
            told = [part for other in others for part in [*self._fails(other), " "]]
            verdict = fill(says.none_of_the_others, case=case.label, constants=self._constants())
            return [self._paragraph([*told, *verdict])]
        verdict = fill(says.case_is, case=case.label, constants=self._constants())
        numbers = self.formulas.condition_numbers(case.when)
        if numbers is None:
            return [self._paragraph(verdict)]
        holds = fill(
            says.holds_here,
            condition=MathPart(self.formulas.math(self.formulas.symbolic(case.when))),
            numbers=MathPart(self.formulas.math(numbers)),
        )
        return [self._paragraph([*holds, " ", *verdict])]

    def _constants(self) -> str:
        """The constants of the case that its equations mention, with their values."""
        mentioned: set[str] = set()
        for law in self.family.laws_in(self.case.name):
            mentioned |= names_in(law.equation)
        told = [
            f"{self.formulas.symbol_math(name).value.plain} = {number_of(value, self.messages)}"
            for name, value in self.case.constants.items()
            if name in mentioned
        ]
        return self.messages.with_constants.format(constants=", ".join(told)) if told else ""

    def _fails(self, other: Case) -> list[Part]:
        """Why another case does not hold, with both sides of its condition in numbers."""
        assert other.when is not None  # noqa: S101  # callers pass only cases with a condition
        numbers = self.formulas.condition_numbers(other.when, negated=True)
        if numbers is None:
            return []
        return fill(
            self.messages.fails,
            case=other.label,
            condition=MathPart(self.formulas.math(self.formulas.symbolic(other.when))),
            numbers=MathPart(self.formulas.math(numbers)),
        )

    # ------------------------------------------------------------------------ equations

    def _lets(self) -> list[Column[Block]]:
        """Intermediate quantities no step of the author's shows."""
        told = {field.name for field in self.shown if isinstance(field, FormulaField)}
        told |= {field.name for field in self.shown if isinstance(field, ValueField)}
        columns: list[Column[Block]] = []
        for name in self.family.let:
            if name in told or name in self.formulas.lists:
                continue
            columns.append(
                self._paragraph(fill(self.messages.intermediate, name=self._capital(name)))
            )
            chain = self.formulas.let_chain(name, numbers=True)
            columns.append(apply(Display, self.formulas.math(chain)))
        return columns

    def _capital(self, name: str) -> str:
        """What a quantity is called, with its article, to begin a sentence."""
        called = self.sentences.called(name)
        return called[:1].upper() + called[1:]

    def _missing_laws(self) -> list[Column[Block]]:
        """Equations no step of the author's shows, in symbols and with numbers."""
        told = {law for law, _ in self._told_laws()}
        columns: list[Column[Block]] = []
        for law in self.family.laws_in(self.case.name):
            if law.name not in told:
                symbolic = self.formulas.math(self.formulas.symbolic(law.equation))
                columns.append(self._paragraph(fill(self.messages.equation_named, law=law.label)))
                columns += [apply(Display, symbolic), *self._with_numbers(law.name)]
        return columns

    def _numbers_after(self, paragraph: Sentence) -> list[Column[Block]]:
        """The numeric forms of the laws a paragraph shows in symbols and no step with numbers."""
        numeric = {law for law, numbers in self._told_laws() if numbers}
        laws = [law for law, _ in _law_fields(paragraph) if law not in numeric]
        return [column for law in dict.fromkeys(laws) for column in self._with_numbers(law)]

    def _with_numbers(self, law: str) -> list[Column[Block]]:
        equation = self.formulas.law(law)
        numeric = self.formulas.numeric(equation)
        if numeric == self.formulas.symbolic(equation):
            return []
        return [apply(Display, self.formulas.math(numeric))]

    def _told_laws(self) -> set[tuple[str, bool]]:
        """The laws the author's steps show, and whether with numbers."""
        return {
            told for step in self.steps for sentence in step.text for told in _law_fields(sentence)
        }

    # ------------------------------------------------------------------------ answers

    def _answers(self) -> Column[Block]:
        says = self.messages
        rows = [
            self._row(name, self._unrounded(unknown), self.sentences.value(name, "value"))
            for name, unknown in self.family.find.items()
        ]
        header = ((says.quantity,), (says.sign,), (says.unrounded,), (says.rounded,))
        return apply(Table, Fixed(says.answers), Fixed(header), together(rows))

    def _unrounded(self, unknown: Unknown) -> Part:
        """An answer with more figures than it is asked for."""
        fmt = unrounded_format(unknown)

        def column(batch: Batch) -> Iterable[str]:
            values = unknown.unit.from_si(batch.instances.values[unknown.name])
            return with_units(batch.texts(values, fmt), unknown.unit.text)

        return TextPart(column)

    def _signs(self, batch: Batch) -> Iterable[tuple[Block, ...]]:
        """A sentence for each answer that is negative."""
        told: list[tuple[Block, ...]] = [()] * batch.n
        for name in self.family.find:
            column = content(
                fill(self.messages.negative, symbol=MathPart(self.formulas.symbol_math(name)))
            )
            negative = np.flatnonzero(batch.instances.rounded[name] < 0).tolist()
            if negative:
                sentence = Paragraph(next(iter(column(batch))))
                for row in negative:
                    told[row] = (*told[row], sentence)
        return told

    def confirmations(self) -> list[Column[Block]]:
        """Why the answers make sense, one sentence each."""
        return [
            self._confirmation(confirmation)
            for confirmation in self.family.confirm
            if not confirmation.only or self.case.name in confirmation.only
        ]

    def _confirmation(self, confirmation: Confirmation) -> Column[Block]:
        """The statement with its numbers; of data given by hand it may not hold."""
        condition = MathPart(self.formulas.math(self.formulas.symbolic(confirmation.that)))
        numbers = self.formulas.condition_numbers(confirmation.that)
        told: dict[str, Part] = {"condition": condition, "because": confirmation.because}
        if numbers is None:
            holding = self._paragraph(fill(self.messages.check_trivial, **told))
        else:
            figures = MathPart(self.formulas.math(numbers))
            holding = self._paragraph(fill(self.messages.check, **told, numbers=figures))
        failing = self._paragraph(fill(self.messages.check_fails, **told))
        position = self.formulas.ledger.add_condition(confirmation.that)

        def column(batch: Batch) -> Iterable[Block]:
            held = batch.holds(position)
            if all(held):
                return holding(batch)
            both = zip(holding(batch), failing(batch), held, strict=True)
            return [right if holds else wrong for right, wrong, holds in both]

        return column

    def _paragraph(self, parts: Sequence[Part]) -> Column[Block]:
        return apply(Paragraph, content(parts))


def _joined(
    fixed: tuple[Block, ...], signs: tuple[Block, ...], rest: tuple[Block, ...]
) -> tuple[Block, ...]:
    return fixed + signs + rest


def _fields(steps: Sequence[SolutionStep]) -> Iterator[object]:
    for step in steps:
        for sentence in step.text:
            yield from (piece for piece in sentence if not isinstance(piece, str))


def _law_fields(sentence: Sentence) -> Iterator[tuple[str, bool]]:
    for piece in sentence:
        if isinstance(piece, FormulaField) and piece.kind == "law":
            yield piece.name, piece.numbers


def _shows_answers(step: SolutionStep, unknowns: Iterable[str]) -> bool:
    """Whether a step prints the value of an unknown."""
    names = set(unknowns)

    def shows(sentence: Sentence) -> bool:
        return any(
            isinstance(piece, ValueField)
            and piece.name in names
            and piece.form in {"value", "number", "equation"}
            for piece in sentence
        )

    return any(map(shows, step.text))


def _list_values(name: str) -> Column[str]:
    return lambda batch: batch.values(name)


def unrounded_format(unknown: Unknown) -> NumberFormat:
    """Six figures, or three decimals more than an answer is asked for."""
    figures, decimals = unknown.shown.figures, unknown.shown.decimals
    notation = unknown.shown.notation
    if decimals is not None:
        return NumberFormat(decimals=decimals + UNROUNDED_DECIMALS, notation=notation)
    return NumberFormat(figures=max(UNROUNDED_FIGURES, (figures or 0) + 2), notation=notation)
