"""The section `figure`: its scale, its shapes, and that nothing in it gives the answer away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from qbank.expressions.tree import Binary, Node
from qbank.family.fields import SentenceReader
from qbank.family.figure_numbers import LENGTH, UNIT, FigureNumbers, number
from qbank.family.figure_schema import FIGURE, SCALE, SHAPES
from qbank.family.figure_shapes import ShapeReader
from qbank.family.keys import Keys, describe, nearest
from qbank.family.model import Case, Figure, FigureField, Given, Shape, Texts
from qbank.family.nodes import Mapping as MappingNode
from qbank.family.nodes import Node as YamlNode
from qbank.family.numerals import numeral

MOST_DRAWN = 600  # units of the drawing


def read_figure(
    top: Keys, sentences: SentenceReader, cases: Sequence[Case], given: Mapping[str, Given]
) -> Figure | None:
    """The figure, its labels read through `sentences`; None where the file has none."""
    entry = top.node.entries.get("figure")
    if entry is None:
        return None
    keys = Keys(entry.value, FIGURE, "figure", entry.key)
    hidden = {name for name, quantity in given.items() if quantity.hidden}
    scope = sentences.formulas.scope
    unit = _scale(keys, FigureNumbers.of(scope, hidden, None))
    shapes = ShapeReader(sentences, FigureNumbers.of(scope, hidden, unit), cases)
    seen = tuple(_shapes(keys, "shapes", shapes))
    if not seen:
        keys.fail("no shape is drawn", "add one, or delete `figure:`")
    return Figure(seen, tuple(_shapes(keys, "solved", shapes)), entry.key.place)


def check_figure(figure: Figure | None, texts: Texts, top: Keys) -> None:
    """FamilyError unless the figure is described, and what it adds in the solution is shown."""
    if figure is None:
        return
    if not texts.figure:
        raise top.key("figure").fault(
            "figure: nothing tells what it shows to who cannot see it",
            hint="add `figure: ...` under `text:`, a sentence or two that give nothing away",
        )
    fields = [part for step in texts.solution for sentence in step.text for part in sentence]
    if figure.solved and not any(isinstance(part, FigureField) for part in fields):
        raise top.key("figure").fault(
            "figure: the shapes under `solved` are never shown",
            hint="put {figure} into a paragraph of its own in the solution",
        )


def _scale(keys: Keys, reader: FigureNumbers) -> Node | None:
    """The length one unit of the drawing stands for."""
    entry = keys.node.entries.get("scale")
    if entry is None:
        return None
    scale = Keys(entry.value, SCALE, "figure, scale", entry.key)
    scope = reader.formulas.scope
    if UNIT in scope.kinds:
        raise scope.keys[UNIT].fault(
            f"'{UNIT}' means a unit of the drawing in figures", hint="rename the quantity"
        )
    at = scale.need("length")
    length, dimension = reader.any(at, "figure, scale, length")
    if dimension != LENGTH:
        raise at.fault(
            f"figure, scale, length: expected a length, found {dimension.describe()}",
            hint="write for example `length: 1 m`",
        )
    drawn, what = scale.need("drawn"), "figure, scale, drawn"
    found, end = numeral(drawn, len(drawn.text) - len(drawn.text.lstrip()), what)
    if drawn.text[end:].strip() or not 0 < found.value <= MOST_DRAWN:
        raise drawn.fault(
            f"{what}: expected a number above 0 and up to {MOST_DRAWN}, found "
            f"'{drawn.text.strip()[:40]}'",
            hint="write how many units of the drawing the length takes",
        )
    return Binary("/", length, number(found.value))


def _shapes(keys: Keys, section: str, reader: ShapeReader) -> Iterator[Shape]:
    for position, node in enumerate(keys.items(section), 1):
        yield _shape(node, f"figure, {section} {position}", section == "solved", reader)


def _shape(node: YamlNode, what: str, solved: bool, reader: ShapeReader) -> Shape:
    if not isinstance(node, MappingNode) or len(node.entries) != 1:
        raise node.fault(
            f"{what}: expected one shape, found {describe(node)}",
            hint="write for example `- disc: {at: [0, 0], radius: 40}`",
        )
    (entry,) = node
    kind = entry.key.text
    if kind not in SHAPES:
        raise entry.key.fault(
            f"{what}: there is no shape '{kind[:40]}'", hint=nearest(kind, SHAPES)
        )
    keys = Keys(entry.value, SHAPES[kind], f"{what} ({kind})", entry.key)
    if not solved and "only" in keys:
        raise keys.key("only").fault(
            f"{keys.what}: it would give the case away",
            hint="draw it under `solved:`, which is shown with the solution",
        )
    return reader.read(kind, keys, solved)
