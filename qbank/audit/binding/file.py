"""A binding file: for each wording of a bank the family, and which number is which given.

Read by the same safe reader as family files: data alone, every fault with its place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from qbank.audit.binding.pattern import ANY, Pattern, Piece, pattern_of, read_piece
from qbank.audit.resolving import Resolver, resolver_of
from qbank.errors import ExpressionError
from qbank.expressions.parser import parse_measure
from qbank.expressions.tree import Measure
from qbank.expressions.units import DIMENSIONLESS, Unit, parse_unit
from qbank.family.keys import Keys, nearest, text_of
from qbank.family.model import Family
from qbank.family.nodes import Scalar
from qbank.family.reader import Holds, decode, read_bytes, read_nodes
from qbank.family.section import Form, Key, Section
from qbank.place import Place

MOST_BINDINGS = 500
MOST_ANSWERS = 40
HOLDS = Holds("bank's bindings", "`bindings:`", "bindings:")

FILE = Section(
    "The binding file",
    "How the quantities of families stand in the wordings of a bank.",
    (Key("bindings", Form.LIST, "one entry for each wording", True, most=MOST_BINDINGS),),
    example="""\
bindings:
  - family: stepped-drum
    wording: >-
      A little disc of {M_r} and radius {r} and a big one of {M_R} and radius {R} turn as one. On
      the left hangs {m_a}, on the right {m_b}.
    answers:
      - {find: alpha, prompt: "Which angular acceleration does the drum get?"}
      - {find: T_a, prompt: "Find the tension on the left, in N."}
    constants: {g: 9.8 m/s^2}""",
)

BINDING = Section(
    "bindings",
    "One wording. Its items are those whose stem has these words, save small edits.",
    (
        Key("family", Form.TEXT, "the family that solves it", True),
        Key(
            "wording",
            Form.TEXT,
            "the stem, with a field for each number: the name of a given in braces (for a data"
            " list one field for all its values), or {*} for a number that plays no part; left out"
            " where all words stand in prompts",
        ),
        Key("answers", Form.LIST, "what the parts ask for", True, most=MOST_ANSWERS),
        Key(
            "constants",
            Form.MAPPING,
            "given -> value, where the stem does not state it and the family's is not meant",
        ),
    ),
)

ANSWER = Section(
    "answers",
    "One part. Without `prompt` and `part` it is the one whose question stands in the stem.",
    (
        Key("find", Form.TEXT, "the unknown", True),
        Key("prompt", Form.TEXT, "the words that ask; fields may stand in them too"),
        Key("part", Form.TEXT, "the identifier of the part, in place of its words"),
        Key("unit", Form.TEXT, "of the key, where the bank states none; else the family's"),
    ),
)


@dataclass(frozen=True, slots=True)
class Answer:
    """What one part asks for. `pattern` is that of stem and prompt; `part` is empty where the words
    decide."""

    unknown: str
    pattern: Pattern
    part: str
    unit: Unit
    place: Place


@dataclass(frozen=True, slots=True)
class Binding:
    """One wording. `constants` are given -> value (SI)."""

    resolver: Resolver
    answers: tuple[Answer, ...]
    constants: Mapping[str, float]
    place: Place

    @property
    def family(self) -> Family:
        return self.resolver.family


def load_bindings(path: Path | str, families: Sequence[Family]) -> tuple[Binding, ...]:
    """Read a binding file; see `read_bindings`."""
    file = Path(path)
    return read_bindings(decode(read_bytes(file, HOLDS), str(file)), str(file), families)


def read_bindings(text: str, name: str, families: Sequence[Family]) -> tuple[Binding, ...]:
    """The bindings in a text, against the families there are.

    Raises FamilyError, with place and mend, for what is not known, for a value of another
    dimension, and where an answer needs a given that neither the wording nor `constants` has.
    """
    keys = Keys(read_nodes(text, name, HOLDS), FILE, "binding file")
    known = {family.name: family for family in families}
    return tuple(
        _binding(Keys(node, BINDING, f"binding {number}"), known)
        for number, node in enumerate(keys.items("bindings"), start=1)
    )


def _binding(keys: Keys, known: Mapping[str, Family]) -> Binding:
    scalar = keys.need("family")
    family = known.get(scalar.text.strip())
    if family is None:
        raise scalar.fault(
            f"{keys.what}: no family is named '{scalar.text.strip()[:80]}'",
            hint=nearest(scalar.text.strip(), known),
        )
    resolver = resolver_of(family)
    data = {**resolver.scalars, **resolver.lists}
    units = {name: datum.unit for name, datum in data.items()}
    words = keys.text("wording")
    stem = Piece("", (), ()) if words is None else read_piece(words, f"{keys.what}, wording", units)
    constants = _constants(keys, resolver, stem)
    nodes = keys.items("answers")
    if not nodes:
        raise keys.key("answers").fault(
            f"{keys.what}: no answer stands here", hint="write one `- {find: NAME}` a line"
        )
    answers = [
        _answer(
            Keys(node, ANSWER, f"{keys.what}, answer {number}"), resolver, stem, units, constants
        )
        for number, node in enumerate(nodes, start=1)
    ]
    return Binding(resolver, tuple(answers), constants, scalar.place)


def _answer(
    keys: Keys,
    resolver: Resolver,
    stem: Piece,
    units: Mapping[str, Unit],
    constants: Mapping[str, float],
) -> Answer:
    scalar = keys.need("find")
    name = scalar.text.strip()
    find = resolver.family.find
    if name not in find:
        raise scalar.fault(
            f"{keys.what}: '{name[:60]}' is no unknown of {resolver.family.name}",
            hint=nearest(name, find),
        )
    if "prompt" in keys and "part" in keys:
        raise keys.key("part").fault(
            f"{keys.what}: both 'prompt' and 'part' stand here", hint="keep one of them"
        )
    words = keys.text("prompt")
    prompt = None if words is None else read_piece(words, f"{keys.what}, prompt", units)
    if prompt is None and not stem.text.strip():
        keys.fail("neither a wording nor a prompt stands here", "write the words of the question")
    if prompt is not None and words is not None:
        twice = set(prompt.fields) & set(stem.fields) - {ANY}
        if twice:
            raise words.fault(
                f"{keys.what}: {min(twice)} stands in the wording already",
                hint=f"write {{{ANY}}} for a number that repeats another",
            )
    stated = {*stem.fields, *(prompt.fields if prompt else ()), *constants}
    fixed = {given for given, datum in resolver.scalars.items() if datum.fixed is not None}
    lacking = sorted((resolver.needs[name] & units.keys()) - stated - fixed)
    if lacking:
        raise scalar.fault(
            f"{keys.what}: {name} hangs on {', '.join(lacking)}, which the wording does not state",
            hint=f"put {{{lacking[0]}}} where its number stands, or write its value under"
            " `constants:`",
        )
    part = keys.text("part")
    return Answer(
        name,
        pattern_of(stem, prompt, units, scalar.place),
        part.text.strip() if part is not None else "",
        _unit(keys, find[name].unit),
        scalar.place,
    )


def _unit(keys: Keys, own: Unit) -> Unit:
    scalar = keys.text("unit")
    if scalar is None:
        return own
    try:
        unit = parse_unit(scalar.text.strip())
    except ExpressionError as error:
        raise scalar.located(error, f"{keys.what}, unit") from None
    if unit.dimension != own.dimension:
        raise scalar.fault(
            f"{keys.what}: the answer is {own.dimension.describe()}; {unit.text or 'a pure number'}"
            f" is {unit.dimension.describe()}",
            hint=f"write {own.ascii} or a unit of the same kind",
        )
    return unit


def _constants(keys: Keys, resolver: Resolver, stem: Piece) -> dict[str, float]:
    found = {}
    for entry in keys.mapping("constants"):
        name, what = entry.key.text.strip(), f"{keys.what}, constants"
        datum = resolver.scalars.get(name)
        if datum is None:
            raise entry.key.fault(
                f"{what}: '{name[:60]}' is no single given of {resolver.family.name}",
                hint=nearest(name, resolver.scalars),
            )
        if name in stem.fields:
            raise entry.key.fault(
                f"{what}: the wording states {name} already",
                hint="delete one of the two",
            )
        found[name] = _value(text_of(entry, what), datum.unit, f"{what}, {name}")
    return found


def _value(scalar: Scalar, own: Unit, what: str) -> float:
    try:
        measure = parse_measure(scalar.text)
    except ExpressionError as error:
        raise scalar.located(error, what) from None
    if not isinstance(measure, Measure):
        if own.text and own.dimension != DIMENSIONLESS:
            raise scalar.fault(
                f"{what}: '{scalar.text.strip()[:40]}' has no unit;"
                f" {own.dimension.describe()} needs one",
                hint=f"write '{scalar.text.strip()[:40]} {own.ascii}'",
            )
        return own.si_value(measure.value)
    if measure.unit.dimension != own.dimension:
        raise scalar.fault(
            f"{what}: expected {own.dimension.describe()}, found"
            f" {measure.unit.dimension.describe()}",
            hint=f"give it in {own.ascii} or a unit of the same kind",
        )
    return measure.unit.si_value(measure.value)
