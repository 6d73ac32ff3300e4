"""Rules made ready once for all items that differ in their numbers only.

The siblings of a bank have the same rules with other bounds and keys in them. A program is
built from the first of them; it reads its numbers from the session (`literals`) and keys,
mappings and tables from the item's declarations, so that the next sibling needs no building.
Two items share a program when their rules are the same text once the numbers that fill an
element are taken out, and they declare the same names with the same kinds.
"""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from qbank.scoring.calls import Scope
from qbank.scoring.declarations import Declaration
from qbank.scoring.leaves import LITERAL, constant_of
from qbank.scoring.rules import Exit, RuleBuilder
from qbank.scoring.session import Rule, Session
from qbank.scoring.values import Value

# The text of an element that holds nothing but a number, in serialised markup.
# Without lookaround, so that the search jumps from one '>' to the next.
_NUMBERS = re.compile(b">(" + LITERAL.pattern.encode() + b")</")
MAX_KEPT = 256
MAX_KEPT_BYTES = 100_000


@dataclass(frozen=True, slots=True)
class Program:
    """Rules ready to run, with the base types of the numbers they read from the session."""

    rules: tuple[Rule, ...]
    count: int
    bases: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Processing:
    """A program with one item's numbers."""

    program: Program
    literals: tuple[Value | None, ...]

    def run(self, session: Session) -> None:
        """Run the rules to their end or an exit."""
        session.literals = self.literals
        try:
            for rule in self.program.rules:
                rule(session)
        except Exit:
            pass


EMPTY = Processing(Program((), 0, (), ()), ())
_kept: OrderedDict[object, Program] = OrderedDict()


def processing_of(
    element: etree._Element,
    declared: Mapping[str, Declaration],
    in_test: bool = False,
    text: bytes | None = None,
) -> Processing:
    """The rules in an element. Raises ScoringError when they cannot be run as they stand.

    `text` may give the element's markup where it is at hand, which spares writing it out.
    """
    raw = etree.tostring(element, with_tail=False) if text is None else text
    if len(raw) > MAX_KEPT_BYTES:
        return _plain(element, declared, in_test)
    pieces = _NUMBERS.split(raw)
    kinds = tuple([d[:4] for d in declared.values()])  # kind, name, cardinality, base type
    key = (tuple(pieces[::2]), kinds, in_test)
    program = _kept.get(key)
    if program is None:
        scope = Scope(declared, in_test, literals=[])
        program = _built(element, scope)
        if len(program.bases) != len(pieces) // 2:  # a number that is no baseValue
            return _plain(element, declared, in_test)
        _kept[key] = program
        if len(_kept) > MAX_KEPT:
            _kept.popitem(last=False)
    else:
        _kept.move_to_end(key)
    texts = pieces[1::2]
    return Processing(
        program,
        tuple([_literal(b, t) for b, t in zip(program.bases, texts, strict=True)]),
    )


_PAIRS = (
    (b"<responseProcessing>", b"</responseProcessing>"),
    (b"<qti-response-processing>", b"</qti-response-processing>"),
)


def rules_text(data: bytes) -> bytes | None:
    """The markup within a document's response processing, where a search finds it for certain.

    The element's name may stand nowhere else, in no spelling, so that what is found is no
    comment; and what stands within has to be plain UTF-8 markup, where a number is what it
    looks like. None for all other documents.
    """
    lower = data.lower()
    if lower.count(b"responseprocessing") + lower.count(b"response-processing") != 2:
        return None
    head = lower[:200]
    if b"encoding" in head and b"utf-8" not in head:
        return None
    for opening, closing in _PAIRS:
        start, end = data.find(opening), data.find(closing)
        if 0 <= start < end:
            text = data[start + len(opening) : end]
            return None if b"<!" in text or b"<?" in text or b"&" in text else text
    return None


def _literal(base: str, text: bytes) -> Value | None:
    if base == "float":  # by far the most
        try:
            return Value("single", "float", float(text))
        except ValueError:
            pass  # told below
    return constant_of(base, text.decode())


def _plain(
    element: etree._Element, declared: Mapping[str, Declaration], in_test: bool
) -> Processing:
    return Processing(_built(element, Scope(declared, in_test)), ())


def _built(element: etree._Element, scope: Scope) -> Program:
    builder = RuleBuilder(scope)
    rules = builder.build(element)
    return Program(rules, builder.count, tuple(scope.literals or ()), tuple(scope.warnings))


def forget() -> None:
    """Drop all programs that are kept."""
    _kept.clear()
