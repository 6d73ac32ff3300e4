"""Formulas as MathML in a document: their own namespace, alternative text, and a judgement.

Formulas come ready from the item. Each is parsed and judged by the grammar, but of those that
differ in nothing but their numbers one alone: to a grammar they are the same.
"""

from __future__ import annotations

import re
from functools import lru_cache

from lxml import etree

from qbank.errors import CheckFailed
from qbank.formats.dialects import MATHML
from qbank.formats.grammar import grammar, secure_parser
from qbank.formats.xmltext import quote

# How formulas start when they come from the renderer; others are taken apart by the patterns.
_USUAL_START = f'<math xmlns="{MATHML}">'
_START = re.compile(r"<math((?:\s+[\w:.-]+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*)\s*(/?)>")
_HAS_NAMESPACE = re.compile(r"\sxmlns\s*=")
_ALTTEXT_OR_DISPLAY = re.compile(r"\s(?:alttext|display)\s*=\s*(?:\"[^\"]*\"|'[^']*')")
_NUMBER = re.compile(r">[0-9.,\u2212\u2009\xa0 ]+<")
_MOST = 4096

_accepted: set[str] = set()


@lru_cache(maxsize=2048)
def formula(mathml: str, plain: str, display: bool = False) -> str:
    """A `math` element in its own namespace, with `alttext` for who cannot see it.

    Only 1 of 95 formulas of the official examples has the alternative text (mapping note,
    section d); without it a screen reader may read nothing at all. Raises CheckFailed when it
    is no presentation MathML.
    """
    if mathml.startswith(_USUAL_START):
        attributes, rest = f' xmlns="{MATHML}"', mathml[len(_USUAL_START) - 1 :]
    else:
        attributes, rest = _taken_apart(mathml)
    _ensure_valid(attributes, rest)
    block = ' display="block"' if display else ""
    return f'<math{attributes}{block} alttext="{quote(plain or "formula")}"{rest}'


def _taken_apart(mathml: str) -> tuple[str, str]:
    """The attributes to keep, with the namespace, and the text from the end of the start tag."""
    start = _START.match(mathml)
    if start is None:
        raise CheckFailed(f"a formula does not start with a math element: {mathml[:60]!r}")
    attributes = _ALTTEXT_OR_DISPLAY.sub("", start[1])
    if not _HAS_NAMESPACE.search(attributes):
        attributes = f' xmlns="{MATHML}"{attributes}'
    return attributes, f"{start[2]}>{mathml[start.end() :]}"


def _ensure_valid(attributes: str, rest: str) -> None:
    """Raise CheckFailed unless the grammar accepts the formula, or one but for its numbers."""
    structure = f"{attributes}{_NUMBER.sub('>0<', rest)}"
    if structure in _accepted:
        return
    text = f'<math{attributes} alttext="."{rest}'
    try:
        root = etree.fromstring(text, secure_parser())
    except etree.XMLSyntaxError as fault:
        raise CheckFailed(f"a formula is not well-formed: {fault.msg}: {text[:200]}") from fault
    # MathML is the same in every version, so any of the grammars that include it will do.
    findings = list(grammar("qti-2.1").iter_findings(root, "formula", "math"))
    if findings:
        raise CheckFailed(f"a formula is no MathML: {findings[0]}", hint=text[:400])
    if len(_accepted) >= _MOST:
        _accepted.clear()
    _accepted.add(structure)
