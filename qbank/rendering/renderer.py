"""From solved instances to items: compiled once per family and case, then only strings joined."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from qbank.family.model import Case, Family, FigureField, Sentence
from qbank.instances import Instances
from qbank.item import Block, Item, Metadata
from qbank.rendering.batch import Batch, Ledger
from qbank.rendering.case_formulas import CaseFormulas
from qbank.rendering.columns import Column, Fixed, apply, together
from qbank.rendering.figures import Figures
from qbank.rendering.identity import identifiers, provenances
from qbank.rendering.messages import messages_for
from qbank.rendering.parts import Parts
from qbank.rendering.sentences import Sentences
from qbank.rendering.solution import Solution

ROWS_AT_A_TIME = 512  # few, so that memory does not grow with the count; enough for NumPy


class Renderer:
    """Makes items of the instances of one family, in the family's own language.

    >>> import qbank
    >>> family = qbank.load_family(qbank.find_family("stepped-drum"))
    >>> qbank.Renderer(family).item(qbank.instance(family, seed=0, k=3), 0).title
    'Two loads on a stepped drum'

    With `latex` each formula the items hold is a `LatexMath`, for `latex_document`.
    """

    def __init__(self, family: Family, *, latex: bool = False) -> None:
        self.family = family
        self._latex = latex
        self._compiled: dict[int, _CaseRenderer] = {}

    def item(self, instances: Instances, row: int) -> Item:
        """The item of one row of `instances`. Raises IndexError where there is no such row."""
        one = np.arange(len(instances))[row].reshape(1)
        return next(self.items(instances.take(one)))

    def items(self, instances: Instances) -> Iterator[Item]:
        """The items of all rows, in order; each is made when it is asked for, few ahead.

        Raises ValueError for instances of a family with other content.
        """
        if instances.family.digest != self.family.digest:
            raise ValueError(
                f"expected instances of {self.family.name} as it was compiled, "
                f"got those of {instances.family.name} with other content"
            )
        for start in range(0, len(instances), ROWS_AT_A_TIME):
            yield from self._few(instances.take(slice(start, start + ROWS_AT_A_TIME)))

    def _few(self, instances: Instances) -> Iterator[Item]:
        cases = np.unique(instances.case).tolist()
        streams = {
            case: self._renderer(case).items(
                instances if len(cases) == 1 else instances.take(instances.case == case)
            )
            for case in cases
        }
        for case in instances.case.tolist():
            yield next(streams[case])

    def _renderer(self, case: int) -> _CaseRenderer:
        if case not in self._compiled:
            self._compiled[case] = _CaseRenderer(self.family, self.family.cases[case], self._latex)
        return self._compiled[case]


def _stem(sentences: Sentences, paragraphs: Sequence[Sentence]) -> list[Column[Block]]:
    """The paragraphs; a figure the author has not placed follows the first."""
    columns = [sentences.block(paragraph) for paragraph in paragraphs]
    placed = any(isinstance(part, FigureField) for sentence in paragraphs for part in sentence)
    if sentences.figures and not placed:
        columns.insert(1, sentences.figures[False])
    return columns


class _CaseRenderer:
    """Items of one case of a family."""

    def __init__(self, family: Family, case: Case, latex: bool) -> None:
        texts = family.texts
        self._case = case
        self._ledger = Ledger()
        messages = messages_for(texts.language)
        formulas = CaseFormulas(family, case, self._ledger, messages, latex)
        sentences = Sentences(formulas)
        if family.figure is not None:
            figures = Figures(sentences, texts.figure)
            sentences.figures = {solved: figures.images(solved=solved) for solved in (False, True)}
        parts = Parts(sentences)
        metadata = Metadata(
            family.subject, family.level, family.licence, family.authors, family.objectives
        )
        self._column: Column[Item] = apply(
            Item,
            identifiers,
            Fixed(family.title),
            Fixed(texts.language),
            together(_stem(sentences, texts.stem)),
            together([parts.part(ask, number) for number, ask in enumerate(family.ask, 1)]),
            Solution(sentences, texts).blocks(),
            Fixed(family.caution),
            together([sentences.inline(hint) for hint in texts.hints]),
            Fixed(metadata),
            provenances,
        )

    def items(self, instances: Instances) -> Iterator[Item]:
        """The items of instances that are all in the case."""
        return iter(self._column(Batch(instances, self._case, self._ledger)))
