"""What is asked, as parts of an item: number entry and choices with feedback from slips."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import repeat

import numpy as np

from qbank.expressions.symbols import with_unit
from qbank.expressions.tree import Equation, names_in
from qbank.family.model import (
    Ask,
    ChooseLaw,
    ChooseStatements,
    ChooseValue,
    ChooseWord,
    Enter,
    Match,
    PutInOrder,
    Sentence,
    Slip,
    Unknown,
)
from qbank.item import Choice, Inline, NumberEntry, Option
from qbank.item import Part as ItemPart
from qbank.rendering.answers import key_texts, tolerances, wrong_values
from qbank.rendering.arranged import match_part, order_part
from qbank.rendering.batch import Batch
from qbank.rendering.columns import Column, Fixed, MathPart, Part, apply, content, fill, together
from qbank.rendering.identity import places
from qbank.rendering.messages import number_of
from qbank.rendering.sentences import Sentences
from qbank.sampling.balance import balanced
from qbank.sampling.options import distractors, shown_answers

LONGEST_INLINE = 40  # characters of an option that fits in a drop-down within a line
PLACES = 27720  # a multiple of every number of options up to 12


class Parts:
    """Compiles the parts of a family for the case of `sentences`."""

    def __init__(self, sentences: Sentences) -> None:
        self.sentences = sentences
        self.formulas = sentences.formulas
        self.family = sentences.family
        self.case = sentences.formulas.case
        self.messages = sentences.messages

    def part(self, ask: Ask, number: int) -> Column[ItemPart]:
        """The part that stands at position `number`, counted from 1."""
        identifier = f"R{number}"
        match ask:
            case Enter():
                return self._entry(ask, identifier)
            case ChooseValue():
                return self._value(ask, identifier)
            case ChooseWord():
                return self._word(ask, identifier)
            case ChooseLaw():
                return self._law(ask, identifier)
            case ChooseStatements():
                return self._statements(ask, identifier)
            case PutInOrder():
                prompt = self._prompt(ask.prompt, [self.messages.put_in_order])
                return order_part(ask, identifier, self.sentences, prompt)
            case Match():
                prompt = self._prompt(ask.prompt, [self.messages.match])
                return match_part(ask, identifier, self.sentences, prompt)

    def _prompt(self, own: Sentence | None, default: Sequence[Part]) -> Column[tuple[Inline, ...]]:
        return content(default) if own is None else self.sentences.inline(own)

    # ------------------------------------------------------------------------ numbers

    def _entry(self, ask: Enter, identifier: str) -> Column[ItemPart]:
        unknown = self.family.find[ask.quantity]
        name = unknown.name
        return apply(
            NumberEntry,
            Fixed(identifier),
            self._prompt(ask.prompt, self._calculate(unknown)),
            lambda batch: batch.instances.rounded[name].tolist(),
            key_texts(unknown),
            lambda batch: batch.values(name),
            Fixed(unknown.unit.text),
            tolerances(unknown, self.messages),
            Fixed(ask.points),
            Fixed(unknown.shown.figures),
            Fixed(unknown.shown.decimals),
            wrong_values(unknown),
        )

    def _calculate(self, unknown: Unknown) -> list[Part]:
        says = self.messages
        unit = unknown.unit.text
        pattern = says.calculate if unknown.meaning else says.calculate_unnamed
        return fill(
            pattern,
            name=self.sentences.called(unknown.name),
            symbol=MathPart(self.formulas.symbol_math(unknown.name)),
            unit=says.in_unit.format(unit=unit) if unit else "",
            places=self._places(unknown),
        )

    def _places(self, unknown: Unknown) -> str:
        says, figures, decimals = self.messages, unknown.shown.figures, unknown.shown.decimals
        if figures is not None:
            return says.to_one_figure if figures == 1 else says.to_figures.format(count=figures)
        if decimals is None or decimals == 0:
            return says.to_whole
        if decimals < 0:
            return says.to_tens.format(size=10**-decimals)
        return says.to_one_decimal if decimals == 1 else says.to_decimals.format(count=decimals)

    def _value(self, ask: ChooseValue, identifier: str) -> Column[ItemPart]:
        unknown = self.family.find[ask.quantity]
        pattern = (
            self.messages.choose_value if unknown.meaning else self.messages.choose_value_unnamed
        )
        default = fill(
            pattern,
            name=self.sentences.called(unknown.name),
            symbol=MathPart(self.formulas.symbol_math(unknown.name)),
        )
        return apply(
            Choice,
            Fixed(identifier),
            self._prompt(ask.prompt, default),
            lambda batch: _value_options(batch, unknown, ask.options, identifier),
            Fixed(ask.points),
            Fixed(value=False),
            Fixed(value=False),
            Fixed(value=False),  # values stand in ascending order
        )

    # ------------------------------------------------------------------------ words and laws

    def _word(self, ask: ChooseWord, identifier: str) -> Column[ItemPart]:
        right = self.case.words[ask.word]
        by_word: dict[str, Slip | None] = {}
        for case in self.family.cases:
            slip = self._slip_to(case.name)
            if by_word.get(case.words[ask.word]) is None:
                by_word[case.words[ask.word]] = slip
        options = tuple(
            Option(
                f"C{number}",
                (word,),
                word == right,
                (slip.says,) if slip and word != right else (),
                slip.name if slip and word != right else None,
            )
            for number, (word, slip) in enumerate(by_word.items(), 1)
        )
        inline = all(len(word) <= LONGEST_INLINE for word in by_word)
        prompt = self._prompt(ask.prompt, fill(self.messages.choose_word, word=ask.word))
        return apply(
            Choice,
            Fixed(identifier),
            prompt,
            Fixed(options),
            Fixed(ask.points),
            Fixed(value=False),
            Fixed(inline),
        )

    def _slip_to(self, case: str) -> Slip | None:
        """The slip that takes this case for another."""
        for slip in self.family.slips.values():
            if slip.cases.get(self.case.name) == case:
                return slip
        return None

    def _law(self, ask: ChooseLaw, identifier: str) -> Column[ItemPart]:
        right = self.formulas.law(ask.law)
        offered: list[tuple[Equation, Slip | None]] = [(right, None)]
        formulas = [self.formulas.symbolic(right)]
        for slip in self.family.slips.values():
            wrong = slip.laws.get(ask.law)
            if wrong is None or (slip.only and self.case.name not in slip.only):
                continue
            formula = self.formulas.symbolic(wrong)
            if formula not in formulas:  # what reads the same is one option
                offered.append((wrong, slip))
                formulas.append(formula)
        contents = [content([MathPart(self.formulas.math(formula))]) for formula in formulas]
        slips = [slip for _, slip in offered]
        prompt = self._prompt(ask.prompt, self._which_law(ask, [law for law, _ in offered]))
        columns = together(contents)
        return apply(
            Choice,
            Fixed(identifier),
            prompt,
            lambda batch: map(
                _law_options,
                columns(batch),
                repeat(slips),
                places(batch, identifier, len(slips)),
            ),
            Fixed(ask.points),
        )

    def _which_law(self, ask: ChooseLaw, laws: Sequence[Equation]) -> list[Part]:
        """The default prompt; says what a constant of the cases stands for where one appears."""
        parts = fill(self.messages.choose_law, law=ask.law)
        mentioned = frozenset().union(*map(names_in, laws))
        for constant in self.case.constants:
            if constant not in mentioned:
                continue
            for case in self.family.cases:
                parts += [
                    " " if case is self.family.cases[0] else ", ",
                    *fill(
                        self.messages.constant_in_case,
                        constant=MathPart(self.formulas.symbol_math(constant)),
                        value=number_of(case.constants[constant], self.messages),
                        case=case.label,
                    ),
                ]
            parts.append(".")
        return parts

    # ------------------------------------------------------------------------ statements

    def _statements(self, ask: ChooseStatements, identifier: str) -> Column[ItemPart]:
        options: list[Column[Option]] = []
        for number, statement in enumerate(ask.statements, 1):
            holds = self.formulas.ledger.add_condition(statement.when)
            feedback: Column[tuple[Inline, ...]] = Fixed(())
            if statement.feedback is not None:
                feedback = self.sentences.inline(statement.feedback)
            options.append(
                apply(
                    Option,
                    Fixed(f"C{number}"),
                    self.sentences.inline(statement.text),
                    _held(holds),
                    feedback,
                )
            )
        return apply(
            Choice,
            Fixed(identifier),
            self._prompt(ask.prompt, [self.messages.mark_statements]),
            together(options),
            Fixed(ask.points),
            Fixed(value=True),
        )


def _held(position: int) -> Column[bool]:
    return lambda batch: batch.holds(position)


def _value_options(
    batch: Batch, unknown: Unknown, most: int, part: str
) -> Iterable[tuple[Option, ...]]:
    """The key and up to `most - 1` distractors, in ascending order.

    Which distractors is settled so that the key's place varies over a bank.
    """
    instances = batch.instances
    key = instances.rounded[unknown.name]
    answers = {
        slip: instances.wrong[slip][unknown.name]
        for slip in batch.family.slips
        if unknown.name in instances.wrong.get(slip, {})
    }
    band = instances.tolerance[unknown.name]
    usable = distractors(unknown, key, band, list(answers.values()), len(answers))
    shown = [shown_answers(unknown, wrong) for wrong in answers.values()]
    word = np.array(places(batch, part, PLACES))
    offered = balanced(key, np.reshape(shown, (-1, batch.n)).T, usable, most - 1, word)
    values = [key, *shown]
    texts = [batch.texts(column, unknown.shown) for column in values]
    slips = [None, *(batch.family.slips[slip] for slip in answers)]
    present = np.column_stack([np.ones(batch.n, dtype=np.bool_), offered]).tolist()
    rows = np.column_stack(values).tolist()
    for row in range(batch.n):
        chosen = [k for k, is_offered in enumerate(present[row]) if is_offered]
        chosen.sort(key=rows[row].__getitem__)
        yield tuple(
            _value_option(number, with_unit(texts[k][row], unknown.unit.text), slips[k])
            for number, k in enumerate(chosen, 1)
        )


def _value_option(number: int, shown: str, slip: Slip | None) -> Option:
    if slip is None:
        return Option(f"C{number}", (shown,), correct=True)
    return Option(f"C{number}", (shown,), False, (slip.says,), slip.name)


def _law_options(
    contents: tuple[tuple[Inline, ...], ...], slips: Sequence[Slip | None], place: int
) -> tuple[Option, ...]:
    """The key at position `place` among the distractors, which keep the author's order."""
    order = list(range(1, len(slips)))
    order.insert(place, 0)
    options = []
    for number, k in enumerate(order, 1):
        slip = slips[k]
        feedback = () if slip is None else (slip.says,)
        options.append(
            Option(f"C{number}", contents[k], slip is None, feedback, slip.name if slip else None)
        )
    return tuple(options)
