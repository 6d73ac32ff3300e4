"""The project's own grammars: RELAX NG, judged by lxml, and which rule a fault breaks.

The official schemas are not at hand, so each version is judged by a grammar of our own; the
grammars say rule by rule where it comes from. A grammar's verdict is that of libxml2; what it
says about a fault deep inside is often only that the root is wrong, so the culprit is looked
for here: the innermost element that does not satisfy its own rule while all below it do.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

from lxml import etree

from qbank.errors import QbankError
from qbank.formats.base import Finding
from qbank.formats.qti_tree import line_of

FOLDER = Path(__file__).with_name("grammars")
_RNG = "{http://relaxng.org/ns/structure/1.0}"
_SOURCE = "{urn:qbank:grammar}source"


def parse(data: bytes, member: str) -> etree._Element:
    """The root of a document from anyone: no DTD, no entities, no network, UTF-8 only.

    Raises QbankError when it is not well-formed or declares a document type.
    """
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data or b"\0" in data[:64]:
        raise QbankError(
            f"'{member}' declares a document type or is not UTF-8",
            hint="item packages need neither; entities in it could grow without bound",
        )
    try:
        return etree.fromstring(data, _PARSER)
    except etree.XMLSyntaxError as fault:
        raise QbankError(f"'{member}' is not well-formed XML: {fault.msg}") from fault


def secure_parser() -> etree.XMLParser:
    """A parser that neither expands entities nor loads anything."""
    return etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )


_PARSER = secure_parser()  # one for all: starting anew for each small document costs as much again


class Grammar:
    """One grammar file, started at its own start or at one of its named rules."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._path = FOLDER / f"{name}.rng"
        self._whole = etree.RelaxNG(etree.parse(self._path))
        self._started: dict[str, etree.RelaxNG] = {}
        self._rules: dict[str, list[tuple[str, str]]] | None = None

    def accepts(self, root: etree._Element, rule: str | None = None) -> bool:
        """Whether an element satisfies the grammar, or the rule of that name alone."""
        schema = self._whole if rule is None else self._from(rule)
        return bool(schema.validate(root))

    def iter_findings(
        self, root: etree._Element, member: str, rule: str | None = None
    ) -> Iterator[Finding]:
        """Nothing when the grammar accepts the element; else each innermost culprit."""
        if self.accepts(root, rule):
            return
        said = str(next(iter(self._log(rule)), "does not match"))
        broken: set[etree._Element] = set()
        for element in reversed(list(root.iter(etree.Element))):
            below = any(child in broken for child in element)
            rules = self._rules_for(element)
            if below:
                broken.add(element)
            elif rules and not any(self.accepts(element, name) for name, _ in rules):
                broken.add(element)
                name, source = rules[0]
                tag = etree.QName(element).localname
                message = str(next(iter(self._log(name)), said))
                yield Finding(f"{self.name}:{tag}", member, message, line_of(element), source)
        if not broken:
            tag = etree.QName(root).localname
            yield Finding(f"{self.name}:{tag}", member, said, line_of(root))

    def _log(self, rule: str | None) -> list[str]:
        schema = self._whole if rule is None else self._from(rule)
        return [entry.message for entry in schema.error_log]

    def _from(self, rule: str) -> etree.RelaxNG:
        """The grammar with a named rule as its start."""
        if rule not in self._started:
            tree = etree.parse(self._path)
            start = tree.getroot().find(f".//{_RNG}start")
            assert start is not None  # noqa: S101 - our own files have one
            for child in list(start):
                start.remove(child)
            etree.SubElement(start, f"{_RNG}ref", name=rule)
            self._started[rule] = etree.RelaxNG(tree)
        return self._started[rule]

    def _rules_for(self, element: etree._Element) -> list[tuple[str, str]]:
        """Named rules that describe an element of this name, with their sources.

        Nothing for a name that also stands within a rule, where it may mean something else.
        """
        if self._rules is None:
            self._rules = self._all_rules()
        return self._rules.get(str(element.tag), [])

    def _all_rules(self) -> dict[str, list[tuple[str, str]]]:
        rules: dict[str, list[tuple[str, str]]] = {}
        within: set[str] = set()
        for root, space in self._files(self._path):
            for define in root.iter(f"{_RNG}define"):
                outermost = list(_outermost_elements(define))
                for pattern in define.iter(f"{_RNG}element"):
                    name = f"{{{pattern.get('ns', space)}}}{pattern.get('name', '')}"
                    if pattern in outermost:
                        rule = (define.get("name", ""), pattern.get(_SOURCE, ""))
                        rules.setdefault(name, []).append(rule)
                    else:
                        within.add(name)
        return {name: found for name, found in rules.items() if name not in within}

    def _files(self, path: Path, space: str = "") -> Iterator[tuple[etree._Element, str]]:
        """The grammar and those it includes, each with its namespace: its own or, where it has
        none, that under which it is included."""
        root = etree.parse(path).getroot()
        space = root.get("ns", space)
        yield root, space
        for include in root.iter(f"{_RNG}include"):
            yield from self._files(FOLDER / include.get("href", ""), include.get("ns", space))


def _outermost_elements(node: etree._Element) -> Iterator[etree._Element]:
    for child in node:
        if child.tag == f"{_RNG}element":
            yield child
        elif isinstance(child.tag, str):
            yield from _outermost_elements(child)


@cache
def grammar(name: str) -> Grammar:
    """A grammar by its file's name without ending, read once."""
    return Grammar(name)
