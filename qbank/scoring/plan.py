"""The parts, sections and item references of a test, with sections of other files put in.

A section reference (`assessmentSectionRef`) stands for the section at the root of the file it
names, whose own references are relative to that file; what the reference itself says, such as
its conditions, holds as well [M]. A file refers to itself in no way, and the sections of a test
are bounded, so that reading ends.
"""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from urllib.parse import unquote

from lxml import etree

from qbank.formats.dialects import camel
from qbank.scoring.faults import ScoringError, at
from qbank.scoring.limits import MAX_DEPTH, MAX_PARTS
from qbank.scoring.names import children, get, name_of_tag, named_children

Reader = Callable[[str], etree._Element]
_CONTROLS = frozenset(["itemSessionControl", "timeLimits"])


@dataclass(slots=True, eq=False)
class Node:
    """A test part, a section or an item reference.

    `elements` are the element itself and, of a section of another file, the reference before it;
    `folder` is where its hrefs start from, itself seen from the test.
    """

    kind: str
    elements: tuple[etree._Element, ...]
    folder: str
    children: list[Node] = field(default_factory=list)

    @property
    def element(self) -> etree._Element:
        return self.elements[-1]

    @property
    def identifier(self) -> str:
        return self.elements[0].get("identifier") or ""

    @property
    def identifiers(self) -> tuple[str, ...]:
        """Its names: a section of another file may have one there and one here."""
        return tuple(dict.fromkeys(e.get("identifier") or "" for e in self.elements))

    def says(self, name: str, text: str) -> bool:
        """Whether an attribute has that value, here or in the reference."""
        return any(get(element, name) == text for element in self.elements)

    def held(self, name: str) -> list[etree._Element]:
        """The children of that name, such as its conditions."""
        return [found for element in self.elements for found in children(element, name)]

    def walk(self) -> Iterator[Node]:
        """Itself and all below it."""
        yield self
        for child in self.children:
            yield from child.walk()


class Planner:
    """Reads the parts of one test; `read` gives the root of a section's file by its href."""

    def __init__(self, read: Reader, warnings: list[str]) -> None:
        self._read = read
        self._warnings = warnings
        self._roots: dict[str, etree._Element] = {}
        self._count = 0

    def parts(self, root: etree._Element) -> list[Node]:
        """The test parts. Raises ScoringError for sections too deep, too many or not to be had."""
        return [self._node("testPart", (part,), "", (), 0) for part in children(root, "testPart")]

    def _node(
        self,
        kind: str,
        elements: tuple[etree._Element, ...],
        folder: str,
        files: tuple[str, ...],
        depth: int,
    ) -> Node:
        element = elements[-1]
        if depth > MAX_DEPTH:
            raise ScoringError(f"sections stand more than {MAX_DEPTH} deep{at(element)}")
        node = Node(kind, elements, folder)
        for name, child in named_children(element):
            self._count += 1
            if self._count > MAX_PARTS:
                raise ScoringError(f"a test has more than {MAX_PARTS} sections and references")
            if name == "assessmentItemRef":
                node.children.append(Node(name, (child,), folder))
            elif name == "assessmentSection":
                node.children.append(self._node(name, (child,), folder, files, depth + 1))
            elif name == "assessmentSectionRef":
                node.children.append(self._referred(child, folder, files, depth + 1))
            elif name == "adaptiveSelection":
                said = f"'{name}'{at(child)} is not judged here"
                if said not in self._warnings:
                    self._warnings.append(said)
        return node

    def _referred(
        self, ref: etree._Element, folder: str, files: tuple[str, ...], depth: int
    ) -> Node:
        href = get(ref, "href") or ""
        path = posixpath.normpath(posixpath.join(folder, unquote(href)))
        if path in files:
            raise ScoringError(f"the section '{href}'{at(ref)} is within itself")
        if path not in self._roots:
            self._roots[path] = self._read(posixpath.join(folder, href))
        root = self._roots[path]
        if name_of_tag(root.tag) != "assessmentSection":
            raise ScoringError(
                f"'{href}'{at(ref)} is no section: it is <{etree.QName(root).localname}>"
            )
        inner = posixpath.dirname(posixpath.join(folder, href))
        return self._node("assessmentSection", (ref, root), inner, (*files, path), depth)


def left_to_delivery(root: etree._Element, parts: list[Node]) -> tuple[str, ...]:
    """What session controls and time limits ask for: it is the delivery's and moves no score."""
    nodes = [Node("assessmentTest", (root,), ""), *(n for part in parts for n in part.walk())]
    return tuple(
        f"{name} of '{node.identifier}': {asked}"
        for node in nodes
        for element in node.elements
        for name, control in named_children(element)
        if name in _CONTROLS and (asked := _attributes(control))
    )


def _attributes(element: etree._Element) -> str:
    return ", ".join(f"{camel(str(name))}={text[:20]!s}" for name, text in element.attrib.items())
