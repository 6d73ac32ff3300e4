"""A QTI element of any version, read by its 2.1 names."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from lxml import etree

from qbank.formats.dialects import camel

_MOST_TAGS = 4096  # that are kept; a hostile document could have any number


class _Kinds(dict[str, str]):
    """The 2.1 names of tags: found by subscript, as fast as a dictionary is."""

    def __missing__(self, tag: str) -> str:
        if len(self) >= _MOST_TAGS:
            self.clear()
        name = self[tag] = camel(tag.rpartition("}")[2])
        return name


KINDS = _Kinds()


def local(tag: str) -> str:
    """The 2.1 name of an element, from its tag in any version and namespace."""
    return KINDS[tag]


def any_of(*names: str) -> tuple[str, ...]:
    """What `iter` and its like take for elements of these 2.1 names, in any spelling."""
    return tuple(f"{{*}}{one}" for name in names for one in (name, f"qti-{_kebab(name)}"))


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
        if isinstance(tag := child.tag, str) and KINDS[tag] in names:
            yield child


def child(element: etree._Element, name: str) -> etree._Element | None:
    """The first child of that 2.1 name."""
    return next(children(element, name), None)


def descendants(element: etree._Element, *names: str) -> Iterator[etree._Element]:
    """All elements below of these 2.1 names and the element's namespace, in document order."""
    space, brace, _ = str(element.tag).partition("}")
    for found in element.iter(f"{space}}}*" if brace else etree.Element):
        if found is not element and KINDS[found.tag] in names:
            yield found


def line_of(element: etree._Element) -> int | None:
    """The line an element starts on, where the parser knows."""
    line = element.sourceline
    return line if isinstance(line, int) else None


def text_of(element: etree._Element) -> str:
    """All characters in an element, markup aside."""
    if not len(element):  # by far the most
        return element.text or ""
    return "".join(map(str, element.itertext()))


def values(element: etree._Element | None) -> list[str]:
    """The texts of the `value` children, trimmed (mapping note, b7)."""
    return [] if element is None else [(v.text or "").strip() for v in children(element, "value")]
