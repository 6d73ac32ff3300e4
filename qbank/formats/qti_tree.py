"""A QTI element of any version, read by its 2.1 names."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from lxml import etree

from qbank.formats.dialects import camel


@lru_cache(maxsize=1024)
def local(tag: str) -> str:
    """The 2.1 name of an element, from its tag in any version and namespace."""
    return camel(tag.rpartition("}")[2])


@lru_cache(maxsize=256)
def _kebab(name: str) -> str:
    return "".join(f"-{c.lower()}" if c.isupper() else c for c in name)


def attribute(element: etree._Element, name: str) -> str:
    """An attribute by its 2.1 name, in either spelling; empty when absent."""
    found = element.get(name)
    if found is None:
        found = element.get(_kebab(name))
    return found or ""


def children(element: etree._Element, *names: str) -> Iterator[etree._Element]:
    """The child elements of these 2.1 names, in order."""
    for child in element:
        if isinstance(child.tag, str) and local(child.tag) in names:
            yield child


def child(element: etree._Element, name: str) -> etree._Element | None:
    """The first child of that 2.1 name."""
    return next(children(element, name), None)


def descendants(element: etree._Element, *names: str) -> Iterator[etree._Element]:
    """All elements below of these 2.1 names and the element's namespace, in document order."""
    space, brace, _ = str(element.tag).partition("}")
    for found in element.iter(f"{space}}}*" if brace else etree.Element):
        if found is not element and local(found.tag) in names:
            yield found


def line_of(element: etree._Element) -> int | None:
    """The line an element starts on, where the parser knows."""
    line = element.sourceline
    return line if isinstance(line, int) else None


def text_of(element: etree._Element) -> str:
    """All characters in an element, markup aside."""
    return "".join(str(text) for text in element.itertext())


def values(element: etree._Element | None) -> list[str]:
    """The texts of the `value` children, trimmed (mapping note, b7)."""
    return [] if element is None else [(v.text or "").strip() for v in children(element, "value")]
