"""Judging every item as it is written, at the price of a few passes over its bytes.

Siblings differ in text and numbers and hardly ever in structure, and a grammar judges structure
and the form of values. So each distinct structure is parsed and judged in full once: by the
grammar and by the rules across elements. An item whose structure was accepted before is judged
by what is left:

- its skeleton: all tags with all attributes, with a dot for any text between them, without
  `alttext`, `interpretation` and the item's own identifier; with it the text of every value
  that is no number. It must equal one that was accepted;
- the free text left out: no `&` but of the seven references written here, as many `>` as `<`,
  no empty `alttext` (characters that XML forbids are refused where text is escaped);
- the numbers left out: each is a finite XML Schema double; keys lie in their bands, bands are
  in order, wrong ranges stay apart from the right one, the scores add up to MAXSCORE.

Together this is the verdict that parsing and judging the item in full would give; the tests
hold both against each other.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from lxml import etree

from qbank.errors import CheckFailed, QbankError
from qbank.formats import qti_references
from qbank.formats.base import Finding
from qbank.formats.dialects import Dialect
from qbank.formats.grammar import grammar, parse
from qbank.formats.qti_tree import attribute, child, children, descendants, local

MOST_SKELETONS = 1024  # about 8 MB
_IDENTIFIER = re.compile(r"[A-Za-z_][A-Za-z0-9._-]{0,31}")
# Text with something to read in it; but identifiers, after `baseType="identifier">`, stay.
_TEXT = re.compile(rb">(?<!r\">)\s*[^<\s][^<]*<")
_ALTTEXT = re.compile(rb' alttext="[^"]+"')
_INTERPRETATION = re.compile(rb' interpretation="[^"]*"')
_FLOATS = re.compile(rb'"float">([^<]+)<')
_REFERENCE = re.compile(rb"&(?:amp|lt|gt|quot|#13|#10|#9);")
_NUMBER = re.compile(rb"-?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")
_NUMBERS = re.compile(rb"(?:-?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?(?: |$))*")


@dataclass(frozen=True, slots=True)
class _Plan:
    """Where the numbers of a structure stand: positions among its values and its floats."""

    floats: int  # how many there are
    bands: tuple[tuple[int, int, int, bool], ...]  # key (a value), low, high (floats); the right?
    scores: tuple[int, ...]
    maximum: int


class ItemJudge:
    """Accepts or refuses items of one dialect; remembers the structures it has accepted."""

    def __init__(self, dialect: Dialect) -> None:
        self._dialect = dialect
        self._value = re.compile(dialect.markup("<value>([^<]*)<").encode())
        self._accepted: dict[bytes, _Plan] = {}
        self.judged_in_full = 0

    def ensure(self, identifier: str, member: str, data: bytes) -> None:
        """Raise CheckFailed with the findings when the item breaks a rule."""
        if not _IDENTIFIER.fullmatch(identifier):
            raise CheckFailed(
                f"the item's identifier '{identifier}' is no name of at most 32 characters"
            )
        values = self._value.findall(data)
        numbers = _FLOATS.findall(data)
        key = self._skeleton(identifier, data, values)
        plan = self._accepted.get(key)
        if plan is not None and plain_text(data) and _agree(plan, values, numbers):
            return
        findings, root = self.findings(member, data)
        if findings or root is None:
            raise CheckFailed(
                f"the item written as '{member}' breaks {len(findings)} of the rules for packages",
                hint="\n    ".join(map(str, findings[:10])),
            )
        if plan is None and plain_text(data):
            if len(self._accepted) >= MOST_SKELETONS:
                self._accepted.clear()
            self._accepted[key] = _plan(root)

    def findings(self, member: str, data: bytes) -> tuple[list[Finding], etree._Element | None]:
        """The judgement in full: everything wrong with an item, and its root when it has one."""
        self.judged_in_full += 1
        try:
            root = parse(data, member)
        except QbankError as fault:
            return [Finding("xml.well-formed", member, fault.message, None, "XML 1.0")], None
        found = list(grammar(self._dialect.name).iter_findings(root, member))
        if not found:
            found = list(qti_references.iter_findings(root, member))
        return found, root

    @staticmethod
    def _skeleton(identifier: str, data: bytes, values: list[bytes]) -> bytes:
        bare = data.replace(b'identifier="%s"' % identifier.encode(), b"", 1)
        bare = _ALTTEXT.sub(b"", _INTERPRETATION.sub(b"", _TEXT.sub(b">.<", bare)))
        names = [b"#" if _NUMBER.fullmatch(value) else value for value in values]
        return b"<".join((bare, *names))


def plain_text(data: bytes) -> bool:
    """Whether the text, all of it escaped by us, holds no markup of its own."""
    references = data.count(b"&")
    return (references == 0 or references == len(_REFERENCE.findall(data))) and (
        data.count(b"<") == data.count(b">")
    )


def _agree(plan: _Plan, values: list[bytes], numbers: list[bytes]) -> bool:
    """Whether the numbers are finite doubles and agree with each other."""
    if len(numbers) != plan.floats or not _NUMBERS.fullmatch(b" ".join(numbers)):
        return False
    floats = [float(number) for number in numbers]
    low = high = 0.0
    for key, low_at, high_at, right in plan.bands:
        if right:
            low, high = floats[low_at], floats[high_at]
            if not low <= float(values[key]) <= high:
                return False
        elif not (floats[low_at] <= floats[high_at]) or (
            floats[low_at] < high and low < floats[high_at]
        ):
            return False
    attainable = math.fsum(floats[at] for at in plan.scores)
    return math.isclose(float(values[plan.maximum]), attainable, rel_tol=1e-9, abs_tol=1e-12)


def _plan(root: etree._Element) -> _Plan:
    """The positions of the numbers of an accepted item, in the order of the document."""
    value_at = {element: at for at, element in enumerate(descendants(root, "value"))}
    float_at = {
        element: at
        for at, element in enumerate(
            base
            for base in descendants(root, "baseValue")
            if attribute(base, "baseType") == "float"
        )
    }
    declared: dict[str, int] = {}
    for declaration in children(root, "responseDeclaration", "outcomeDeclaration"):
        holder = next(children(declaration, "correctResponse", "defaultValue"), None)
        first = None if holder is None else child(holder, "value")
        if first is not None:
            declared[attribute(declaration, "identifier")] = value_at[first]
    bands = []
    seen: set[str] = set()
    for band in qti_references.bands(root):
        right = band.response not in seen
        seen.add(band.response)
        bands.append((declared[band.response], float_at[band.lower], float_at[band.upper], right))
    scores = []
    for setting in descendants(root, "setOutcomeValue"):
        base = child(setting, "baseValue")
        if base is not None and local(base.tag) == "baseValue" and base in float_at:
            scores.append(float_at[base])
    return _Plan(len(float_at), tuple(bands), tuple(scores), declared["MAXSCORE"])
