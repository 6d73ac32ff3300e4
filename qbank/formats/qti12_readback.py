"""Reading items back from a QTI 1.2.1 package of ours, by the elements."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from urllib.parse import unquote

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.asi_readback import (
    Content,
    Rule,
    fields_of,
    metadata_of,
    provenance_of,
    right_options,
    rules_of,
)
from qbank.formats.grammar import parse
from qbank.formats.package import Package
from qbank.formats.qti12_arranged import (
    ORDER,
    PAIRS,
    RESPONSE,
    SOURCE,
    matching_of,
    read_order,
    read_pairs,
)
from qbank.formats.qti12_item import PROMPT, STEM, UNIT
from qbank.formats.qti_scan import MANIFEST, stream
from qbank.formats.qti_tree import attribute, child, children, descendants, local, text_of
from qbank.item import (
    Block,
    Choice,
    Inline,
    Item,
    Matching,
    NumberEntry,
    Option,
    Ordering,
    Part,
    Tolerance,
    WrongValue,
)

TEST = "test.xml"  # the assessment, which holds no items but refers to them
_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"


def iter_items(package: Package) -> Iterator[Item]:
    """The items in the manifest's order. Raises QbankError where one cannot be read."""
    with package.open(MANIFEST) as source:
        for resource in stream(source, MANIFEST, "resource"):
            href = unquote(attribute(resource, "href"))
            if local(resource.tag) != "resource" or href == TEST:
                continue
            root = parse(package.read(href), href)
            for element in children(root, "item"):
                try:
                    yield read_item(element, href, package.read)
                except (KeyError, IndexError, ValueError) as fault:
                    raise QbankError(
                        f"cannot read the item in '{href}': {fault}",
                        hint="`validate_package` says which rule it breaks",
                    ) from fault


def read_item(item: etree._Element, member: str, read: Callable[[str], bytes]) -> Item:
    """The item of one element; `read` gives the bytes of the package's members."""
    identifier = attribute(item, "ident")
    content = Content(member, identifier, read)
    fields: dict[str, list[str]] = {}
    for label, entry in fields_of(item):
        fields.setdefault(label, []).append(entry)
    named = {attribute(f, "ident"): f for f in children(item, "itemfeedback")}
    reader = _PartReader(content, fields, rules_of(item), named)
    presentation = child(item, "presentation")
    stem: tuple[Block, ...] = ()
    prompt: tuple[Inline, ...] = ()
    parts: list[Part] = []
    source: etree._Element | None = None
    lists: list[tuple[etree._Element, etree._Element]] = []
    for element in () if presentation is None else presentation:
        kind, label = local(element.tag), attribute(element, "label")
        if kind == "material" and label == STEM:
            stem = content.blocks(content.root(element))
        elif kind == "material" and label == PROMPT:
            prompt = content.inline(element)
        elif kind == "material" and label == SOURCE:
            source = element
        elif kind == "response_lid" and source is not None:
            lists.append((source, element))
            source, following = None, _next_list(element)
            if following is None or reader.matching(following) != reader.matching(element):
                parts.append(reader.pairs(lists, prompt))
                prompt, lists = (), []
        elif kind == "response_lid" and attribute(element, "rcardinality") == "Ordered":
            parts.append(reader.order(element, prompt))
            prompt = ()
        elif kind == "response_num":
            unit = element.getnext()
            has_unit = unit is not None and attribute(unit, "label") == UNIT
            said = text_of(content.root(unit)) if has_unit else ""
            parts.append(reader.number(element, prompt, said))
            prompt = ()
        elif kind == "response_lid":
            parts.append(reader.choice(element, prompt))
            prompt = ()
    hints: list[tuple[Inline, ...]] = []
    while (hint := named.get(f"HINT_{len(hints) + 1}")) is not None:
        hints.append(content.inline(hint))
    rubric, solution = child(item, "itemrubric"), named.get("SOLUTION")
    return Item(
        identifier=identifier,
        title=attribute(item, "title"),
        language=item.get(_LANGUAGE, ""),
        stem=stem,
        parts=tuple(parts),
        solution=() if solution is None else content.blocks(content.root(solution)),
        caution="" if rubric is None else text_of(content.root(rubric)),
        hints=tuple(hints),
        metadata=metadata_of(fields),
        provenance=provenance_of(fields),
    )


@dataclass(frozen=True, slots=True)
class _PartReader:
    content: Content
    fields: dict[str, list[str]]
    rules: list[Rule]
    named: dict[str, etree._Element]

    def number(self, element: etree._Element, prompt: tuple[Inline, ...], unit: str) -> NumberEntry:
        response = attribute(element, "ident")
        name = response.removeprefix(RESPONSE)
        right, *wrong = self._rules_on(response)
        key, figures, decimals = self._field("key", name), "figures", "decimals"
        return NumberEntry(
            identifier=name,
            prompt=prompt,
            key=float(key),
            key_text=key,
            key_shown=self._field("shown", name),
            unit=unit,
            tolerance=Tolerance(*_band(right), self._field("tolerance", name)),
            points=right.score or 0.0,
            figures=int(said) if (said := self._field(figures, name)) else None,
            decimals=int(said) if (said := self._field(decimals, name)) else None,
            wrong_values=tuple(
                WrongValue(
                    rule.slip or "", sum(_band(rule)) / 2, *_band(rule), self._feedback(rule)
                )
                for rule in wrong
            ),
        )

    def choice(self, element: etree._Element, prompt: tuple[Inline, ...]) -> Choice:
        response = attribute(element, "ident")
        name = response.removeprefix(RESPONSE)
        rules = self._rules_on(response)
        scoring = next(rule for rule in rules if rule.score is not None)
        right = right_options(scoring)
        multiple = attribute(element, "rcardinality") == "Multiple"
        telling = [rule for rule in rules if rule is not scoring or not multiple]
        about = {next(iter(right_options(rule))): rule for rule in telling}
        options = []
        for label in descendants(element, "response_label"):
            identifier = attribute(label, "ident")
            rule = about.get(identifier)
            options.append(
                Option(
                    identifier,
                    self.content.inline(label),
                    identifier in right,
                    self._feedback(rule) if rule else (),
                    rule.slip if rule else None,
                )
            )
        choices = child(element, "render_choice")
        return Choice(
            identifier=name,
            prompt=prompt,
            options=tuple(options),
            points=scoring.score or 0.0,
            multiple=multiple,
            inline=bool(self._field("inline", name)),
            shuffle=choices is not None and attribute(choices, "shuffle") == "Yes",
        )

    def order(self, element: etree._Element, prompt: tuple[Inline, ...]) -> Ordering:
        how = self._field(ORDER, attribute(element, "ident").removeprefix(RESPONSE))
        rules = [rule for rule in self.rules if rule.title != "HINT"]
        return read_order(element, prompt, rules, self.content, self.named, how)

    def pairs(
        self, lists: list[tuple[etree._Element, etree._Element]], prompt: tuple[Inline, ...]
    ) -> Matching:
        name = self.matching(lists[0][1])
        rules = [rule for rule in self.rules if rule.title != "HINT"]
        how = self._field(PAIRS, name)
        return read_pairs(name, prompt, lists, rules, self.content, self.named, how)

    def matching(self, element: etree._Element) -> str:
        """The name of the part that a list of targets belongs to."""
        return matching_of(attribute(element, "ident"), self.fields)

    def _rules_on(self, response: str) -> list[Rule]:
        return [
            rule for rule in self.rules if rule.title != "HINT" and rule.responses == {response}
        ]

    def _field(self, kind: str, name: str) -> str:
        return "".join(self.fields.get(f"qbank_{kind}_{name}", ())[:1])

    def _feedback(self, rule: Rule) -> tuple[Inline, ...]:
        shown = [self.named[name] for name in rule.shown]
        return self.content.inline(shown[0]) if shown else ()


def _next_list(element: etree._Element) -> etree._Element | None:
    """The list of the next source, where one follows at once."""
    source = element.getnext()
    if source is None or attribute(source, "label") != SOURCE:
        return None
    return source.getnext()


def _band(rule: Rule) -> tuple[float, float]:
    """The bounds of a rule; what it cuts off by `not` is no part of its band."""
    both = rule.test[0]
    return float(both[0].text or "nan"), float(both[1].text or "nan")
