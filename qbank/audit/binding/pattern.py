"""A wording with fields in braces: "a disc of mass {M} and radius {r}". Patterns are data: braces
are found by hand, and the words between are compared as words."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from qbank.audit.grouping.columns import Worded
from qbank.audit.grouping.wording import asking, wordings_of
from qbank.audit.question import Quantity, Question
from qbank.expressions.units import Unit
from qbank.family.keys import nearest
from qbank.family.nodes import Scalar
from qbank.place import Place

ANY = "*"  # a number that plays no part
MOST_FIELDS = 200
_BRACES = re.compile(r"\{\{|\}\}|\{([^{}\n]{1,60})\}|\{|\}")


@dataclass(frozen=True, slots=True)
class Pattern:
    """A wording as if it were a question whose numbers are all 0.

    fields  the given that each number is; `ANY` for one without a part
    """

    worded: Worded
    fields: tuple[str, ...]
    asked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """The text of a scalar with its fields found: `text` has "0" for each of them."""

    text: str
    fields: tuple[str, ...]
    starts: tuple[int, ...]


def read_piece(scalar: Scalar, what: str, known: Mapping[str, Unit]) -> Piece:
    """Finds the fields of a text. FamilyError, with its place, for a brace that does not belong to
    one, a name that is no given and a field that stands twice."""
    parts: list[str] = []
    fields: list[str] = []
    starts: list[int] = []
    length = at = 0
    for match in _BRACES.finditer(scalar.text):
        literal = scalar.text[at : match.start()]
        at = match.end()
        if match[0] in ("{{", "}}"):
            literal += match[0][0]
        literal = re.sub(r"\s+", " ", literal)
        parts.append(literal)
        length += len(literal)
        if match[0] in ("{{", "}}"):
            continue
        if match[1] is None:
            raise scalar.fault(
                f"{what}: a single {match[0]} stands here",
                match.span(),
                "a field is written {name}; for a brace itself write {{ or }}",
            )
        name = match[1].strip()
        if name != ANY and name not in known:
            raise scalar.fault(
                f"{what}: '{name}' is no given of the family",
                match.span(),
                f"{nearest(name, known)}; a number that plays no part is {{{ANY}}}",
            )
        if name != ANY and name in fields:
            raise scalar.fault(
                f"{what}: {name} stands here a second time",
                match.span(),
                f"write {{{ANY}}} for a number that repeats another",
            )
        if len(fields) >= MOST_FIELDS:
            raise scalar.fault(f"{what}: more than {MOST_FIELDS} fields", match.span(), "split it")
        starts.append(length)
        fields.append(name)
        parts.append("0")
        length += 1
    parts.append(re.sub(r"\s+", " ", scalar.text[at:]))
    return Piece("".join(parts), tuple(fields), tuple(starts))


def pattern_of(
    stem: Piece, prompt: Piece | None, units: Mapping[str, Unit], place: Place
) -> Pattern:
    """The pattern of a stem and the prompt below it."""
    asks = prompt.text if prompt else ""
    offset = len(stem.text) + 1
    fields = (*stem.fields, *(prompt.fields if prompt else ()))
    starts = (*stem.starts, *(offset + at for at in prompt.starts)) if prompt else stem.starts
    quantities = tuple(
        Quantity("0", Fraction(0), _shown(units.get(name)), at, at + 1, 1, 0)
        for name, at in zip(fields, starts, strict=True)
    )
    question = Question(
        item="", part="", number=0, place=place, stem=stem.text, prompt=asks,
        quantities=quantities, key=math.nan, key_text="", unit=None, low=math.nan, high=math.nan,
    )  # fmt: skip
    worded = Worded(question, wordings_of(question)[1])
    return Pattern(worded, fields, asking(question))


def _shown(unit: Unit | None) -> Unit | None:
    """Pure numbers stand in a text without a unit."""
    return unit if unit is not None and unit.text else None
