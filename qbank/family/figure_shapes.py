"""One shape of a figure: each key read as what the schema says it holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from qbank.expressions.tree import Call, Node
from qbank.family.cases import read_only
from qbank.family.fields import Audience, SentenceReader
from qbank.family.figure_axes import Axes, Range, curve_points, read_range, same_dimension
from qbank.family.figure_numbers import FigureNumbers, number
from qbank.family.figure_schema import HOLDS, KINDS, Holds
from qbank.family.keys import Keys, describe, nearest
from qbank.family.model import (
    Case,
    FigureField,
    FormulaField,
    Sentence,
    Shape,
    TableField,
    ValueField,
)
from qbank.family.nodes import Listing, Scalar
from qbank.family.nodes import Node as YamlNode

SIDES = ("above", "below", "left", "right")
SIZE = (number(260), number(160))  # of axes whose author names none
SHOWS_VALUES = ("value", "number", "equation")


@dataclass(slots=True)
class _Parts:
    """What the keys of one shape hold."""

    numbers: dict[str, tuple[Node, ...]] = field(default_factory=dict)
    lists: dict[str, Node] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    texts: dict[str, Sentence] = field(default_factory=dict)


class ShapeReader:
    """Reads the shapes of one figure in order; axes are known by name to those after them."""

    def __init__(
        self, sentences: SentenceReader, numbers: FigureNumbers, cases: Sequence[Case]
    ) -> None:
        self._sentences = sentences
        self._numbers = numbers
        self._cases = cases
        self._axes: dict[str, Axes] = {}

    def read(self, kind: str, keys: Keys, solved: bool) -> Shape:
        """The shape under `keys`, of a kind the schema has."""
        parts = _Parts()
        ranges: dict[str, Range] = {}
        for entry in keys.node:
            name, node = entry.key.text, entry.value
            what = f"{keys.what}, {name}"
            holds = None if name == "only" else HOLDS[name]
            match holds, node:
                case Holds.POINT | Holds.PAIR, _:
                    parts.numbers[name] = self._numbers.pair(node, what)
                case Holds.POINTS, _:
                    parts.numbers[name] = self._numbers.points(node, what)
                case Holds.NAMES, _:
                    self._names(node, what, parts, solved)
                case Holds.EXTENT, Scalar():
                    parts.numbers[name] = (self._numbers.extent(node, what),)
                case Holds.ANGLE, Scalar():
                    parts.numbers[name] = (self._numbers.plain(node, what, "an angle"),)
                case Holds.NUMBER, Scalar():
                    parts.numbers[name] = (self._numbers.plain(node, what, "a pure number"),)
                case Holds.SIGNED, Scalar():
                    parts.numbers[name] = (Call("sign", (self._numbers.any(node, what)[0],)),)
                case Holds.SENTENCE, Scalar():
                    parts.texts[name] = self._label(node, what, solved)
                case Holds.SIDE | Holds.KIND | Holds.SWITCH, Scalar():
                    parts.words[name] = _word(node, what, holds, kind)
                case Holds.RANGE, Scalar():
                    ranges[name] = read_range(node, what, self._numbers)
                case _:  # `in`, `of`, `x` and `y` are read together below, `only` and `name` too
                    pass
        if kind == "axes":
            self._declare(keys, parts, ranges)
        elif "in" in keys:
            self._plotted(kind, keys, parts)
        only = read_only(keys, self._cases)
        place = keys.at.place if keys.at is not None else keys.node.place
        return Shape(kind, parts.numbers, parts.lists, parts.words, parts.texts, only, place)

    # ------------------------------------------------------------------------ texts

    def _label(self, scalar: Scalar, what: str, solved: bool) -> Sentence:
        audience = Audience(what, answers=False, case_words=solved, counts=False)
        sentence = self._sentences.sentence(scalar, audience)
        for part in sentence:
            if isinstance(part, FormulaField | TableField | FigureField):
                raise scalar.fault(
                    f"{what}: a formula, table or figure cannot stand in a label",
                    hint="write values and symbols, such as {m_a.equation}",
                )
            if (
                isinstance(part, ValueField)
                and part.form in SHOWS_VALUES
                and part.name in self._numbers.hidden
            ):
                raise scalar.fault(
                    f"{what}: '{part.name}' is hidden from the student",
                    hint="label it with what is shown",
                )
        return sentence

    def _names(self, node: YamlNode, what: str, parts: _Parts, solved: bool) -> None:
        if not isinstance(node, Listing) or not 1 <= len(node.items) <= 2:
            raise node.fault(
                f"{what}: expected one or two texts, found {describe(node)}",
                hint='write for example ["t / s", "V / V"]',
            )
        for name, item in zip(("along", "upright"), node.items, strict=False):
            if not isinstance(item, Scalar):
                raise item.fault(
                    f"{what}: expected text, found {describe(item)}", hint="put it in quotes"
                )
            parts.texts[name] = self._label(item, what, solved)

    # ------------------------------------------------------------------------ axes

    def _declare(self, keys: Keys, parts: _Parts, ranges: dict[str, Range]) -> None:
        for name, ranged in ranges.items():
            parts.numbers[name] = ranged.numbers()
        x, y = parts.numbers["at"]
        wide, high = parts.numbers.setdefault("size", SIZE)
        name = keys.words("name")
        if name in self._axes:
            raise keys.need("name").fault(
                f"{keys.what}: axes called '{name[:40]}' stand above", hint="rename one of the two"
            )
        self._axes[name] = Axes(x, y, wide, high, ranges["across"], ranges.get("up"))

    def _plotted(self, kind: str, keys: Keys, parts: _Parts) -> None:
        scalar = keys.need("in")
        axes = self._axes.get(scalar.text.strip())
        if axes is None:
            raise scalar.fault(
                f"{keys.what}, in: no axes called '{scalar.text.strip()[:40]}' stand above",
                hint=nearest(scalar.text.strip(), filter(None, self._axes)),
            )
        parts.numbers["corner"] = (axes.x, axes.y)
        parts.numbers["size"] = (axes.wide, axes.high)
        reader = self._numbers
        if kind == "curve":
            parts.numbers["points"] = curve_points(
                keys.need("of"), f"{keys.what}, of", axes, reader
            )
        elif kind == "dots":
            of, what = keys.need("of"), f"{keys.what}, of"
            values, dimension = reader.list_of(of, what)
            same_dimension(of, what, dimension, axes.across)
            parts.lists["values"] = axes.at_x(values)
        else:
            if axes.up is None:
                keys.fail("the axes have no range up", "add `up: low .. high` to the axes")
            x, across = reader.any(keys.need("x"), f"{keys.what}, x")
            same_dimension(keys.need("x"), f"{keys.what}, x", across, axes.across)
            y, upwards = reader.any(keys.need("y"), f"{keys.what}, y")
            same_dimension(keys.need("y"), f"{keys.what}, y", upwards, axes.up)
            parts.numbers["point"] = (axes.at_x(x), axes.at_y(y, axes.up))


def _word(scalar: Scalar, what: str, holds: Holds, kind: str) -> str:
    """One of the few words a key may hold."""
    known: tuple[str, ...] = SIDES if holds is Holds.SIDE else ("yes", "no")
    if holds is Holds.KIND:
        known = KINDS[kind]
    word = scalar.text.strip()
    if word not in known:
        raise scalar.fault(
            f"{what}: expected {', '.join(known[:-1])} or {known[-1]}, found '{word[:40]}'",
            hint=nearest(word, known),
        )
    return word
