"""Figures of instances: a family's shapes with an instance's numbers, as pictures of an item."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import repeat
from math import ceil, floor, isnan
from typing import Literal, NamedTuple

import numpy as np

from qbank.errors import FamilyError
from qbank.expressions.arrays import compile_nodes
from qbank.expressions.tree import names_in
from qbank.family.model import Field, Sentence, Shape, ValueField
from qbank.figures.canvas import Run, Runs, plain
from qbank.figures.drawings import DRAWINGS
from qbank.figures.extent import Box, grown, stroke_box, union
from qbank.figures.parameters import Parameters
from qbank.figures.placing import CrowdedError, Obstacle, Placed, obstacles, place
from qbank.figures.recording import Label, Recording
from qbank.figures.svg import SvgCanvas, document, elements
from qbank.instances import Floats
from qbank.item import Image, Math
from qbank.rendering.batch import Batch
from qbank.rendering.columns import Column, Fixed, apply, text, together
from qbank.rendering.identity import identifiers
from qbank.rendering.sentences import Sentences

MARGIN = 8.0
MOST_WIDE, MOST_HIGH = 720.0, 620.0
MEDIA_TYPE = "image/svg+xml"
_LOWERED = {chr(0x2080 + digit): str(digit) for digit in range(10)}


class _Drawn(NamedTuple):
    """A shape on paper: its strokes as elements, its labels, what labels keep off, its box."""

    elements: list[str]
    labels: list[Label]
    obstacles: list[Obstacle]
    box: Box | None


@dataclass(frozen=True, slots=True)
class _Row:
    """What one instance's figure is made of."""

    drawn: Sequence[_Drawn]
    identifier: str
    described: str
    seed: int
    index: int


class Figures:
    """The figure of a family in one case: with the stem, and in the solution with more shapes.

    `described` is what the author says of it.
    """

    def __init__(self, sentences: Sentences, described: Sentence) -> None:
        figure = sentences.family.figure
        if figure is None:
            raise ValueError(f"the family '{sentences.family.name}' has no figure")
        case = sentences.formulas.case.name
        self._sentences = sentences
        self._family = sentences.family
        self._place = figure.place
        self._shapes = [self._shape(shape) for shape in figure.shapes]
        self._added = [
            self._shape(shape) for shape in figure.solved if not shape.only or case in shape.only
        ]
        self._described = text([self._text(part) for part in described])

    def images(self, *, solved: bool) -> Column[Image]:
        """A picture for each row. Raises FamilyError for one that cannot be drawn legibly."""
        columns = [*self._shapes, *(self._added if solved else ())]
        rows = apply(_Row, together(columns), identifiers, self._described, _seeds, _indices)
        return apply(partial(self._image, "-solved" if solved else ""), rows)

    def _image(self, suffix: str, row: _Row) -> Image:
        """Raises FamilyError where a label finds no room or the drawing is too large."""
        drawn = row.drawn
        around = [obstacle for part in drawn for obstacle in part.obstacles]
        try:
            placed = place([label for part in drawn for label in part.labels], around)
        except CrowdedError as error:
            raise self._fault(
                row, f"there is no room for the label '{plain(error.runs)}'"
            ) from None
        boxes = [part.box for part in drawn if part.box is not None]
        frame = _frame([*boxes, *(label.box for label in placed)])
        wide, high = frame[2] - frame[0], frame[3] - frame[1]
        if wide > MOST_WIDE or high > MOST_HIGH:
            raise self._fault(
                row,
                f"it is {wide:.0f} by {high:.0f} units large, more than {MOST_WIDE:.0f} by "
                f"{MOST_HIGH:.0f}",
            )
        canvas = SvgCanvas()
        for label in placed:
            canvas.label(label.runs, (label.spot,))
        strokes = [element for part in drawn for element in part.elements]
        labels = self._labels_told(placed)
        data = document(
            strokes, canvas.texts, frame, self._family.title, f"{row.described} {labels}".strip()
        )
        return Image(
            name=f"figure-{row.identifier}{suffix}.svg",
            media_type=MEDIA_TYPE,
            data=data,
            alt=row.described,
            description=labels,
            width=round(wide),
            height=round(high),
        )

    def _labels_told(self, placed: Sequence[Placed]) -> str:
        """The labels as a sentence, in drawing order, each once."""
        told = dict.fromkeys(plain(label.runs) for label in placed if label.told)
        return f"{self._sentences.messages.labels_read} {'; '.join(told)}." if told else ""

    def _fault(self, row: _Row, message: str) -> FamilyError:
        return FamilyError(
            f"figure of instance {row.index} with seed {row.seed}: {message}",
            place=self._place,
            hint="give the shapes more room or another `side:`, change the scale, or exclude such "
            "data by a rule",
        )

    # ------------------------------------------------------------------------ shapes

    def _shape(self, shape: Shape) -> Column[_Drawn]:
        """A shape whose numbers are the same for all is drawn once; only its labels are new."""
        nodes = [node for row in shape.numbers.values() for node in row]
        names = list(shape.texts)
        labels = together([self._runs(shape.texts[name]) for name in names])
        if not shape.lists and not any(map(names_in, nodes)):
            values = [float(column[0]) for column in compile_nodes(nodes)({}, 1)] if nodes else []
            blank = {name: (Run(name),) for name in names}
            drawn = _drawn(shape, _named(shape, values), blank)
            return apply(lambda runs: _labelled(drawn, dict(zip(names, runs, strict=True))), labels)
        program = compile_nodes([*nodes, *shape.lists.values()])
        count = len(nodes)

        def drawn_in(batch: Batch) -> Iterator[_Drawn]:
            arrays = program(batch.env, batch.n)
            if shape.kind != "curve":
                self._ensure_finite(shape, arrays[:count])
            columns = [column.tolist() for column in arrays]
            lists = zip(*columns[count:], strict=True) if shape.lists else repeat(())
            flat = zip(*columns[:count], strict=True)
            for values, listed, runs in zip(flat, lists, labels(batch), strict=False):
                numbers = _named(shape, values)
                for name, found in zip(shape.lists, listed, strict=True):
                    numbers[name] = tuple(value for value in found if not isnan(value))
                yield _drawn(shape, numbers, dict(zip(names, runs, strict=True)))

        # the figures of stem and solution share what is drawn
        return lambda batch: batch.once((self, shape.place), lambda rows: list(drawn_in(rows)))

    def _ensure_finite(self, shape: Shape, columns: Sequence[Floats]) -> None:
        if not all(np.isfinite(column).all() for column in columns):
            raise FamilyError(
                f"figure: a number of this {shape.kind} is not finite",
                place=shape.place,
                hint="correct the expressions, or exclude such data by a rule",
            )

    # ------------------------------------------------------------------------ texts

    def _runs(self, sentence: Sentence) -> Column[Runs]:
        """A label: symbols in italics with their subscripts low, the rest upright."""
        styles: list[Literal["upright", "italic", "low"]] = []
        columns: list[Column[str]] = []
        for part in sentence:
            for style, column in self._pieces(part):
                styles.append(style)
                columns.append(column)
        return apply(lambda texts: tuple(map(Run, texts, styles)), together(columns))

    def _pieces(
        self, part: str | Field
    ) -> Iterator[tuple[Literal["upright", "italic", "low"], Column[str]]]:
        match part:
            case str():
                yield "upright", Fixed(part)
            case ValueField(name=name, form="symbol"):
                yield from self._symbol(name)
            case ValueField(name=name, form="equation"):
                yield from self._symbol(name)
                yield "upright", text([" = ", self._text(ValueField(name))])
            case _:
                yield "upright", self._text(part)

    def _symbol(
        self, name: str
    ) -> Iterator[tuple[Literal["italic", "upright", "low"], Fixed[str]]]:
        sign = self._sentences.formulas.symbols[name].plain
        letter, _, low = sign.partition("_")
        base = letter.rstrip("".join(_LOWERED))
        low = low or "".join(_LOWERED[digit] for digit in letter[len(base) :])
        yield ("italic" if len(base) == 1 else "upright"), Fixed(base)
        if low:
            yield "low", Fixed(low)

    def _text(self, part: str | Field) -> Column[str]:
        """A part of a label or description as plain text."""
        if isinstance(part, str):
            return Fixed(part)
        columns = [
            piece if isinstance(piece, str) else piece.column
            for piece in self._sentences.parts((part,))
        ]
        return apply(_as_text, together([Fixed(c) if isinstance(c, str) else c for c in columns]))


def _seeds(batch: Batch) -> Iterable[int]:
    return repeat(batch.instances.seed, batch.n)


def _indices(batch: Batch) -> Iterable[int]:
    indices: list[int] = batch.instances.index.tolist()
    return indices


def _as_text(parts: tuple[str | Math, ...]) -> str:
    return "".join(part.plain if isinstance(part, Math) else part for part in parts)


def _frame(boxes: Sequence[Box]) -> Box:
    """Whole units around everything, with a margin."""
    left, bottom, right, top = grown(union(boxes), MARGIN)
    return floor(left), floor(bottom), ceil(right), ceil(top)


def _named(shape: Shape, values: Sequence[float]) -> dict[str, tuple[float, ...]]:
    named = {}
    at = 0
    for name, nodes in shape.numbers.items():
        named[name] = tuple(values[at : at + len(nodes)])
        at += len(nodes)
    return named


def _drawn(
    shape: Shape, numbers: Mapping[str, tuple[float, ...]], labels: Mapping[str, Runs]
) -> _Drawn:
    """The shape on paper. Its own labels, such as numbers of ticks, are not among `labels`."""
    recording = Recording()
    DRAWINGS[shape.kind](recording, Parameters(numbers, shape.words, labels))
    named = list(labels.values())
    found = [
        Label(label.runs, label.spots, any(label.runs is runs for runs in named))
        for label in recording.labels
    ]
    strokes = recording.strokes
    boxes = [stroke_box(stroke) for stroke in strokes]
    box = union(boxes) if boxes else None
    return _Drawn(elements(strokes), found, obstacles(strokes, boxes), box)


def _labelled(drawn: _Drawn, runs: Mapping[str, Runs]) -> _Drawn:
    """The labels put in place of their names: strokes and spots do not depend on them."""
    if not drawn.labels:
        return drawn
    shown = []
    for label in drawn.labels:
        said = runs[label.runs[0].text] if label.told else label.runs
        if said:
            shown.append(Label(said, label.spots, label.told))
    return _Drawn(drawn.elements, shown, drawn.obstacles, drawn.box)
