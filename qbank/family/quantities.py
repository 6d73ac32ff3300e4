"""The sections `given`, `let` and `find`: which quantities there are, and what they are."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from qbank.expressions.tree import Measure, Name, Node, Number, Span, names_in, walk
from qbank.expressions.units import Unit
from qbank.family import attributes, numerals, schema
from qbank.family.keys import Keys, nearest
from qbank.family.model import Fixed, Given, Grid, Let, Listed, Sampled, Source, Unknown
from qbank.family.nodes import Scalar
from qbank.family.scope import KNOWN, SOLUTION, Formulas, Kind, Piece, Scope
from qbank.family.section import Section

MAX_SAMPLE = 200
_SAMPLE = re.compile(r"\s*(normal|uniform)\s*\((.*)\)\s*", re.DOTALL)


@dataclass(frozen=True, slots=True)
class _Declared:
    """A quantity whose name, unit and kind are known, before its expressions are read."""

    key: Scalar
    keys: Keys
    unit: Unit
    source: Grid | Listed | Fixed | None = None
    scientific: bool = False

    @property
    def name(self) -> str:
        return self.key.text

    @property
    def what(self) -> str:
        return self.keys.what


class Quantities:
    """Declares all quantities first, so that any expression may mention any of them."""

    def __init__(self, top: Keys, scope: Scope) -> None:
        self.scope = scope
        self.formulas = Formulas(scope)
        self._symbols: dict[str, str] = {}
        self._given = list(self._declare_givens(top))
        self._let = list(self._declare(top, "let", schema.LET, Kind.LET, "let"))
        self._find = list(self._declare(top, "find", schema.FIND, Kind.UNKNOWN, "unknown"))
        self._samples = {d.name: d for d in self._given if d.source is None}

    def _declare_givens(self, top: Keys) -> Iterator[_Declared]:
        for entry in top.mapping("given"):
            what = f"given '{entry.key.text[:60]}'"
            keys = Keys(entry.value, schema.GIVEN, what, entry.key)
            form = keys.one_of()
            scalar = keys.need(form)
            source: Grid | Listed | Fixed | None = None
            scientific = False
            match form:
                case "draw":
                    source, unit, scientific = numerals.read_grid(scalar, what)
                case "list":
                    source, unit, scientific = numerals.read_listed(scalar, what)
                case "fixed":
                    source, unit, scientific = numerals.read_fixed(scalar, what)
                case _:
                    unit = attributes.read_unit(keys)
            if source is not None:
                attributes.refuse_below_absolute_zero(source, unit, scalar, what)
            kind = Kind.GIVEN if source is not None else Kind.DATA
            self.scope.declare(entry.key, kind, unit.dimension)
            yield _Declared(entry.key, keys, unit, source, scientific)

    def _declare(
        self, top: Keys, name: str, section: Section, kind: Kind, called: str
    ) -> Iterator[_Declared]:
        for entry in top.mapping(name):
            keys = Keys(entry.value, section, f"{called} '{entry.key.text[:60]}'", entry.key)
            unit = attributes.read_unit(keys)
            self.scope.declare(entry.key, kind, unit.dimension)
            yield _Declared(entry.key, keys, unit)

    # ------------------------------------------------------------------------ given

    def given(self) -> dict[str, Given]:
        """The section `given`."""
        return {
            declared.name: Given(
                name=declared.name,
                meaning=declared.keys.words("name"),
                symbol=attributes.read_symbol(declared.keys, declared.key, self._symbols),
                unit=declared.unit,
                source=declared.source or self._sample(declared),
                scientific=declared.scientific,
                place=declared.key.place,
                hidden=attributes.read_boolean(declared.keys, "hidden"),
                accept=self._accepted(declared),
            )
            for declared in self._given
        }

    def _accepted(self, declared: _Declared) -> tuple[Fixed, ...]:
        scalar = declared.keys.text("accept")
        if scalar is None:
            return ()
        what = f"{declared.what}, accept"
        return numerals.read_accepted(scalar, declared.unit, what)

    def _sample(self, declared: _Declared) -> Source:
        keys, what, unit = declared.keys, declared.what, declared.unit
        scalar = keys.need("sample")
        match = _SAMPLE.fullmatch(scalar.text)
        commas = list(_outer_commas(match[2])) if match else []
        if match is None or len(commas) != 1:
            raise scalar.fault(
                f"{what}: expected normal(mean, sd) or uniform(low, high), found "
                f"'{scalar.text[:60]}'",
                hint="write for example normal(mu, sd)",
            )
        start, split = match.start(2), commas[0]
        first, second = (
            self.formulas.value(
                piece,
                what,
                frozenset({Kind.GIVEN}),
                unit.dimension,
                attributes.shown_unit(unit),
            )
            for piece in (
                Piece(scalar, match[2][:split], start),
                Piece(scalar, match[2][split + 1 :], start + split + 1),
            )
        )
        for key in ("size", "decimals"):
            if key not in keys:
                keys.fail(f"a sample needs the key '{key}'", f"add `{key}:`")
        decimals = numerals.whole_number(keys.need("decimals"), f"{what}, decimals", 0, 12)
        least, most, like = self._size(declared)
        return Sampled(
            "normal" if match[1] == "normal" else "uniform",
            (first, second),
            least,
            most,
            -decimals,
            like,
        )

    def _size(self, declared: _Declared) -> tuple[int, int, str | None]:
        scalar, what = declared.keys.need("size"), f"{declared.what}, size"
        match = re.fullmatch(r"\s*like\s+(\S+)\s*", scalar.text)
        if match is None:
            return (*numerals.read_size(scalar, what, MAX_SAMPLE), None)
        other = match[1]
        if other not in self._samples or other == declared.name:
            raise scalar.fault(
                f"{what}: '{other[:40]}' is no other data list",
                match.span(1),
                nearest(other, [name for name in self._samples if name != declared.name]),
            )
        keys = self._samples[other].keys
        if "size" not in keys:
            keys.fail("a sample needs the key 'size'", "add `size:`")
        size = keys.need("size")
        if size.text.split()[:1] == ["like"]:
            raise scalar.fault(
                f"{what}: '{other}' itself takes its size from another list",
                match.span(1),
                f"write `size: {' '.join(size.text.split())[:60]}`",
            )
        return (*numerals.read_size(size, f"given '{other}', size", MAX_SAMPLE), other)

    # ------------------------------------------------------------------------ let

    def let(self) -> dict[str, Let]:
        """The section `let`; refuses definitions that go in a circle."""
        lets = {
            declared.name: Let(
                name=declared.name,
                meaning=declared.keys.words("name"),
                symbol=attributes.read_symbol(declared.keys, declared.key, self._symbols),
                unit=declared.unit,
                expression=self.formulas.value(
                    Piece.whole(declared.keys.need("equals")),
                    declared.what,
                    KNOWN,
                    declared.unit.dimension,
                    attributes.shown_unit(declared.unit),
                ),
                shown=attributes.read_format(declared.keys, figures=4),
                place=declared.key.place,
            )
            for declared in self._let
        }
        for declared in self._let:
            if circle := _circle(declared.name, lets):
                raise declared.keys.need("equals").fault(
                    f"{declared.what} is defined by itself: {' -> '.join(circle)}",
                    _span_of(circle[1], lets[declared.name].expression),
                    "define one of them by givens alone, or make it an unknown with a law",
                )
        return lets

    # ------------------------------------------------------------------------ find

    def find(self) -> dict[str, Unknown]:
        """The section `find`."""
        return {
            declared.name: Unknown(
                name=declared.name,
                meaning=declared.keys.words("name"),
                symbol=attributes.read_symbol(declared.keys, declared.key, self._symbols),
                unit=declared.unit,
                shown=attributes.read_format(declared.keys, figures=3),
                tolerance=attributes.read_tolerance(declared.keys, declared.unit),
                place=declared.key.place,
                expect=self._about(declared, "expect"),
                choose=self._about(declared, "choose"),
                between=self._bracket(declared),
            )
            for declared in self._find
        }

    def _about(self, declared: _Declared, key: str) -> Node | None:
        """The condition under `key`, which must mention the unknown itself."""
        scalar = declared.keys.text(key)
        if scalar is None:
            return None
        what = f"{declared.what}, {key}"
        node = self.formulas.condition(Piece.whole(scalar), what, SOLUTION)
        if declared.name not in names_in(node):
            raise scalar.fault(
                f"{what}: the condition does not mention {declared.name}",
                hint=f"say what holds for it, such as {declared.name} > 0",
            )
        return node

    def _bracket(self, declared: _Declared) -> tuple[Node, Node] | None:
        scalar = declared.keys.text("between")
        if scalar is None:
            return None
        what = f"{declared.what}, between"
        low, dots, high = scalar.text.partition("..")
        if not dots or ".." in high:
            raise scalar.fault(
                f"{what}: expected `low .. high`, found '{scalar.text[:60]}'",
                hint="write for example 0 s .. 20*R*C",
            )
        ends = (Piece(scalar, low), Piece(scalar, high, len(low) + 2))
        unit = declared.unit
        first, last = (
            self.formulas.value(piece, what, KNOWN, unit.dimension, attributes.shown_unit(unit))
            for piece in ends
        )
        if first == last or _literal(first) > _literal(last):
            raise scalar.fault(
                f"{what}: the lower end {low.strip()} is not below the upper {high.strip()}",
                hint="write the lower end first",
            )
        return first, last


def _literal(node: Node) -> float:
    """The SI value of a number or a measure; NaN, which is above nothing, for the rest."""
    match node:
        case Number(value=value):
            return float(value)
        case Measure(value=value, unit=unit):
            return unit.si_value(value)
        case _:
            return math.nan


def _outer_commas(text: str) -> Iterator[int]:
    depth = 0
    for at, letter in enumerate(text):
        depth += (letter == "(") - (letter == ")")
        if letter == "," and depth == 0:
            yield at


def _circle(start: str, lets: dict[str, Let]) -> list[str]:
    """The way from `start` back to itself, if its definition leads there."""
    paths, seen = [[start]], {start}
    while paths:
        path = paths.pop()
        for name in sorted(names_in(lets[path[-1]].expression) & lets.keys()):
            if name == start:
                return [*path, start]
            if name not in seen:
                seen.add(name)
                paths.append([*path, name])
    return []


def _span_of(name: str, node: Node) -> Span | None:
    return next((p.span for p in walk(node) if isinstance(p, Name) and p.id == name), None)
