"""One set of names for all versions of QTI: those of 2.1.

An element `qti-foo-bar` of 3.0 is read as `fooBar` and an attribute `foo-bar` as `fooBar`, one
rule for both (mapping note, section 0); the durations keep their capitals.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from lxml import etree

from qbank.formats.dialects import camel

_CAPITALS = {"durationLt": "durationLT", "durationGte": "durationGTE"}


@lru_cache(maxsize=2048)
def name_of_tag(tag: str) -> str:
    """The 2.1 name of an element, from its tag in any version and namespace.

    >>> name_of_tag("{http://www.imsglobal.org/xsd/imsqtiasi_v3p0}qti-any-n")
    'anyN'
    """
    name = camel(tag.rpartition("}")[2])
    return _CAPITALS.get(name, name)


@lru_cache(maxsize=512)
def kebab(name: str) -> str:
    """The 3.0 spelling of an attribute.

    >>> kebab("toleranceMode")
    'tolerance-mode'
    """
    return "".join(f"-{c.lower()}" if c.isupper() else c for c in name)


def get(element: etree._Element, name: str) -> str | None:
    """An attribute by its 2.1 name, in either spelling."""
    found = element.get(name)
    return element.get(kebab(name)) if found is None else found


def named_children(element: etree._Element) -> Iterator[tuple[str, etree._Element]]:
    """The child elements with their 2.1 names."""
    for child in element:
        tag = child.tag
        if isinstance(tag, str):
            yield name_of_tag(tag), child


def children(element: etree._Element, *names: str) -> Iterator[etree._Element]:
    """The child elements of these 2.1 names."""
    return (child for name, child in named_children(element) if name in names)


def child(element: etree._Element, name: str) -> etree._Element | None:
    """The first child of that 2.1 name."""
    return next(children(element, name), None)
