"""The texts of each case, rendered once with marks in place of the numbers that vary.

The words are made by the same renderer as those of fixed items; only where numbers come from
differs. A formula with numbers becomes plain text. In MathML a number of the draw would lose its
trailing zeros, as no format reaches there, and would be missing from the alternative text, which
cannot change with the draw; so no variable is declared a mathVariable.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from qbank.expressions.numbers import NumberFormat, number_mathml, round_values
from qbank.expressions.symbols import Standing, value_plain, with_unit
from qbank.expressions.tree import Name, Node
from qbank.expressions.units import Unit
from qbank.family.model import Case, Family, FigureField, Sentence, Texts, Unknown
from qbank.formats.dialects import Dialect
from qbank.formats.xmltext import escape
from qbank.instances import Floats, Instances
from qbank.item import Block, Display, Inline, Item, Math, Metadata, Paragraph, Table
from qbank.parametrised.draws import Drawn, from_si
from qbank.parametrised.expressions import rounded, value
from qbank.parametrised.printing import MARK, Printer, key_of, mark, shown_for
from qbank.parametrised.template import Template
from qbank.rendering.batch import KELVIN, KELVIN_UNIT, Batch, Computed, Ledger, ValueWriter
from qbank.rendering.case_formulas import CaseFormulas
from qbank.rendering.columns import Column, Part, TextPart, apply, together
from qbank.rendering.columns import Fixed as Same
from qbank.rendering.identity import provenances
from qbank.rendering.messages import messages_for
from qbank.rendering.parts import Parts
from qbank.rendering.sentences import Sentences
from qbank.rendering.solution import Solution, unrounded_format

_KELVIN = NumberFormat(decimals=2)
SETTING = "SETTING"


@dataclass(slots=True)
class Sources:
    """Where the numbers of a family stand in the template."""

    drawn: dict[str, Drawn]
    env: dict[str, str]  # every quantity and constant in SI, as markup
    keys: dict[str, str]  # unknown -> the variable of its displayed key


class Texter:
    """Renders every case of a family with marks for numbers."""

    def __init__(
        self,
        family: Family,
        sample: Instances,
        sources: Sources,
        template: Template,
        printer: Printer,
    ) -> None:
        self._family = family
        self._sample = sample
        self._sources = sources
        self._template = template
        self._printer = printer
        self._cases = [_CaseTexts(family, case) for case in family.cases]
        self._sizes: dict[tuple[Node, str, NumberFormat], list[Floats]] = {}
        for position, texts in enumerate(self._cases):
            part = sample.take(sample.case == position)
            texts.sample = part
            env = Batch(part, texts.case, texts.ledger).env
            results, _ = texts.ledger.evaluate(env, len(part))
            for entry, result in zip(texts.ledger.entries, results, strict=True):
                shown = entry.unit.from_si(np.asarray(result, dtype=np.float64))
                self._sizes.setdefault(_key(entry), []).append(shown)

    def items(self) -> list[Item]:
        """An item of marks for each case, in the order of the family."""
        return [texts.item(texts.sample.take(slice(0, 1)), self) for texts in self._cases]

    def number(self, name: str, ledger: Ledger) -> str:
        """What stands for a number: a mark, or its digits where it never varies."""
        if name.startswith(KELVIN):
            plain = name.removeprefix(KELVIN)
            shown = KELVIN_UNIT.from_si(self._sample.values[plain])
            return self._computed(Name(plain), KELVIN_UNIT, _KELVIN, shown)
        if name[0] == "=":
            entry = ledger.entries[int(name[1:])]
            sizes = np.concatenate(self._sizes[_key(entry)])
            return self._computed(entry.node, entry.unit, entry.shown, sizes)
        if name in self._family.given:
            drawn = self._sources.drawn[name]
            return self._printer.given(self._family.given[name], drawn.shown, drawn.position)
        if name in self._family.let:
            let = self._family.let[name]
            shown = let.unit.from_si(self._sample.values[name])
            return self._computed(Name(name), let.unit, let.shown, shown)
        unknown = self._family.find[name]
        key = self._sources.keys[name]
        return self._printer.number(
            key_of(f"answer {name}"), key, unknown.shown, self._sample.rounded[name]
        )

    def _computed(self, node: Node, unit: Unit, fmt: NumberFormat, sizes: Floats) -> str:
        key = key_of(f"{node} {unit.text} {fmt}")
        if key in self._printer.printed:
            return mark(key)
        shown = from_si(value(node, self._sources.env), unit)
        exact = rounded(shown, figures=fmt.figures, decimals=fmt.decimals)
        stem = f"SHOWN_{node.id}" if isinstance(node, Name) else "SHOWN"
        name = self._template.new(stem, exact)
        finite = sizes[np.isfinite(sizes)]
        return self._printer.number(key, name, fmt, round_values(finite, fmt))

    def may_be_negative(self, text: str) -> bool:
        """Whether a mark stands for a number that is negative in some draws."""
        found = MARK.fullmatch(text)
        return found is not None and self._printer.printed[found[1]].negative

    def has_power(self, text: str) -> bool:
        """Whether a number, or what a mark stands for, is written with a power of ten."""
        found = MARK.fullmatch(text)
        return "×" in text or (found is not None and self._printer.printed[found[1]].has_power)

    def setting_word(self, word: str) -> str:
        """A mark for a word that depends on the setting."""
        key = key_of(f"word {word}")
        self._printer.words[key] = word
        return mark(key)


def setting_words(family: Family, printer: Printer, dialect: Dialect) -> None:
    """Give the marks of words that depend on the setting their markup."""
    for key, word in printer.words.items():
        printer.pieces[key] = "".join(
            shown_for(dialect, SETTING, f"W{n}", escape(setting.words[word]))
            for n, setting in enumerate(family.settings, 1)
        )


def _key(entry: Computed) -> tuple[Node, str, NumberFormat]:
    return entry.node, entry.unit.text, entry.shown


class _CaseTexts:
    """One case, compiled."""

    sample: Instances

    def __init__(self, family: Family, case: Case) -> None:
        texts = _without_figures(family.texts)
        self.case = case
        self.ledger = Ledger()
        self._family = family
        self._texter: Texter | None = None
        formulas = CaseFormulas(family, case, self.ledger, messages_for(texts.language))
        self._sentences = sentences = _MarkedSentences(formulas)
        parts = Parts(sentences)
        solution = _MarkedSolution(sentences, texts)
        metadata = Metadata(
            family.subject, family.level, family.licence, family.authors, family.objectives
        )
        self._column: Column[Item] = apply(
            Item,
            Same("parametrised"),
            Same(family.title),
            Same(texts.language),
            together([sentences.block(paragraph) for paragraph in texts.stem]),
            together([parts.part(ask, number) for number, ask in enumerate(family.ask, 1)]),
            together([*solution.told(), *solution.confirmations()]),
            Same(family.caution),
            together([sentences.inline(hint) for hint in texts.hints]),
            Same(metadata),
            provenances,
        )

    def item(self, one: Instances, texter: Texter) -> Item:
        """The item of one row, its numbers as marks."""
        batch = _MarkedBatch(one, self.case, self.ledger, texter)
        return next(iter(self._column(batch)))


class _MarkedBatch(Batch):
    """One row, whose numbers are marks."""

    def __init__(self, instances: Instances, case: Case, ledger: Ledger, texter: Texter) -> None:
        super().__init__(instances, case, ledger)
        self.texter = texter

    def numbers(self, name: str) -> list[str]:
        """The mark of a number."""
        return [self.texter.number(name, self._ledger)]

    def slots(self, name: str, standing: Standing, write: ValueWriter) -> list[str]:
        """A value as it stands in a formula, in parentheses where it may be misread."""
        number, unit = self.numbers(name)[0], self.unit(name)
        power = self.texter.has_power(number)
        misread = standing != "alone" and (
            self.texter.may_be_negative(number) or number.startswith("−")
        )
        misread = misread or (standing == "factor" and (unit != "" or power))
        if write is value_plain:
            shown = with_unit(number, unit)
            return [f"({shown})" if misread else shown]
        space = "" if unit == "°" else "\u00a0"
        content = f"<mi>{number}</mi>" if MARK.fullmatch(number) else number_mathml(number)
        if unit:
            content = f"<mrow>{content}<mtext>{space}{escape(unit)}</mtext></mrow>"
        return [f"<mrow><mo>(</mo>{content}<mo>)</mo></mrow>" if misread else content]


class _MarkedSentences(Sentences):
    """Sentences whose words of the setting are marks."""

    def word(self, word: str) -> Column[str]:
        """A word of the case, or the mark of one of the setting."""
        if word in self.formulas.case.words:
            return Same(self.formulas.case.words[word])
        if len(self.family.settings) == 1:
            return Same(self.family.settings[0].words[word])
        return lambda batch: [_texter(batch).setting_word(word)]


def _texter(batch: Batch) -> Texter:
    assert isinstance(batch, _MarkedBatch)  # noqa: S101 - these columns see no other
    return batch.texter


class _MarkedSolution(Solution):
    """The worked solution whose unrounded answers come from the template as well."""

    def _unrounded(self, unknown: Unknown) -> Part:
        computed = Computed(Name(unknown.name), unknown.unit, unrounded_format(unknown))
        entry = self.formulas.ledger.add(computed)
        return TextPart(lambda batch: batch.values(entry))


def _without_figures(texts: Texts) -> Texts:
    """The texts without their figures: a picture file cannot change with the draw."""

    def kept(paragraphs: Sequence[Sentence]) -> tuple[Sentence, ...]:
        return tuple(p for p in paragraphs if not any(isinstance(f, FigureField) for f in p))

    steps = tuple(replace(step, text=kept(step.text)) for step in texts.solution)
    return replace(texts, stem=kept(texts.stem), solution=steps)


# ---------------------------------------------------------------------------- markup


def inline_of(content: Sequence[Inline]) -> tuple[Inline, ...]:
    """Content in which formulas with marks are plain text."""
    return tuple(_piece(piece) for piece in content)


def block_of(block: Block) -> Block:
    """A block in which formulas with marks are plain text."""
    match block:
        case Paragraph(content=content):
            return Paragraph(inline_of(content))
        case Display(math=math):
            piece = _piece(math)
            return Display(piece) if isinstance(piece, Math) else Paragraph((piece,))
        case Table(rows=rows):
            return replace(block, rows=tuple(tuple(map(inline_of, row)) for row in rows))
        case _:
            return block


def _piece(piece: Inline) -> Inline:
    return piece.plain if isinstance(piece, Math) and MARK.search(piece.plain) else piece
