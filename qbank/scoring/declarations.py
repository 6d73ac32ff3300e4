"""What an item declares: variables with their defaults, keys, mappings and lookup tables."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from lxml import etree

from qbank.scoring.areas import Area, read_area
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.names import children, get, name_of_tag
from qbank.scoring.values import (
    BASE_TYPES,
    CARDINALITIES,
    Value,
    number_of,
    read_value,
    scalar,
)

RESPONSE, OUTCOME, TEMPLATE = "response", "outcome", "template"
KINDS = {
    "responseDeclaration": RESPONSE,
    "outcomeDeclaration": OUTCOME,
    "templateDeclaration": TEMPLATE,
}


@dataclass(frozen=True, slots=True)
class Mapping:
    """From members of a response to numbers, with what a member not listed is worth.

    `folded` holds the entries that ignore case, by their key in one case.
    """

    default: float
    low: float
    high: float
    entries: dict[object, float]
    folded: dict[str, float] = field(default_factory=dict)

    def worth(self, member: object) -> float:
        found = self.entries.get(member)
        if found is None and self.folded and isinstance(member, str):
            found = self.folded.get(member.casefold())
        return self.default if found is None else found

    def clamp(self, total: float) -> float:
        return min(max(total, self.low), self.high)


@dataclass(frozen=True, slots=True)
class AreaMapping:
    """From points to numbers by the first area they lie in."""

    default: float
    low: float
    high: float
    areas: tuple[tuple[Area, float], ...]


@dataclass(frozen=True, slots=True)
class Lookup:
    """A table from a number to a value: exact (matchTable) or by steps, from high to low."""

    exact: bool
    default: Value | None
    entries: tuple[tuple[float, bool, Value | None], ...]  # source, boundary included, target

    def find(self, source: float) -> Value | None:
        for bound, included, target in self.entries:
            if (
                source == bound
                if self.exact
                else (source > bound or (included and source == bound))
            ):
                return target
        return self.default


class Declaration(NamedTuple):
    """One variable. `base` is empty for records; `element` gives what is read when needed."""

    kind: str
    name: str
    cardinality: str
    base: str
    default: Value | None
    correct: Value | None
    element: etree._Element
    mapping: Mapping | None = None
    areas: AreaMapping | None = None
    lookup: Lookup | None = None

    @property
    def initial(self) -> Value | None:
        """Its value at the start: the default; a number without one starts at 0 in outcomes.

        From memory of the standard (mapping note, g1).
        """
        if self.default is None and self.kind == OUTCOME and self.cardinality == "single":
            return _ZERO.get(self.base)
        return self.default

    @property
    def math_variable(self) -> bool:
        return get(self.element, "mathVariable") == "true"

    def bound(self, name: str) -> float | None:
        """normalMaximum or normalMinimum. Raises ScoringError when it is no number."""
        text = get(self.element, name)
        return None if text is None else _number(self.element, name)


_ZERO = {"integer": Value("single", "integer", 0), "float": Value("single", "float", 0.0)}


def read_declaration(kind: str, element: etree._Element) -> Declaration:
    """A response, outcome or template variable as its element declares it.

    Raises ScoringError for one without name, of no known kind, or with values that are not of it.
    """
    name = element.get("identifier")
    cardinality = element.get("cardinality") or "single"
    base = element.get("baseType") or element.get("base-type") or ""
    if not name:
        raise ScoringError(f"a {kind} declaration has no identifier{at(element)}")
    if cardinality not in CARDINALITIES or (base not in BASE_TYPES and cardinality != "record"):
        raise ScoringError(
            f"'{name}'{at(element)} is declared as {cardinality} of '{base}'",
            hint="cardinality is single, multiple, ordered or record, with a base type of QTI",
        )
    default = correct = mapping = areas = lookup = None
    for part in element:
        part_name = name_of_tag(part.tag)
        if part_name == "correctResponse":
            correct = _declared(name, cardinality, base, part)
        elif part_name == "defaultValue":
            default = _declared(name, cardinality, base, part)
        elif part_name == "mapping":
            mapping = _mapping(base, part)
        elif part_name == "areaMapping":
            areas = _area_mapping(part)
        elif part_name in ("matchTable", "interpolationTable"):
            lookup = _lookup(name, cardinality, base, part)
    return Declaration(
        kind, name, cardinality, base, default, correct, element, mapping, areas, lookup
    )


def _mapping(base: str, element: etree._Element) -> Mapping:
    entries: dict[object, float] = {}
    folded: dict[str, float] = {}
    for entry in children(element, "mapEntry"):
        text = get(entry, "mapKey") or ""
        worth = _number(entry, "mappedValue", needed=True)
        try:
            key = scalar(base, text)
        except ValueError as fault:
            raise ScoringError(f"map key '{text}'{at(entry)}: {fault}") from fault
        # Sensitive unless it says otherwise: what the official 2.x items imply (note, b7).
        if isinstance(key, str) and get(entry, "caseSensitive") == "false":
            folded.setdefault(key.casefold(), worth)
        else:
            entries.setdefault(key, worth)
    return Mapping(*_range(element), entries, folded)


def _area_mapping(element: etree._Element) -> AreaMapping:
    areas = tuple(
        (read_area(entry), _number(entry, "mappedValue", needed=True))
        for entry in children(element, "areaMapEntry")
    )
    return AreaMapping(*_range(element), areas)


def _lookup(name: str, cardinality: str, base: str, table: etree._Element) -> Lookup:
    kind = name_of_tag(table.tag)

    def target(text: str, element: etree._Element) -> Value | None:
        return read_texts(cardinality, base, [text], name, element)

    default = get(table, "defaultValue")
    return Lookup(
        exact=kind == "matchTable",
        default=None if default is None else target(default, table),
        entries=tuple(
            (
                _number(entry, "sourceValue", needed=True),
                get(entry, "includeBoundary") != "false",
                target(get(entry, "targetValue") or "", entry),
            )
            for entry in children(table, f"{kind}Entry")
        ),
    )


def _declared(identifier: str, cardinality: str, base: str, holder: etree._Element) -> Value | None:
    if cardinality == "record":
        fields = {}
        for value in children(holder, "value"):
            kind = get(value, "baseType") or "string"
            held = read_texts("single", kind, [value.text or ""], identifier, value)
            if held is not None:
                fields[get(value, "fieldIdentifier") or ""] = held
        return Value("record", "", fields) if fields else None
    texts = [v.text or "" for v in holder]
    if cardinality == "single" and len(texts) == 1:
        try:
            return _single(base, texts[0])
        except ValueError:
            pass  # read again below, which tells the place
    return read_texts(cardinality, base, texts, identifier, holder)


@lru_cache(maxsize=512)
def _single(base: str, text: str) -> Value | None:
    """A single value; the same few defaults stand in every item."""
    return read_value("single", base, [text])


def read_texts(
    cardinality: str, base: str, texts: list[str], name: str, element: etree._Element
) -> Value | None:
    """A value out of texts of the document, with the place in the fault."""
    try:
        return read_value(cardinality, base, texts)
    except ValueError as fault:
        shown = " ".join(texts)[:60]
        raise ScoringError(f"'{shown}' of '{name}'{at(element)}: {fault}") from fault


def _range(element: etree._Element) -> tuple[float, float, float]:
    """Default value, lower bound and upper bound of a mapping."""
    low = get(element, "lowerBound")
    high = get(element, "upperBound")
    return (
        _number(element, "defaultValue"),
        -math.inf if low is None else _number(element, "lowerBound"),
        math.inf if high is None else _number(element, "upperBound"),
    )


def _number(element: etree._Element, name: str, needed: bool = False) -> float:
    text = get(element, name)
    if text is None and not needed:
        return 0.0
    try:
        return number_of((text or "").strip())
    except ValueError as fault:
        raise ScoringError(f'{name}="{text or ""}"{at(element)}: {fault}') from fault
