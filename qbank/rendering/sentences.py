"""An author's sentences: literal text and fields, compiled for one case."""

from __future__ import annotations

from collections.abc import Sequence

from qbank.expressions.formulas import Formula
from qbank.expressions.tree import Equation
from qbank.family.model import (
    ComputedField,
    Field,
    FigureField,
    FormulaField,
    Sentence,
    TableField,
    ValueField,
    WordField,
)
from qbank.item import Block, Display, Image, Inline, Paragraph, Table
from qbank.rendering.batch import Computed, unit_of
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
from qbank.rendering.shown_units import quantities


class Sentences:
    """Compiles sentences and paragraphs for the case of `formulas`."""

    def __init__(self, formulas: CaseFormulas) -> None:
        self.formulas = formulas
        self.family = formulas.family
        self.messages = formulas.messages
        self.figures: dict[bool, Column[Image]] = {}  # the figure, and the solved one

    def inline(self, sentence: Sentence) -> Column[tuple[Inline, ...]]:
        """The content of a sentence."""
        return content(self.parts(sentence))

    def parts(self, sentence: Sentence) -> list[Part]:
        """The parts of a sentence, to be put beside others."""
        return [piece if isinstance(piece, str) else self._part(piece) for piece in sentence]

    def block(self, paragraph: Sentence) -> Column[Block]:
        """A paragraph; a table or a formula on a line of its own where it holds only that."""
        fields = [piece for piece in paragraph if not isinstance(piece, str)]
        alone = len(fields) == 1 and not any(
            piece.strip() for piece in paragraph if isinstance(piece, str)
        )
        if alone and isinstance(fields[0], TableField):
            return self.table(fields[0].names)
        if alone and isinstance(fields[0], FigureField):
            return self.figures[fields[0].solved]
        if alone and isinstance(fields[0], FormulaField):
            return apply(Display, self.formulas.math(self._formula(fields[0])))
        return apply(Paragraph, self.inline(paragraph))

    def _part(self, field: Field) -> Part:
        match field:
            case ValueField(name=name, form=form):
                return self.value(name, form)
            case FormulaField():
                return MathPart(self.formulas.math(self._formula(field)))
            case ComputedField(expression=expression, unit=unit, shown=shown):
                entry = self.formulas.ledger.add(Computed(expression, unit, shown))
                return TextPart(lambda batch: batch.values(entry))
            case WordField(word=word):
                return TextPart(self.word(word))
            case TableField() | FigureField():
                # the loader lets tables and figures stand only in paragraphs of their own
                raise ValueError("a table or figure must stand in a paragraph of its own")

    def value(self, name: str, form: str) -> Part:
        """What a field of a given, let or unknown prints."""
        match form:
            case "symbol":
                return MathPart(self.formulas.symbol_math(name))
            case "equation":
                return MathPart(self.formulas.math(self.formulas.equals(name)))
            case "name":
                return self.meaning(name)
            case "unit":
                return unit_of(self.family, name).text
            case "number":
                return TextPart(lambda batch: batch.numbers(name))
            case _:
                return TextPart(lambda batch: batch.values(name))

    def meaning(self, name: str) -> str:
        """What a quantity is called; its symbol where the author gave it no name."""
        return quantities(self.family)[name].meaning or self.formulas.symbols[name].plain

    def called(self, name: str) -> str:
        """What a quantity is called within a sentence, with the article its name lacks."""
        article, meaning = self.messages.article, quantities(self.family)[name].meaning
        if not meaning or meaning.startswith((article, "a ", "an ")):
            return self.meaning(name)
        return article + meaning

    def word(self, word: str) -> Column[str]:
        """A word that depends on the case or on the setting."""
        words = self.formulas.case.words
        if word in words:
            return Fixed(words[word])
        by_setting = [setting.words[word] for setting in self.family.settings]
        return lambda batch: [by_setting[k] for k in batch.instances.setting.tolist()]

    def _formula(self, field: FormulaField) -> Formula:
        if field.kind == "let":
            return self.formulas.let_chain(field.name, field.numbers)
        law: Equation = self.formulas.law(field.name)
        return self.formulas.numeric(law) if field.numbers else self.formulas.symbolic(law)

    # ------------------------------------------------------------------------ tables

    def table(self, names: Sequence[str]) -> Column[Table]:
        """Data lists side by side, one value a row; units stand in the header (x / mm)."""
        heads: list[Column[tuple[Inline, ...]]] = [Fixed((self.messages.number_of_value,))]
        symbols: list[Part] = []
        for name in names:
            unit = unit_of(self.family, name).text
            sign = MathPart(self.formulas.symbol_math(name))
            heads.append(content([sign, f" / {unit}" if unit else ""]))
            symbols += [", " if symbols else "", self.formulas.symbols[name].plain]
        caption = content(fill(self.messages.values_of, symbols=symbols))
        title = apply(lambda parts: "".join(map(str, parts)), caption)
        cells = [_cells(name) for name in names]
        rows = apply(_rows, together(cells))
        return apply(Table, title, together(heads), rows, Fixed(True))


def _cells(name: str) -> Column[list[str]]:
    return lambda batch: batch.cells(name)


def _rows(lists: tuple[list[str], ...]) -> tuple[tuple[tuple[Inline, ...], ...], ...]:
    """Rows of single cells; a list that is shorter than another leaves its cell empty."""
    length = max(map(len, lists))
    return tuple(
        (
            (str(row + 1),),
            *((values[row],) if row < len(values) else () for values in lists),
        )
        for row in range(length)
    )
